/* session.h - one build at the bench, as a pure function: plan + entries + event -> actions.
 *
 * Room: session.  No I/O, no clock, no allocation after bw_session_new.
 *
 * State is a fold of the entries and nothing else: bw_session_apply takes one entry that is in the
 * record.  bw_session_decide looks at the state and an event, and says which entries are to be
 * recorded and what is to be said once they are; it changes nothing but the draft of a question
 * that takes several answers (a second person, a reason), which is not worth a record until it is
 * whole.  bw_session_prompt says what to ask now.  Resume, re-judging, display and sheet are the
 * same replay.
 *
 * The table of states and events is in session_decide.c; tests walk every cell. */
#ifndef BW_SESSION_SESSION_H
#define BW_SESSION_SESSION_H

#include "base/arena.h"
#include "base/status.h"
#include "judge/judge.h"
#include "record/entry.h"
#include "sequence/plan.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum bw_state {
    BW_STATE_NEW = 0,       /* nothing recorded yet */
    BW_STATE_CONFIRM,       /* a caution or a confirmation waits for yes */
    BW_STATE_NOTE,          /* something is to be written down */
    BW_STATE_READING,       /* a reading of a gauge is wanted */
    BW_STATE_VALUE,         /* a derived value is outside its limits: decide */
    BW_STATE_PULL,          /* a pull on one fastener is asked for */
    BW_STATE_PULLING,       /* that pull has begun */
    BW_STATE_NO_TOOL,       /* a pull would be asked for, but the wrench is gone */
    BW_STATE_LENGTH,        /* the length of a fastener is wanted: free, or after a pull */
    BW_STATE_SLOT,          /* does a slot of the castle nut meet the hole after this pull? */
    BW_STATE_VERDICT,       /* a verdict that another pull can't mend: decide */
    BW_STATE_SECOND_PERSON, /* override: who else stands for it */
    BW_STATE_REASON,        /* override: why */
    BW_STATE_ASK,           /* a question of the sequence has to be answered */
    BW_STATE_POSITION,      /* the crank has to be turned to where the step needs it */
    BW_STATE_FIT,           /* which part is put to this place: its mark is wanted */
    BW_STATE_WITNESS,       /* joint class A: a second person has to look at it */
    BW_STATE_CLOSE,         /* every step is done: close the build */
    BW_STATE_CLOSED,
    BW_STATE_COUNT
} bw_state;

typedef enum bw_event_kind {
    BW_EVENT_OPEN = 0,   /* a person opens or continues the build */
    BW_EVENT_ANSWER,     /* a line of text */
    BW_EVENT_PULL_BEGUN, /* the wrench took load */
    BW_EVENT_PULL_ENDED, /* the pull is over, judged and its trace ready */
    BW_EVENT_TOOL_ON,    /* this wrench is used */
    BW_EVENT_TOOL_LOST,
    BW_EVENT_TOOL_BACK,
    BW_EVENT_CLOCK_STEP, /* the wall clock was set */
    BW_EVENT_PAUSE,      /* Ctrl-C, end of input, closed terminal */
    BW_EVENT_COUNT
} bw_event_kind;

/* What is known of the wrench beside its figures; borrowed, NULL or "" where it is not known. */
typedef struct bw_tool_card {
    const char *serial_number; /* as the register has it, as the next three */
    const char *calibrated;
    const char *calibration_due;
    const char *certificate;
    const char *device_serial; /* what the device itself says, or its USB plug */
    bool unchecked;            /* what it sends carries no checksum */
} bw_tool_card;

/* Texts are borrowed for the time of the call and of the recording that follows it. */
typedef struct bw_event {
    bw_event_kind kind;
    int64_t now_ms;       /* wall clock */
    uint64_t next_number; /* the number that the next entry will get in the record */
    const char *text;     /* ANSWER: the line; OPEN: the person; TOOL_LOST: what happened */
    const char *program;  /* OPEN: program and version */
    bool adopts;          /* OPEN: the build goes on with these texts from here on */
    size_t source_n;      /* OPEN of a new build, or that adopts: the sequence and its modules */
    const char *const *source_name;
    const char *const *source_text;
    const bw_verdict *verdict; /* PULL_ENDED */
    bool complete;             /* PULL_ENDED: seen from rest to rest */
    size_t samples;            /* PULL_ENDED */
    uint64_t unread;           /* PULL_ENDED: as the record's member says */
    const char *trace_hex;     /* PULL_ENDED: SHA-256 of the samples' text */
    const char *raw_hex;       /* PULL_ENDED: SHA-256 of the raw capture */
    const char *typed;         /* PULL_ENDED: the line, where the torque was typed; else NULL */
    const char *tool;          /* TOOL_*, PULL_ENDED */
    double peaks_apart_s;      /* PULL_ENDED: see judge/question.h; 0: not known */
    bool too_soon; /* PULL_ENDED: begun and over within a second of the accepted peak before it */
    const char *port, *driver, *settings; /* TOOL_* */
    bw_terms tool_terms;                  /* TOOL_ON: what is known of the wrench; rule unused */
    bw_tool_card tool_card;               /* TOOL_ON */
    double by_s;                          /* CLOCK_STEP */
    bool reopen; /* OPEN of a closed build: work on it begins anew, for `why`, with `second` */
    const char *second;
    const char *retorque; /* OPEN of a closed build: what was due on this group is done; or NULL */
    const char *why;      /* OPEN: the builder's words to one of these; NULL: none */
    const char *file_name,
        *file_sha256;       /* ANSWER of a `file` line: the file's own name, its hash */
    const char *file_fault; /* the same: why there is none; or NULL */
} bw_event;

enum { BW_ACTIONS_ENTRIES_MAX = 80, BW_SAY_MAX = 2400, BW_POOL_BYTES = 16384 };

typedef enum bw_tone { BW_TONE_PLAIN = 0, BW_TONE_GOOD, BW_TONE_BAD } bw_tone;

/* What follows from an event, in this order: record the entries (all or none), apply each, say,
 * then pause or end.  About 130 kB: kept by the caller from turn to turn. */
typedef struct bw_actions {
    size_t entry_n;
    bw_entry entry[BW_ACTIONS_ENTRIES_MAX];
    char say[BW_SAY_MAX]; /* sentences for the builder; "" for none */
    bw_tone tone;
    bool sign;                /* sign a checkpoint, and go on */
    bool pause;               /* the build is paused: sign a checkpoint, end the run */
    bool closed;              /* the build is closed: sign a checkpoint, end the run */
    bool overflow;            /* more entries or text than there is room for: record nothing */
    char pool[BW_POOL_BYTES]; /* texts of the entries that are not borrowed */
    size_t pool_used;
} bw_actions;

typedef struct bw_session bw_session;

/* Who and where, for every entry. Texts are copied into the arena. */
typedef struct bw_session_identity {
    const char *build, *bench;
    bool rehearsal;
} bw_session_identity;

/* A session with nothing recorded.  Lives in the arena; plan is borrowed for its life. NULL when
 * memory is out. */
bw_session *bw_session_new(const bw_plan *plan, const bw_session_identity *identity,
                           bw_arena *arena);

/* Folds one recorded entry of this build.  Entries of unknown kind change nothing.  Never fails:
 * an entry that does not fit the plan (a damaged record) is counted and left out. */
void bw_session_apply(bw_session *session, const bw_entry *entry);
uint64_t bw_session_misfits(const bw_session *session);

/* Says what follows from an event.  out is overwritten. */
void bw_session_decide(bw_session *session, const bw_event *event, bw_actions *out);

bw_state bw_session_state(const bw_session *session);

/* What to judge the next pull by; valid in PULL and PULLING (else the last that was asked).  The
 * stage is as it is for this fastener: its prevailing torque is added where the stage says so.
 * It changes with each entry. */
const bw_stage *bw_session_stage(const bw_session *session);
bw_standing bw_session_standing(const bw_session *session);
/* The sequence's rule, and what the record says of the wrench in use. */
bw_terms bw_session_terms(const bw_session *session);

/* A choice that the builder has. */
typedef struct bw_option {
    const char *word; /* what to type */
    const char *says; /* what it does */
} bw_option;

/* Where a fastener may be used again only after a check: which one it is. */
typedef enum bw_reuse {
    BW_REUSE_NOT_TOLD = 0, /* or no check is asked for */
    BW_REUSE_NEW,          /* all of its group are */
    BW_REUSE_CHECKED,      /* used again */
    BW_REUSE_REPLACED      /* by a new one, which the others are not */
} bw_reuse;

/* What one fastener has behind it. */
typedef struct bw_progress {
    size_t stages_done; /* in the current attempt */
    bool overridden;    /* one of them by decision */
    int attempt;        /* from 1 */
    bw_reuse reuse;
} bw_progress;

enum { BW_PROMPT_BANS_MAX = 4 };

/* What to ask now.  All pointers are borrowed from plan and session. */
typedef struct bw_prompt {
    bw_state state;
    const bw_plan *plan;
    const char *by;
    const bw_step *step;        /* NULL in NEW, CLOSE, CLOSED */
    size_t step_number, step_n; /* number from 1 */
    size_t steps_done;
    size_t ban_n; /* what must not happen now, the newest first */
    const bw_ban *ban[BW_PROMPT_BANS_MAX];
    int64_t since_ms;   /* when the clock of this step began; 0: it has none */
    bool may_go_back;   /* the word back takes back the last reading or confirmation */
    size_t redo;        /* number of the step that is done anew once redo is said again; 0: none */
    bool may_say_wrong; /* the word wrong says that the last accepted pull was another one's */
    const char *chosen; /* a CHOOSE step: the part to take; NULL: the drawer has none */
    size_t to;          /* FIT: index into step->to */
    const char *mark;   /* FIT: what must stand on the part; NULL: whatever does */
    /* READING, VALUE */
    const bw_reading_set *set;
    size_t at; /* index into set->at */
    size_t reading_number, reading_n;
    size_t repeat, repeats;             /* which of the readings at this point, from 1 */
    double before[BW_PLAN_REPEATS_MAX]; /* [repeat - 1] those before it (base unit) */
    const bw_derived *derived;          /* VALUE: which */
    double derived_value;               /* base unit */
    bw_err derived_err;                 /* code not BW_OK: there is no such value, and why */
    /* PULL and what follows from it */
    const bw_group *group;
    size_t place;   /* index */
    size_t turn_of; /* how many fasteners come before it in the order, from 0 */
    size_t stage_index;
    const bw_plan_stage *stage;
    bw_stage aim;                /* the stage as it is for this fastener, prevailing torque added */
    double prevailing_Nm;        /* of this fastener; 0: none measured */
    bw_standing standing;        /* without siblings */
    bool torque_known;           /* what it stands at: standing.torque_Nm; else it was loosened */
    const bw_progress *progress; /* [group->place_n] by place index */
    int attempt;
    int cycles;            /* how often this very fastener was made tight, on trial too */
    bw_verdict verdict;    /* VERDICT: the one to decide on; LENGTH, SLOT: what the pull gave */
    bool tightened;        /* LENGTH: after a pull; else the free length is wanted */
    double free_mm;        /* its free length; 0: not measured */
    bw_unit length_unit;   /* LENGTH: what a bare number means */
    const char *tool_text; /* NO_TOOL: what happened */
    const char *reuse;     /* ASK about fasteners: why they can't just be used again; else NULL */
    size_t option_n;
    bw_option option[BW_PLAN_ANSWERS_MAX]; /* ASK: the answers; VALUE, VERDICT; LENGTH and SLOT
                                              after a pull, beside their answer */
} bw_prompt;

void bw_session_prompt(const bw_session *session, bw_prompt *out);

/* What a verdict's entry says, as far as it does; and what a pull's says that waits for an answer,
 * its outcome and peak of the attempt left aside. */
bw_verdict bw_verdict_of(const bw_entry *entry);

/* How a step stands, for sheets.  step: index. */
typedef struct bw_step_standing {
    bool done;
    bool skipped;                /* left out by an answer; counts as done */
    bool due;                    /* closed; its fasteners must be seen to again */
    bool begun;                  /* there is something to do anew */
    const bw_progress *progress; /* TIGHTEN: [place_n] by place index; else NULL */
} bw_step_standing;

bw_step_standing bw_session_step(const bw_session *session, size_t step);

/* Which steps are done anew with this one: itself and all that stand on it, whether they were done
 * yet or not.  redone: [plan->step_n]. */
void bw_session_redone(const bw_plan *plan, size_t step, bool *redone);

/* A reading in force, in the base unit: of the set at a point, by their indexes in a MEASURE step;
 * the last one where a point is read more than once.  False where it is not given yet. */
bool bw_session_reading(const bw_session *session, size_t step, size_t set, size_t at,
                        double *value);

/* Figures for the last line of run and rehearse. */
typedef struct bw_tally {
    size_t fasteners;    /* pulls that the plan asks for: fastener and stage */
    size_t accepted;     /* of these, by a verdict */
    size_t overridden;   /* of these, by a decision */
    size_t pulls;        /* recorded, asked or not */
    size_t measurements; /* readings in force */
    const char *outcome; /* "complete", "paused", "rejected" */
} bw_tally;

void bw_session_tally(const bw_session *session, bw_tally *out);

/* Whether two names stand for one person: "A. Lund", "a.lund" and "A Lund" do. */
bool bw_same_person(const char *a, const char *b);

/* True where a line is a word that can be typed at any prompt (pause, note ..., wrong ...), not the
 * answer to the prompt. */
bool bw_session_is_word(const char *line);

/* These words; NULL behind the last. */
const char *bw_session_word_at(size_t index);

/* True where a line is a word that ends the work: pause, or reject with its reason. */
bool bw_session_ends_work(const char *line);

/* True where no step of the plan asks for a pull: each is recorded as it comes. */
bool bw_session_is_free(const bw_session *session);

/* True where a line that a wrench that does not talk stands behind is its torque, or is meant to
 * be: any line but a word while a pull is asked for; where none ever is, one that begins with a
 * number. */
bool bw_session_takes_torque(const bw_session *session, const char *line);

/* True where the state waits for a line of text; false where the wrench answers, or nobody. */
bool bw_state_wants_line(bw_state state);

/* True where the state × event table has a handler; false where the event is ignored there. */
bool bw_session_handles(bw_state state, bw_event_kind event);
const char *bw_state_name(bw_state state);
const char *bw_event_name(bw_event_kind event);

#endif
