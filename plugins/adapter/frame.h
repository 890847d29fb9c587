/* frame.h - the open adapter's frames: COBS, CRC, head.  hardware/protocol.md has them byte by
 * byte; the numbers are those of hardware/adapter_frame.h. */
#ifndef ADAPTER_PLUGIN_FRAME_H
#define ADAPTER_PLUGIN_FRAME_H

#include "adapter_frame.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A frame before COBS, its CRC behind its body. */
typedef struct frame {
    uint8_t byte[ADAPTER_PLAIN_MAX];
    size_t len; /* with the CRC */
} frame;

/* coded: without the zero byte that ends it.  False where COBS, length, version or CRC do not hold;
 * a type that this program does not know is let through. */
bool frame_read(const uint8_t *coded, size_t n, frame *out);

/* The other way: body of n bytes, at most 56; coded has ADAPTER_CODED_MAX bytes.  Returns the
 * length with the ending zero byte. */
size_t frame_write(uint8_t type, uint16_t sequence, const uint8_t *body, size_t n, uint8_t *coded);

/* Little-endian numbers at an offset. */
uint16_t frame_u16(const uint8_t *byte, size_t at);
uint32_t frame_u32(const uint8_t *byte, size_t at);
int32_t frame_i32(const uint8_t *byte, size_t at);
void frame_put_u32(uint8_t *byte, size_t at, uint32_t value);

#endif
