/* session_int.h - what the session's own files share.  Not for other rooms. */
#ifndef BW_SESSION_SESSION_INT_H
#define BW_SESSION_SESSION_INT_H

#include "session/session.h"

enum { BW_PERSON_MAX = 64, BW_TOOL_TEXT_MAX = 200 };

typedef struct bw_reading_state {
    bool given;
    double value;   /* base unit */
    uint64_t entry; /* number of the entry that gave it */
} bw_reading_state;

typedef enum bw_value_state {
    BW_VALUE_OPEN = 0,
    BW_VALUE_FINE,
    BW_VALUE_OUTSIDE, /* wants a decision */
    BW_VALUE_OVERRIDDEN
} bw_value_state;

typedef struct bw_derived_state {
    bw_value_state state;
    double value; /* base unit */
    uint64_t entry;
} bw_derived_state;

/* One fastener of a tightening step. */
typedef struct bw_fastener_state {
    bw_standing standing;                     /* for its next pull */
    double stage_peak_Nm[BW_PLAN_STAGES_MAX]; /* of accepted stages */
    uint32_t overridden;                      /* bit i: stage i was accepted by a decision */
} bw_fastener_state;

typedef struct bw_step_state {
    bool done;
    uint32_t put_off; /* 0: not; else the later the larger */
    size_t reading_n;
    size_t *set_first;           /* [set_n] index of a set's first reading */
    bw_reading_state *reading;   /* [reading_n] */
    bw_derived_state *derived;   /* [derived_n] */
    bw_progress *progress;       /* [place_n] */
    bw_fastener_state *fastener; /* [place_n] */
} bw_step_state;

/* Which fastener and stage. */
typedef struct bw_spot {
    size_t step, place, stage;
} bw_spot;

typedef struct bw_draft {
    bool on;
    bool asks_reason; /* the second person is known */
    char second[BW_PERSON_MAX];
} bw_draft;

struct bw_session {
    const bw_plan *plan;
    const char *build, *bench;
    bool rehearsal;
    char by[BW_PERSON_MAX];
    char tool[BW_TOOL_TEXT_MAX];
    bw_step_state *step; /* [plan->step_n] */
    size_t active;       /* index of the step in hand; step_n: all done */
    bool opened, closed;
    bool running; /* no pause since it was opened or resumed */
    bool tool_lost;
    char tool_text[BW_TOOL_TEXT_MAX];
    bool pulling;
    bool undecided; /* a verdict waits for a decision */
    bw_spot spot;   /* of the pull or the verdict */
    bw_verdict verdict;
    uint64_t verdict_entry;      /* or of the interruption that stands for one */
    bw_spot accepted;            /* the last acceptance */
    uint64_t accepted_entry;     /* verdict of the last acceptance; 0: none to correct */
    uint64_t last_reading_entry; /* 0: none to go back to */
    size_t last_reading_step;
    bool lost;               /* the verdict stands for a pull of which nothing was kept */
    bw_standing before_lost; /* how the fastener stood before it */
    uint32_t put_offs;
    uint64_t misfits;
    bw_tally tally;
    bw_draft draft;
};

/* ---- session_open.c ---- */
bool bw_session_next_spot(const bw_session *s, size_t step, bw_spot *out);
bool bw_session_next_reading(const bw_session *s, size_t step, size_t *set, size_t *at,
                             size_t *number);
bool bw_session_open_value(const bw_session *s, size_t step, size_t *derived);

/* Whether a measuring or tightening step is done now. */
void bw_session_settle(bw_session *s, size_t step);
/* The step in hand: the first open one whose prerequisites are done and that was not put off;
 * where there is none, the one that was put off first. */
size_t bw_session_pick(const bw_session *s);
/* Whether a step other than the one in hand could be done now. */
bool bw_session_other_step(const bw_session *s);
size_t bw_session_readings_missing(const bw_session *s, size_t step);

/* ---- session_value.c ---- */
/* The derived value in the base unit, with reading number `changed` (from 0, in the step's order)
 * taken as value; SIZE_MAX: none is changed. */
BW_MUST_USE bw_status bw_session_value(const bw_session *s, size_t step, size_t derived,
                                       size_t changed, double value, double *result, bw_err *err);
/* "pass", "low" or "high". */
const char *bw_session_value_verdict(const bw_derived *derived, double value);

/* ---- session_fold.c ---- */
bool bw_session_entry_spot(const bw_session *s, const bw_entry *e, bw_spot *out);
bool bw_session_entry_derived(const bw_session *s, const bw_entry *e, size_t *step,
                              size_t *derived);

/* ---- session_make.c ---- */
/* A copy of text that lives as long as the actions. */
const char *bw_make_text(bw_actions *out, const char *text);
/* A further entry with the members that all kinds have. */
bw_entry *bw_make_entry(bw_session *s, const bw_event *ev, bw_actions *out, bw_kind kind);
/* The same, about the step in hand. */
bw_entry *bw_make_at_step(bw_session *s, const bw_event *ev, bw_actions *out, bw_kind kind);
void bw_make_spot(const bw_session *s, const bw_spot *spot, bw_entry *e);
void bw_make_person(bw_session *s, const bw_event *ev, bw_actions *out, const char *name);
/* A limit that is none has no member. */
void bw_make_limit(bw_entry *e, bw_member member, double limit);
/* NULL where every step is done. */
const bw_step *bw_session_active_step(const bw_session *s);
void bw_say(bw_actions *out, bw_tone tone, const char *text);

/* ---- session_answer.c, session_decide.c ---- */
void bw_decide_answer(bw_session *s, const bw_event *ev, bw_actions *out);
void bw_decide_pause(bw_session *s, const bw_event *ev, bw_actions *out);

/* ---- session_say.c: the sentences ---- */
void bw_say_resumed(const bw_session *s, bw_actions *out);
void bw_say_verdict(const bw_session *s, const bw_verdict *verdict, bw_actions *out);
void bw_say_aside(const bw_session *s, const bw_verdict *verdict, bw_actions *out);
void bw_say_value(const bw_derived *derived, double value, bool fine, bw_actions *out);
void bw_say_implausible(const bw_reading_set *set, bw_quantity typed, bw_actions *out);
void bw_say_wrong(const bw_session *s, size_t place, bw_actions *out);
void bw_say_decided(const bw_session *s, const char *word, bw_actions *out);
void bw_say_help(const bw_session *s, bw_actions *out);

#endif
