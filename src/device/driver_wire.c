/* driver_wire.c - see driver_wire.h. */
#include "device/driver_wire.h"

#include <string.h>

bool bw_item_next(const uint8_t *data, size_t len, size_t *at, bw_item *out) {
    if (len - *at < BW_ITEM_HEAD) {
        return false;
    }
    uint32_t item_len = 0;
    memcpy(&item_len, data + *at + 1, sizeof item_len);
    if (item_len > len - *at - BW_ITEM_HEAD || data[*at] < BW_ITEM_READING ||
        data[*at] > BW_ITEM_UNREAD) {
        return false;
    }
    *out = (bw_item){(bw_item_kind)data[*at], data + *at + BW_ITEM_HEAD, item_len};
    *at += BW_ITEM_HEAD + item_len;
    return true;
}

bool bw_item_reading(const bw_item *item, bw_reading *out) {
    if (item->len != sizeof *out) {
        return false;
    }
    memcpy(out, item->data, sizeof *out);
    return true;
}

bool bw_item_count(const bw_item *item, bw_item_counts *out) {
    if (item->len != sizeof *out) {
        return false;
    }
    memcpy(out, item->data, sizeof *out);
    return true;
}
