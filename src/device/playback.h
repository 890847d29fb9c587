/* playback.h - a capture played back into its driver, as if the device were there.
 *
 * Room: device.  The driver runs in a worker as it does live; what it wants sent goes nowhere, and
 * ticks do not come.  The same capture gives the same readings with the same times. */
#ifndef BW_DEVICE_PLAYBACK_H
#define BW_DEVICE_PLAYBACK_H

#include "device/device.h"

#include <stdio.h>

typedef struct bw_playback bw_playback;

/* file: borrowed until bw_playback_free, read from where it stands.  driver:
 * NAME[,KEY=VALUE...], or NULL: as the capture's "# spec:" says, or the driver `line`.
 * BW_E_DATA the spec is wrong, no such driver or setting. */
BW_MUST_USE bw_status bw_playback_new(FILE *file, const char *driver, bw_playback **out,
                                      bw_err *err);
void bw_playback_free(bw_playback *playback);

/* Plays one line.  *more is false at the end of the capture.  *time_s: of that line, since the
 * port was opened.  BW_E_DATA a line that is none (with its number), or the driver failed. */
BW_MUST_USE bw_status bw_playback_next(bw_playback *playback, const bw_device_sink *sink,
                                       double *time_s, bool *more, bw_err *err);

/* "line 1"; borrowed. */
const char *bw_playback_driver(const bw_playback *playback);

#endif
