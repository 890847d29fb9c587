/* order.h - the lines that adapter-sim takes.  Pure. */
#ifndef ADAPTER_SIM_ORDER_H
#define ADAPTER_SIM_ORDER_H

#include "sim.h"

typedef enum ad_order_kind {
    AD_ORDER_NONE = 0, /* an empty line */
    AD_ORDER_GO,
    AD_ORDER_SPEED,
    AD_ORDER_FAULT,
    AD_ORDER_JUMPER,
    AD_ORDER_BROWN_OUT,
    AD_ORDER_UNPLUG,
    AD_ORDER_PLUG,
    AD_ORDER_TELL,
    AD_ORDER_QUIT,
    AD_ORDER_UNKNOWN
} ad_order_kind;

typedef struct ad_order {
    ad_order_kind kind;
    double for_s, torque_Nm, turn_deg; /* GO: 0 to 3600 s */
    double speed;                      /* SPEED: 0 to 1000 */
    size_t fault;                      /* FAULT: offset of the flag in ad_faults */
    bool on;                           /* FAULT, JUMPER */
} ad_order;

/* Reads a line, without its end; UNKNOWN for anything that is not in main.c's list. */
ad_order ad_order_read(const char *line);

#endif
