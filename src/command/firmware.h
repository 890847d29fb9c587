/* firmware.h - the open adapter's firmware, in a simulated chip, as the wrench of a rehearsal.
 *
 * Room: command.  adapter-sim of hardware/sim is a program of its own beside this one: it is told
 * what is done to the adapter, and its port is opened like any other. */
#ifndef BW_COMMAND_FIRMWARE_H
#define BW_COMMAND_FIRMWARE_H

#include "base/status.h"

#include <stdbool.h>

typedef struct bw_firmware bw_firmware;

/* Starts it.  speed: as bw_stand_in_new has it.  BW_E_STATE where adapter-sim or the image is not
 * there, with what to build; BW_E_IO; BW_E_MEM. */
BW_MUST_USE bw_status bw_firmware_start(double speed, bw_firmware **out, bw_err *err);

/* Ends it.  NULL is a no-op. */
void bw_firmware_free(bw_firmware *firmware);

/* The port to open.  Borrowed. */
const char *bw_firmware_port(const bw_firmware *firmware);

/* What is to be done next: in for_s seconds in a straight line to torque_Nm, turning by turn_deg.
 * Kept here until the other end takes it.  BW_E_MEM. */
BW_MUST_USE bw_status bw_firmware_go(bw_firmware *firmware, double for_s, double torque_Nm,
                                     double turn_deg, bw_err *err);

/* After the last bw_firmware_go of a pull: from now on bw_firmware_busy tells when all is done. */
BW_MUST_USE bw_status bw_firmware_pull_ends(bw_firmware *firmware, bw_err *err);

/* Hands on what is kept, without waiting; true until what was begun is done.  One that has ended
 * is not busy. */
bool bw_firmware_busy(bw_firmware *firmware);

#endif
