/* bolt_map.c - see bolt_map.h. */
#include "face/bolt_map.h"

#include <math.h>
#include <string.h>

enum { CELL = 6, ROWS_MAX = 15, COLUMNS_MAX = 72, MARK_MAX = 8, LIST_COLUMNS = 11 };

static const double same_mm = 0.01; /* positions closer than this are in one line */

static void mark(const bw_progress *progress, size_t place, size_t stage, size_t next, char *out) {
    const char *around = "  ";
    if (place == next) {
        around = "><";
    } else if (progress[place].stages_done > stage) {
        around = progress[place].overridden ? "!!" : "==";
    }
    bw_text text = bw_text_on(out, MARK_MAX);
    bw_text_add(&text, "%c%zu%c", around[0], place + 1, around[1]);
}

/* How many different positions there are along one axis. */
static size_t lines_along(const bw_group *group, double (*along)(const bw_point *)) {
    size_t n = 0;
    for (size_t i = 0; i < group->place_n; i++) {
        bool seen = false;
        for (size_t k = 0; k < i && !seen; k++) {
            seen = fabs(along(&group->place[i].point) - along(&group->place[k].point)) < same_mm;
        }
        n += seen ? 0 : 1;
    }
    return n;
}

static double along_x(const bw_point *p) {
    return p->x_mm;
}

static double down_y(const bw_point *p) {
    return -p->y_mm;
}

typedef struct canvas {
    size_t rows, columns;
    char cell[ROWS_MAX][COLUMNS_MAX + MARK_MAX];
} canvas;

static size_t place_on(const bw_group *group, size_t place, double (*along)(const bw_point *),
                       size_t size) {
    double least = INFINITY;
    double most = -INFINITY;
    for (size_t i = 0; i < group->place_n; i++) {
        least = fmin(least, along(&group->place[i].point));
        most = fmax(most, along(&group->place[i].point));
    }
    double span = most - least;
    double share = span > 0 ? (along(&group->place[place].point) - least) / span : 0.0;
    return (size_t)lround(share * (double)(size - 1));
}

static void put(canvas *c, size_t row, size_t column, const char *text, bool *clash) {
    for (size_t i = 0; text[i] != '\0'; i++) {
        *clash = *clash || c->cell[row][column + i] != ' ';
        c->cell[row][column + i] = text[i];
    }
}

/* False where two marks would lie on each other. */
static bool draw(canvas *c, const bw_group *group, const bw_progress *progress, size_t stage,
                 size_t next) {
    size_t rows = lines_along(group, down_y);
    size_t columns = CELL * lines_along(group, along_x);
    bool clash = false;
    c->rows = rows < ROWS_MAX ? rows : ROWS_MAX;
    c->columns = columns < COLUMNS_MAX ? columns : COLUMNS_MAX;
    memset(c->cell, ' ', sizeof c->cell);
    for (size_t i = 0; i < group->place_n; i++) {
        char text[MARK_MAX];
        mark(progress, i, stage, next, text);
        put(c, place_on(group, i, down_y, c->rows),
            place_on(group, i, along_x, c->columns - CELL + 1), text, &clash);
    }
    return !clash;
}

static void print_canvas(bw_text *text, const canvas *c, int indent) {
    for (size_t r = 0; r < c->rows; r++) {
        size_t len = sizeof c->cell[r];
        while (len > 0 && c->cell[r][len - 1] == ' ') {
            len--;
        }
        bw_text_add(text, "%*s%.*s\n", indent, "", (int)len, c->cell[r]);
    }
}

static void print_list(bw_text *text, const bw_group *group, const bw_progress *progress,
                       size_t stage, size_t next, int indent) {
    for (size_t i = 0; i < group->place_n; i++) {
        char one[MARK_MAX];
        mark(progress, i, stage, next, one);
        bool first = i % LIST_COLUMNS == 0;
        bool last = i % LIST_COLUMNS == LIST_COLUMNS - 1 || i + 1 == group->place_n;
        bw_text_add(text, "%*s%-*s%s", first ? indent : 0, "", last ? 1 : CELL, one,
                    last ? "\n" : "");
    }
}

void bw_bolt_map(bw_text *text, const bw_group *group, const bw_progress *progress, size_t stage,
                 size_t next, int indent) {
    canvas c;
    if (group->has_points && draw(&c, group, progress, stage, next)) {
        print_canvas(text, &c, indent);
    } else {
        print_list(text, group, progress, stage, next, indent);
    }
    bw_text_add(text, "%*s=n= done in this stage   >n< next   !n! by decision\n", indent, "");
}
