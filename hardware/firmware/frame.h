/* frame.h - frames to bytes and back: COBS, CRC, numbers.  Pure; see protocol.md.
 *
 * Tests: tests/unit/hardware/test_frame.c, against the document's worked frames. */
#ifndef ADAPTER_FIRMWARE_FRAME_H
#define ADAPTER_FIRMWARE_FRAME_H

#include "adapter_frame.h"

#include <stdbool.h>
#include <stdint.h>

/* Little endian, at any address. */
void ad_put_u16(uint8_t *at, uint16_t value);
void ad_put_u32(uint8_t *at, uint32_t value);
void ad_put_i32(uint8_t *at, int32_t value);
uint16_t ad_get_u16(const uint8_t *at);
uint32_t ad_get_u32(const uint8_t *at);
int32_t ad_get_i32(const uint8_t *at);

/* CRC-32/ISO-HDLC of n bytes. */
uint32_t ad_crc(const uint8_t *bytes, uint8_t n);

/* Completes a frame, and codes it.
 *
 * plain  n bytes, 8 to ADAPTER_PLAIN_MAX, the body in place; head and CRC are filled in
 * coded  ADAPTER_CODED_MAX bytes
 * Returns how many bytes of coded go over the line, the ending zero among them. */
uint8_t ad_frame_code(uint8_t *plain, uint8_t n, uint8_t type, uint16_t sequence, uint8_t *coded);

/* What comes in.  All zero: the beginning, in step only after the first zero byte or whole frame.
 */
typedef struct ad_reader {
    uint8_t plain[ADAPTER_PLAIN_MAX]; /* after AD_READ_FRAME the frame, head and CRC with it */
    uint8_t n;
    uint8_t left;    /* of the present piece */
    bool begun;      /* something came since the last zero byte */
    bool zero_due;   /* the piece ends in a zero byte, unless the frame ends */
    bool unreadable; /* to be dropped at its end */
} ad_reader;

typedef enum ad_read { AD_READ_MORE = 0, AD_READ_FRAME, AD_READ_BAD } ad_read;

/* Takes one byte.  FRAME: plain holds n bytes whose CRC is right.  BAD: something that is no frame
 * has ended.  Two zero bytes in a row are nothing. */
ad_read ad_reader_take(ad_reader *reader, uint8_t byte);

#endif
