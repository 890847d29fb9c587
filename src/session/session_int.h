/* session_int.h - what the session's own files share.  Not for other rooms. */
#ifndef BW_SESSION_SESSION_INT_H
#define BW_SESSION_SESSION_INT_H

#include "session/session.h"

#include "base/text.h"

enum { BW_PERSON_MAX = 64, BW_TOOL_TEXT_MAX = 200, BW_ASIDE_MAX = 1024 };

/* A question beside a verdict, which is said before it. */
enum { BW_ASKED_MAX = BW_SAY_MAX / 2 };

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

/* How a fastener is left by an accepted stage.  All zero: not tightened yet. */
typedef struct bw_left {
    double torque_Nm; /* as bw_standing has it */
    bool loosened;    /* backed off by an angle: what torque is left is not known */
    double prevailing_Nm;
    double slope_Nm_per_deg; /* of this stage, where a verdict accepted it; 0: none to compare */
    double
        joint_Nm_per_deg; /* the steepest of the stages so far that a verdict accepted; 0: none */
} bw_left;

/* One fastener of a tightening step. */
typedef struct bw_fastener_state {
    bw_standing standing; /* for its next pull, without siblings */
    double free_mm;       /* its length before the first pull of this attempt; 0: not measured */
    uint32_t overridden;  /* bit i: stage i was accepted by a decision */
    int cycles_before;    /* that it had when it was last told whether it is new */
    bool counted;         /* it is tight, and that is counted as a cycle of its own */
    bw_left *left;        /* [stage_n] by accepted stages; storage of the session's arena */
} bw_fastener_state;

/* The part at one place of a FIT step. */
typedef struct bw_fitted {
    uint64_t entry; /* 0: none yet */
    char mark[BW_PLAN_ID_MAX + 1];
} bw_fitted;

typedef struct bw_step_state {
    bool done;
    bool skipped;       /* left out by an answer; counts as done */
    int64_t done_ms;    /* when it was done; 0: not */
    size_t answer;      /* ASK, done: index of its answer */
    bool overrun;       /* that it was late is recorded */
    uint64_t due_entry; /* what says that its fasteners must be seen to again; 0: nothing does */
    bool due_done;      /* they were, since they were tightened */
    bool reuse_told;    /* TIGHTEN: the fasteners are new, or were checked */
    bw_fitted *fitted;  /* FIT: [to_n] */
    bool anew;          /* TIGHTEN: it is done anew */
    bool witnessed;     /* TIGHTEN: a second person has looked at it */
    uint32_t put_off;   /* 0: not; else the later the larger */
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
    bool decides;     /* a pull that another one could mend is decided on after all */
    bool on;          /* an override is asked about */
    bool asks_reason; /* the second person is known */
    size_t redo;      /* number of the step that is done anew once the line is typed again; 0 */
    char second[BW_PERSON_MAX];
} bw_draft;

/* A pull that is in the record, and the wrench that made it. */
typedef struct bw_pulled {
    uint64_t entry;
    double uncertainty_deg; /* of that wrench; 0: not known */
    char tool[BW_TOOL_TEXT_MAX];
} bw_pulled;

/* The last thing that was measured or seen at a fastener, and how all stood before it. */
typedef struct bw_answered {
    uint64_t entry;  /* 0: there is none to take back */
    bool after_pull; /* else its free length */
    bw_spot spot;
    bw_fastener_state fastener;
    bw_progress progress;
    bw_verdict verdict; /* what the pull gave */
    bw_pulled pulled;
} bw_answered;

struct bw_session {
    const bw_plan *plan;
    int **cycles; /* [group_n][place_n] how often that very fastener was made tight */
    const char *build, *bench;
    bool rehearsal;
    char by[BW_PERSON_MAX];
    char tool[BW_TOOL_TEXT_MAX];
    char tool_port[BW_TOOL_TEXT_MAX];
    char tool_serial[BW_TOOL_TEXT_MAX]; /* of the device itself; "" not known */
    bw_step_state *step;                /* [plan->step_n] */
    size_t active;                      /* index of the step in hand; step_n: all done */
    bool opened, closed;
    uint64_t closed_entry, reopened_entry; /* the newest; 0: none */
    bool running;                          /* no pause since it was opened or resumed */
    bool tool_lost;
    char tool_text[BW_TOOL_TEXT_MAX];
    bw_terms tool_terms; /* rule unused */
    bw_stage asked;      /* what bw_session_stage points to */
    bool pulling;
    bool waits;                   /* a pull waits for what is measured or seen at the fastener */
    bw_pulled pulled;             /* that pull */
    bw_seen seen;                 /* what was */
    bw_answered answered;         /* what can be taken back */
    bool undecided;               /* a verdict waits for a decision */
    bool moved;                   /* that was another fastener's than the one that was asked for */
    bw_spot spot;                 /* of the pull or the verdict */
    size_t aside_n;               /* pulls that were not asked for */
    uint64_t aside[BW_ASIDE_MAX]; /* entries of the newest of them, a ring */
    double setting_Nm;            /* what the last verdict's stage aims for */
    size_t setting_step;          /* in which step, where setting_Nm is not 0 */
    double last_setting_Nm;  /* what the step pulled before that one aimed for; 0: there is none */
    bw_standing before_pull; /* how the fastener stood before the verdict that waits */
    bw_verdict verdict;
    uint64_t verdict_entry;      /* or of the interruption that stands for one */
    bool verdict_counted;        /* a cycle was counted with that verdict */
    bool accepted_counted;       /* with that of the last acceptance */
    bw_spot accepted;            /* the last acceptance */
    bw_verdict accepted_verdict; /* by which it was */
    uint64_t accepted_entry;     /* verdict of the last acceptance; 0: none to correct */
    uint64_t last_reading_entry; /* 0: none to go back to */
    size_t last_reading_step;
    uint64_t confirmed_entry; /* of the last confirmation; 0: none to go back to */
    size_t confirmed_step;
    bool confirmed_position; /* it was about how the crank stands */
    bool lost;               /* the verdict stands for a pull of which nothing was kept */
    bw_standing before_lost; /* how the fastener stood before it */
    uint32_t put_offs;
    uint64_t entries; /* of this build so far */
    uint64_t misfits;
    bw_tally tally;
    const char *position; /* how the crank stands, in the words of the plan; NULL: not known */
    bw_draft draft;
};

/* ---- session_open.c ---- */
bool bw_session_next_spot(const bw_session *s, size_t step, bw_spot *out);
bool bw_session_next_reading(const bw_session *s, size_t step, size_t *set, size_t *at,
                             size_t *number);
bool bw_session_open_value(const bw_session *s, size_t step, size_t *derived);
/* Whether the step in hand waits for the free length of the fastener that comes next. */
bool bw_session_wants_free_length(const bw_session *s, bw_spot *out);

/* Whether a measuring or tightening step is done now. */
void bw_session_settle(bw_session *s, size_t step);
/* Whether what is asked for can't be pulled with this wrench: its torque is typed, and a trace is
 * needed. */
bool bw_session_refuses_tool(const bw_session *s);
/* Whether a tightening step wants nothing more but a second person. */
bool bw_session_wants_witness(const bw_session *s, size_t step);
/* The step in hand: the first open one whose prerequisites are done and that was not put off;
 * where there is none, the one that was put off first. */
size_t bw_session_pick(const bw_session *s);
/* Whether a step other than the one in hand could be done now. */
bool bw_session_other_step(const bw_session *s);
size_t bw_session_readings_missing(const bw_session *s, size_t step);

/* What is said where a typed torque is refused. */
extern const char bw_needs_trace_text[];

/* ---- session_fastener.c ---- */
bw_fastener_state *bw_fastener_at(const bw_session *s, const bw_spot *spot);
bw_progress *bw_progress_at(const bw_session *s, const bw_spot *spot);
const bw_plan_stage *bw_spot_stage(const bw_session *s, const bw_spot *spot);
/* How the stages before this one left the fastener. */
bw_left bw_left_before(const bw_session *s, const bw_spot *spot);
/* The step that goes on from what this one left; false where there is none. */
bool bw_step_continued(const bw_session *s, size_t step, size_t *by);
/* How often the fastener is made tight, this stage included. */
int bw_cycle_with(const bw_session *s, const bw_spot *spot);
/* The fastener is tight with this stage: a cycle of its own, and true, where it was not before. */
bool bw_count_cycle(bw_session *s, const bw_spot *spot);
/* It was another one: the cycle that was counted is none. */
void bw_uncount_cycle(bw_session *s, const bw_spot *spot);
/* Whether it may be loosened and made tight anew, and then as often as the plan still asks. */
bool bw_has_cycle_left(const bw_session *s, const bw_spot *spot);
/* The stage as it is for this fastener. */
bw_stage bw_spot_aim(const bw_session *s, const bw_spot *spot);
/* The last of its group that passes this stage, with that slope: asks about those before it that
 * had too few siblings to be compared with, in a sentence to out (BW_ASKED_MAX bytes); false where
 * there are none. */
bool bw_look_back(const bw_session *s, const bw_spot *spot, double slope_Nm_per_deg, char *out,
                  size_t size);
/* How it stands, with its siblings in this stage. */
bw_standing bw_spot_standing(const bw_session *s, const bw_spot *spot);
/* The spot of the pull that is on, asked for or decided on. */
bw_spot bw_session_spot(const bw_session *s);
/* Whether the builder may decide on the last pull, though another one could mend it. */
bool bw_session_may_decide(const bw_session *s);
/* Fills in what bw_session_stage points to. */
void bw_session_ask(bw_session *s);
/* Whether a stage of the step leaves a fastener tighter; whether one measures its stretch. */
bool bw_step_tightens(const bw_step *step);
bool bw_step_stretches(const bw_step *step);
/* Whether a pull that was meant for another fastener can count for this one. */
bool bw_carries_over(const bw_session *s, const bw_spot *to);

/* ---- session_value.c ---- */
/* The derived value in the base unit, with reading number `changed` (from 0, in the step's order)
 * taken as value; SIZE_MAX: none is changed. */
BW_MUST_USE bw_status bw_session_value(const bw_session *s, size_t step, size_t derived,
                                       size_t changed, double value, double *result, bw_err *err);
/* Whether the readings at the point of this one, with this value for it, are all there and differ
 * by more than they may; and by how much they differ (base unit). */
bool bw_session_too_spread(const bw_session *s, size_t step, size_t set, size_t index, double value,
                           double *spread);
/* "pass", "low" or "high". */
const char *bw_session_value_verdict(const bw_derived *derived, double value);

/* ---- session_fold.c ---- */
typedef bool bw_apply(bw_session *s, const bw_entry *e);

bool bw_session_entry_step(const bw_session *s, const bw_entry *e, size_t *step);
bool bw_session_entry_spot(const bw_session *s, const bw_entry *e, bw_spot *out);
bool bw_session_entry_derived(const bw_session *s, const bw_entry *e, size_t *step,
                              size_t *derived);
/* Every reading of a measuring step is open again, and what came from it. */
void bw_measure_step_anew(bw_session *s, size_t step);
/* What was pulled, read or measured last is no longer at hand. */
void bw_session_went_on(bw_session *s);
void bw_session_confirmed(bw_session *s, const bw_entry *e, size_t step, bool position);

/* ---- session_job.c: questions, waits, choices, positions, what must not happen ---- */
bw_apply bw_apply_answered, bw_apply_position, bw_apply_overrun;
/* After each entry: which steps are left out, when each was done, what is known of the crank. */
void bw_session_keep_job(bw_session *s, const bw_entry *e);
bool bw_session_wants_position(const bw_session *s);
const char *bw_session_chosen(const bw_session *s, size_t step);
void bw_session_fill_job(const bw_session *s, bw_prompt *out);
/* Adds that the step in hand is late, where what was decided belongs to it. */
void bw_decide_overrun(bw_session *s, const bw_event *ev, bw_actions *out);
/* Adds what is still due once the build is closed; returns how many things that are. */
size_t bw_make_due(bw_session *s, const bw_event *ev, bw_actions *out);
/* False, and said, where a wait is not over. */
bool bw_wait_is_over(const bw_session *s, const bw_event *ev, bw_actions *out);

/* ---- session_free.c ---- */
void bw_keep_aside(bw_session *s, const bw_entry *pull);
void bw_word_name(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out);

/* ---- session_part.c ---- */
/* Whether a tightening step has to be told first whether its fasteners are new or were checked. */
bool bw_session_wants_reuse(const bw_session *s, size_t step);
void bw_fill_reuse(bw_prompt *out);
void bw_take_reuse(bw_session *s, const bw_event *ev, bw_actions *out);
bool bw_apply_reuse(bw_session *s, const bw_entry *e, size_t step);
/* The step's fasteners are others, or others than was told: it is asked again. */
void bw_tell_reuse_anew(bw_session *s, size_t step);
/* A new one is put in at this place. */
void bw_keep_replaced(bw_session *s, const bw_spot *spot);
/* It was told wrongly: all is as before. */
void bw_take_back_reuse(bw_session *s, size_t step);
bool bw_session_next_fit(const bw_session *s, size_t step, size_t *to);
void bw_fill_fit(const bw_session *s, bw_prompt *out);
/* What must stand on the part for this place; NULL: whatever stands there. */
const char *bw_session_mark_for(const bw_session *s, size_t step, size_t to);
bw_apply bw_apply_fitted;
/* Opens the place of this entry again; returns the newest entry that is left, 0: none. */
uint64_t bw_take_back_fit(bw_session *s, size_t step, uint64_t entry);
/* The value that chooses, in mm; and the size that is taken, NULL where none is near enough. */
double bw_session_stock_wanted(const bw_session *s, const bw_step *step);
const char *bw_session_from_stock(const bw_session *s, const bw_step *step);
/* False, and said, where the drawer of the step in hand has none. */
bool bw_stock_has_one(const bw_session *s, bw_actions *out);

/* ---- session_fold_pull.c: false where the entry does not fit ---- */
bw_apply bw_apply_pull_begun, bw_apply_pull, bw_apply_length, bw_apply_slot, bw_apply_verdict,
    bw_apply_interrupted, bw_apply_fastener_decision;
/* A correction that names a fastener's pull or what was measured at it. */
bool bw_apply_fastener_correction(bw_session *s, const bw_entry *e);
/* Every fastener of the step, and of what goes on from it, from its first stage. */
void bw_tighten_step_anew(bw_session *s, size_t step);

/* ---- session_kept.c: beside the steps, and after a build is closed ---- */
bw_apply bw_apply_reopened, bw_apply_due, bw_apply_due_done;
void bw_decide_closed(bw_session *s, const bw_event *ev, bw_actions *out);
typedef void bw_word(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out);
bw_word bw_word_part, bw_word_file, bw_word_checkpoint;
/* The number from 1 to most that text is; 0: it is none. */
size_t bw_count_of(const char *text, size_t most);

/* ---- session_redo.c ---- */
/* Whether anything of the step is done, and is not left out by an answer. */
bool bw_session_has_begun(const bw_session *s, size_t step);
bw_apply bw_apply_redone;
bw_word bw_word_redo;

/* ---- session_make.c ---- */
/* A copy of text that lives as long as the actions. */
const char *bw_make_text(bw_actions *out, const char *text);
/* Where figures are from, likewise. */
const char *bw_make_source(const bw_session *s, const bw_plan_stage *stage, bw_actions *out);
/* A further entry with the members that all kinds have. */
bw_entry *bw_make_entry(bw_session *s, const bw_event *ev, bw_actions *out, bw_kind kind);
/* The same, about the step in hand. */
bw_entry *bw_make_at_step(bw_session *s, const bw_event *ev, bw_actions *out, bw_kind kind);
void bw_make_spot(const bw_session *s, const bw_spot *spot, bw_entry *e);
/* The decision on the verdict, the pull or the value that waits. */
bw_entry *bw_make_decision(bw_session *s, const bw_event *ev, bw_actions *out, const char *word);
void bw_make_person(bw_session *s, const bw_event *ev, bw_actions *out, const char *name);
/* A limit that is none has no member. */
void bw_make_limit(bw_entry *e, bw_member member, double limit);
/* NULL where every step is done. */
const bw_step *bw_session_active_step(const bw_session *s);
void bw_say(bw_actions *out, bw_tone tone, const char *text);

/* ---- session_judged.c: a pull and what it amounts to ---- */
bw_entry *bw_make_pull(bw_session *s, const bw_event *ev, bw_actions *out, bool asked);
bw_entry *bw_make_verdict(bw_session *s, const bw_event *ev, bw_actions *out, const bw_verdict *v,
                          const bw_pulled *pulled);
/* What a pull gave that waits for what is measured or seen at the fastener. */
void bw_make_waiting(const bw_verdict *v, bw_entry *pull, bw_actions *out);

/* ---- session_answer.c, session_word.c, session_seen.c, session_decide.c ---- */
typedef void bw_handler(bw_session *s, const bw_event *ev, bw_actions *out);

void bw_decide_answer(bw_session *s, const bw_event *ev, bw_actions *out);
bw_handler bw_take_length, bw_take_slot, bw_take_answer, bw_take_position, bw_take_fit;
/* What a bare length means, and the stage that it is for. */
bw_unit bw_length_unit(const bw_plan_stage *stage);
const bw_plan_stage *bw_stretch_stage(const bw_session *s, const bw_spot *spot);
/* The next piece of a list that commas part, without the spaces around it; NULL: there is none. */
char *bw_next_piece(char **list);
/* A line without the spaces around it; false where it could not stand in a record. */
bool bw_tidy_line(const char *line, char *out, size_t size);
/* Carries out the word that the line is; false where it is none for this state. */
bool bw_session_may_go_back(const bw_session *s);
bool bw_try_words(bw_session *s, const bw_event *ev, bw_actions *out);
void bw_decide_pause(bw_session *s, const bw_event *ev, bw_actions *out);
bool bw_same_word(const char *text, const char *word);
bool bw_is_yes(const char *text);
/* Reads a quantity in the unit of the set, with a decimal comma where that is what is plausible. */
bool bw_read_quantity(const char *text, const bw_reading_set *set, bw_quantity *q, bw_err *err);
bool bw_plausible(const bw_reading_set *set, bw_quantity q);
/* That one of these is the answer. */
void bw_say_options(const bw_option *option, size_t n, bw_actions *out);
/* The option that the text is, by its word, or by its number where numbers count; NULL: none. */
const bw_option *bw_find_option(const bw_prompt *prompt, const char *text, bool numbers);

/* ---- session_say.c: the sentences ---- */
void bw_say_resumed(const bw_session *s, bw_actions *out);
/* question: "" for none. */
void bw_say_verdict(const bw_session *s, const bw_verdict *verdict, const char *question,
                    bw_actions *out);
/* Of a pull that nobody asked for. */
void bw_say_aside(const bw_session *s, const bw_event *ev, bw_actions *out);
void bw_say_value(const bw_derived *derived, double value, bool fine, bw_actions *out);
/* The readings at a point differ too much. */
void bw_say_spread(const bw_reading_set *set, size_t at, double spread, bw_actions *out);
/* Its formula gave nothing, and why. */
void bw_say_no_value(const bw_derived *derived, const char *why, bw_actions *out);
/* The reading of that entry is taken back: what it was is said, where the step measures. */
void bw_say_read_again(const bw_session *s, size_t step, uint64_t entry, bw_actions *out);
void bw_say_implausible(const bw_reading_set *set, bw_quantity typed, bw_actions *out);
void bw_say_too_coarse(const bw_plan_stage *stage, bw_actions *out);
void bw_say_wrong(const bw_session *s, size_t place, bw_actions *out);
void bw_say_another(const bw_session *s, size_t place, bw_actions *out);
void bw_say_decided(const bw_session *s, const char *word, bw_actions *out);
void bw_say_help(const bw_session *s, bw_actions *out);
void bw_say_too_soon(const bw_session *s, const bw_verdict *verdict, bw_actions *out);
/* A pull that waits for what is measured or seen at the fastener. */
void bw_say_waiting(const bw_session *s, const bw_verdict *verdict, bw_actions *out);
void bw_say_unsure_wrench(const bw_session *s, const bw_terms *tool, bw_actions *out);
/* Another device than before under the same name, or the same one on another port. */
void bw_say_changed_wrench(const bw_session *s, const bw_event *ev, bw_actions *out);

/* What they share. */
enum { BW_SAID_MAX = 64 };
bw_text bw_on_say(bw_actions *out, bw_tone tone);
void bw_name_place(const bw_group *group, size_t place, bw_text *text);
void bw_name_spot(const bw_session *s, bw_text *text);

#endif
