/* read_group.c - `group{...}` and where its fasteners are.  See draft.h.
 *
 * Positions are in the plane of the joint as the builder sees it: x to the right, y up. */
#include "sequence/draft.h"

#include "base/text.h"
#include "sequence/words.h"
#include "trade/grade.h"
#include "trade/thread.h"

#include <math.h>
#include <string.h>

enum { CYCLES_MOST = 100 };

static const double pi = 3.14159265358979323846;

/* The places of one group while they are read. */
typedef struct layout {
    bw_draft *draft;
    bw_fields form; /* the word that says where they are */
    size_t n;
    bw_place *place;
    bool has_points;
} layout;

/* ---- labels ---- */

static const char *number_label(layout *l, size_t index) {
    char digits[16];
    bw_text text = bw_text_on(digits, sizeof digits);
    bw_text_add(&text, "%zu", index + 1);
    const char *label = bw_arena_text(l->draft->arena, digits);
    if (label == NULL) {
        l->draft->mistakes->memory_out = true;
        return "";
    }
    return label;
}

/* Takes the labels that were given, else numbers from 1. */
static bool label_places(layout *l) {
    const bw_value *given = bw_fields_get(&l->form, "labels", BW_OPTIONAL);
    const char *const *label = NULL;
    size_t n = 0;
    if (given != NULL) {
        label = bw_fields_labels(&l->form, given, "labels", &n);
        if (label != NULL && n != l->n) {
            bw_mistake_add(l->draft->mistakes, bw_fields_at(&l->form, "labels"),
                           "%s has %zu places and %zu labels: one label a place is needed",
                           l->form.word, l->n, n);
        }
        if (n != l->n) {
            return false;
        }
    }
    for (size_t i = 0; i < l->n; i++) {
        l->place[i].label = label != NULL ? label[i] : number_label(l, i);
    }
    return true;
}

/* Where the place, or its label, is written. */
static bw_spot spot_of_place(const layout *l, size_t i) {
    bool own = strcmp(l->form.word, "labels") == 0 || strcmp(l->form.word, "places") == 0;
    return bw_mistakes_at(l->draft->mistakes, l->form.spot, l->form.word, own ? NULL : "labels",
                          i + 1);
}

static void check_labels(const layout *l) {
    for (size_t i = 0; i < l->n; i++) {
        for (size_t j = 0; j < i; j++) {
            const char *a = l->place[i].label;
            if (a != NULL && l->place[j].label != NULL && strcmp(a, l->place[j].label) == 0) {
                bw_mistake_add(l->draft->mistakes, spot_of_place(l, i),
                               "label \"%s\" stands for places %zu and %zu of this group: each "
                               "needs its own",
                               a, j + 1, i + 1);
            }
        }
    }
}

/* ---- the four ways to say where ---- */

static bool set_places(layout *l, size_t n) {
    l->draft->place_n += n;
    if (l->draft->place_n > BW_PLAN_PLACES_MAX) {
        bw_mistake_add(l->draft->mistakes, l->form.spot,
                       "all groups together have at most %d places", BW_PLAN_PLACES_MAX);
        return false;
    }
    l->place = bw_draft_memory(l->draft, n, sizeof *l->place);
    l->n = l->place == NULL ? 0 : n;
    return l->place != NULL;
}

static bool positive(const layout *l, const char *field, double *out) {
    bw_written written;
    if (!bw_fields_quantity(&l->form, field, BW_NEEDED, BW_DIM_LENGTH, &written)) {
        return false;
    }
    if (written.base <= 0) {
        bw_mistake_add(l->draft->mistakes, written.spot, "`%s` of %s must be above zero", field,
                       l->form.word);
        return false;
    }
    *out = written.base;
    return true;
}

/* Row by row as one reads, the first row on top. */
static bool read_grid(layout *l) {
    int rows = 0;
    int columns = 0;
    double dx_mm = 0;
    double dy_mm = 0;
    bool good = bw_fields_count(&l->form, "rows", BW_NEEDED, 1, BW_ORDER_MAX, &rows);
    good = bw_fields_count(&l->form, "columns", BW_NEEDED, 1, BW_ORDER_MAX, &columns) && good;
    good = (columns == 1 && !bw_fields_has(&l->form, "dx")) || (positive(l, "dx", &dx_mm) && good);
    good = (rows == 1 && !bw_fields_has(&l->form, "dy")) || (positive(l, "dy", &dy_mm) && good);
    good = good && rows > 0 && columns > 0;
    if (good && rows * columns > BW_ORDER_MAX) {
        bw_mistake_add(l->draft->mistakes, l->form.spot, "a group has at most %d places, not %d",
                       BW_ORDER_MAX, rows * columns);
        return false;
    }
    if (!good || !set_places(l, (size_t)rows * (size_t)columns)) {
        return false;
    }
    for (int row = 0; row < rows; row++) {
        for (int column = 0; column < columns; column++) {
            l->place[row * columns + column].point = (bw_point){column * dx_mm,
                                                                (rows - 1 - row) * dy_mm};
        }
    }
    l->has_points = true;
    return label_places(l);
}

/* From twelve o'clock with the clock. */
static bool read_circle(layout *l) {
    int n = 0;
    double diameter_mm = 0;
    bool good = bw_fields_count(&l->form, "n", BW_NEEDED, 2, BW_ORDER_MAX, &n);
    good = positive(l, "diameter", &diameter_mm) && good;
    if (!good || !set_places(l, (size_t)n)) {
        return false;
    }
    for (int i = 0; i < n; i++) {
        double angle_rad = 2 * pi * i / n;
        l->place[i].point = (bw_point){diameter_mm / 2 * sin(angle_rad),
                                       diameter_mm / 2 * cos(angle_rad)};
    }
    l->has_points = true;
    return label_places(l);
}

static bool count_list(const layout *l) {
    size_t n = l->form.node->list_n;
    if (n == 0 || n > BW_ORDER_MAX) {
        bw_mistake_add(l->draft->mistakes, l->form.spot,
                       "%s holds %zu places: 1 to %d are possible", l->form.word, n, BW_ORDER_MAX);
        return false;
    }
    return true;
}

static bool read_place(layout *l, size_t i) {
    const bw_value *item = &l->form.node->list[i];
    if (item->kind != BW_VALUE_TABLE) {
        bw_mistake_add(l->draft->mistakes, spot_of_place(l, i),
                       "place %zu needs braces: {label = \"1\", x = mm(0), y = mm(0)}", i + 1);
        return false;
    }
    char path[32];
    bw_text text = bw_text_on(path, sizeof path);
    bw_text_add(&text, "places[%zu]", i + 1);
    bw_fields form = bw_fields_in(&l->form, path, item, "a place", "label x y");
    const bw_value *label = bw_fields_get(&form, "label", BW_OPTIONAL);
    bw_place *place = &l->place[i];
    place->label = label == NULL ? number_label(l, i) : bw_fields_label(&form, label, "label");
    bw_written x;
    bw_written y;
    bool good = bw_fields_quantity(&form, "x", BW_NEEDED, BW_DIM_LENGTH, &x);
    good = bw_fields_quantity(&form, "y", BW_NEEDED, BW_DIM_LENGTH, &y) && good;
    if (good) {
        place->point = (bw_point){x.base, y.base};
    }
    return good && place->label != NULL;
}

static bool read_places(layout *l) {
    if (!count_list(l) || !set_places(l, l->form.node->list_n)) {
        return false;
    }
    bool good = true;
    for (size_t i = 0; i < l->n; i++) {
        good = read_place(l, i) && good;
    }
    l->has_points = true;
    return good;
}

static bool read_labels(layout *l) {
    if (!count_list(l) || !set_places(l, l->form.node->list_n)) {
        return false;
    }
    bool good = true;
    for (size_t i = 0; i < l->n; i++) {
        char name[32];
        bw_text text = bw_text_on(name, sizeof name);
        bw_text_add(&text, "labels[%zu]", i + 1);
        l->place[i].label = bw_fields_label(&l->form, &l->form.node->list[i], name);
        good = good && l->place[i].label != NULL;
    }
    return good;
}

static const struct {
    const char *word;
    bool (*read)(layout *l);
} layouts[] = {
    {"grid", read_grid},
    {"circle", read_circle},
    {"places", read_places},
    {"labels", read_labels},
};

/* ---- order ---- */

/* The other bank's picture, with the same labels in the same order. */
static void mirror(const bw_fields *form, layout *l) {
    if (!l->has_points) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, "mirrored"),
                       "`mirrored` needs to know where the places are: use grid{}, circle{} or "
                       "places{} with x and y");
        return;
    }
    for (size_t i = 0; i < l->n; i++) {
        l->place[i].point.x_mm = -l->place[i].point.x_mm;
    }
}

/* Works out the group's order; places good or not, the word is checked. */
static void read_order(bw_draft *draft, const bw_fields *form, bool good, bw_group *group) {
    bool reversed = bw_fields_flag(form, "reversed", false);
    if (bw_read_order(form, &group->order_kind) && good) {
        group->order = bw_draft_order(draft, form->spot, "group", group, group->order_kind,
                                      reversed);
    }
}

static void read_where(bw_draft *draft, const bw_fields *form, bw_group *group) {
    const bw_value *where = bw_fields_get(form, "places", BW_NEEDED);
    layout l = {.draft = draft};
    bool good = false;
    bool known = false;
    for (size_t i = 0; where != NULL && i < sizeof layouts / sizeof layouts[0]; i++) {
        if (bw_fields_is(where, layouts[i].word)) {
            l.form = bw_fields_of(draft->mistakes, where);
            good = layouts[i].read(&l);
            check_labels(&l);
            known = true;
        }
    }
    if (where != NULL && !known) {
        char found[BW_FIELDS_DESCRIBE_MAX];
        bw_mistake_add(draft->mistakes, bw_fields_at(form, "places"),
                       "`places` of group needs grid{}, circle{}, places{} or labels{}, not %s",
                       bw_fields_describe(where, found, sizeof found));
    }
    group->place_n = l.n;
    group->place = l.place;
    group->has_points = l.has_points;
    read_order(draft, form, good, group);
    if (bw_fields_flag(form, "mirrored", false) && good) {
        mirror(form, &l);
        group->mirrored = l.has_points;
    }
}

/* ---- the fastener ---- */

static void read_class(const bw_fields *form, bw_group *group) {
    group->property_class = bw_fields_text(form, "class", BW_OPTIONAL);
    if (group->property_class == NULL || group->thread_d_mm <= 0) {
        return;
    }
    const bw_grade *grade = NULL;
    bw_err err = {.code = BW_OK, .text = ""};
    if (bw_grade_find(group->property_class, group->thread_d_mm, &grade, &err) != BW_OK) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, "class"), "`class` of group: %s",
                       err.text);
    }
}

static void read_thread(const bw_fields *form, bw_group *group) {
    const char *text = bw_fields_text(form, "thread", BW_OPTIONAL);
    bw_thread thread = {0, 0, false};
    bw_err err = {.code = BW_OK, .text = ""};
    if (text == NULL) {
        return;
    }
    if (bw_thread_parse(text, strlen(text), &thread, &err) != BW_OK) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, "thread"), "`thread` of group: %s",
                       err.text);
        return;
    }
    group->thread_d_mm = thread.d_mm;
    group->thread_pitch_mm = thread.pitch_mm;
}

void bw_read_figures(const bw_fields *form, const char **document, const char **revision) {
    *document = bw_fields_text(form, "document", BW_OPTIONAL);
    *revision = bw_fields_text(form, "revision", BW_OPTIONAL);
    if (bw_fields_has(form, "revision") && !bw_fields_has(form, "document")) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, "revision"),
                       "%s has a `revision` and no `document` that it is of", form->word);
    }
    if (*document != NULL && *revision == NULL) {
        *revision = "";
    }
}

static void read_joint(const bw_fields *form, bw_group *group) {
    const char *text = bw_fields_text(form, "joint", BW_OPTIONAL);
    if (text != NULL && (text[0] < 'A' || text[0] > 'C' || text[1] != '\0')) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, "joint"),
                       "`joint` of group is \"A\" (danger to life), \"B\" (function) or \"C\" "
                       "(other), not \"%.48s\"",
                       text);
    } else if (text != NULL) {
        group->joint_class = text[0];
    }
}

static void read_lubricant(const bw_fields *form, bw_group *group) {
    if (!bw_fields_has(form, "lubricant")) {
        bw_mistake_add(form->mistakes, form->spot,
                       "group lacks `lubricant`: what is on thread and under the head is part of "
                       "the torque; write lubricant = \"dry\" where there is none");
        return;
    }
    group->lubricant = bw_fields_text(form, "lubricant", BW_NEEDED);
}

void bw_read_group(bw_draft *draft, const bw_value *node) {
    bw_fields form = bw_fields_of(draft->mistakes, node);
    bw_group *group = &draft->group[draft->plan.group_n];
    draft->group_spot[draft->plan.group_n] = node->spot;
    draft->plan.group_n++;
    group->where = bw_mistakes_where(draft->mistakes, node->spot);
    group->name = bw_fields_id(&form, "name", BW_NEEDED);
    group->name = group->name == NULL ? "" : group->name;
    group->say = bw_fields_text(&form, "say", BW_NEEDED);
    read_thread(&form, group);
    read_class(&form, group);
    read_joint(&form, group);
    bw_read_figures(&form, &group->document, &group->revision);
    read_lubricant(&form, group);
    group->washers = bw_fields_text(&form, "washers", BW_OPTIONAL);
    group->new_each_time = bw_fields_flag(&form, "new_each_time", false);
    bw_read_reuse(&form, group);
    if (bw_fields_has(&form, "cycles")) {
        (void)bw_fields_count(&form, "cycles", BW_NEEDED, 1, CYCLES_MOST, &group->cycles);
    }
    read_where(draft, &form, group);
}
