/* sheet_readings.c - the measurements: what was read, what follows from it, beside its limits.
 *
 * Steps that measure the same of several cylinders, journals or valves share one table with a row
 * each; what has too many readings for that is a table of its own with a row a reading.  Nothing
 * that was read is left out: what was read again stands under its row. */
#include "face/sheet_make.h"

#include "base/decimal.h"
#include "face/figures.h"

#include <math.h>
#include <string.h>

enum { SIDE_BY_SIDE_MAX = 7 /* readings and values in one row */, TO_THE_MINUTE = 16 };

static size_t readings_of(const bw_step *step) {
    size_t n = 0;
    for (size_t i = 0; i < step->set_n; i++) {
        n += step->set[i].at_n;
    }
    return n;
}

/* ---- figures ---- */

/* Parts "0.048 mm (1.89 thou)" into "0.048\n(1.89)" and "mm (thou)": the units go into the head of
 * a column.  What has one unit stays on one line. */
static void part(char *figure, char *units, size_t size) {
    bw_text unit = bw_text_on(units, size);
    char *other = strstr(figure, " (");
    char *own = NULL;
    if (other != NULL) {
        *other = '\0';
        own = strrchr(figure, ' ');
        char *close = strrchr(other + 1, ')');
        char *theirs = strrchr(other + 1, ' ');
        if (own == NULL || close == NULL || theirs == NULL || theirs > close) {
            *other = ' ';
            return;
        }
        bw_text_add(&unit, "%s (%.*s)", own + 1, (int)(close - theirs - 1), theirs + 1);
        memmove(theirs, close, strlen(close) + 1);
        *own = '\n';
        memmove(own + 1, other + 1, strlen(other + 1) + 1);
    } else if ((own = strrchr(figure, ' ')) != NULL) {
        bw_text_add(&unit, "%s", own + 1);
        *own = '\0';
    }
}

static const char *value_text(bw_making *m, const bw_derived *d, const bw_entry *e, bool parted) {
    char figure[BW_FIGURE_MAX];
    char units[BW_FIGURE_MAX];
    bw_text text = bw_text_on(figure, sizeof figure);
    if (bw_entry_has(e, BW_M_TEXT)) {
        return bw_make_said(m, "none: %s", bw_entry_text(e, BW_M_TEXT, ""));
    }
    double value = bw_to_base(bw_entry_number(e, BW_M_VALUE, 0), d->unit);
    bw_value_beside_add(&text, value, d->low, d->high, d->unit, d->decimals);
    if (parted) {
        part(figure, units, sizeof units);
    }
    return bw_make_said(m, "%s", figure);
}

static const char *limits_text(bw_making *m, const bw_derived *d, bool parted) {
    char figure[2 * BW_FIGURE_MAX];
    char units[BW_FIGURE_MAX];
    bw_text text = bw_text_on(figure, sizeof figure);
    bw_value_limits_add(&text, d->low, d->high, d->unit, d->decimals);
    if (parted) {
        part(figure, units, sizeof units);
    }
    return bw_make_said(m, "%s", figure);
}

/* "mm (thou)" */
static const char *units_text(bw_making *m, const bw_derived *d) {
    char figure[BW_FIGURE_MAX];
    char units[BW_FIGURE_MAX];
    bw_text text = bw_text_on(figure, sizeof figure);
    bw_value_add(&text, 0, d->unit, d->decimals);
    part(figure, units, sizeof units);
    return bw_make_said(m, "%s", units);
}

const char *bw_make_limits(bw_making *m, const bw_derived *derived) {
    return limits_text(m, derived, false);
}

static const bw_derived *derived_of(const bw_step *step, const bw_entry *e) {
    for (size_t i = 0; i < step->derived_n; i++) {
        if (strcmp(step->derived[i].id, bw_entry_text(e, BW_M_DERIVED, "")) == 0) {
            return &step->derived[i];
        }
    }
    return NULL;
}

static const bw_reading_set *set_of(const bw_step *step, const bw_entry *e) {
    for (size_t i = 0; i < step->set_n; i++) {
        if (strcmp(step->set[i].id, bw_entry_text(e, BW_M_SET, "")) == 0) {
            return &step->set[i];
        }
    }
    return NULL;
}

/* Whether a and b are readings of the same place, or the same value. */
static bool same_thing(const bw_entry *a, const bw_entry *b) {
    bool reading = a->kind == BW_KIND_READING;
    bw_member what = reading ? BW_M_SET : BW_M_DERIVED;
    return a->kind == b->kind &&
           strcmp(bw_entry_text(a, BW_M_STEP, ""), bw_entry_text(b, BW_M_STEP, "")) == 0 &&
           strcmp(bw_entry_text(a, what, ""), bw_entry_text(b, what, "")) == 0 &&
           (!reading ||
            (strcmp(bw_entry_text(a, BW_M_AT, ""), bw_entry_text(b, BW_M_AT, "")) == 0 &&
             bw_entry_whole(a, BW_M_REPEAT, 1) == bw_entry_whole(b, BW_M_REPEAT, 1)));
}

static bool is_past(const bw_making *m, size_t index) {
    for (size_t i = index + 1; i < m->replay->entry_n; i++) {
        if (same_thing(&m->replay->entry[index], &m->replay->entry[i])) {
            return true;
        }
    }
    return m->taken_back[index] != NULL;
}

static const char *temperature(bw_making *m, const bw_entry *e) {
    return bw_entry_has(e, BW_M_TEMPERATURE_DEGC)
               ? bw_make_said(m, "at %.1f °C", bw_entry_number(e, BW_M_TEMPERATURE_DEGC, 0))
               : "";
}

static const char *decision_text(bw_making *m, const bw_step *step, const bw_entry *e) {
    const bw_derived *d = derived_of(step, e);
    const char *second = bw_entry_text(e, BW_M_SECOND, "");
    const char *reason = bw_entry_text(e, BW_M_REASON, "");
    return bw_make_said(m, "%s: decided: %s, by %s%s%s%s%s", d != NULL ? d->say : step->say,
                        bw_entry_text(e, BW_M_DECISION, ""), e->by,
                        second[0] != '\0' ? " with " : "", second,
                        reason[0] != '\0' ? ", because: " : "", reason);
}

/* ---- a row a step ---- */

static const char *reading_head(bw_making *m, const bw_reading_set *set, size_t at) {
    enum { SHORT = 26 };
    const char *name = bw_text_columns(set->say) <= SHORT ? set->say : set->id;
    return bw_make_said(m, "%s\n%s, %s", name, set->at[at], bw_unit_of(set->unit)->symbol);
}

static bw_sheet_table *begin_shared(bw_making *m, const char *title, const bw_step *step) {
    bw_sheet_table *table = bw_make_table(m, title, NULL);
    bool limited = false;
    bw_make_column(table, "", false);
    for (size_t i = 0; i < step->set_n; i++) {
        for (size_t k = 0; k < step->set[i].at_n; k++) {
            bw_make_column(table, reading_head(m, &step->set[i], k), true);
        }
    }
    for (size_t i = 0; i < step->derived_n; i++) {
        const bw_derived *d = &step->derived[i];
        bw_make_column(table, bw_make_said(m, "%s\n%s", d->say, units_text(m, d)), true);
        limited = limited || isfinite(d->low) || isfinite(d->high);
    }
    if (limited) {
        bw_make_column(table, "verdict", false);
        bw_sheet_row *row = bw_make_row(m, table);
        row->cell[0] = "limits";
        row->strong = 1;
        for (size_t i = 0; i < step->derived_n; i++) {
            row->cell[1 + readings_of(step) + i] = limits_text(m, &step->derived[i], true);
        }
    }
    bw_make_column(table, "by, time (UTC)", false);
    return table;
}

/* Column of a reading or a value in a shared table; 0: none. */
static size_t column_of(const bw_step *step, const bw_entry *e) {
    size_t column = 1;
    for (size_t i = 0; e->kind == BW_KIND_READING && i < step->set_n; i++) {
        for (size_t k = 0; k < step->set[i].at_n; k++, column++) {
            if (strcmp(step->set[i].id, bw_entry_text(e, BW_M_SET, "")) == 0 &&
                strcmp(step->set[i].at[k], bw_entry_text(e, BW_M_AT, "")) == 0) {
                return column;
            }
        }
    }
    const bw_derived *d = e->kind == BW_KIND_DERIVED ? derived_of(step, e) : NULL;
    return d != NULL ? 1 + readings_of(step) + (size_t)(d - step->derived) : 0;
}

static const char *earlier_text(bw_making *m, const bw_step *step, size_t index) {
    const bw_entry *e = &m->replay->entry[index];
    const bw_entry *correction = m->taken_back[index];
    const char *why = correction == NULL
                          ? ""
                          : bw_make_said(m, ", taken back: %s",
                                         bw_entry_text(correction, BW_M_REASON, "read again"));
    if (e->kind == BW_KIND_DERIVED) {
        const bw_derived *d = derived_of(step, e);
        return bw_make_said(m, "before: %s %s: %s", d->say, value_text(m, d, e, false),
                            bw_entry_text(e, BW_M_VERDICT, ""));
    }
    const bw_reading_set *set = set_of(step, e);
    return bw_make_said(m, "before: %s %s %s, %s, %s%s", set->say, bw_entry_text(e, BW_M_AT, ""),
                        bw_make_typed(m, e), e->by, bw_make_when(m, e), why);
}

static void put_in_row(bw_making *m, const bw_step *step, const bw_sheet_table *table,
                       bw_sheet_row *row, size_t index) {
    const bw_entry *e = &m->replay->entry[index];
    size_t column = column_of(step, e);
    bool reading = e->kind == BW_KIND_READING;
    const char *verdict = reading ? "pass" : bw_entry_text(e, BW_M_VERDICT, "");
    size_t last = table->column_n - 1;
    bool limited = strcmp(table->column[last - 1].head, "verdict") == 0;
    if (column == 0) { /* an earlier edition of the sequence asked for it */
        row->note = bw_make_below(
            m, row->note,
            bw_make_said(m, "also: %s %s %s", bw_entry_text(e, BW_M_SET, ""),
                         bw_entry_text(e, BW_M_AT, bw_entry_text(e, BW_M_DERIVED, "")),
                         reading ? bw_make_typed(m, e) : verdict));
        return;
    }
    if (is_past(m, index)) {
        row->note = bw_make_below(m, row->note, earlier_text(m, step, index));
        return;
    }
    const char *before = row->cell[column];
    row->cell[column] = reading && before != NULL
                            ? bw_make_below(m, before, bw_entry_text(e, BW_M_TYPED, ""))
                        : reading ? bw_entry_text(e, BW_M_TYPED, "")
                                  : value_text(m, &step->derived[column - 1 - readings_of(step)], e,
                                               true);
    row->cell[last] = bw_make_said(m, "%s\n%.*s", e->by, TO_THE_MINUTE, bw_make_when(m, e));
    const char *warmth = temperature(m, e);
    if (!step->has_temperature && (row->note == NULL || strstr(row->note, warmth) == NULL)) {
        row->note = bw_make_below(m, row->note, warmth);
    }
    if (limited && !reading && strcmp(verdict, "pass") != 0) {
        const char *what = step->derived[column - 1 - readings_of(step)].say;
        bool first = row->cell[last - 1] == NULL || strcmp(row->cell[last - 1], "pass") == 0;
        row->cell[last - 1] = bw_make_said(m, "%s%s%s: %s", first ? "" : row->cell[last - 1],
                                           first ? "" : "\n", verdict, what);
    } else if (limited && !reading && row->cell[last - 1] == NULL) {
        row->cell[last - 1] = "pass";
    }
}

static void step_row(bw_making *m, const bw_step *step, bw_sheet_table *table, const char *name) {
    bw_sheet_row *row = bw_make_row(m, table);
    row->cell[0] = name;
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        if (!bw_entry_at_step(e, step)) {
            continue;
        }
        if (e->kind == BW_KIND_READING || e->kind == BW_KIND_DERIVED) {
            put_in_row(m, step, table, row, i);
        } else if (e->kind == BW_KIND_DECISION) {
            row->note = bw_make_below(m, row->note, decision_text(m, step, e));
        }
    }
}

/* ---- a row a reading ---- */

static const char *on_two_lines(bw_making *m, const char *figure) {
    const char *other = strstr(figure, " (");
    return other == NULL ? figure
                         : bw_make_said(m, "%.*s\n%s", (int)(other - figure), figure, other + 1);
}

enum { WHAT, WHERE, READING, LIMITS, VERDICT, BY, TIME };

/* "top, time 2, at 20.7 °C"; a part's own temperature stands above as its first reading. */
static const char *where_text(bw_making *m, const bw_step *step, const bw_entry *e) {
    const char *at = bw_entry_text(e, BW_M_AT, "");
    const char *warmth = temperature(m, e);
    if (bw_entry_has(e, BW_M_REPEAT)) {
        at = bw_make_said(m, "%s, time %lld", at, (long long)bw_entry_whole(e, BW_M_REPEAT, 1));
    }
    return warmth[0] != '\0' && !step->has_temperature ? bw_make_said(m, "%s, %s", at, warmth) : at;
}

/* What an earlier edition of the sequence asked for has its id alone. */
static void reading_cells(bw_making *m, const bw_step *step, const bw_entry *e, bw_sheet_row *row,
                          const char **above) {
    const bw_reading_set *set = set_of(step, e);
    const char *what = set != NULL ? set->say : bw_entry_text(e, BW_M_SET, "");
    row->cell[WHAT] = *above != NULL && strcmp(*above, what) == 0 ? "" : what;
    row->cell[WHERE] = where_text(m, step, e);
    row->cell[READING] = bw_make_typed(m, e);
    *above = what;
}

static void value_cells(bw_making *m, const bw_step *step, const bw_entry *e, bw_sheet_row *row,
                        const char **above) {
    const bw_derived *d = derived_of(step, e);
    char number[32];
    *above = NULL;
    row->strong = 1;
    row->cell[VERDICT] = bw_entry_text(e, BW_M_VERDICT, "");
    if (d != NULL) {
        row->cell[WHAT] = d->say;
        row->cell[READING] = on_two_lines(m, value_text(m, d, e, false));
        row->cell[LIMITS] = on_two_lines(m, limits_text(m, d, false));
    } else {
        row->cell[WHAT] = bw_entry_text(e, BW_M_DERIVED, "");
        row->cell[READING] = bw_make_said(
            m, "%s %s", bw_number_text(bw_entry_number(e, BW_M_VALUE, 0), number, sizeof number),
            bw_entry_text(e, BW_M_UNIT, ""));
    }
}

static void reading_row(bw_making *m, const bw_step *step, bw_sheet_table *table, size_t index,
                        const char **above) {
    const bw_entry *e = &m->replay->entry[index];
    bw_sheet_row *row = bw_make_row(m, table);
    if (e->kind == BW_KIND_READING) {
        reading_cells(m, step, e, row, above);
    } else {
        value_cells(m, step, e, row, above);
    }
    row->cell[BY] = e->by;
    row->cell[TIME] = bw_make_when(m, e);
    row->past = is_past(m, index);
    if (m->taken_back[index] != NULL) {
        const char *why = bw_entry_text(m->taken_back[index], BW_M_REASON, "read again");
        row->note = bw_make_below(m, row->note, bw_make_said(m, "taken back: %s", why));
    }
}

static void own_table(bw_making *m, const bw_step *step, bw_sheet_table *table) {
    const char *above = NULL;
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        if (!bw_entry_at_step(e, step)) {
            continue;
        }
        if (e->kind == BW_KIND_READING || e->kind == BW_KIND_DERIVED) {
            reading_row(m, step, table, i, &above);
        } else if (e->kind == BW_KIND_DECISION && table->last != NULL) {
            table->last->note = bw_make_below(m, table->last->note, decision_text(m, step, e));
        }
    }
}

/* ---- all of them ---- */

static const char *gauges_of(bw_making *m, const bw_step *step) {
    return step->gauge != NULL ? bw_make_said(m, "with %s", step->gauge) : NULL;
}

static void measured(bw_making *m, const bw_step *const *step, size_t n) {
    static const char *const heads[] = {"what",    "where", ">reading",   "limits",
                                        "verdict", "by",    "time (UTC)", NULL};
    bw_naming name = bw_steps_naming(step, n);
    if (n > 1 && readings_of(step[0]) + step[0]->derived_n <= SIDE_BY_SIDE_MAX) {
        bw_sheet_table *table = begin_shared(m, bw_make_steps_title(m, step, n, name), step[0]);
        table->under = gauges_of(m, step[0]);
        for (size_t i = 0; i < n; i++) {
            step_row(m, step[i], table, bw_make_step_name(m, step[i], name));
        }
        return;
    }
    for (size_t i = 0; i < n; i++) {
        bw_sheet_table *table = bw_make_table(m, bw_make_steps_title(m, step + i, 1, name), heads);
        table->under = gauges_of(m, step[i]);
        own_table(m, step[i], table);
    }
}

static bool any_reading(const bw_making *m, const bw_step *step) {
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        if (m->replay->entry[i].kind == BW_KIND_READING &&
            bw_entry_at_step(&m->replay->entry[i], step)) {
            return true;
        }
    }
    return false;
}

void bw_make_readings(bw_making *m) {
    const bw_plan *plan = m->plan;
    const bw_step **alike_steps = bw_make_room(m, plan->step_n, sizeof *alike_steps);
    bool *told = bw_make_room(m, plan->step_n, sizeof *told);
    bool begun = false;
    for (size_t i = 0; told != NULL && alike_steps != NULL && i < plan->step_n; i++) {
        size_t n = 0;
        for (size_t k = i; plan->step[i].kind == BW_STEP_MEASURE && k < plan->step_n; k++) {
            if (!told[k] && bw_steps_alike(&plan->step[i], &plan->step[k]) &&
                any_reading(m, &plan->step[k])) {
                told[k] = true;
                alike_steps[n++] = &plan->step[k];
            }
        }
        if (n > 0 && !begun) {
            begun = true;
            (void)bw_make_section(m, "Measurements");
            (void)bw_make_block(m, BW_BLOCK_TEXT,
                                "Every reading as typed, also those that were taken again.");
        }
        if (n > 0) {
            measured(m, alike_steps, n);
        }
    }
}
