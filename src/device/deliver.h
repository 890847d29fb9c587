/* deliver.h - from a driver's items to the device's sink: checked, timed, told.
 *
 * Room: device, private to it. */
#ifndef BW_DEVICE_DELIVER_H
#define BW_DEVICE_DELIVER_H

#include "device/device.h"
#include "device/driver_link.h"
#include "device/port.h"
#include "device/spec.h"
#include "device/tap.h"
#include "device/timeline.h"

enum { BW_IDENTITY_MAX = 64 };

/* All zero: nothing delivered yet. */
typedef struct bw_delivery {
    bw_timeline timeline;
    bw_tap tap;                     /* sees what is sent */
    uint64_t unread;                /* see bw_device_unread */
    double factor;                  /* torque at the fastener for 1 that is read; 0: 1 */
    char identity[BW_IDENTITY_MAX]; /* what the device last said of itself, "" so far nothing */
    char before[BW_IDENTITY_MAX];   /* and before that, where `stranger` is set */
    bool stranger;                  /* another device answers: nobody was told yet */
    double resends_s;               /* the same result within so long is the last one; 0: never */
    bw_reading last;                /* result; has 0: none yet */
    int64_t last_ns;                /* when it came, last */
} bw_delivery;

/* What the builder and the driver say of the wrench. */
void bw_delivery_set(bw_delivery *delivery, const bw_spec *spec, const bw_driver_info *info);

/* True once for each time that another device answers; then out, of BW_ERR_TEXT_MAX bytes, says it
 * in the builder's words. */
bool bw_delivery_stranger(bw_delivery *delivery, const char *port, char *out);

/* items of a read at now_ns.  What the driver wants sent goes to the port (NULL: nowhere). */
void bw_deliver(bw_delivery *delivery, const bw_items *items, int64_t now_ns, bw_port *port,
                const bw_device_sink *sink);

#endif
