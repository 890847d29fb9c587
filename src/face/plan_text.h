/* plan_text.h - a plan printed for reading aloud, and as JSON Lines (commands.md, check).
 *
 * Room: face. */
#ifndef BW_FACE_PLAN_TEXT_H
#define BW_FACE_PLAN_TEXT_H

#include "sequence/plan.h"
#include "sequence/sequence.h"

#include <stdio.h>

void bw_plan_print(const bw_plan *plan, FILE *out);
void bw_plan_print_json(const bw_plan *plan, FILE *out);

/* One line each: "FILE:LINE: what is wrong". */
void bw_mistakes_print(const bw_mistake *mistake, size_t n, FILE *out);
void bw_mistakes_print_json(const bw_mistake *mistake, size_t n, FILE *out);

#endif
