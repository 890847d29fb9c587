/* driver_wire.h - what host and driver worker say to each other, inside wall/worker.h's frames.
 *
 * Room: device, private to it.  Both ends are the same program, so numbers travel in the machine's
 * own form.  The host believes nothing: the worker may be a driver that forges answers.
 *
 * request                                answer
 * LOAD   path, NUL, name, NUL            INFO  bw_driver_info, or FAULT
 * SET    key, NUL, value, NUL            DONE, or FAULT
 * BYTES  what came from the device       ITEMS, or FAULT
 * EVENT  bw_device_event, 1 byte         ITEMS, or FAULT
 * TICK   monotonic ns, 8 bytes           ITEMS, or FAULT
 * WISH   bw_wish                         ITEMS, REFUSED (it cannot do that), or FAULT
 *
 * FAULT is a line of text.  ITEMS are packed one after another: kind (1 byte), length (4 bytes),
 * and so many bytes. */
#ifndef BW_DEVICE_DRIVER_WIRE_H
#define BW_DEVICE_DRIVER_WIRE_H

#include "boltwright/driver.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum bw_driver_request {
    BW_ASK_LOAD = 1,
    BW_ASK_SET,
    BW_ASK_BYTES,
    BW_ASK_EVENT,
    BW_ASK_TICK,
    BW_ASK_WISH
} bw_driver_request;

typedef enum bw_driver_answer {
    BW_ANSWER_FAULT = 1,
    BW_ANSWER_INFO,
    BW_ANSWER_DONE,
    BW_ANSWER_ITEMS,
    BW_ANSWER_REFUSED
} bw_driver_answer;

typedef enum bw_item_kind {
    BW_ITEM_READING = 1, /* bw_reading */
    BW_ITEM_SEND,        /* bytes for the device */
    BW_ITEM_SAY,         /* text */
    BW_ITEM_UNKNOWN,     /* the beginning of a frame that was not understood */
    BW_ITEM_IDENTITY,    /* text: the device's own serial number */
    BW_ITEM_UNREAD       /* bw_item_counts; always the last */
} bw_item_kind;

/* What the host needs to know of a driver. */
typedef struct bw_driver_info {
    char version[33];
    char says[201];
    char source[201];
    bw_line_settings line;
    uint32_t can;     /* BW_CAN_* */
    uint8_t has_tick; /* 0 or 1 */
} bw_driver_info;

/* Limits of one request and its answer.  No device means 4096 readings by 4096 bytes. */
enum {
    BW_ASK_BYTES_MAX = 4096,
    BW_ITEM_HEAD = 5,
    BW_ITEM_READINGS_MAX = 4096,
    BW_ITEM_TEXTS_MAX = 64, /* SAY and UNKNOWN together; of more, only UNREAD tells */
    BW_ITEM_TEXT_BYTES = 200,
    BW_ITEM_SEND_BYTES = 1024,
    BW_ITEMS_BYTES_MAX = 256 << 10
};

/* Of one request. */
typedef struct bw_item_counts {
    uint64_t unread;     /* bytes dropped and frames not understood */
    uint64_t understood; /* frames */
} bw_item_counts;

typedef struct bw_item {
    bw_item_kind kind;
    const uint8_t *data;
    size_t len;
} bw_item;

/* The item at *at in data[0..len), and *at moved behind it.  False at the end and where the bytes
 * are no item; *at is len at a sound end only. */
bool bw_item_next(const uint8_t *data, size_t len, size_t *at, bw_item *out);

/* Copies a reading or a count out of an item.  False where its length is not right. */
bool bw_item_reading(const bw_item *item, bw_reading *out);
bool bw_item_count(const bw_item *item, bw_item_counts *out);

#endif
