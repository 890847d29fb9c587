/* point_map.h - where on a part a reading is taken: the shape of what is measured, and the points
 * on it as rows and columns.
 *
 * Room: face.  A plan names its points and nothing more.  What they lie on follows from what is
 * computed of them (the diameters of a taper lie along an axis) and from the workshop's own words
 * (top, rear, bore, journal); where neither says, they are a plain table, and nothing is drawn that
 * is not known. */
#ifndef BW_FACE_POINT_MAP_H
#define BW_FACE_POINT_MAP_H

#include "base/text.h"
#include "sequence/plan.h"

typedef enum bw_body {
    BW_BODY_NONE = 0, /* a table */
    BW_BODY_BORE,     /* rows lie along its axis */
    BW_BODY_SHAFT,    /* the same, seen from outside */
    BW_BODY_ROUND,    /* four points: top, right, bottom, left */
    BW_BODY_FACE,     /* spans of a flat face: along, across, diagonal */
    BW_BODY_END_GAP,  /* of a ring in its bore */
    BW_BODY_FLOAT     /* a shaft between its stops */
} bw_body;

/* Points of a set: part by part, in each row by row, in each column by column.  Where two sets are
 * the two directions of one part, each has its own column. */
typedef struct bw_point_map {
    const bw_step *step;
    bw_body body;
    bool lies; /* the axis is level: front to rear; else upright: top to bottom */
    size_t part_n, row_n, column_n;
    int row_drop;     /* so many last words of a label do not belong to its row */
    bool row_is_word; /* one word of the label does, and the others name the part */
    size_t set_n;     /* 1 or 2 */
    size_t set[2];    /* indexes into the step's sets */
} bw_point_map;

typedef struct bw_point_spot {
    size_t part, row, column;
} bw_point_spot;

/* set: index of the step's set. */
bw_point_map bw_point_map_of(const bw_step *step, size_t set);

/* Where the point `at` of a set of the map lies. */
bw_point_spot bw_point_spot_of(const bw_point_map *map, size_t set, size_t at);

/* The other way round: the set (an index into the step's sets) and the point of it. */
void bw_point_at(const bw_point_map *map, bw_point_spot spot, size_t *set, size_t *at);

/* "bore", "shaft", "round", "face", "end gap", "float"; "table". */
const char *bw_body_word(bw_body body);

/* What a row, a column, a part is called; nothing where there is one without a name.  Of two sets'
 * sentences a column has the words in which they differ. */
void bw_point_row_add(bw_text *text, const bw_point_map *map, size_t row);
void bw_point_column_add(bw_text *text, const bw_point_map *map, size_t column);
void bw_point_part_add(bw_text *text, const bw_point_map *map, size_t part);

/* The map in characters: ">?<" is asked for, "  . " waits or was read before.  At most
 * BW_POINT_ROWS_MAX lines; nothing where a table of them would say no more than the label. */
enum { BW_POINT_ROWS_MAX = 8 };
void bw_point_map_add(bw_text *text, const bw_point_map *map, size_t set, size_t at, int indent);

#endif
