/* calibrated.h - the calibration that a simulated adapter would get. */
#ifndef ADAPTER_SIM_CALIBRATED_H
#define ADAPTER_SIM_CALIBRATED_H

#include "sim.h"
#include "store.h"

/* What fits the parts exactly; overload at 180 N.m, rated 150 N.m. */
ad_calibration ad_calibration_of(const ad_parts *parts);

#endif
