/* question.h - a question that a torque outside of its limits raises by itself.
 *
 * Room: judge (pure).  A guess at what happened on the bench, said beside the verdict and changing
 * nothing in it.  At most one: what lies nearest. */
#ifndef BW_JUDGE_QUESTION_H
#define BW_JUDGE_QUESTION_H

#include "judge/judge.h"
#include "trade/units.h"

typedef enum bw_question {
    BW_QUESTION_NONE = 0,
    BW_QUESTION_OTHER_UNIT,   /* the figure is right, in another unit */
    BW_QUESTION_OTHER_STAGE,  /* the torque of another stage of this step */
    BW_QUESTION_LAST_SETTING, /* the torque that the wrench was set to for the joint before */
    BW_QUESTION_TWO_PEAKS,    /* pulled again after it had clicked */
    BW_QUESTION_COUNT
} bw_question;

enum { BW_QUESTION_TEXT_MAX = 160 };

/* What is known.  Borrowed. */
typedef struct bw_question_facts {
    const bw_stage *stage; /* as it was judged */
    const bw_verdict *verdict;
    bw_unit unit;           /* of torque, as the sequence writes this stage */
    const double *other_Nm; /* targets of the step's other stages, 0 where one has none */
    size_t other_n;
    double last_setting_Nm; /* target of the joint before; 0: not known */
    double peaks_apart_s;   /* between the newest two peaks that reached the low limit: in this pull
                               (bw_judge_peaks_apart_s), or in it and the one before; INFINITY:
                               there are not two */
} bw_question_facts;

/* A torque is asked about where it is below or above its limits and fits another one as well as the
 * stage wants its own; two peaks, where they are within a second and the torque is above its limit
 * or came without turn.  The sentence goes to out (size >= 1), "" where there is none. */
bw_question bw_judge_question(const bw_question_facts *facts, char *out, size_t size);

/* "other_unit" ..., static; NULL for BW_QUESTION_NONE and outside of the enum. */
const char *bw_question_word(bw_question question);

#endif
