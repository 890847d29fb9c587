/* firmware.h - the open adapter's firmware, in a simulated chip, as the wrench of a rehearsal.
 *
 * Room: command.  adapter-sim of hardware/sim is a program of its own beside this one: it is told
 * what is done to the adapter, and its port is opened like any other. */
#ifndef BW_COMMAND_FIRMWARE_H
#define BW_COMMAND_FIRMWARE_H

#include "base/status.h"
#include "rehearsal/hand.h"

#include <stdbool.h>

typedef struct bw_firmware bw_firmware;

/* Starts it.  speed: as bw_stand_in_new has it.  BW_E_STATE where adapter-sim or the image is not
 * there, with what to build; BW_E_IO; BW_E_MEM. */
BW_MUST_USE bw_status bw_firmware_start(double speed, bw_firmware **out, bw_err *err);

/* Ends it.  NULL is a no-op. */
void bw_firmware_free(bw_firmware *firmware);

/* The port to open, the same for its whole life.  Borrowed. */
const char *bw_firmware_port(const bw_firmware *firmware);

/* The wrench for bw_hand_begin: noise, steps and drift are the adapter's own. */
bw_hand_wrench bw_firmware_hand_wrench(void);

/* Does to the adapter what the hand, begun at *clock_s, does, after it has rested for rest_s; the
 * clock is then where the hand ended.  noisy: of a hundred bytes on the line one is another.  What
 * the hand does not show for a while, the line does not carry.  Kept here until the other end takes
 * it: bw_firmware_busy tells when all is done.  BW_E_MEM. */
BW_MUST_USE bw_status bw_firmware_pull(bw_firmware *firmware, bw_hand *hand, double rest_s,
                                       bool noisy, double *clock_s, bw_err *err);

/* Its port and its power go; and come again under the same name, with nothing pulling.  BW_E_MEM.
 */
BW_MUST_USE bw_status bw_firmware_unplug(bw_firmware *firmware, bw_err *err);
BW_MUST_USE bw_status bw_firmware_plug(bw_firmware *firmware, bw_err *err);

/* Hands on what is kept, without waiting; true until what was begun is done.  One that has ended
 * is not busy. */
bool bw_firmware_busy(bw_firmware *firmware);

#endif
