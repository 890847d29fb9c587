/* reading.c - see view.h: the facts of a reading. */
#include "face/display/view.h"

#include "base/text.h"
#include "face/figures.h"
#include "face/members.h"
#include "face/point_map.h"

#include <math.h>

/* ---- what belongs to it ---- */

/* What is computed from this set, and between what it must lie. */
static json_t *derived_from(const bw_prompt *p, size_t set) {
    json_t *list = json_array();
    for (size_t i = 0; i < p->step->derived_n; i++) {
        const bw_derived *d = &p->step->derived[i];
        for (size_t k = 0; k < d->of_n; k++) {
            if (d->of[k] == set) {
                char bytes[BW_VIEW_TEXT_MAX];
                bw_text text = bw_text_on(bytes, sizeof bytes);
                bw_text_add(&text, "%s: ", d->say);
                bw_value_limits_add(&text, d->low, d->high, d->unit, d->decimals);
                (void)json_array_append_new(list, json_string(bytes));
                break;
            }
        }
    }
    return list;
}

/* The readings of this point so far, and what they may differ by. */
static void add_before(json_t *r, const bw_prompt *p) {
    json_t *before = json_array();
    double least = INFINITY;
    double most = -INFINITY;
    for (size_t i = 0; i + 1 < p->repeat; i++) {
        json_t *one = json_object();
        bw_view_figure(one, "value", bw_view_in(p->before[i], p->set->unit, p->set->decimals));
        (void)json_array_append_new(before, one);
        least = fmin(least, p->before[i]);
        most = fmax(most, p->before[i]);
    }
    (void)json_object_set_new(r, "before", before);
    if (least < most) {
        bw_view_figure(r, "repeats_spread",
                       bw_view_in(most - least, p->set->unit, p->set->decimals));
    }
    if (p->set->has_spread) {
        bw_view_figure(r, "spread_most",
                       bw_view_in(p->set->spread, p->set->unit, p->set->decimals));
    }
}

/* ---- where on the part ---- */

typedef void add_name(bw_text *text, const bw_point_map *map, size_t index);

static json_t *names_of(const bw_point_map *map, size_t n, add_name *add) {
    char bytes[BW_VIEW_TEXT_MAX];
    json_t *names = json_array();
    for (size_t i = 0; i < n; i++) {
        bw_text text = bw_text_on(bytes, sizeof bytes);
        add(&text, map, i);
        (void)json_array_append_new(names, json_string(bytes));
    }
    return names;
}

/* One point: its name, what was read there, whether it is asked for now. */
static json_t *point_of(const bw_prompt *p, const bw_session *session, const bw_point_map *map,
                        bw_point_spot spot) {
    size_t set = 0;
    size_t at = 0;
    double value = 0;
    json_t *one = json_object();
    bw_point_at(map, spot, &set, &at);
    const bw_reading_set *s = &p->step->set[set];
    bw_set_text(one, "at", s->at[at]);
    bw_set_flag(one, "now", s == p->set && at == p->at);
    if (bw_session_reading(session, p->step_number - 1, set, at, &value)) {
        bw_view_figure(one, "value", bw_view_in(value, s->unit, s->decimals));
    }
    return one;
}

/* The part that is measured now: what it is, and its points row by row. */
static json_t *map_of(const bw_prompt *p, const bw_session *session) {
    char bytes[BW_VIEW_TEXT_MAX];
    bw_text text = bw_text_on(bytes, sizeof bytes);
    size_t set = (size_t)(p->set - p->step->set);
    bw_point_map map = bw_point_map_of(p->step, set);
    bw_point_spot now = bw_point_spot_of(&map, set, p->at);
    json_t *out = json_object();
    json_t *rows = json_array();
    for (size_t row = 0; row < map.row_n; row++) {
        json_t *points = json_array();
        for (size_t column = 0; column < map.column_n; column++) {
            bw_point_spot spot = {now.part, row, column};
            (void)json_array_append_new(points, point_of(p, session, &map, spot));
        }
        (void)json_array_append_new(rows, points);
    }
    bw_set_text(out, "body", bw_body_word(map.body));
    bw_set_flag(out, "lies", map.lies);
    bw_point_part_add(&text, &map, now.part);
    bw_set_text(out, "part", bytes);
    (void)json_object_set_new(out, "row_names", names_of(&map, map.row_n, bw_point_row_add));
    (void)json_object_set_new(out, "column_names",
                              names_of(&map, map.column_n, bw_point_column_add));
    (void)json_object_set_new(out, "rows", rows);
    return out;
}

/* How far the readings of this set are apart so far. */
static void set_spread(json_t *r, const bw_prompt *p, const bw_session *session) {
    size_t set = (size_t)(p->set - p->step->set);
    double least = INFINITY;
    double most = -INFINITY;
    for (size_t i = 0; i < p->set->at_n; i++) {
        double value = 0;
        if (bw_session_reading(session, p->step_number - 1, set, i, &value)) {
            least = fmin(least, value);
            most = fmax(most, value);
        }
    }
    if (least < most) {
        bw_view_figure(r, "spread", bw_view_in(most - least, p->set->unit, p->set->decimals));
    }
}

/* ---- the reading ---- */

json_t *bw_view_reading(const bw_prompt *p, const bw_session *session) {
    char bytes[BW_VIEW_TEXT_MAX];
    bw_text text = bw_text_on(bytes, sizeof bytes);
    json_t *r = json_object();
    size_t set = (size_t)(p->set - p->step->set);
    bw_set_text(r, "say", p->set->say);
    bw_set_text(r, "at", p->set->at[p->at]);
    bw_set_whole(r, "number", p->reading_number);
    bw_set_whole(r, "of", p->reading_n);
    bw_set_text(r, "unit", bw_unit_of(p->set->unit)->symbol);
    bw_set_text(r, "gauge", p->step->gauge);
    bw_value_limits_add(&text, p->set->least, p->set->most, p->set->unit, p->set->decimals);
    bw_set_text(r, "plausible", bytes);
    if (p->repeats > 1) {
        bw_set_whole(r, "repeat", p->repeat);
        bw_set_whole(r, "repeats", p->repeats);
        add_before(r, p);
    }
    (void)json_object_set_new(r, "map", map_of(p, session));
    (void)json_object_set_new(r, "derived", derived_from(p, set));
    set_spread(r, p, session);
    return r;
}
