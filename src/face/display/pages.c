/* pages.c - see pages.h.  BW_PAGES is the folder of the files, set by CMake. */
#include "face/display/pages.h"

#include <string.h>

#define FILES(F)                                                                                   \
    F(index, "index.html", "text/html; charset=utf-8")                                             \
    F(style, "style.css", "text/css; charset=utf-8")                                               \
    F(main, "main.js", "text/javascript; charset=utf-8")                                           \
    F(wire, "wire.js", "text/javascript; charset=utf-8")                                           \
    F(parts, "parts.js", "text/javascript; charset=utf-8")                                         \
    F(ask, "ask.js", "text/javascript; charset=utf-8")                                             \
    F(keypad, "keypad.js", "text/javascript; charset=utf-8")                                       \
    F(joint, "joint.js", "text/javascript; charset=utf-8")                                         \
    F(gauge, "gauge.js", "text/javascript; charset=utf-8")                                         \
    F(verdict, "verdict.js", "text/javascript; charset=utf-8")                                     \
    F(panels, "panels.js", "text/javascript; charset=utf-8")                                       \
    F(sound, "sound.js", "text/javascript; charset=utf-8")                                         \
    F(settings, "settings.js", "text/javascript; charset=utf-8")                                   \
    F(icon, "icon.svg", "image/svg+xml")

#define F(name, file, type)                                                                        \
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
} files[] = {
#define F(name, file, type) {"/" file, type, bw_page_##name, bw_page_##name##_end},
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
                             .len = (size_t)(files[i].end - files[i].data)};
            return true;
        }
    }
    return false;
}
