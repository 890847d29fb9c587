/* framing.h - where a frame begins and ends, for drivers that choose one by name.
 *
 * Room: sequence, private to it.  Pure: no Lua. */
#ifndef BW_SEQUENCE_FRAMING_H
#define BW_SEQUENCE_FRAMING_H

#include "boltwright/driver.h"

#include <stdbool.h>

enum { BW_FRAMED_MAX = 4096 };

typedef enum bw_framing_kind {
    BW_FRAMING_LINES = 0, /* up to CR, LF or both */
    BW_FRAMING_FIXED,     /* `size` bytes */
    BW_FRAMING_BETWEEN,   /* from `first` to `last` */
    BW_FRAMING_COUNTED,   /* the bytes at `at` say how many there are */
    BW_FRAMING_COBS,      /* consistent overhead byte stuffing, ended by a zero byte */
    BW_FRAMING_COUNT
} bw_framing_kind;

typedef enum bw_check_kind {
    BW_CHECK_NONE = 0,
    BW_CHECK_SUM8,
    BW_CHECK_XOR8,
    BW_CHECK_CRC16_MODBUS, /* low byte first */
    BW_CHECK_CRC16_CCITT,  /* high byte first */
    BW_CHECK_CRC32,        /* low byte first */
    BW_CHECK_COUNT
} bw_check_kind;

typedef struct bw_framing {
    bw_framing_kind kind;
    bw_check_kind check; /* over all of the frame before it; for LINES in hex digits */
    size_t check_from;   /* bytes at the beginning that it leaves out */
    size_t check_gap;    /* bytes in front of it that it leaves out */
    size_t max;          /* longest frame with everything, at most BW_FRAMED_MAX */
    size_t size;         /* of FIXED: of the whole frame */
    bool has_first;      /* FIXED and COUNTED: the frame begins with `first` */
    uint8_t first, last;
    size_t at, bytes, adds; /* COUNTED: `bytes` (1 or 2) at `at` give the length less `adds` */
    bool big_endian;
} bw_framing;

/* "lines", "fixed", "between", "counted", "cobs"; "sum8" ....  NULL outside of the enum. */
const char *bw_framing_word(bw_framing_kind kind);
const char *bw_check_word(bw_check_kind check);

/* NULL, or what would be right. */
const char *bw_framing_fault(const bw_framing *framing);

/* As bw_driver.scan.  A frame whose check does not hold is BAD; for LINES and COBS, whose end is
 * sure, it is a frame, so that no part of it can pass for another. */
bw_scan bw_framing_scan(const bw_framing *framing, const uint8_t *buf, size_t len, size_t *n);

/* What is inside of a frame that scan found: without line end, COBS and check.  out has
 * BW_FRAMED_MAX bytes.  False where the check does not hold. */
bool bw_framing_open(const bw_framing *framing, const uint8_t *frame, size_t len, uint8_t *out,
                     size_t *n);

#endif
