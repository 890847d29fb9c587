/* frame_int.h - the head of a frame, which both sides of the wall read and write.
 *
 * Room: wall, private to it. */
#ifndef BW_WALL_FRAME_INT_H
#define BW_WALL_FRAME_INT_H

#include <stddef.h>
#include <stdint.h>

enum { BW_FRAME_HEAD = 5 }; /* length (4, little-endian; counts the type too) and type (1) */

static inline void bw_frame_put_head(uint8_t head[BW_FRAME_HEAD], uint8_t type, size_t len) {
    uint32_t n = (uint32_t)len + 1;
    for (int i = 0; i < 4; i++) {
        head[i] = (uint8_t)(n >> (8 * i));
    }
    head[4] = type;
}

/* What follows the four bytes of the length: 1 or more in a sound frame. */
static inline uint32_t bw_frame_announced(const uint8_t head[BW_FRAME_HEAD]) {
    return (uint32_t)head[0] | (uint32_t)head[1] << 8 | (uint32_t)head[2] << 16 |
           (uint32_t)head[3] << 24;
}

/* How the host tells the worker its memory limit; the rest of the environment is empty. */
#define BW_WALL_MEMORY "BW_WALL_MEMORY"

/* The address sanitizer maps terabytes, writes its report to descriptor 2 and looks for leaks by
 * means that the wall forbids. */
#if defined(__SANITIZE_ADDRESS__)
#define BW_WALL_SANITIZED 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define BW_WALL_SANITIZED 1
#endif
#endif
#ifndef BW_WALL_SANITIZED
#define BW_WALL_SANITIZED 0
#endif

#endif
