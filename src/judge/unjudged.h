/* unjudged.h - no trace, no claim: what a verdict does not say.
 *
 * Room: judge (pure). */
#ifndef BW_JUDGE_UNJUDGED_H
#define BW_JUDGE_UNJUDGED_H

#include "judge/judge.h"

enum { BW_NOT_JUDGED_MAX = 200 };

/* "Not judged: turn, early rise, yielding, torque drop, turning back, slope beside the others."
 * into out (size >= 1), "" where all was judged; returns out.  Looks at the verdict's reasons and
 * has_turn only, so a verdict read from a record will do. */
const char *bw_judge_not_judged(const bw_stage *stage, const bw_verdict *verdict, char *out,
                                size_t size);

#endif
