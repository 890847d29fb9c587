/* draw_table.c - tables: as wide as their cells ask for, broken only where the page is too narrow.
 */
#include "face/draw_int.h"

#include <math.h>
#include <string.h>

static const double gap_least = 7, gap_most = 16, mark_room = 12, line_room = 2.6, box_height = 15,
                    box_least = 34, box_most = 96, line_height = 8.15,
                    word_share = 0.3; /* of the room: a longer word is broken */

/* How a table lies on the page. */
typedef struct lie {
    const bw_sheet_table *table;
    double gap;
    double x[BW_SHEET_COLUMNS_MAX]; /* left edge of each column */
    double width[BW_SHEET_COLUMNS_MAX];
    double natural[BW_SHEET_COLUMNS_MAX];
} lie;

static bw_type type_of(const bw_sheet_row *row, size_t column) {
    bw_type type = BW_TYPE_CELL;
    type.bold = row->strong == column + 1;
    type.grey = row->past ? 0.45 : 0;
    return type;
}

static bw_type head_type(void) {
    return (bw_type){.size = 6.5, .grey = 0.3};
}

/* ---- widths ---- */

static double longest_word(const bw_drawing *d, bw_type type, const char *text) {
    char word[256];
    double longest = 0;
    for (const char *at = text; *at != '\0';) {
        size_t len = strcspn(at, " \n");
        (void)snprintf(word, sizeof word, "%.*s", (int)len, at);
        longest = fmax(longest, bw_text_width(d, type, word));
        at += len + (at[len] != '\0' ? 1 : 0);
    }
    return longest;
}

/* The measure of a text that a column's width is made from. */
typedef double measure(const bw_drawing *d, bw_type type, const char *text);

static double widest(const bw_drawing *d, const bw_sheet_table *table, size_t column,
                     measure *of_head, measure *of_cell) {
    double width = of_head(d, head_type(), table->column[column].head);
    bool empty = true;
    const char *above = ""; /* most names, days and verdicts are those of the row above */
    for (const bw_sheet_row *row = table->row; row != NULL; row = row->next) {
        const char *cell = row->cell[column];
        bool bold = type_of(row, column).bold;
        if (cell != NULL && cell[0] != '\0' && (bold || strcmp(cell, above) != 0)) {
            width = fmax(width, of_cell(d, type_of(row, column), cell));
            empty = false;
            above = bold ? "" : cell;
        }
    }
    return table->boxes && empty ? fmax(width, box_least) : width;
}

static double sum(const double *value, size_t n) {
    double all = 0;
    for (size_t i = 0; i < n; i++) {
        all += value[i];
    }
    return all;
}

/* Each column keeps what its longest words need and as much above it as all others may have, at
 * most what it asks for. */
static void share(const lie *l, const double *least, double room, double *width, size_t n) {
    double low = 0;
    double high = room;
    for (int step = 0; step < 40; step++) {
        double above = (low + high) / 2;
        for (size_t i = 0; i < n; i++) {
            width[i] = fmin(l->natural[i], least[i] + above);
        }
        if (sum(width, n) > room) {
            high = above;
        } else {
            low = above;
        }
    }
    double all = sum(width, n);
    for (size_t i = 0; all > room && i < n; i++) {
        width[i] *= room / all; /* words are broken then */
    }
}

static bool is_box(const bw_sheet_table *table, size_t column) {
    return table->boxes && table->row != NULL && table->row->cell[column] == NULL;
}

/* Boxes take the room that is left over, as far as a hand needs it; returns what they took. */
static double widen_boxes(lie *l, double left_over) {
    size_t n = 0;
    for (size_t i = 0; i < l->table->column_n; i++) {
        n += is_box(l->table, i) ? 1 : 0;
    }
    double each = n > 0 ? fmin(left_over / (double)n, box_most - box_least) : 0;
    for (size_t i = 0; i < l->table->column_n; i++) {
        l->width[i] += is_box(l->table, i) ? each : 0;
    }
    return each * (double)n;
}

static void set_edges(const bw_drawing *d, lie *l) {
    const bw_sheet_table *table = l->table;
    double x = d->left + (table->marks ? mark_room : 0);
    for (size_t i = 0; i < table->column_n; i++) {
        l->x[i] = x;
        x += l->width[i] + l->gap;
    }
}

static const lie *lay(bw_drawing *d, const bw_sheet_table *table) {
    lie *l = bw_draw_room(d, 1, sizeof *l);
    size_t n = table->column_n;
    if (l == NULL || n == 0) {
        return NULL;
    }
    l->table = table;
    double room = d->width - (table->marks ? mark_room : 0) - (double)(n - 1) * gap_least;
    /* Heads are broken before cells are. */
    static measure *const of_head[] = {bw_text_width, longest_word};
    double asked = INFINITY;
    for (size_t k = 0; k < 2 && asked > room; k++) {
        for (size_t i = 0; i < n; i++) {
            l->natural[i] = widest(d, table, i, of_head[k], bw_text_width) + 0.5;
            l->width[i] = l->natural[i];
        }
        asked = sum(l->natural, n);
    }
    if (asked > room) {
        double least[BW_SHEET_COLUMNS_MAX];
        for (size_t i = 0; i < n; i++) {
            least[i] = fmin(fmin(l->natural[i], room * word_share),
                            widest(d, table, i, longest_word, longest_word) + 0.5);
        }
        share(l, least, room, l->width, n);
    }
    double left_over = fmax(0, room - sum(l->width, n));
    if (table->boxes) {
        left_over -= widen_boxes(l, left_over);
    }
    l->gap = fmin(gap_most, gap_least + (n > 1 ? left_over / (double)(n - 1) : 0));
    set_edges(d, l);
    return l;
}

/* ---- drawing ---- */

/* width 0: not broken. */
static void draw_cell(const bw_drawing *d, const lie *l, size_t i, bw_type type, double y,
                      double width, const char *text) {
    if (l->table->column[i].right) {
        bw_canvas_text(d->canvas, type, BW_ALIGN_RIGHT, l->x[i] + l->width[i], y, width, text);
    } else {
        bw_canvas_text(d->canvas, type, BW_ALIGN_LEFT, l->x[i], y, width, text);
    }
}

static bool is_broken(const lie *l, size_t i, const char *cell) {
    return l->natural[i] > l->width[i] || strchr(cell, '\n') != NULL;
}

static void draw_table_title(const bw_drawing *d, const bw_strip *s, double y) {
    bw_canvas_text(d->canvas, BW_TYPE_STRONG, BW_ALIGN_LEFT, d->left, y, d->width, s->what);
}

static void draw_under(const bw_drawing *d, const bw_strip *s, double y) {
    bw_canvas_text(d->canvas, BW_TYPE_SMALL, BW_ALIGN_LEFT, d->left, y, d->width, s->what);
}

static void draw_head(const bw_drawing *d, const bw_strip *s, double y) {
    const lie *l = s->with;
    for (size_t i = 0; i < l->table->column_n; i++) {
        const char *head = l->table->column[i].head;
        double height = bw_text_height(d, head_type(), head, l->width[i]);
        draw_cell(d, l, i, head_type(), y + s->height - 4 - height, l->width[i], head);
    }
    bw_canvas_line(d->canvas, BW_LINE_THIN, d->left, y + s->height - 1.5, d->left + d->width,
                   y + s->height - 1.5);
}

static void draw_boxes(const bw_drawing *d, const lie *l, const bw_sheet_row *row, double y,
                       double height) {
    for (size_t i = 0; i < l->table->column_n; i++) {
        if (row->cell[i] == NULL) {
            bw_canvas_box(d->canvas, (bw_line){.width = 0.5, .grey = 0.2}, NULL, l->x[i], y + 1,
                          l->width[i], height - 2);
        }
    }
}

static void draw_row(const bw_drawing *d, const bw_strip *s, double y) {
    const lie *l = s->with;
    const bw_sheet_row *row = s->what;
    double top = y + (l->table->boxes ? (box_height - line_height) / 2 : line_room / 2);
    if (row->mark != BW_MARK_NONE) {
        bw_draw_mark(d, row->mark, d->left + 4, top + 4.4, 2.7, NULL);
    }
    for (size_t i = 0; i < l->table->column_n; i++) {
        if (row->cell[i] != NULL && row->cell[i][0] != '\0') {
            draw_cell(d, l, i, type_of(row, i), top,
                      is_broken(l, i, row->cell[i]) ? l->width[i] : 0, row->cell[i]);
        }
    }
    if (l->table->boxes) {
        draw_boxes(d, l, row, y, s->height);
    }
    if (row->note == NULL && row->next != NULL && !l->table->boxes) {
        bw_canvas_line(d->canvas, BW_LINE_HAIR, d->left, y + s->height, d->left + d->width,
                       y + s->height);
    }
}

static void draw_note(const bw_drawing *d, const bw_strip *s, double y) {
    const lie *l = s->with;
    double x = l->x[l->table->column_n > 1 ? 1 : 0];
    bw_canvas_text(d->canvas, BW_TYPE_SMALL, BW_ALIGN_LEFT, x, y, d->left + d->width - x, s->what);
    if (s->index == 1) { /* the last line of the row's */
        bw_canvas_line(d->canvas, BW_LINE_HAIR, d->left, y + s->height, d->left + d->width,
                       y + s->height);
    }
}

/* ---- strips ---- */

static double cells_height(const bw_drawing *d, const lie *l, const bw_sheet_row *row) {
    double height = line_height;
    for (size_t i = 0; i < l->table->column_n; i++) {
        const char *cell = row->cell[i];
        if (cell != NULL && is_broken(l, i, cell)) {
            height = fmax(height, bw_text_height(d, type_of(row, i), cell, l->width[i]));
        }
    }
    return l->table->boxes ? fmax(box_height, height + 4) : height + line_room;
}

static void add_note(bw_drawing *d, const lie *l, const bw_sheet_row *row, size_t head) {
    double x = l->x[l->table->column_n > 1 ? 1 : 0];
    const char *at = row->note;
    while (*at != '\0') {
        size_t len = strcspn(at, "\n");
        const char *line = bw_arena_copy(d->arena, at, len);
        if (line == NULL) {
            d->failed = true;
            return;
        }
        at += len + (at[len] == '\n' ? 1 : 0);
        double height = bw_text_height(d, BW_TYPE_SMALL, line, d->left + d->width - x);
        bw_strip *s = bw_add_strip(d, draw_note, line, height + (*at == '\0' ? 2.5 : 0.5));
        s->with = l;
        s->head = head;
        s->index = *at == '\0' && row->next != NULL ? 1 : 0;
        s->keep = *at != '\0';
    }
}

static void add_head(bw_drawing *d, const lie *l) {
    double height = 0;
    for (size_t i = 0; i < l->table->column_n; i++) {
        height = fmax(height,
                      bw_text_height(d, head_type(), l->table->column[i].head, l->width[i]));
    }
    bw_strip *s = bw_add_strip(d, draw_head, NULL, height + 5);
    s->with = l;
    s->above = 2;
    s->keep = true;
}

void bw_add_table(bw_drawing *d, const bw_sheet_table *table) {
    const lie *l = lay(d, table);
    if (l == NULL) {
        return;
    }
    if (table->title != NULL) {
        bw_strip *s = bw_add_strip(d, draw_table_title, table->title,
                                   bw_text_height(d, BW_TYPE_STRONG, table->title, d->width) + 1);
        s->above = 11;
        s->keep = true;
    }
    if (table->under != NULL) {
        bw_add_strip(d, draw_under, table->under,
                     bw_text_height(d, BW_TYPE_SMALL, table->under, d->width) + 1)
            ->keep = true;
    }
    add_head(d, l);
    size_t head = d->strip_n;
    for (const bw_sheet_row *row = table->row; row != NULL; row = row->next) {
        bw_strip *s = bw_add_strip(d, draw_row, row, cells_height(d, l, row));
        s->with = l;
        s->head = head;
        s->keep = row->note != NULL || (row == table->row && row->next != NULL) ||
                  (row->next != NULL && row->next->next == NULL);
        if (row->note != NULL) {
            add_note(d, l, row, head);
        }
    }
}
