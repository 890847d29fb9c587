/* draft.h - a plan while it is read: what was declared, before its names are resolved.
 *
 * Room: sequence, private to it.  reader.c goes through the declarations and hands each to one of
 * the read functions; checker.c then looks at the whole. */
#ifndef BW_SEQUENCE_DRAFT_H
#define BW_SEQUENCE_DRAFT_H

#include "sequence/fields.h"
#include "sequence/mistakes.h"
#include "sequence/plan.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { BW_DRAFT_DROPPED_MAX = 32 };

/* What a step says in names, until they are indexes. */
typedef struct bw_draft_step {
    bw_spot spot;
    const char *group; /* TIGHTEN; NULL: not given, or wrong */
    bool group_found;
    const char *continues; /* TIGHTEN; NULL: begins anew */
    bool own_order;        /* TIGHTEN: order_kind was given */
    bool reversed;
    bw_order_kind order_kind;
    const char *const *after;
    size_t after_n;
    const char *const *buried;
    size_t buried_n;
    const char *when, *when_answer; /* NULL: always */
    const char *since;
    const char *row, *column;       /* CHOOSE */
    const bw_value *parts;          /* CHOOSE, a table */
    const char *of_step, *of_value; /* CHOOSE out of a drawer */
    const char *as;                 /* FIT */
    bw_plan_stage *stage;           /* the step's own, while they may still change */
    const bool *stage_whole;        /* [stage_n] read without a mistake */
} bw_draft_step;

typedef struct bw_draft_ban {
    bw_spot spot;
    const char *from, *until;
} bw_draft_ban;

/* A step's id, to be found by halving. */
typedef struct bw_id_place {
    const char *id;
    size_t index;
} bw_id_place;

typedef struct bw_draft {
    bw_arena *arena;
    bw_mistakes *mistakes;
    bw_plan plan;
    bw_group *group; /* [plan.group_n] */
    bw_spot *group_spot;
    bw_step *step; /* [plan.step_n] */
    bw_draft_step *named;
    bw_ban *ban; /* [plan.ban_n] */
    bw_draft_ban *named_ban;
    bw_id_place *by_id; /* [plan.step_n], sorted */
    /* Tables under a word that is unknown: their ids and names exist all the same. */
    const bw_value *dropped[BW_DRAFT_DROPPED_MAX];
    size_t dropped_n;
    size_t place_n; /* of all groups so far */
    /* A row of bits for each step: the steps that are over, done or left out, once it is done; and
     * once it is over. */
    uint64_t *before;
    uint64_t *over;
    /* Unknown words that were told already: in a loop the same one comes again and again. */
    const bw_value *unknown[BW_MISTAKES_MAX];
    size_t unknown_n;
    /* A tighten{} names something near to this group's name, or to that of none: it is not a second
     * mistake that the group is never tightened. */
    bool group_meant[BW_PLAN_GROUPS_MAX];
    bool group_lost;
    size_t sequence_n; /* sequence{...}s seen */
    bool stopped;      /* by an error: what would have come later is not there */
} bw_draft;

/* A torque stage whose turn is not given: check_stages.c decides. */
static const double bw_turn_not_given = -1;

/* Zeroed items in the plan's arena; NULL, and noted, where memory is out. */
void *bw_draft_memory(bw_draft *draft, size_t n, size_t size);

/* `document` and `revision`: where the figures are from.  NULL: as above it. */
void bw_read_figures(const bw_fields *form, const char **document, const char **revision);
void bw_read_group(bw_draft *draft, const bw_value *node); /* read_group.c */
/* read_order.c: `order`, where it is given; false and noted where there is no such.  The order of a
 * group's places; NULL and noted where they do not allow it.  A step's own. */
bool bw_read_order(const bw_fields *form, bw_order_kind *kind);
const size_t *bw_draft_order(bw_draft *draft, bw_spot spot, const char *word, const bw_group *group,
                             bw_order_kind kind, bool reversed);
void bw_read_own_order(bw_draft *draft, const bw_fields *form);
void bw_settle_own_order(bw_draft *draft, size_t index);
void bw_read_measure(bw_draft *draft, const bw_fields *form, bw_step *step); /* read_measure.c */
/* Where a reading is taken and how often; false where that has mistakes.  read_points.c */
bool bw_read_points(bw_draft *draft, const bw_fields *form, bw_unit unit, bw_reading_set *set);
void bw_read_stages(bw_draft *draft, const bw_fields *form, bw_step *step); /* read_stages.c */
/* read_job.c: what any step may have; questions, waits, choices; what is forbidden. */
void bw_read_circumstances(bw_draft *draft, const bw_fields *form, bw_step *step);
void bw_read_ask(bw_draft *draft, const bw_fields *form, bw_step *step);
void bw_read_wait(bw_draft *draft, const bw_fields *form, bw_step *step);
/* read_part.c */
void bw_read_fit(bw_draft *draft, const bw_fields *form, bw_step *step);
void bw_read_stock(bw_draft *draft, const bw_fields *form, bw_step *step);
void bw_read_reuse(const bw_fields *form, bw_group *group);
void bw_read_choose(bw_draft *draft, const bw_fields *form, bw_step *step);
void bw_read_forbid(bw_draft *draft, const bw_value *node);

/* Where a field of the step stands. */
bw_spot bw_draft_at(const bw_draft *draft, size_t step, const char *field);

/* Resolves names and looks at the whole; notes mistakes. */
void bw_check_draft(bw_draft *draft); /* checker.c */
/* The first step of that id. */
bool bw_draft_find_step(const bw_draft *draft, const char *id, size_t *out);
/* Whether a step of that id may be missing: something went wrong before. */
bool bw_draft_names_missing(const bw_draft *draft, const char *id);

/* What read_job.c left as names; valid once every `after` is resolved.  check_job.c */
void bw_check_job(bw_draft *draft);
/* A step by its id, as `field` of the word at `spot` names it; false, and noted, where there is
 * none. */
bool bw_draft_name_step(bw_draft *draft, bw_spot spot, const char *word, const char *field,
                        const char *id, size_t *out);
/* `when` of the step at index, once the rows of what comes before it are there. */
void bw_resolve_when(bw_draft *draft, size_t index);
/* Two steps of which never both are done. */
bool bw_draft_exclude(const bw_draft *draft, size_t a, size_t b);

/* Which steps come before which, in every order that a builder may choose and for every answer;
 * valid once every `after` is resolved.  Resolves `when` too.  check_order.c */
void bw_check_before(bw_draft *draft);
bool bw_draft_is_before(const bw_draft *draft, size_t before, size_t step);
/* The same if no step were ever left out. */
bool bw_draft_would_be_before(const bw_draft *draft, size_t before, size_t step);
/* Is `step` done, and not left out, wherever `given` is done and comes after it? */
bool bw_draft_is_sure(const bw_draft *draft, size_t step, size_t given);
/* read_job.c: `buries`, a text or a text and the steps.  check_buried.c: each of them is proved to
 * come before, and nothing to reach them afterwards. */
void bw_read_buries(bw_draft *draft, const bw_fields *form, bw_step *step);
void bw_check_buried(bw_draft *draft);
/* What the steps over one group make of each other: order, `continues`, trial, cycles. */
void bw_check_steps_of(bw_draft *draft, size_t group);

/* What the stages over one group make of its fasteners. */
void bw_check_stages(bw_draft *draft, size_t group); /* check_stages.c */

#endif
