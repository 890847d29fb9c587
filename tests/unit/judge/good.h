/* good.h - a stage of each kind, and a pull that passes it, for tests of what must hold for all. */
#ifndef BW_TESTS_JUDGE_GOOD_H
#define BW_TESTS_JUDGE_GOOD_H

#include "pen.h"

/* One for each kind in its order, and one more: backed off until it is loose. */
enum { GOOD_CASES = BW_STAGE_KIND_COUNT + 1 };

/* A task for the judge: what must be, and what was before. */
typedef struct good {
    bw_stage stage;
    bw_standing standing;
} good;

good good_case(size_t which);

/* Draws its pull with the wrench that the pen has: `at` times the torque and `far` times the turn
 * that suit it best.  1 and 1 pass. */
void good_pull(pen *p, size_t which, double at, double far);

/* 1, or -1 where the torque of that case is below 0. */
double good_sign(size_t which);

#endif
