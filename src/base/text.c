/* text.c - see text.h. */
#include "base/text.h"

#include <stdio.h>
#include <string.h>

bw_text bw_text_on(char *data, size_t size) {
    data[0] = '\0';
    return (bw_text){.data = data, .size = size, .len = 0, .cut = false};
}

/* Decodes the character at s (n bytes left).  Returns its length, or 0 where it is not well
 * formed: overlong, surrogate, above U+10FFFF or cut (RFC 3629 section 4). */
static size_t decode(const unsigned char *s, size_t n, uint32_t *code) {
    static const struct {
        unsigned char mask, lead;
        uint32_t least;
        size_t len;
    } rows[] = {{0x80, 0x00, 0, 1},
                {0xE0, 0xC0, 0x80, 2},
                {0xF0, 0xE0, 0x800, 3},
                {0xF8, 0xF0, 0x10000, 4}};
    for (size_t r = 0; r < sizeof rows / sizeof rows[0]; r++) {
        if ((s[0] & rows[r].mask) != rows[r].lead) {
            continue;
        }
        if (n < rows[r].len) {
            return 0;
        }
        uint32_t c = s[0] & (unsigned char)~rows[r].mask;
        for (size_t i = 1; i < rows[r].len; i++) {
            if ((s[i] & 0xC0) != 0x80) {
                return 0;
            }
            c = (c << 6) | (s[i] & 0x3Fu);
        }
        bool surrogate = c >= 0xD800 && c <= 0xDFFF;
        if (c < rows[r].least || surrogate || c > 0x10FFFF) {
            return 0;
        }
        *code = c;
        return rows[r].len;
    }
    return 0;
}

size_t bw_utf8_whole(const char *text, size_t len) {
    size_t lead = len;
    while (lead > 0 && ((unsigned char)text[lead - 1] & 0xC0) == 0x80) {
        lead--;
    }
    lead -= lead > 0 ? 1 : 0;
    uint32_t code = 0;
    bool whole = len == 0 || decode((const unsigned char *)text + lead, len - lead, &code) != 0;
    return whole ? len : lead;
}

void bw_text_add_v(bw_text *text, const char *format, va_list args) {
    if (text->cut) {
        return;
    }
    size_t room = text->size - text->len;
    int n = vsnprintf(text->data + text->len, room, format, args);
    text->cut = n < 0 || (size_t)n >= room;
    if (n < 0) {
        text->data[text->len] = '\0';
    } else if (text->cut) {
        text->len = bw_utf8_whole(text->data, text->size - 1);
        text->data[text->len] = '\0';
    } else {
        text->len += (size_t)n;
    }
}

void bw_text_add(bw_text *text, const char *format, ...) {
    va_list args;
    va_start(args, format);
    bw_text_add_v(text, format, args);
    va_end(args);
}

bool bw_text_copy(char *dst, size_t size, const char *src) {
    if (size == 0) {
        return false;
    }
    if (src == NULL) {
        src = "";
    }
    size_t len = strlen(src);
    bool whole = len < size;
    if (!whole) {
        len = bw_utf8_whole(src, size - 1);
    }
    memcpy(dst, src, len);
    dst[len] = '\0';
    return whole;
}

bool bw_utf8_valid(const char *text, size_t len) {
    const unsigned char *s = (const unsigned char *)text;
    for (size_t i = 0; i < len;) {
        uint32_t code = 0;
        size_t n = decode(s + i, len - i, &code);
        if (n == 0) {
            return false;
        }
        i += n;
    }
    return true;
}

/* Ranges of characters that are not shown as themselves and could make a reader see another text
 * than the one that is stored (Unicode general categories Cc, Zl, Zp and the bidirectional and
 * zero-width format characters). */
static bool deceives(uint32_t code) {
    static const struct {
        uint32_t first, last;
    } ranges[] = {{0x00, 0x1F},
                  {0x7F, 0x9F},
                  {0xAD, 0xAD},
                  {0x61C, 0x61C},
                  {0x180E, 0x180E},
                  {0x200B, 0x200F},
                  {0x2028, 0x202E},
                  {0x2060, 0x206F},
                  {0xFEFF, 0xFEFF},
                  {0xFFF9, 0xFFFB},
                  {0xE0000, 0xE007F},
                  /* letters that are blank */
                  {0x115F, 0x1160},
                  {0x3164, 0x3164},
                  {0xFFA0, 0xFFA0},
                  /* no characters */
                  {0xFDD0, 0xFDEF},
                  {0xFFFE, 0xFFFF}};
    for (size_t r = 0; r < sizeof ranges / sizeof ranges[0]; r++) {
        if (code >= ranges[r].first && code <= ranges[r].last) {
            return true;
        }
    }
    return false;
}

bool bw_text_printable(const char *text, size_t len, bool allow_newline) {
    const unsigned char *s = (const unsigned char *)text;
    for (size_t i = 0; i < len;) {
        uint32_t code = 0;
        size_t n = decode(s + i, len - i, &code);
        bool newline = allow_newline && code == '\n';
        if (n == 0 || (deceives(code) && !newline)) {
            return false;
        }
        i += n;
    }
    return true;
}

size_t bw_text_columns(const char *text) {
    size_t columns = 0;
    for (; *text != '\0'; text++) {
        if (((unsigned char)*text & 0xC0) != 0x80) {
            columns++;
        }
    }
    return columns;
}

void bw_hex(const uint8_t *bytes, size_t n, char *out) {
    static const char digit[] = "0123456789abcdef";
    for (size_t i = 0; i < n; i++) {
        out[2 * i] = digit[bytes[i] >> 4];
        out[2 * i + 1] = digit[bytes[i] & 15];
    }
    out[2 * n] = '\0';
}

static int hex_value(char c) {
    if (c >= '0' && c <= '9') {
        return c - '0';
    }
    if (c >= 'a' && c <= 'f') {
        return c - 'a' + 10;
    }
    if (c >= 'A' && c <= 'F') {
        return c - 'A' + 10;
    }
    return -1;
}

bool bw_unhex(const char *hex, uint8_t *out, size_t n) {
    if (strlen(hex) != 2 * n) {
        return false;
    }
    for (size_t i = 0; i < n; i++) {
        int high = hex_value(hex[2 * i]);
        int low = hex_value(hex[2 * i + 1]);
        if (high < 0 || low < 0) {
            return false;
        }
        out[i] = (uint8_t)(high << 4 | low);
    }
    return true;
}
