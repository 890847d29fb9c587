/* point_map.c - see point_map.h. */
#include "face/point_map.h"

#include <string.h>

typedef struct span {
    const char *at;
    size_t len;
} span;

static bool same(span a, span b) {
    return a.len == b.len && strncmp(a.at, b.at, a.len) == 0;
}

/* ---- labels that are a product: "2 top along" ---- */

/* The last word of a label, and what stands before it. */
static span last_word(span label) {
    size_t from = label.len;
    while (from > 0 && label.at[from - 1] != ' ') {
        from--;
    }
    return (span){label.at + from, label.len - from};
}

static span before_last(span label) {
    size_t len = label.len - last_word(label).len;
    while (len > 0 && label.at[len - 1] == ' ') {
        len--;
    }
    return (span){label.at, len};
}

static span dropped(const char *text, int words) {
    span label = {text, strlen(text)};
    for (int k = 0; k < words; k++) {
        label = before_last(label);
    }
    return label;
}

/* So many last words come back in the same order behind each beginning, of every step-th label
 * without its last `drop` words; 1: they do not. */
static size_t period(const bw_reading_set *set, size_t step, int drop) {
    size_t total = set->at_n / step;
    span first = dropped(set->at[0], drop);
    size_t n = 1;
    while (n < total && same(before_last(dropped(set->at[n * step], drop)), before_last(first))) {
        n++;
    }
    if (n < 2 || n == total || total % n != 0) {
        return 1;
    }
    for (size_t i = 0; i < total; i++) {
        span label = dropped(set->at[i * step], drop);
        span begins = before_last(dropped(set->at[(i - i % n) * step], drop));
        span ends = last_word(dropped(set->at[i % n * step], drop));
        if (begins.len == 0 || !same(before_last(label), begins) || !same(last_word(label), ends)) {
            return 1;
        }
    }
    return n;
}

static span row_label(const bw_point_map *map, size_t row) {
    const bw_reading_set *set = &map->step->set[map->set[0]];
    size_t columns = map->set_n == 2 ? 1 : map->column_n;
    span label = dropped(set->at[row * columns], map->row_drop);
    return map->row_is_word ? last_word(label) : label;
}

/* ---- the workshop's words ---- */

static bool is_one_of(span word, const char *const *words) {
    for (; *words != NULL; words++) {
        if (same(word, (span){*words, strlen(*words)})) {
            return true;
        }
    }
    return false;
}

static const char *const upright_words[] = {"top",  "upper",  "middle", "centre", "center",
                                            "foot", "bottom", "lower",  NULL};
static const char *const level_words[] = {"front", "middle", "centre", "center",
                                          "rear",  "back",   NULL};
static const char *const round_words[] = {"top", "right", "bottom", "left", NULL};
static const char *const face_words[] = {"along", "across", "diagonal", NULL};

static bool rows_are(const bw_point_map *map, const char *const *words) {
    for (size_t i = 0; i < map->row_n; i++) {
        if (!is_one_of(row_label(map, i), words)) {
            return false;
        }
    }
    return true;
}

static bool rows_begin_with(const bw_point_map *map, const char *const *words) {
    for (size_t i = 0; i < map->row_n; i++) {
        span label = row_label(map, i);
        size_t len = 0;
        while (len < label.len && label.at[len] != ' ') {
            len++;
        }
        if (!is_one_of((span){label.at, len}, words)) {
            return false;
        }
    }
    return true;
}

static bool lower_is(char c, char lower) {
    return c == lower || (c >= 'A' && c <= 'Z' && c - 'A' + 'a' == lower);
}

/* A word of a sentence, in whatever case; "bores" has "bore". */
static bool has_word(const char *text, const char *word) {
    size_t len = strlen(word);
    for (const char *p = text; p != NULL && *p != '\0'; p++) {
        size_t i = 0;
        while (i < len && lower_is(p[i], word[i])) {
            i++;
        }
        if (i == len && (p == text || p[-1] == ' ' || p[-1] == '-')) {
            return true;
        }
    }
    return false;
}

static bool says(const bw_step *step, size_t set, const char *word) {
    const bw_reading_set *s = &step->set[set];
    return has_word(s->say, word) || has_word(s->id, word);
}

/* ---- what is computed of a set ---- */

static bool is_used(const bw_step *step, size_t set, const char *formula, size_t operand) {
    for (size_t i = 0; i < step->derived_n; i++) {
        const bw_derived *d = &step->derived[i];
        if (strcmp(d->formula->name, formula) == 0 && operand < d->of_n && d->of[operand] == set) {
            return true;
        }
    }
    return false;
}

static bool is_along_axis(const bw_step *step, size_t set) {
    return is_used(step, set, "taper", 0) || is_used(step, set, "worst_taper", 0) ||
           is_used(step, set, "worst_taper", 1);
}

/* The two directions of one part: diameters along its axis in one, then in the other. */
static void find_directions(bw_point_map *map, size_t set) {
    static const char *const formulas[] = {"worst_taper", "worst_out_of_round"};
    for (size_t i = 0; i < map->step->derived_n && map->set_n == 1; i++) {
        const bw_derived *d = &map->step->derived[i];
        bool pair = d->of_n == 2 && (strcmp(d->formula->name, formulas[0]) == 0 ||
                                     strcmp(d->formula->name, formulas[1]) == 0);
        if (pair && (d->of[0] == set || d->of[1] == set) &&
            map->step->set[d->of[0]].at_n == map->step->set[d->of[1]].at_n) {
            map->set_n = 2;
            map->set[0] = d->of[0];
            map->set[1] = d->of[1];
        }
    }
}

static bool is_hole(const bw_step *step, size_t set) {
    return says(step, set, "bore") || says(step, set, "housing") || says(step, set, "guide") ||
           is_used(step, set, "oil_clearance_least", 0) ||
           is_used(step, set, "piston_clearance", 0);
}

static bool is_shaft(const bw_step *step, size_t set) {
    return says(step, set, "journal") || says(step, set, "shaft") || says(step, set, "stem") ||
           says(step, set, "pin") || has_word(step->say, "journal") ||
           has_word(step->say, "shaft") || is_used(step, set, "oil_clearance_least", 1);
}

/* Points along an axis: of a hole, of a shaft, or of what nothing is known of. */
static void choose_round_part(bw_point_map *map, size_t set) {
    bool hole = is_hole(map->step, set);
    if (hole || is_shaft(map->step, set)) {
        map->body = hole ? BW_BODY_BORE : BW_BODY_SHAFT;
    }
}

static bool is_end_gap(const bw_step *step, size_t set) {
    bool ring = says(step, set, "ring") || has_word(step->say, "ring") ||
                has_word(step->say, "rings");
    return ring && says(step, set, "gap");
}

static void choose_body(bw_point_map *map, size_t set) {
    const bw_step *step = map->step;
    bool upright = rows_are(map, upright_words);
    bool level = rows_are(map, level_words);
    bool plain = map->part_n == 1 && map->column_n == 1;
    if (plain && map->row_n == 4 && rows_are(map, round_words)) {
        map->body = BW_BODY_ROUND;
    } else if (plain && map->row_n > 1 && rows_begin_with(map, face_words)) {
        map->body = BW_BODY_FACE;
    } else if (plain && map->row_n == 1 && is_end_gap(step, set)) {
        map->body = BW_BODY_END_GAP;
    } else if (plain && is_used(step, set, "end_float", 0)) {
        map->body = BW_BODY_FLOAT;
    } else if (map->row_n > 1 && (upright || level || is_along_axis(step, set))) {
        choose_round_part(map, set);
    }
    map->lies = (level && !upright) || (!upright && map->body == BW_BODY_SHAFT);
}

/* ---- the map ---- */

static bool is_place_word(span word) {
    return is_one_of(word, upright_words) || is_one_of(word, level_words);
}

/* "1 top", "1 foot", "2 top" ...: the last words are rows; "1 top along" ...: they are columns. */
static void find_axes(bw_point_map *map, const bw_reading_set *set) {
    size_t last = period(set, 1, 0);
    if (last > 1 && is_place_word(last_word(dropped(set->at[0], 0)))) {
        map->part_n = set->at_n / last;
        map->row_n = last;
        map->row_is_word = true;
        return;
    }
    size_t rows = set->at_n / last;
    size_t inner = last > 1 ? period(set, last, 1) : 1;
    map->column_n = last;
    map->row_drop = last > 1 ? 1 : 0;
    map->row_is_word = inner > 1;
    map->row_n = inner > 1 ? inner : rows;
    map->part_n = rows / map->row_n;
}

bw_point_map bw_point_map_of(const bw_step *step, size_t set) {
    bw_point_map map = {.step = step, .part_n = 1, .column_n = 1, .set_n = 1, .set = {set, set}};
    find_axes(&map, &step->set[set]);
    if (map.column_n == 1) {
        find_directions(&map, set);
        map.column_n = map.set_n;
    }
    choose_body(&map, set);
    return map;
}

bw_point_spot bw_point_spot_of(const bw_point_map *map, size_t set, size_t at) {
    bool pair = map->set_n == 2;
    size_t columns = pair ? 1 : map->column_n;
    return (bw_point_spot){.part = at / (columns * map->row_n),
                           .row = at / columns % map->row_n,
                           .column = pair ? (set == map->set[1] ? 1 : 0) : at % columns};
}

void bw_point_at(const bw_point_map *map, bw_point_spot spot, size_t *set, size_t *at) {
    bool pair = map->set_n == 2;
    size_t row = spot.part * map->row_n + spot.row;
    *set = map->set[pair ? spot.column : 0];
    *at = pair ? row : row * map->column_n + spot.column;
}

const char *bw_body_word(bw_body body) {
    static const char *const words[] = {
        [BW_BODY_NONE] = "table",  [BW_BODY_BORE] = "bore", [BW_BODY_SHAFT] = "shaft",
        [BW_BODY_ROUND] = "round", [BW_BODY_FACE] = "face", [BW_BODY_END_GAP] = "end gap",
        [BW_BODY_FLOAT] = "float"};
    return words[body];
}

static void add_span(bw_text *text, span label) {
    bw_text_add(text, "%.*s", (int)label.len, label.at);
}

void bw_point_row_add(bw_text *text, const bw_point_map *map, size_t row) {
    if (map->row_n > 1) {
        add_span(text, row_label(map, row));
    }
}

/* What of `text` is not in `beside`, too, at its beginning and end: "across" of "bore across the
 * engine" beside "bore along the engine".  Whole words, one at least. */
static span own_words(const char *text, const char *beside) {
    size_t from = 0;
    for (size_t i = 0; text[i] != '\0' && text[i] == beside[i]; i++) {
        from = text[i] == ' ' ? i + 1 : from;
    }
    span own = {text + from, strlen(text + from)};
    size_t beside_len = strlen(beside + from);
    size_t least = own.len < beside_len ? own.len : beside_len;
    size_t behind = 0;
    for (size_t k = 1; k < least; k++) {
        char c = own.at[own.len - k];
        if (c != beside[from + beside_len - k]) {
            break;
        }
        behind = c == ' ' ? k : behind;
    }
    own.len -= behind;
    return own;
}

static span column_name(const bw_point_map *map, size_t column) {
    const bw_step *step = map->step;
    if (map->set_n == 2) {
        return own_words(step->set[map->set[column]].say, step->set[map->set[1 - column]].say);
    }
    const char *label = step->set[map->set[0]].at[column];
    return map->column_n > 1 ? last_word(dropped(label, 0)) : (span){"", 0};
}

void bw_point_column_add(bw_text *text, const bw_point_map *map, size_t column) {
    add_span(text, column_name(map, column));
}

void bw_point_part_add(bw_text *text, const bw_point_map *map, size_t part) {
    const bw_reading_set *set = &map->step->set[map->set[0]];
    size_t columns = map->set_n == 2 ? 1 : map->column_n;
    if (map->part_n > 1) {
        add_span(text, dropped(set->at[part * map->row_n * columns], map->row_drop + 1));
    }
}

/* ---- in characters ---- */

enum { NAME_WIDTH = 12, BARE_WIDTH = 5 };

static void add_padded(bw_text *text, span label, size_t width) {
    bw_text_add(text, "%*s%.*s", label.len < width ? (int)(width - label.len) : 0, "",
                (int)label.len, label.at);
}

/* The longest; 0: they have none, or one that is wider than those of rows. */
static size_t names_width(const bw_point_map *map) {
    size_t width = 0;
    for (size_t i = 0; i < map->column_n; i++) {
        size_t len = column_name(map, i).len;
        width = len > width ? len : width;
    }
    return width <= NAME_WIDTH ? width : 0;
}

static void add_heading(bw_text *text, const bw_point_map *map, size_t width, int indent) {
    bw_text_add(text, "%*s", indent + NAME_WIDTH, "");
    for (size_t i = 0; i < map->column_n; i++) {
        add_padded(text, column_name(map, i), width);
    }
    bw_text_add(text, "\n");
}

void bw_point_map_add(bw_text *text, const bw_point_map *map, size_t set, size_t at, int indent) {
    bw_point_spot now = bw_point_spot_of(map, set, at);
    bool says_more = map->column_n > 1 || (map->row_n > 2 && map->body != BW_BODY_NONE);
    if (map->row_n < 2 || map->row_n > BW_POINT_ROWS_MAX || map->column_n > BW_POINT_ROWS_MAX ||
        !says_more) {
        return;
    }
    size_t names = names_width(map);
    size_t width = names + 2 > BARE_WIDTH ? names + 2 : BARE_WIDTH;
    if (names > 0) {
        add_heading(text, map, width, indent);
    }
    for (size_t row = 0; row < map->row_n; row++) {
        bw_text_add(text, "%*s", indent, "");
        add_padded(text, row_label(map, row), NAME_WIDTH);
        for (size_t column = 0; column < map->column_n; column++) {
            bool asked = row == now.row && column == now.column;
            bw_text_add(text, "%*s", (int)width, asked ? ">?<" : " . ");
        }
        bw_text_add(text, "\n");
    }
}
