/* plan_text.h - a plan printed for reading aloud, and as JSON Lines (commands.md, check).
 *
 * Room: face. */
#ifndef BW_FACE_PLAN_TEXT_H
#define BW_FACE_PLAN_TEXT_H

#include "sequence/plan.h"
#include "sequence/sequence.h"

#include <stdio.h>

/* What a step, or all of them, ask of the wrench and of the hand. */
typedef struct bw_wrench_need {
    double low_Nm, high_Nm; /* torques that it must show; low above high: none is asked for */
    size_t pulls;           /* one a place and stage */
    size_t strokes;         /* of the hand, about: a turn takes more than one */
} bw_wrench_need;

bw_wrench_need bw_step_need(const bw_plan *plan, const bw_step *step);
bw_wrench_need bw_plan_need(const bw_plan *plan);

void bw_plan_print(const bw_plan *plan, FILE *out);
/* Which torques the wrench must show for each step, and for all of them; part of bw_plan_print. */
void bw_plan_print_tools(const bw_plan *plan, FILE *out);
void bw_plan_print_json(const bw_plan *plan, FILE *out);

/* One line each: "FILE:LINE: what is wrong". */
void bw_mistakes_print(const bw_mistake *mistake, size_t n, FILE *out);
void bw_mistakes_print_json(const bw_mistake *mistake, size_t n, FILE *out);

#endif
