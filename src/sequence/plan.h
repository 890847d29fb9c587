/* plan.h - what a sequence yields: plain data that checker, session, faces and audit share.
 *
 * Room: sequence.  A plan lives in one arena, is read-only once made, and holds no Lua.  All
 * indexes are valid, all texts well-formed and printable, all numbers finite: the reader
 * (sequence/reader.c) lets nothing else through.
 *
 * Numbers that people see (step, fastener, stage) are counted from 1; indexes in C from 0. */
#ifndef BW_SEQUENCE_PLAN_H
#define BW_SEQUENCE_PLAN_H

#include "base/arena.h"
#include "base/status.h"
#include "trade/formula.h"
#include "trade/order.h"
#include "trade/stage.h"
#include "trade/uncertainty.h"
#include "trade/units.h"

#include <stdbool.h>
#include <stddef.h>

enum {
    BW_PLAN_STEPS_MAX = 1024,
    BW_PLAN_GROUPS_MAX = 128,
    BW_PLAN_PLACES_MAX = 2048, /* of all groups together; of one: BW_ORDER_MAX */
    BW_PLAN_AFTER_MAX = 64,    /* prerequisites named by one step */
    BW_PLAN_STAGES_MAX = 32,
    BW_PLAN_READINGS_MAX = 256, /* in one step */
    BW_PLAN_REPEATS_MAX = 9,    /* of one reading at one point */
    BW_PLAN_DERIVED_MAX = 64,   /* in one step */
    BW_PLAN_ANSWERS_MAX = 12,   /* to one question */
    BW_PLAN_BANS_MAX = 32,
    BW_PLAN_STOCK_MAX = 128,   /* sizes in one drawer */
    BW_PLAN_PULLS_MAX = 65536, /* of all steps: one for each place and stage */
    BW_PLAN_READ_MAX = 65536,  /* readings and parts of all steps */
    BW_PLAN_DUE_MAX = 32,      /* steps with something due after closing */
    BW_PLAN_ID_MAX = 48,       /* bytes of an id or a label */
    BW_PLAN_TEXT_MAX = 600     /* bytes of a sentence */
};

/* Where something was written, for messages.  file NULL: not known. */
typedef struct bw_where {
    const char *file;
    int line;
} bw_where;

/* One place of a group: a bolt, nut or stud. */
typedef struct bw_place {
    const char *label; /* unique in its group: "3 left" */
    bw_point point;    /* valid where the group has positions */
} bw_place;

/* Fasteners tightened together. */
typedef struct bw_group {
    const char *name; /* id: "main" */
    const char *say;  /* "main cap bolts" */
    bw_where where;
    double thread_d_mm;         /* 0: not given */
    double thread_pitch_mm;     /* 0: not given */
    const char *property_class; /* NULL: not given */
    const char *lubricant;      /* on thread and under head, in words; never NULL */
    const char *washers;        /* NULL: nothing said */
    char joint_class;           /* 'A': danger to life, 'B': function, 'C': other; 0: none given */
    const char *document;       /* that its figures are from; NULL: the plan's */
    const char *revision;       /* of that document; "" where none is given */
    bool new_each_time;         /* fasteners are used once */
    const char *reuse_check;    /* what is checked before one is used again; NULL: nothing */
    int cycles;                 /* how often one may be tightened, on trial too; 0: no limit */
    bool has_points;
    bool mirrored; /* the picture is that of the other bank: x the other way round */
    size_t place_n;
    const bw_place *place; /* [place_n]; place number = index + 1 */
    bw_order_kind order_kind;
    const size_t *order; /* [place_n], a permutation of the indexes */
} bw_group;

/* One stage of a tightening step, with the figures as the workshop manual writes them. */
typedef struct bw_plan_stage {
    bw_stage stage;             /* in base units, for the judge */
    bw_quantity target;         /* as written: torque, angle (TORQUE_ANGLE, ANGLE, BACK_OFF) or
                                   growth (STRETCH); zero where the kind has none */
    bw_quantity low, high;      /* limits as written, or in target's unit where given in per cent;
                                   of what the kind judges first */
    bw_quantity snug;           /* TORQUE_ANGLE, YIELD, as written; else zero */
    bool has_floor;             /* TORQUE_ANGLE, ANGLE: a torque that the end must reach */
    bool has_ceiling;           /* TORQUE_ANGLE, ANGLE, STRETCH: a torque that it must not pass */
    bw_quantity floor, ceiling; /* as written where has_ */
    bw_quantity about;          /* STRETCH: where to measure first, as written */
    bool from_torque;           /* TORQUE_ANGLE written as an angle counted from a torque */
    bool again;                 /* TORQUE: a pass once more on purpose; it need not turn */
    int slots;                  /* SLOT: how many the castle nut has; else 0 */
    const char *document;       /* that the figures are from; NULL: the plan's */
    const char *revision;       /* of that document; "" where none is given */
    bw_where where;
} bw_plan_stage;

/* Readings of one thing, taken at one or more points. */
typedef struct bw_reading_set {
    const char *id;     /* unique in its step */
    const char *say;    /* "journal diameter" */
    bw_unit unit;       /* the unit of the moment: what a bare number means */
    int decimals;       /* what the gauge shows in that unit */
    double least, most; /* plausible, in the base unit */
    size_t at_n;
    const char *const *at; /* [at_n] "front", "rear" */
    int repeats;           /* how often each point is read; 0 and 1: once */
    bool has_spread;       /* they must not differ by more than `spread` (base unit) */
    double spread;
    bw_where where;
} bw_reading_set;

/* A value computed from readings, with limits. */
typedef struct bw_derived {
    const char *id;  /* unique in its step */
    const char *say; /* "oil clearance" */
    const bw_formula *formula;
    size_t of_n;
    const size_t *of; /* [of_n] indexes into the step's reading sets */
    bw_unit unit;     /* shown in */
    int decimals;
    double low, high;                 /* base unit, inclusive; -INFINITY or INFINITY: none */
    const char *when_low, *when_high; /* what to do then, before it is measured again; NULL */
    bw_where where;
} bw_derived;

typedef enum bw_step_kind {
    BW_STEP_CAUTION = 0, /* must be read and acknowledged */
    BW_STEP_CONFIRM,     /* done, as said */
    BW_STEP_MEASURE,
    BW_STEP_TIGHTEN,
    BW_STEP_NOTE,   /* the builder writes something down: a number stamped on the block */
    BW_STEP_ASK,    /* a question with few answers: steps may depend on it */
    BW_STEP_WAIT,   /* time must pass */
    BW_STEP_CHOOSE, /* a part out of a table by answers, or out of a drawer by a value */
    BW_STEP_FIT,    /* a part for each place */
    BW_STEP_KIND_COUNT
} bw_step_kind;

typedef struct bw_step {
    bw_step_kind kind;
    const char *id;     /* unique in the plan */
    const char *say;    /* what to do */
    const char *why;    /* reason, NULL where none is given */
    const char *buries; /* what can no longer be reached after this step; NULL: nothing */
    size_t buried_n;    /* the steps whose work that is, where the sequence names them */
    const size_t
        *buried; /* [buried_n] each is over before this one, whatever the builder chooses */
    bw_where where;
    size_t after_n;
    const size_t *after; /* [after_n] indexes of steps that must be done before */
    bool has_when;       /* only where step `when` was answered so; else it is left out */
    size_t when;
    size_t when_answer;   /* index into the answers of that step */
    const char *position; /* how the crank must stand for it; NULL: as it likes */
    bool moves;           /* how it stands is not known afterwards */
    bool has_since;       /* WAIT, or a step that must be done in time */
    size_t since;         /* from when this step was done */
    double least_s;       /* WAIT: not before so long */
    double most_s;        /* else: no later than so long */
    /* ASK */
    size_t answer_n;
    const char *const *answer;
    /* CHOOSE */
    size_t row, column; /* steps that ask; has_column false: by the row alone */
    bool has_column;
    const char *const *part;  /* row after row, as many columns as there are answers; or of stock */
    size_t stock_n;           /* above 0: by the value `stock_value` of step `stock_step` instead */
    const bw_quantity *stock; /* [stock_n] lengths */
    size_t stock_step, stock_value;
    double stock_within; /* mm: what is farther from the value is not taken */
    /* FIT */
    const char *fits; /* "main bearing cap" */
    size_t to_n;
    const char *const *to;   /* [to_n] where one goes */
    const char *const *mark; /* [to_n] what stands on it; NULL: whatever does */
    bool has_as;             /* the marks are those that step `as` recorded at the same places */
    size_t as;
    /* MEASURE */
    const char *gauge;    /* NULL: any */
    bool has_temperature; /* set[0] is that of the part: nothing is read before it is right */
    size_t set_n;
    const bw_reading_set *set;
    size_t derived_n;
    const bw_derived *derived;
    /* TIGHTEN */
    size_t group; /* index of the group */
    bw_order_kind order_kind;
    const size_t *order; /* its own way through the group's places, as there; NULL: the group's */
    bool trial;          /* only to measure: it is taken apart again afterwards */
    bool goes_on;        /* from what step `before` left, which has the same group */
    size_t before;
    size_t stage_n;
    const bw_plan_stage *stage;
    const char *due; /* when its fasteners must be seen to again, after closing; NULL: not */
} bw_step;

/* What must not happen once one step is done, and before another one is. */
typedef struct bw_ban {
    const char *say; /* "turn the crank" */
    const char *why; /* NULL where none is given */
    bw_where where;
    size_t from, until;
} bw_ban;

typedef struct bw_plan {
    const char *title; /* "Curlew 4 short block" */
    const char *engine;
    const char *edition;  /* of the sequence; "" where none is given */
    const char *document; /* the manual that the figures are from */
    const char *revision; /* of the document; "" where none is given */
    bool invented;        /* figures are invented: said on every screen and sheet */
    bw_rule rule;         /* which values are accepted */
    bw_unit torque_unit;  /* what the workshop manual uses */
    size_t group_n;
    const bw_group *group;
    size_t ban_n;
    const bw_ban *ban;
    size_t step_n;
    const bw_step *step; /* in the order in which they were written */
} bw_plan;

/* "caution", "confirm", "measure" ...  Static; NULL outside of the enum. */
const char *bw_step_word(bw_step_kind kind);

/* Index of a step by id; false where there is none. */
bool bw_plan_find_step(const bw_plan *plan, const char *id, size_t *index);

/* How often the step makes its fasteners tight: each time counts as a cycle of theirs.  What goes
 * on from an earlier step begins tight. */
int bw_step_cycles(const bw_step *step);

/* Where the stage's figures are from: "Winch handbook, page 4, revision A", into out, which is
 * given back.  stage NULL: the plan's own. */
const char *bw_source_text(const bw_plan *plan, const bw_plan_stage *stage, char *out, size_t size);

enum { BW_SOURCE_TEXT_MAX = 2 * BW_PLAN_TEXT_MAX + 16 };

/* How often each point of the set is read, 1 at least. */
size_t bw_set_repeats(const bw_reading_set *set);

/* The order in which a tightening step goes through its group's places: [place_n]. */
const size_t *bw_step_order(const bw_plan *plan, const bw_step *step);

/* Index of a group by name; false where there is none. */
bool bw_plan_find_group(const bw_plan *plan, const char *name, size_t *index);

/* Index of a place by label, or by place number ("3" is place number 3 unless a label says so);
 * false where there is none. */
bool bw_group_find_place(const bw_group *group, const char *label, size_t *index);

/* Does the text begin with a word that means something else at every prompt of the bench: "back",
 * "note it"?  It could never be typed as an answer. */
bool bw_is_bench_word(const char *text);

/* The unit to show beside a torque unit: lbf.ft beside N.m, N.m beside any other. */
bw_unit bw_other_torque_unit(bw_unit unit);

#endif
