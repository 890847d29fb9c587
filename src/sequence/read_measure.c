/* read_measure.c - `measure{...}`: readings, and values derived from them.  See draft.h.
 *
 * Limits of a derived value are held against what plausible readings can give at all, so that a
 * slip of the unit or the sign is found before the first part is measured. */
#include "sequence/draft.h"

#include "base/text.h"
#include "sequence/words.h"

#include <math.h>
#include <string.h>

enum { DECIMALS_MAX = 6, OPERANDS_MAX = 4 };

/* ---- readings ---- */

static bool read_range(const bw_fields *form, const char *field, bw_unit unit,
                       bw_reading_set *set) {
    const bw_value *value = bw_fields_get(form, field, BW_NEEDED);
    bw_dimension dimension = bw_unit_of(unit)->dimension;
    if (value == NULL) {
        return false;
    }
    if (value->kind != BW_VALUE_TABLE || value->list_n != 2 || value->field_n > 0) {
        bw_mistake_add(
            form->mistakes, bw_fields_at(form, field),
            "`%s` of %s needs the least and the most that can be, in braces: %s", field, form->word,
            dimension == BW_DIM_TEMPERATURE ? "{degC(19), degC(21)}" : "{mm(54.9), mm(55.1)}");
        return false;
    }
    bw_written least;
    bw_written most;
    bool good = bw_fields_quantity_of(form, &value->list[0], field, dimension, &least);
    good = bw_fields_quantity_of(form, &value->list[1], field, dimension, &most) && good;
    if (good && least.base >= most.base) {
        bw_mistake_add(form->mistakes, least.spot,
                       "`%s` of %s goes from the least to the most, not the other way round", field,
                       form->word);
        return false;
    }
    if (good) {
        set->least = least.base;
        set->most = most.base;
    }
    return good;
}

/* False where the set has mistakes that make its derived values meaningless. */
static bool read_set(bw_draft *draft, const bw_value *node, bw_reading_set *set) {
    bw_fields form = bw_fields_of(draft->mistakes, node);
    set->where = bw_mistakes_where(draft->mistakes, node->spot);
    set->id = bw_fields_id(&form, "id", BW_NEEDED);
    set->say = bw_fields_text(&form, "say", BW_NEEDED);
    bool good = bw_fields_count(&form, "decimals", BW_NEEDED, 0, DECIMALS_MAX, &set->decimals);
    bool known = bw_fields_unit(&form, "unit", BW_NEEDED, BW_DIM_COUNT, &set->unit);
    good = bw_read_points(draft, &form, set->unit, set) && good;
    return known && read_range(&form, "plausible", set->unit, set) && good;
}

/* The temperature of the part is read first, like anything else. */
static void read_temperature(const bw_fields *form, bw_reading_set *set) {
    static const char *const once[] = {"1"};
    *set = (bw_reading_set){.id = "temperature",
                            .say = "temperature of the part",
                            .unit = BW_UNIT_DEGC,
                            .decimals = 1,
                            .at_n = 1,
                            .at = once,
                            .repeats = 1};
    (void)read_range(form, "temperature", set->unit, set);
}

/* `set` begins with `first` sets that are not in the list. */
static bool read_listed(bw_draft *draft, const bw_value *list, size_t n, bw_reading_set *set,
                        size_t first) {
    bool sound = true;
    for (size_t i = first; i < first + n; i++) {
        const bw_value *node = &list[i - first];
        bool good = bw_fields_is(node, "reading") && read_set(draft, node, &set[i]);
        sound = sound && good;
        for (size_t j = 0; j < i && set[i].id != NULL; j++) {
            if (set[j].id != NULL && strcmp(set[i].id, set[j].id) == 0) {
                bw_mistake_add(draft->mistakes, node->spot,
                               "reading id \"%s\" is used twice in this step", set[i].id);
            }
        }
    }
    return sound;
}

static void read_sets(bw_draft *draft, const bw_fields *form, bw_step *step, bool *sound) {
    size_t n = 0;
    const bw_value *list = bw_fields_nodes(form, "readings", BW_NEEDED, "reading",
                                           BW_PLAN_READINGS_MAX, &n);
    size_t first = bw_fields_has(form, "temperature") ? 1 : 0;
    bw_reading_set *set = list == NULL ? NULL : bw_draft_memory(draft, n + first, sizeof *set);
    size_t readings = 0;
    *sound = false;
    if (set == NULL) {
        return;
    }
    if (first > 0) {
        read_temperature(form, set);
    }
    *sound = read_listed(draft, list, n, set, first);
    for (size_t i = 0; i < n + first; i++) {
        readings += set[i].at_n * (size_t)(set[i].repeats > 1 ? set[i].repeats : 1);
    }
    if (readings > BW_PLAN_READINGS_MAX) {
        bw_mistake_add(draft->mistakes, form->spot, "a step has at most %d readings, not %zu",
                       BW_PLAN_READINGS_MAX, readings);
    }
    step->set = set;
    step->set_n = n + first;
    step->has_temperature = first > 0;
}

/* ---- derived values ---- */

static void note_unknown_reading(const bw_fields *form, const bw_step *step, const char *id) {
    bw_nearest nearest = bw_mistakes_nearest(form->mistakes, id);
    for (size_t i = 0; i < step->set_n; i++) {
        if (step->set[i].id != NULL) {
            bw_nearest_offer(&nearest, step->set[i].id, strlen(step->set[i].id));
        }
    }
    if (nearest.best != NULL) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, "of"),
                       "`of` names \"%s\", which this step does not read; did you mean \"%s\"?", id,
                       nearest.best);
    } else {
        bw_mistake_add(form->mistakes, bw_fields_at(form, "of"),
                       "`of` names \"%s\", which this step does not read", id);
    }
}

static bool find_set(const bw_step *step, const char *id, size_t *out) {
    for (size_t i = 0; i < step->set_n; i++) {
        if (step->set[i].id != NULL && strcmp(step->set[i].id, id) == 0) {
            *out = i;
            return true;
        }
    }
    return false;
}

static bool read_operands(bw_draft *draft, const bw_fields *form, const bw_step *step,
                          bw_derived *derived) {
    size_t n = 0;
    const char *const *id = bw_fields_ids(form, "of", BW_NEEDED, &n);
    size_t *of = id == NULL ? NULL : bw_draft_memory(draft, n, sizeof *of);
    bool good = of != NULL;
    for (size_t i = 0; of != NULL && i < n; i++) {
        if (!find_set(step, id[i], &of[i])) {
            note_unknown_reading(form, step, id[i]);
            good = false;
        }
    }
    const bw_formula *formula = derived->formula;
    if (good && formula != NULL && n != formula->operands) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, "of"),
                       "formula \"%s\" takes %zu: %s; `of` names %zu", formula->name,
                       formula->operands, formula->takes, n);
        good = false;
    }
    derived->of = of;
    derived->of_n = good ? n : 0;
    return good;
}

static const bw_formula *read_formula(const bw_fields *form) {
    const char *name = bw_fields_id(form, "formula", BW_NEEDED);
    const bw_formula *formula = name == NULL ? NULL : bw_formula_find(name);
    if (name == NULL || formula != NULL) {
        return formula;
    }
    bw_nearest nearest = bw_mistakes_nearest(form->mistakes, name);
    for (size_t i = 0; bw_formula_at(i) != NULL; i++) {
        bw_nearest_offer(&nearest, bw_formula_at(i)->name, strlen(bw_formula_at(i)->name));
    }
    if (nearest.best != NULL) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, "formula"),
                       "formula \"%s\" is not known; did you mean \"%s\"?", name, nearest.best);
    } else {
        bw_mistake_add(form->mistakes, bw_fields_at(form, "formula"), "formula \"%s\" is not known",
                       name);
    }
    return NULL;
}

static bool read_limit(const bw_fields *form, const char *field, bw_dimension dimension,
                       double otherwise, double *out) {
    bw_written written;
    *out = otherwise;
    if (!bw_fields_has(form, field)) {
        return true;
    }
    if (!bw_fields_quantity(form, field, BW_OPTIONAL, dimension, &written)) {
        return false;
    }
    *out = written.base;
    return true;
}

static bool read_limits(const bw_fields *form, bw_derived *derived) {
    bw_dimension dimension = bw_unit_of(derived->unit)->dimension;
    bool good = read_limit(form, "low", dimension, (double)-INFINITY, &derived->low);
    good = read_limit(form, "high", dimension, (double)INFINITY, &derived->high) && good;
    if (good && derived->low >= derived->high) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, "low"), "value: low must be below high");
        return false;
    }
    return good;
}

/* ---- what plausible readings can give ---- */

typedef struct range {
    double least, most;
    bw_err why; /* of the last evaluation that failed */
} range;

/* All readings at the least, all at the most, or the first at the least and the others at the
 * most. */
static void fill_series(const bw_reading_set *set, int extreme, double *value) {
    for (size_t i = 0; i < set->at_n; i++) {
        bool at_least = extreme == 0 || (extreme == 2 && i == 0);
        value[i] = at_least ? set->least : set->most;
    }
}

/* Evaluates the formula at every combination of extremes of its operands. */
static bool possible_range(const bw_step *step, const bw_derived *derived, range *out) {
    double value[OPERANDS_MAX][BW_PLAN_READINGS_MAX];
    bw_series series[OPERANDS_MAX];
    int combinations = 1;
    for (size_t i = 0; i < derived->of_n; i++) {
        combinations *= 3;
    }
    bool any = false;
    out->least = (double)INFINITY;
    out->most = (double)-INFINITY;
    for (int c = 0; c < combinations; c++) {
        int rest = c;
        for (size_t i = 0; i < derived->of_n; i++, rest /= 3) {
            const bw_reading_set *set = &step->set[derived->of[i]];
            fill_series(set, rest % 3, value[i]);
            series[i] = (bw_series){.value = value[i], .n = set->at_n};
        }
        double result = 0;
        if (bw_formula_eval(derived->formula, series, derived->of_n, &result, &out->why) == BW_OK) {
            out->least = fmin(out->least, result);
            out->most = fmax(out->most, result);
            any = true;
        }
    }
    return any;
}

static bool fits(const bw_step *step, const bw_derived *derived) {
    for (size_t i = 0; i < derived->of_n; i++) {
        if (step->set[derived->of[i]].at_n > BW_PLAN_READINGS_MAX) {
            return false;
        }
    }
    return derived->of_n > 0 && derived->of_n <= OPERANDS_MAX;
}

static void check_possible(const bw_fields *form, const bw_step *step, const bw_derived *derived) {
    range possible = {0};
    if (!fits(step, derived)) {
        return;
    }
    if (!possible_range(step, derived, &possible)) {
        bw_mistake_add(form->mistakes, form->spot, "value: %s", possible.why.text);
        return;
    }
    if (derived->low > possible.most || derived->high < possible.least) {
        char least[64];
        char most[64];
        bw_quantity from = {bw_from_base(possible.least, derived->unit), derived->unit,
                            derived->decimals};
        bw_quantity to = {bw_from_base(possible.most, derived->unit), derived->unit,
                          derived->decimals};
        bw_mistake_add(form->mistakes, form->spot,
                       "no plausible readings lie within the limits of this value: they give %s "
                       "to %s",
                       bw_quantity_text(from, least, sizeof least),
                       bw_quantity_text(to, most, sizeof most));
    }
}

/* What to do about a limit that is not there would never be said. */
static const char *read_remedy(const bw_fields *form, const char *field, const char *limit) {
    const char *text = bw_fields_text(form, field, BW_OPTIONAL);
    if (text != NULL && !bw_fields_has(form, limit)) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, field),
                       "value has `%s`, and no `%s` to be beyond of", field, limit);
    }
    return text;
}

static void read_value(bw_draft *draft, const bw_value *node, const bw_step *step, bool sound,
                       bw_derived *derived) {
    bw_fields form = bw_fields_of(draft->mistakes, node);
    derived->where = bw_mistakes_where(draft->mistakes, node->spot);
    derived->id = bw_fields_id(&form, "id", BW_NEEDED);
    derived->say = bw_fields_text(&form, "say", BW_NEEDED);
    derived->formula = read_formula(&form);
    derived->when_low = read_remedy(&form, "when_low", "low");
    derived->when_high = read_remedy(&form, "when_high", "high");
    bool good = read_operands(draft, &form, step, derived) && derived->formula != NULL;
    good = bw_fields_count(&form, "decimals", BW_NEEDED, 0, DECIMALS_MAX, &derived->decimals) &&
           good;
    good = bw_fields_unit(&form, "unit", BW_NEEDED, BW_DIM_COUNT, &derived->unit) &&
           read_limits(&form, derived) && good;
    if (good && sound) {
        check_possible(&form, step, derived);
    }
}

static void check_value_id(const bw_draft *draft, const bw_step *step, const bw_value *node,
                           size_t index) {
    const char *id = step->derived[index].id;
    size_t set = 0;
    bool twice = id != NULL && find_set(step, id, &set);
    for (size_t i = 0; id != NULL && i < index; i++) {
        twice = twice || (step->derived[i].id != NULL && strcmp(step->derived[i].id, id) == 0);
    }
    if (twice) {
        bw_mistake_add(draft->mistakes, node->spot, "value id \"%s\" is used twice in this step",
                       id);
    }
}

void bw_read_measure(bw_draft *draft, const bw_fields *form, bw_step *step) {
    step->gauge = bw_fields_text(form, "gauge", BW_OPTIONAL);
    bool sound = false;
    read_sets(draft, form, step, &sound);
    if (!bw_fields_has(form, "derive")) {
        return;
    }
    size_t n = 0;
    const bw_value *list = bw_fields_nodes(form, "derive", BW_OPTIONAL, "value",
                                           BW_PLAN_DERIVED_MAX, &n);
    bw_derived *derived = list == NULL ? NULL : bw_draft_memory(draft, n, sizeof *derived);
    step->derived = derived;
    step->derived_n = derived == NULL ? 0 : n;
    for (size_t i = 0; i < step->derived_n; i++) {
        if (bw_fields_is(&list[i], "value")) {
            read_value(draft, &list[i], step, sound, &derived[i]);
            check_value_id(draft, step, &list[i], i);
        }
    }
}
