/* judge_answer.h - what the command judge answers: as text that teaches, and as JSON.
 *
 * Room: command; included by judge.c and judge_answer.c only. */
#ifndef BW_COMMAND_JUDGE_ANSWER_H
#define BW_COMMAND_JUDGE_ANSWER_H

#include "judge/judge.h"
#include "judge/question.h"
#include "sequence/plan.h"

/* A trace with what was made of it. */
typedef struct bw_judged {
    const char *path;
    const bw_plan *plan;
    const bw_step *step;
    const bw_plan_stage *stage; /* of it; as the sequence writes it */
    bw_stage as;                /* as it is for this fastener */
    const bw_sample *sample;
    size_t n;
    bw_standing standing;
    bw_terms terms;
    bw_judge judge;
    bw_verdict verdict;
    bw_question question;
    char question_text[BW_QUESTION_TEXT_MAX];
} bw_judged;

/* Both to standard output. */
void bw_judge_answer_text(const bw_judged *judged);
void bw_judge_answer_json(const bw_judged *judged);

#endif
