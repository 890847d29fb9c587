/* status.h - how a function says that it failed, and what a person is told.
 *
 * Room: base (libc only).  Tests: tests/unit/base/.
 *
 * Every fallible function returns bw_status; counts and values leave by out-parameters, which stay
 * untouched on failure unless said otherwise.  Text for people goes into an optional bw_err. */
#ifndef BW_BASE_STATUS_H
#define BW_BASE_STATUS_H

#if defined(__GNUC__)
#define BW_MUST_USE           __attribute__((warn_unused_result))
#define BW_PRINTF(text, args) __attribute__((format(printf, text, args)))
#else
#define BW_MUST_USE
#define BW_PRINTF(text, args)
#endif

/* Who is to blame: ARG the calling code, DATA the outside world (file, device, person),
 * STATE a right call at the wrong time, BUG this program. */
typedef enum bw_status {
    BW_OK = 0,
    BW_E_ARG = -1,
    BW_E_MEM = -2,
    BW_E_IO = -3,
    BW_E_TIMEOUT = -4,
    BW_E_DATA = -5,
    BW_E_STATE = -6,
    BW_E_LIMIT = -7,
    BW_E_ABSENT = -8,
    BW_E_BUSY = -9,
    BW_E_BUG = -10
} bw_status;

enum { BW_ERR_TEXT_MAX = 400 };

/* One line for a person: what is wrong, and what would be right.  No trailing newline. */
typedef struct bw_err {
    bw_status code;
    char text[BW_ERR_TEXT_MAX];
} bw_err;

/* Writes the text into err (which may be NULL) and returns code, so that a caller can write
 * `return bw_fail(err, BW_E_DATA, "...")`.  Text that does not fit is cut at a whole character. */
bw_status bw_fail(bw_err *err, bw_status code, const char *format, ...) BW_PRINTF(3, 4);

/* Puts `context: ` before the text already in err; returns err->code.  err may be NULL: then code
 * is returned as it came. */
bw_status bw_fail_in(bw_err *err, bw_status code, const char *context);

/* The name of a status for diagnostics, static storage, never NULL. */
const char *bw_status_name(bw_status code);

#endif
