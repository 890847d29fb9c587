/* ask.h - what every face says of a prompt: the sentences of a pull, of the clocks, while pulling.
 *
 * Room: face.  Lines begin with two spaces and end in newline. */
#ifndef BW_FACE_ASK_H
#define BW_FACE_ASK_H

#include "base/text.h"
#include "session/session.h"

/* What must not happen now, and by when the step must be done or may be. */
void bw_ask_bans_add(const bw_prompt *prompt, bw_text *text);
void bw_ask_clock_add(const bw_prompt *prompt, bw_text *text);

/* "Tighten  60.0 N·m (44.3 lbf·ft), limits ...": what a pull is to do. */
void bw_ask_task_add(const bw_prompt *prompt, bw_text *text);

/* What the joint's class asks for; nothing where it has none. */
void bw_ask_class_add(const bw_group *group, bw_text *text);

/* What the hand must know: the figures with its own prevailing torque, how to pull. */
void bw_ask_hand_add(const bw_prompt *prompt, bw_text *text);

/* What else counts for this fastener: whether it must be new, how often it was tight, what is
 * behind it. */
void bw_ask_notes_add(const bw_prompt *prompt, bw_text *text);
void bw_ask_cycles_add(const bw_prompt *prompt, bw_text *text);

/* "go on", "near", "STOP", "OVER - let go".  Static. */
const char *bw_ask_live_word(bw_live_word word);

/* While pulling: whether the hand follows a turn, else a torque; and what it follows it to, in N.m
 * or degrees (0 or not finite: nothing to aim for). */
bool bw_ask_follows_turn(const bw_stage *stage);
double bw_ask_follows_to(const bw_stage *stage);

#endif
