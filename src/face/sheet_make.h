/* sheet_make.h - putting a sheet together.
 *
 * Room-private.  Failure is remembered, not returned: when memory is out, what follows goes into
 * spare structures and bw_made says so once at the end. */
#ifndef BW_FACE_SHEET_MAKE_H
#define BW_FACE_SHEET_MAKE_H

#include "base/text.h"
#include "face/sheet.h"

typedef struct bw_making {
    bw_arena *arena;
    bw_sheet *sheet;
    bool failed;
    const bw_replay *replay; /* NULL: from a plan alone, or about a tool */
    const bw_plan *plan;     /* NULL: about a tool */
    const bw_sheet_proof *proof;
    const bw_entry **taken_back; /* [entry_n] the correction of an entry; NULL: stands */
    bw_sheet_section spare_section;
    bw_sheet_block spare_block;
    bw_sheet_table spare_table;
    bw_sheet_row spare_row;
} bw_making;

enum { BW_SHEET_LINE_BYTES = 2048 };

/* Begins a sheet. */
void bw_make_begin(bw_making *m, bw_arena *arena);
/* BW_OK and the sheet, or BW_E_MEM. */
BW_MUST_USE bw_status bw_made(const bw_making *m, const bw_sheet **out, bw_err *err);

/* n items of size bytes; NULL when memory is out, which is remembered. */
void *bw_make_room(bw_making *m, size_t n, size_t size);
/* A finished text; "" when memory is out.  Longer than BW_SHEET_LINE_BYTES: cut. */
const char *bw_make_said(bw_making *m, const char *format, ...) BW_PRINTF(2, 3);
/* A line below others, however many they are.  lines NULL: the line alone. */
const char *bw_make_below(bw_making *m, const char *lines, const char *line);

bw_sheet_section *bw_make_section(bw_making *m, const char *title);
/* A block at the end of the newest section. */
bw_sheet_block *bw_make_block(bw_making *m, bw_block_kind kind, const char *text);
/* A fact at the end of the newest block of that kind; begins one where the last is another. */
void bw_make_fact(bw_making *m, bw_block_kind kind, const char *name, const char *text);
/* heads: column heads, NULL behind the last; one that begins with '>' is a column of numbers. */
bw_sheet_table *bw_make_table(bw_making *m, const char *title, const char *const *heads);
void bw_make_column(bw_sheet_table *table, const char *head, bool right);
bw_sheet_row *bw_make_row(bw_making *m, bw_sheet_table *table);

/* ---- what entries say, for all parts ---- */

/* "2026-11-25 09:45:48" UTC; out has BW_TIME_TEXT_MAX bytes. */
const char *bw_entry_when(const bw_entry *e, char *out);
/* The same in the arena. */
const char *bw_make_when(bw_making *m, const bw_entry *e);
/* As typed, with the unit that a bare number was taken to be in. */
const char *bw_make_typed(bw_making *m, const bw_entry *e);
/* Where the torque of this pull (or of the pull that this verdict is about) was typed: "typed by
 * hand: 60 Nm"; NULL: the wrench sent it. */
const char *bw_make_pull_typed(bw_making *m, const bw_entry *e);
/* A torque in the plan's unit: "65.6 N·m". */
const char *bw_make_torque(bw_making *m, double torque_Nm);
bool bw_entry_has(const bw_entry *e, bw_member member);
/* The step that the entry is about; NULL: none that the plan has. */
const bw_step *bw_entry_step(const bw_making *m, const bw_entry *e);
bool bw_entry_at_step(const bw_entry *e, const bw_step *step);
/* Place index of the entry; place_n where it has none. */
size_t bw_entry_place(const bw_entry *e, const bw_group *group);
/* Why nothing guards what that wrench says, in words; NULL: something does. */
const char *bw_entry_unguarded(const bw_entry *tool_on);
/* Of a verdict's word. */
bw_mark bw_mark_of_verdict(const char *word);

/* ---- steps that measure the same of several parts ---- */

/* "Main bearing 1 to 5: journal and bore" with rows "bearing 1" ... */
typedef struct bw_naming {
    size_t before, behind; /* bytes that all names have in common */
} bw_naming;

bool bw_steps_alike(const bw_step *a, const bw_step *b);
bw_naming bw_steps_naming(const bw_step *const *step, size_t n);
/* The name of all n of them, and of one among them. */
const char *bw_make_steps_title(bw_making *m, const bw_step *const *step, size_t n, bw_naming name);
const char *bw_make_step_name(bw_making *m, const bw_step *step, bw_naming name);

/* ---- the parts of a build sheet, in the order of the sheet ---- */
void bw_make_irregular(bw_making *m);
void bw_make_readings(bw_making *m);
/* The limits of a value, in both units; "" where it has none. */
const char *bw_make_limits(bw_making *m, const bw_derived *derived);
void bw_make_fasteners(bw_making *m);
/* A map of the step's group in a block of its own; its places, so that they can be marked.  NULL
 * when memory is out. */
bw_sheet_place *bw_make_map(bw_making *m, const bw_step *step, size_t boxes);
void bw_make_group_facts(bw_making *m, const bw_step *step);
/* "Stage 1: 30 N·m (22.1 lbf·ft), limits ..." */
const char *bw_make_target(bw_making *m, const bw_step *step, size_t stage);
/* The table of one stage: every verdict in its order.  tools: with a column of wrenches. */
void bw_make_stage(bw_making *m, const bw_step *step, size_t stage, bool tools);
/* The curves of one stage, laid over each other; NULL where there are none. */
bw_sheet_plot *bw_make_plot(bw_making *m, const bw_step *step, size_t stage);
void bw_make_story(bw_making *m);
void bw_make_evidence(bw_making *m);
/* The checkpoint as a code; nothing where there is none. */
void bw_make_code(bw_making *m);
/* The line at the foot of every page. */
const char *bw_make_foot(bw_making *m, const char *bench);
/* How many entries the checkpoint covers; 0: there is none, or it can't be read. */
uint64_t bw_checkpoint_size(const char *checkpoint);

#endif
