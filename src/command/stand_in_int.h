/* stand_in_int.h - what the stand-in's files share: its hand, its answers, its place.
 *
 * Room-private. */
#ifndef BW_COMMAND_STAND_IN_INT_H
#define BW_COMMAND_STAND_IN_INT_H

#include "command/firmware.h"
#include "command/memory.h"
#include "command/stand_in.h"
#include "rehearsal/wrench.h"

#include <uv.h>

struct bw_stand_in {
    uint64_t seed;
    double speed;
    bw_arena *arena;
    bw_wrench *wrench; /* either of both, the other NULL */
    bw_firmware *firmware;
    bw_turn *turn;
    uv_idle_t act; /* answers once the prompt's round is over */
    uv_timer_t send;
    uv_timer_t plug;
    bw_prompt prompt;
    bool asked;            /* the prompt waits for what it asks */
    FILE *echo;            /* where its lines are shown, or NULL */
    double clock_s;        /* of the wrench */
    double sent_from_s;    /* clock when the pull began */
    uint64_t sent_from_ms; /* loop's time then */
    bool unplug_after;     /* the pull in hand ends with the wrench going away */
    bool battery_flat;
    bool unfelt;      /* the pull in hand has so little torque that nothing will come of it */
    int unfelt_times; /* one after the other */
    int again;
    int unheard;      /* lines typed since something was recorded */
    bw_memory memory; /* of the builder */
};

/* Answers the prompt, once its round is over. */
void bw_stand_in_act(bw_stand_in *s);
/* As the state of the prompt has it: a line, or a pull. */
void bw_stand_in_answer(bw_stand_in *s);
void bw_stand_in_type(bw_stand_in *s, const char *line);

/* The pull that the prompt asks for. */
void bw_stand_in_pull(bw_stand_in *s);
/* The pull in hand is not over at the wrench's end. */
bool bw_stand_in_sends(bw_stand_in *s);
/* The wrench went away: it comes back a little later. */
void bw_stand_in_plug_again(bw_stand_in *s);

#endif
