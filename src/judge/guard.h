/* guard.h - what a verdict is worth beside the wrench's uncertainty and calibrated range.
 *
 * Room: judge (pure).
 *
 * Guarded rules draw the limits in by a guard (trade/uncertainty.h); the uncertainty of a torque is
 * a share of it, that of a turn a number of degrees.  A torque or turn inside the limits but not
 * inside those is suspect, inside_guard.
 *
 * Where the rule is guarded and the uncertainty is not known, it is so too: such a rule accepts
 * what is shown to be inside, and what is not known shows nothing.  Another pull with that wrench
 * mends nothing then.  Where the stage has no such limit, none is needed.
 *
 * What was measured with a gauge (STRETCH) or seen has no uncertainty here: none is known. */
#ifndef BW_JUDGE_GUARD_H
#define BW_JUDGE_GUARD_H

#include "judge/judge.h"

/* Enters rule and uncertainty into the verdict, and what follows from them and from the range.  For
 * a verdict that is complete but for that. */
void bw_guard_judge(const bw_stage *stage, const bw_terms *terms, bw_verdict *verdict);

#endif
