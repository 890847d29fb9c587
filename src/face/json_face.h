/* json_face.h - prompts, live help and sentences as JSON Lines, for scripts.
 *
 * Room: face.  Objects have a member `kind`: prompt, live (only when its word changes), say. */
#ifndef BW_FACE_JSON_FACE_H
#define BW_FACE_JSON_FACE_H

#include "session/turn.h"

#include <stdio.h>

typedef struct bw_json_face {
    FILE *out;
    bw_live_word live_word;
} bw_json_face;

/* A face over caller's storage; state must outlive it. */
bw_face bw_json_face_of(bw_json_face *state);

#endif
