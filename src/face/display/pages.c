/* pages.c - see pages.h.  BW_PAGES is the folder of the files, set by CMake. */
#include "face/display/pages.h"

#include <string.h>

#define FILES(F)                                                                                   \
    F(pair, "pair.html", "text/html; charset=utf-8", true)                                         \
    F(pairing, "pair.js", "text/javascript; charset=utf-8", true)                                  \
    F(index, "index.html", "text/html; charset=utf-8", false)                                      \
    F(style, "style.css", "text/css; charset=utf-8", true)                                         \
    F(main, "main.js", "text/javascript; charset=utf-8", false)                                    \
    F(wire, "wire.js", "text/javascript; charset=utf-8", false)                                    \
    F(parts, "parts.js", "text/javascript; charset=utf-8", false)                                  \
    F(ask, "ask.js", "text/javascript; charset=utf-8", false)                                      \
    F(keypad, "keypad.js", "text/javascript; charset=utf-8", false)                                \
    F(joint, "joint.js", "text/javascript; charset=utf-8", false)                                  \
    F(gauge, "gauge.js", "text/javascript; charset=utf-8", false)                                  \
    F(verdict, "verdict.js", "text/javascript; charset=utf-8", false)                              \
    F(where, "where.js", "text/javascript; charset=utf-8", false)                                  \
    F(panels, "panels.js", "text/javascript; charset=utf-8", false)                                \
    F(sound, "sound.js", "text/javascript; charset=utf-8", false)                                  \
    F(settings, "settings.js", "text/javascript; charset=utf-8", false)                            \
    F(icon, "icon.svg", "image/svg+xml", true)

#define F(name, file, type, open)                                                                  \
    extern const unsigned char bw_page_##name[], bw_page_##name##_end[];                           \
    __asm__(".pushsection .rodata\n"                                                               \
            "bw_page_" #name ":\n"                                                                 \
            ".incbin \"" BW_PAGES "/" file "\"\n"                                                  \
            "bw_page_" #name "_end:\n"                                                             \
            ".byte 0\n"                                                                            \
            ".popsection\n");
FILES(F)
#undef F

static const struct {
    const char *path, *type;
    const unsigned char *data, *end;
    bool open;
} files[] = {
#define F(name, file, type, open) {"/" file, type, bw_page_##name, bw_page_##name##_end, open},
    FILES(F)
#undef F
};

bool bw_page_at(const char *path, bw_page *out) {
    bool front = strcmp(path, "/") == 0 || strcmp(path, "/watch") == 0;
    const char *wanted = front ? "/index.html" : path;
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        if (strcmp(files[i].path, wanted) == 0) {
            *out = (bw_page){.type = files[i].type,
                             .data = files[i].data,
                             .len = (size_t)(files[i].end - files[i].data),
                             .open = files[i].open};
            return true;
        }
    }
    return false;
}
