/* stand_in.h - who stands in for builder and wrench in a rehearsal.
 *
 * Room: command.  A face that answers: it reads each prompt, types a line or makes a pull with the
 * simulated hand, and lets the simulated wrench send the samples through a pseudo-terminal.  What
 * the joint looks like follows from the recorded pulls alone, so a rehearsal that was broken off
 * goes on with the same joint. */
#ifndef BW_COMMAND_STAND_IN_H
#define BW_COMMAND_STAND_IN_H

#include "base/arena.h"
#include "base/status.h"
#include "rehearsal/fault.h"
#include "session/replay.h"
#include "session/turn.h"

#include <stdint.h>
#include <stdio.h>

typedef struct bw_stand_in bw_stand_in;

/* speed 0: as fast as it goes; else times as fast as a hand.  firmware: its wrench is the adapter's
 * firmware in a simulated chip.  echo: where the lines that it types are shown, NULL: nowhere.
 * Freed by bw_stand_in_free, after the turn. */
BW_MUST_USE bw_status bw_stand_in_new(uint64_t seed, double speed, const bw_fault_list *faults,
                                      bool firmware, FILE *echo, bw_stand_in **out, bw_err *err);
void bw_stand_in_free(bw_stand_in *stand_in);

/* The port of its wrench, and the driver that reads it.  Borrowed. */
const char *bw_stand_in_port(const bw_stand_in *stand_in);
const char *bw_stand_in_driver(const bw_stand_in *stand_in);

bw_face bw_stand_in_face(bw_stand_in *stand_in);

/* Finds the faults' places in the plan.  BW_E_ARG for a fault that names nothing of it. */
BW_MUST_USE bw_status bw_stand_in_check(void *stand_in, const bw_plan *plan, bw_err *err);

/* Takes its place once the build is open: makes the joints and gives them what is recorded. */
BW_MUST_USE bw_status bw_stand_in_ready(void *stand_in, bw_turn *turn, const bw_replay *replay,
                                        const bw_plan *plan, bw_err *err);

#endif
