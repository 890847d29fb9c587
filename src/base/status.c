/* status.c - see status.h. */
#include "base/status.h"

#include "base/text.h"

#include <stdarg.h>
#include <string.h>

bw_status bw_fail(bw_err *err, bw_status code, const char *format, ...) {
    if (err == NULL) {
        return code;
    }
    bw_text text = bw_text_on(err->text, sizeof err->text);
    va_list args;
    va_start(args, format);
    bw_text_add_v(&text, format, args);
    va_end(args);
    err->code = code;
    return code;
}

bw_status bw_fail_in(bw_err *err, bw_status code, const char *context) {
    if (err == NULL) {
        return code;
    }
    char old[BW_ERR_TEXT_MAX];
    (void)bw_text_copy(old, sizeof old, err->text);
    return bw_fail(err, err->code, "%s: %s", context, old);
}

static const struct {
    bw_status code;
    const char *name;
} names[] = {
    {BW_OK, "ok"},
    {BW_E_ARG, "wrong argument"},
    {BW_E_MEM, "out of memory"},
    {BW_E_IO, "input or output failed"},
    {BW_E_TIMEOUT, "took too long"},
    {BW_E_DATA, "bad data"},
    {BW_E_STATE, "not possible now"},
    {BW_E_LIMIT, "over a limit"},
    {BW_E_ABSENT, "not there"},
    {BW_E_BUSY, "in use"},
    {BW_E_BUG, "fault in the program"},
};

const char *bw_status_name(bw_status code) {
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        if (names[i].code == code) {
            return names[i].name;
        }
    }
    return "unknown status";
}
