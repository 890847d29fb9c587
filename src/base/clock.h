/* clock.h - time as a value.
 *
 * Room: base.  Wall time is milliseconds since 1970-01-01T00:00:00Z (UTC, leap seconds not
 * counted); order and durations come from the monotonic clock.  The pure rooms (trade, judge, the
 * session's function) get times as arguments and never call bw_clock_*. */
#ifndef BW_BASE_CLOCK_H
#define BW_BASE_CLOCK_H

#include "base/status.h"

#include <stdint.h>

enum { BW_TIME_TEXT_MAX = 32 };

int64_t bw_clock_wall_ms(void);
int64_t bw_clock_mono_ns(void);

/* RFC 3339 in UTC with exactly three decimals: 2026-11-25T09:45:48.120Z.  Years 0000 to 9999;
 * outside of them the nearest end is written.  out has BW_TIME_TEXT_MAX bytes; returned. */
const char *bw_time_text(int64_t wall_ms, char *out);

/* Reads exactly that form.  BW_E_DATA otherwise. */
BW_MUST_USE bw_status bw_time_parse(const char *text, int64_t *wall_ms, bw_err *err);

#endif
