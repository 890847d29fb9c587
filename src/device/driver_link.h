/* driver_link.h - the host's end of a driver worker: started, asked, never believed.
 *
 * Room: device, private to it.  Knows nothing of ports. */
#ifndef BW_DEVICE_DRIVER_LINK_H
#define BW_DEVICE_DRIVER_LINK_H

#include "device/driver_wire.h"
#include "device/spec.h"

typedef struct bw_driver_link bw_driver_link;

/* Starts a worker, has it load the driver that spec names from path (see bw_driver_find) and gives
 * it spec's settings.  BW_E_DATA the driver or a setting is no good; others: no worker. */
BW_MUST_USE bw_status bw_driver_link_new(const char *path, const bw_spec *spec,
                                         bw_driver_link **out, bw_err *err);
void bw_driver_link_free(bw_driver_link *link);

/* Borrowed; checked. */
const bw_driver_info *bw_driver_link_info(const bw_driver_link *link);

/* Items as they came, each one sound, the last one BW_ITEM_UNREAD; borrowed, valid until the next
 * call on the link. */
typedef struct bw_items {
    const uint8_t *data;
    size_t len;
    size_t readings;     /* how many */
    size_t timed;        /* how many of them with a time of the device's */
    uint64_t understood; /* frames */
    uint64_t unread;     /* bytes dropped and frames not understood */
} bw_items;

/* BW_OK; BW_E_DATA the driver ended, hung, or lied, in one line: the link is of no more use. */
BW_MUST_USE bw_status bw_driver_link_bytes(bw_driver_link *link, const uint8_t *bytes, size_t n,
                                           bw_items *out, bw_err *err);
BW_MUST_USE bw_status bw_driver_link_event(bw_driver_link *link, bw_device_event event,
                                           bw_items *out, bw_err *err);
/* BW_E_ABSENT where the driver cannot do that; the link is sound then. */
BW_MUST_USE bw_status bw_driver_link_wish(bw_driver_link *link, const bw_wish *wish, bw_items *out,
                                          bw_err *err);
BW_MUST_USE bw_status bw_driver_link_tick(bw_driver_link *link, int64_t now_ns, bw_items *out,
                                          bw_err *err);

#endif
