/* deliver.h - from a driver's items to the device's sink: checked, timed, told.
 *
 * Room: device, private to it. */
#ifndef BW_DEVICE_DELIVER_H
#define BW_DEVICE_DELIVER_H

#include "device/device.h"
#include "device/driver_link.h"
#include "device/port.h"
#include "device/timeline.h"

/* All zero: nothing delivered yet. */
typedef struct bw_delivery {
    bw_timeline timeline;
    uint64_t unread; /* see bw_device_unread */
} bw_delivery;

/* items of a read at now_ns.  What the driver wants sent goes to the port (NULL: nowhere). */
void bw_deliver(bw_delivery *delivery, const bw_items *items, int64_t now_ns, bw_port *port,
                const bw_device_sink *sink);

#endif
