/* bench.h - a session on a small plan, without record, wrench or loop: events go in, what is to be
 * recorded is checked against the registry, kept, and applied as the turn would. */
#ifndef BW_TESTS_SESSION_BENCH_H
#define BW_TESTS_SESSION_BENCH_H

#include "session/session.h"

enum { BENCH_ENTRIES_MAX = 4000 };

/* Steps of the plan, in its order. */
enum { HOT, BLOCK, CLEAN, BEARINGS, CAPS, RODS, TURN, STEPS };

/*  HOT       caution
 *  BLOCK     note
 *  CLEAN     confirm, after HOT
 *  BEARINGS  measure: bore and journal, front and rear each; clearance, and the
 *            taper of each, from them
 *  CAPS      tighten, after CLEAN and BEARINGS: 4 bolts in the order 2 3 1 4, to 30 then 60 N.m
 *  RODS      tighten, after CAPS: 2 bolts, to 20 N.m, then through 90 degrees
 *  TURN      confirm, after RODS */
const bw_plan *bench_plan(void);

/* Steps of another plan, for the kinds of stage that the first one lacks; each tightens.
 *  NUTS      3 locking nuts: prevailing torque 1 to 8 N.m, then to 40 above it
 *  STUDS     2: to 20 N.m, then stretched by 0.15 mm, never above 60 N.m
 *  CASTLE    2 castle nuts: 60 to 90 N.m, to the next slot of 6
 *  HEAD      6: to 60 N.m, back by 90 degrees, back until loose, then to yield
 *  CHECKED   the same 6: first movement at 50 to 75 N.m
 *  SHAFT     rotating torque 2 to 6 N.m
 *  SLEEVE    crept to a rotating torque of 2.0 to 2.6 N.m
 *  QUESTION yes or no
 *  TOP      confirm, with cylinder 1 at the top
 *  HOOK     1 bolt of joint class A, to 20 N.m
 *  COVER    fit: a cover marked C1 to place 1 */
enum { NUTS, STUDS, CASTLE, HEAD, CHECKED, SHAFT, SLEEVE, QUESTION, TOP, HOOK, COVER, KINDS };
const bw_plan *bench_kinds_plan(void);

typedef struct bench {
    bw_arena *arena;
    const bw_plan *plan;
    bw_session *session;
    bw_actions *actions; /* of the last event */
    size_t entry_n;
    bw_entry *entry; /* [entry_n], as they would be read back from the record */
    size_t events;
    int64_t ahead_ms; /* of a second for each event */
} bench;

#define BENCH_BEGIN_MS INT64_C(1764000000000)

void bench_open(bench *b); /* nothing recorded yet */
void bench_open_plan(bench *b, const bw_plan *plan);
void bench_close(bench *b);

/* Decides, records, applies.  Fails the test where an entry is against the registry. */
void bench_send(bench *b, bw_event event);

/* The events, with what they usually carry. */
void bench_person(bench *b, const char *name); /* OPEN */
void bench_event(bench *b, bw_event_kind kind);
void bench_type(bench *b, const char *line); /* ANSWER */
void bench_begin(bench *b);                  /* PULL_BEGUN */
void bench_end(bench *b, const bw_verdict *verdict, bool complete);

/* A whole pull with this verdict, its pulls and turn counted on from what stands; peak as judged
 * where no peak is given. */
void bench_verdict(bench *b, bw_verdict verdict);

/* A whole pull, judged by what is asked for. */
void bench_pull(bench *b, double peak_Nm, double turn_deg);
/* One that passes the stage that is asked for. */
void bench_good_pull(bench *b);

/* ---- getting somewhere ---- */

/* Opened by A. Lund, with a wrench, at this step, all before it done well. */
void bench_at(bench *b, size_t step);
/* The same with the other plan; done well until this fastener (place index) has its turn. */
void bench_kinds_at(bench *b, size_t step, size_t stage, size_t place);
/* What is asked for is answered well, whatever it is, one event (or pull) at a time, until this
 * step (STEPS: until CLOSE). */
void bench_work(bench *b, size_t until_step);
/* One answer or pull, a good one. */
void bench_answer_well(bench *b);
/* To CLOSE from wherever it is, by the first thing that is offered where something is to be
 * decided; then each thing of the first plan stands in the record as confirmed once, no more. */
void bench_finish(bench *b);

/* ---- looking ---- */

bw_state bench_state(const bench *b);
bw_prompt bench_prompt(const bench *b);
/* Kinds of the entries of the last event, parted by a space. */
const char *bench_kinds(const bench *b);
const char *bench_said(const bench *b);
/* The n-th entry from the end, from 0. */
const bw_entry *bench_last(const bench *b, size_t n);

/* ---- checking: each fails the test ---- */

/* A pull on the fastener with this label, in this stage from 1. */
void bench_asks(const bench *b, const char *label, size_t stage);
void bench_at_step(const bench *b, size_t step);
void bench_recorded(const bench *b, const char *kinds);
void bench_told(const bench *b, const char *part); /* said, among other things */
void bench_has_text(const bw_entry *e, bw_member member, const char *text);
void bench_options(const bench *b, const char *expected); /* words, parted by a space */

/* ---- comparing ---- */

/* Killed, and begun again from what is recorded. */
void bench_killed(bench *b);

/* A session that has folded the first n entries and nothing else, in b's arena. */
bw_session *bench_fold(bench *b, size_t n);

/* Compares all that can be seen of two sessions; NULL where it is the same, else what differs. */
const char *bench_difference(const bw_session *a, const bw_session *b);

#endif
