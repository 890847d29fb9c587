/* plain.h - the rules of the judge read plainly: all samples of a short trace at once, no state. */
#ifndef BW_TESTS_JUDGE_PLAIN_H
#define BW_TESTS_JUDGE_PLAIN_H

#include "judge/judge.h"

enum { PLAIN_LONGEST = 6 };

typedef struct trace {
    size_t n;
    bw_sample s[PLAIN_LONGEST];
} trace;

/* Of kinds that need no curve: all but YIELD and CHECK.  BACK_OFF: the trace as seen in a mirror.
 */
bw_verdict plain_verdict(const bw_stage *stage, const bw_standing *standing, const trace *all,
                         bool complete);

#endif
