/* base64.c - see base64.h. */
#include "record/base64.h"

#include <string.h>

static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

void bw_base64(const uint8_t *bytes, size_t n, char *out) {
    for (size_t i = 0; i < n; i += 3) {
        uint32_t group = (uint32_t)bytes[i] << 16;
        group |= i + 1 < n ? (uint32_t)bytes[i + 1] << 8 : 0;
        group |= i + 2 < n ? (uint32_t)bytes[i + 2] : 0;
        *out++ = digits[group >> 18];
        *out++ = digits[group >> 12 & 63];
        *out++ = i + 1 < n ? digits[group >> 6 & 63] : '=';
        *out++ = i + 2 < n ? digits[group & 63] : '=';
    }
    *out = '\0';
}

static bool digit_value(char c, uint32_t *value) {
    const char *at = c == '\0' ? NULL : strchr(digits, c);
    *value = at == NULL ? 0 : (uint32_t)(at - digits);
    return at != NULL;
}

/* Four characters, `pad` of them padding, into one 24-bit group. */
static bool read_group(const char *text, size_t pad, uint32_t *group) {
    static const uint32_t spare[] = {0, 0xFF, 0xFFFF};
    *group = 0;
    for (size_t i = 0; i < 4; i++) {
        uint32_t value = 0;
        bool padding = i >= 4 - pad;
        if (padding ? text[i] != '=' : !digit_value(text[i], &value)) {
            return false;
        }
        *group = *group << 6 | value;
    }
    return (*group & spare[pad]) == 0;
}

bool bw_unbase64(const char *text, size_t len, uint8_t *out, size_t size, size_t *n) {
    if (len % 4 != 0) {
        return false;
    }
    *n = 0;
    for (size_t i = 0; i < len; i += 4) {
        bool last = i + 4 == len;
        size_t pad = !last || text[i + 3] != '=' ? 0 : text[i + 2] != '=' ? 1 : 2;
        uint32_t group = 0;
        if (!read_group(text + i, pad, &group) || size - *n < 3 - pad) {
            return false;
        }
        for (size_t b = 0; b < 3 - pad; b++) {
            out[(*n)++] = (uint8_t)(group >> (16 - 8 * b));
        }
    }
    return true;
}
