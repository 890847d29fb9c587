/* sheet.h - what a sheet of paper says, before it is written or drawn.
 *
 * Room: face.  Pure: built from the record's entries and the plan into an arena, without I/O.  The
 * text sheet (sheet_text.h) and the drawn one (draw.h) render the same structure, so they can't say
 * different things.  All texts are finished: figures carry their units.  A text may hold newlines.
 * Everything lives in the arena and borrows from replay and plan. */
#ifndef BW_FACE_SHEET_H
#define BW_FACE_SHEET_H

#include "base/arena.h"
#include "base/status.h"
#include "face/qr.h"
#include "session/replay.h"
#include "trade/order.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* How a fastener stands: a shape on paper, told apart without colour, and always a word too. */
typedef enum bw_mark {
    BW_MARK_NONE = 0,
    BW_MARK_ACCEPTED, /* every stage passed */
    BW_MARK_DECIDED,  /* every stage done, at least one by decision */
    BW_MARK_LOW,      /* the last verdict, where the stage is not done */
    BW_MARK_HIGH,
    BW_MARK_SUSPECT,
    BW_MARK_PART, /* some stages done */
    BW_MARK_OPEN, /* not tightened */
    BW_MARK_COUNT
} bw_mark;

/* "accepted", "by decision", "low" ...  "" for NONE; NULL outside of the enum. */
const char *bw_mark_word(bw_mark mark);

typedef struct bw_sheet_fact {
    const char *name; /* "Engine"; "" goes on from the one above */
    const char *text;
    struct bw_sheet_fact *next;
} bw_sheet_fact;

enum { BW_SHEET_COLUMNS_MAX = 14 };

typedef struct bw_sheet_column {
    const char *head;
    bool right; /* numbers */
} bw_sheet_column;

typedef struct bw_sheet_row {
    const char *cell[BW_SHEET_COLUMNS_MAX]; /* NULL: empty */
    bw_mark mark;                           /* NONE: no shape in front */
    bool past;                              /* something later took its place */
    size_t strong;                          /* 1 + the column that is set in bold; 0: none */
    const char *note;                       /* under the row over all columns; NULL: none */
    struct bw_sheet_row *next;
} bw_sheet_row;

typedef struct bw_sheet_table {
    const char *title; /* NULL: none */
    const char *under; /* a line below the title; NULL: none */
    size_t column_n;
    bw_sheet_column column[BW_SHEET_COLUMNS_MAX];
    bool marks; /* rows have shapes */
    bool boxes; /* to be filled in by hand: empty cells are boxes */
    bw_sheet_row *row, *last;
} bw_sheet_table;

typedef struct bw_sheet_place {
    bw_point point; /* mm, y up */
    bw_mark mark;
    size_t number; /* place number, from 1 */
    size_t turn;   /* which in the order, from 1 */
    const char *label;
} bw_sheet_place;

/* A group of fasteners as the builder sees the joint. */
typedef struct bw_sheet_map {
    bool to_scale; /* else the places have no positions, and are drawn in a row */
    size_t n;
    const bw_sheet_place *place;
    size_t boxes; /* to be filled in by hand: so many boxes at each place */
} bw_sheet_map;

typedef struct bw_sheet_curve {
    size_t n;
    const double *x, *y; /* in the plot's units; y not a number: the pen is lifted there */
    bool odd;            /* not accepted, accepted by decision, or questioned */
    const char *label;   /* place number */
    struct bw_sheet_curve *next;
} bw_sheet_curve;

/* What is allowed, in the plot's units; a side that is not limited is infinite. */
typedef struct bw_sheet_window {
    double low_x, high_x, low_y, high_y;
    const char *what; /* of a curve belongs in it: "the end" */
} bw_sheet_window;

/* Curves of one group and stage laid over each other. */
typedef struct bw_sheet_plot {
    const char *title, *x_name, *y_name;
    double x_least, x_most, y_most; /* x_least <= 0, the others above */
    bw_sheet_window window;
    size_t curve_n;
    bw_sheet_curve *curve;
    struct bw_sheet_plot *next; /* beside it */
} bw_sheet_plot;

typedef enum bw_block_kind {
    BW_BLOCK_HEADING = 0, /* text: below the section's */
    BW_BLOCK_TEXT,        /* text: a paragraph */
    BW_BLOCK_NOTICE,      /* text: a paragraph in a frame */
    BW_BLOCK_FACTS,
    BW_BLOCK_TABLE,
    BW_BLOCK_MAP,
    BW_BLOCK_PLOTS,
    BW_BLOCK_VERBATIM, /* text: line by line, in a font of one width, never broken */
    BW_BLOCK_CODE,     /* text: beside the code */
    BW_BLOCK_SIGN      /* facts to be filled in by hand: a role each, its meaning as text */
} bw_block_kind;

typedef struct bw_sheet_block {
    bw_block_kind kind;
    const char *text;
    bw_sheet_fact *fact;
    bw_sheet_table *table;
    const bw_sheet_map *map;
    bw_sheet_plot *plot;
    const bw_qr *code;
    struct bw_sheet_block *next;
} bw_sheet_block;

typedef struct bw_sheet_section {
    const char *title;
    bool on_paper; /* the text sheet leaves it out: it repeats in drawing what is said elsewhere */
    bool own_page; /* begins a page */
    bw_sheet_block *block, *last;
    struct bw_sheet_section *next;
} bw_sheet_section;

typedef struct bw_sheet {
    const char *title;   /* "Build sheet" */
    const char *about;   /* "C4-0017": what it is about; on every page */
    const char *subject; /* "Curlew 4 short block, edition 3" */
    const char *foot;    /* on every page: bench and checkpoint */
    const char *warning; /* on every page: "REHEARSAL, NOT A BUILD"; NULL: none */
    int64_t made_ms;     /* of the newest entry: a sheet's date, so that it is the same each time */
    bool is_tag;         /* a label of one small page */
    bw_sheet_section *section, *last;
} bw_sheet;

/* Reads a trace by its hash: its text is borrowed until the next call.  NULL: not there. */
typedef const char *bw_sheet_trace(void *ctx, const char *hash, size_t *len);

/* What is printed beside the entries.  Texts are borrowed. */
typedef struct bw_sheet_proof {
    const char *checkpoint; /* the newest signed note over the record; NULL: none yet */
    const char *verifier;   /* the bench's public key line; NULL: not known */
    const char *pem;        /* the same key as PEM; NULL: not known */
    bw_sheet_trace *trace;  /* NULL: without curves */
    void *ctx;
} bw_sheet_proof;

/* The build sheet.  BW_E_MEM. */
BW_MUST_USE bw_status bw_sheet_of_build(const bw_replay *replay, const bw_sheet_proof *proof,
                                        bw_arena *arena, const bw_sheet **out, bw_err *err);

/* A label for the engine: build, dates, figures, checkpoint.  BW_E_MEM. */
BW_MUST_USE bw_status bw_sheet_of_tag(const bw_replay *replay, const bw_sheet_proof *proof,
                                      bw_arena *arena, const bw_sheet **out, bw_err *err);

/* The empty sheet to go on by hand while there is no power.  BW_E_MEM. */
BW_MUST_USE bw_status bw_sheet_of_plan(const bw_plan *plan, bw_arena *arena, const bw_sheet **out,
                                       bw_err *err);

/* The sheet of a tool's calibration, from its entry.  BW_E_MEM. */
BW_MUST_USE bw_status bw_sheet_of_calibration(const bw_entry *calibrated,
                                              const bw_sheet_proof *proof, bw_arena *arena,
                                              const bw_sheet **out, bw_err *err);

#endif
