/* calibrated.c - see calibrated.h. */
#include "calibrated.h"

#include <math.h>

ad_calibration ad_calibration_of(const ad_parts *parts) {
    return (ad_calibration){
        .serial = 1207,
        .gain_tighten_pNm = (uint32_t)lround(1e12 / parts->counts_per_Nm),
        .gain_loosen_pNm = (uint32_t)lround(1e12 / parts->counts_per_Nm / parts->loosen_share),
        .gyro_udps = (uint32_t)lround(1e6 / parts->gyro_counts_per_dps),
        .shunt_counts = (int32_t)parts->shunt_counts,
        .overload_counts = (int32_t)(180 * parts->counts_per_Nm),
        .rated_cNm = 15000,
        .date = 20261125,
        .certificate = "CAL-0042",
        .zero_counts = (int32_t)parts->zero_counts};
}
