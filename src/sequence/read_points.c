/* read_points.c - where a reading is taken, and how often.  See draft.h. */
#include "sequence/draft.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

static void check_points(const bw_fields *form, const bw_reading_set *set) {
    for (size_t i = 0; i < set->at_n; i++) {
        for (size_t j = 0; j < i; j++) {
            if (strcmp(set->at[i], set->at[j]) == 0) {
                bw_mistake_add(form->mistakes, bw_fields_at(form, "at"),
                               "`at` of reading names \"%s\" twice: each point needs its own label",
                               set->at[i]);
            }
        }
    }
}

/* ---- points{ {...}, {...} }: every label of one list with every one of the others ---- */

typedef struct axis {
    const char *const *label;
    size_t n;
} axis;

enum { AXES_MAX = 4, WHOLE_MAX = AXES_MAX * (BW_PLAN_ID_MAX + 1) };

/* False, and noted, where it is not a list of lists of labels. */
static bool read_axes(const bw_fields *form, axis *out, size_t *n, size_t *points) {
    *n = form->node->list_n;
    *points = 1;
    if (*n < 2 || *n > AXES_MAX) {
        bw_mistake_add(form->mistakes, form->spot,
                       "points holds %zu lists: 2 to %d are possible, such as points{ {\"1\", "
                       "\"2\"}, {\"top\", \"foot\"} }",
                       *n, AXES_MAX);
        return false;
    }
    for (size_t i = 0; i < *n; i++) {
        char name[16];
        bw_text text = bw_text_on(name, sizeof name);
        bw_text_add(&text, "points[%zu]", i + 1);
        out[i].label = bw_fields_labels(form, &form->node->list[i], name, &out[i].n);
        if (out[i].label == NULL) {
            return false;
        }
        *points *= out[i].n;
        if (*points > BW_PLAN_READINGS_MAX) {
            bw_mistake_add(form->mistakes, form->spot, "points are more than %d",
                           BW_PLAN_READINGS_MAX);
            return false;
        }
    }
    return true;
}

/* "2 top along", the last list changing fastest; NULL, and noted, where it is too long. */
static const char *label_of(bw_draft *draft, const bw_fields *form, const axis *axes, size_t n,
                            size_t point) {
    char line[WHOLE_MAX];
    bw_text text = bw_text_on(line, sizeof line);
    size_t behind = 1;
    for (size_t i = 0; i < n; i++) {
        behind *= axes[i].n;
    }
    for (size_t i = 0; i < n; i++) {
        behind /= axes[i].n;
        bw_text_add(&text, "%s%s", i > 0 ? " " : "", axes[i].label[point / behind % axes[i].n]);
    }
    if (text.len > BW_PLAN_ID_MAX) {
        bw_mistake_add(form->mistakes, form->spot,
                       "the point \"%s\" is %zu bytes long: at most %d, take shorter labels", line,
                       text.len, BW_PLAN_ID_MAX);
        return NULL;
    }
    const char *label = bw_arena_text(draft->arena, line);
    draft->mistakes->memory_out = draft->mistakes->memory_out || label == NULL;
    return label;
}

static void read_product(bw_draft *draft, const bw_value *node, bw_reading_set *set) {
    bw_fields form = bw_fields_of(draft->mistakes, node);
    axis axes[AXES_MAX];
    size_t n = 0;
    size_t points = 0;
    if (!read_axes(&form, axes, &n, &points)) {
        return;
    }
    const char **at = bw_draft_memory(draft, points, sizeof *at);
    for (size_t i = 0; at != NULL && i < points; i++) {
        at[i] = label_of(draft, &form, axes, n, i);
        if (at[i] == NULL) {
            return;
        }
    }
    set->at = at;
    set->at_n = at == NULL ? 0 : points;
}

/* Where no points are named there is one. */
static void read_at(bw_draft *draft, const bw_fields *form, bw_reading_set *set) {
    const bw_value *at = bw_fields_get(form, "at", BW_OPTIONAL);
    if (at != NULL && bw_fields_is(at, "points")) {
        read_product(draft, at, set);
    } else if (at != NULL) {
        set->at = bw_fields_labels(form, at, "at", &set->at_n);
    } else {
        const char **one = bw_draft_memory(draft, 1, sizeof *one);
        if (one != NULL) {
            one[0] = "1";
            set->at = one;
            set->at_n = 1;
        }
    }
    check_points(form, set);
}

/* ---- how often ---- */

static bool read_spread(const bw_fields *form, bw_reading_set *set, bw_unit unit) {
    bw_written written;
    if (!bw_fields_has(form, "spread")) {
        return true;
    }
    if (!bw_fields_quantity(form, "spread", BW_NEEDED, bw_unit_of(unit)->dimension, &written)) {
        return false;
    }
    if (set->repeats < 2 || written.base < 0) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, "spread"),
                       written.base < 0
                           ? "`spread` of reading must not be below zero"
                           : "reading has a `spread` and no `repeats`: one reading has none");
        return false;
    }
    set->has_spread = true;
    set->spread = written.base;
    return true;
}

bool bw_read_points(bw_draft *draft, const bw_fields *form, bw_unit unit, bw_reading_set *set) {
    read_at(draft, form, set);
    set->repeats = 1;
    bool good = !bw_fields_has(form, "repeats") ||
                bw_fields_count(form, "repeats", BW_NEEDED, 2, BW_PLAN_REPEATS_MAX, &set->repeats);
    return read_spread(form, set, unit) && good && set->at_n > 0;
}
