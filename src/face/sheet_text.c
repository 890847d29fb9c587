/* sheet_text.c - see sheet_text.h.  One function a section, in the order of the sheet. */
#include "face/sheet_text.h"

#include "base/clock.h"
#include "base/decimal.h"
#include "face/figures.h"
#include "judge/unjudged.h"

#include <string.h>

enum { TIME_COLUMNS = 19, LINE_BYTES = 1024 };

typedef struct sheet {
    const bw_replay *replay;
    FILE *out;
} sheet;

/* Pads by characters, not bytes: labels and units have more bytes than columns. */
static void column(FILE *out, const char *text, int width) {
    int rest = width - (int)bw_text_columns(text);
    (void)fprintf(out, "%s%*s", text, rest > 0 ? rest : 0, "");
    (void)fputc(' ', out);
}

static void heading(const sheet *s, const char *title) {
    (void)fprintf(s->out, "\n%s\n", title);
    for (size_t i = 0; i < bw_text_columns(title); i++) {
        (void)fputc('-', s->out);
    }
    (void)fputc('\n', s->out);
}

/* "2026-11-25 09:45:48" UTC. */
static const char *time_column(const bw_entry *e, char *out) {
    (void)bw_time_text(e->time_ms, out);
    out[10] = ' ';
    out[TIME_COLUMNS] = '\0';
    return out;
}

static void print_head(const sheet *s) {
    const bw_replay *r = s->replay;
    const bw_plan *plan = r->plan;
    const bw_entry *first = &r->entry[0];
    char time[BW_TIME_TEXT_MAX];
    (void)fprintf(s->out, "BUILD SHEET%s\n", r->rehearsal ? "  -  REHEARSAL, NOT A BUILD" : "");
    (void)fprintf(s->out, "Build      %s\nEngine     %s\nSequence   %s, edition %s\n", first->build,
                  plan->engine, plan->title, plan->edition);
    (void)fprintf(s->out, "Figures    %s, revision %s%s\n", plan->document, plan->revision,
                  plan->invented ? "  (INVENTED: not for real work)" : "");
    (void)fprintf(s->out, "Bench      %s\nBegun      %s UTC\n", first->bench,
                  time_column(first, time));
    const bw_entry *last = &r->entry[r->entry_n - 1];
    bw_tally tally;
    bw_session_tally(r->session, &tally);
    (void)fprintf(s->out, "Last entry %s UTC\nOutcome    %s\n", time_column(last, time),
                  tally.outcome);
    (void)fprintf(s->out,
                  "Fasteners  %zu pulls planned, %zu accepted, %zu by decision; %zu pulls made; "
                  "%zu readings\n",
                  tally.fasteners, tally.accepted, tally.overridden, tally.pulls,
                  tally.measurements);
}

/* Entries of these kinds, one line each: time, by, text. */
static bool any_of(const sheet *s, const bw_kind *kind, size_t n) {
    for (size_t i = 0; i < s->replay->entry_n; i++) {
        for (size_t k = 0; k < n; k++) {
            if (s->replay->entry[i].kind == kind[k]) {
                return true;
            }
        }
    }
    return false;
}

static void line_start(const sheet *s, const bw_entry *e) {
    char time[BW_TIME_TEXT_MAX];
    column(s->out, time_column(e, time), TIME_COLUMNS);
    column(s->out, e->by, 10);
}

static bool has_number(const bw_entry *e, bw_member member) {
    return e->value[member].type == BW_VALUE_NUMBER;
}

/* What is known of the wrench; nothing where nothing is. */
static void print_known(const sheet *s, const bw_entry *e) {
    if (has_number(e, BW_M_RANGE_HIGH_NM)) {
        (void)fprintf(s->out, "; calibrated from %.0f to %.0f N·m",
                      bw_entry_number(e, BW_M_RANGE_LOW_NM, 0),
                      bw_entry_number(e, BW_M_RANGE_HIGH_NM, 0));
    }
    if (has_number(e, BW_M_UNCERTAINTY_SHARE)) {
        (void)fprintf(s->out, "; U = %.2f %% of the torque (k = 2)",
                      100 * bw_entry_number(e, BW_M_UNCERTAINTY_SHARE, 0));
    }
    if (has_number(e, BW_M_UNCERTAINTY_DEG)) {
        (void)fprintf(s->out, "; U = %.1f° of a turn (k = 2)",
                      bw_entry_number(e, BW_M_UNCERTAINTY_DEG, 0));
    }
}

/* Which calibration stood behind the wrench on that day, and who the wrench is. */
static void print_card(const sheet *s, const bw_entry *e) {
    static const struct {
        bw_member member;
        const char *words;
    } rows[] = {{BW_M_SERIAL_NUMBER, "serial number"},
                {BW_M_CALIBRATED, "calibrated"},
                {BW_M_CERTIFICATE, "certificate"},
                {BW_M_CALIBRATION_DUE, "due"},
                {BW_M_DEVICE_SERIAL, "itself says"}};
    char time[BW_TIME_TEXT_MAX];
    const char *due = bw_entry_text(e, BW_M_CALIBRATION_DUE, "");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const char *text = bw_entry_text(e, rows[i].member, "");
        if (text[0] != '\0') {
            (void)fprintf(s->out, "; %s %s", rows[i].words, text);
        }
    }
    if (due[0] != '\0' && strncmp(due, bw_time_text(e->time_ms, time), strlen(due)) < 0) {
        (void)fputs(", OVERDUE", s->out);
    }
    const char *port = bw_entry_text(e, BW_M_PORT, "");
    if (strcmp(port, "hand") == 0) {
        (void)fputs("; unchecked: typed by hand", s->out);
    } else if (strcmp(port, "keys") == 0) {
        (void)fputs("; unchecked: typed, by it or by a hand", s->out);
    } else if (bw_entry_flag(e, BW_M_UNCHECKED, false)) {
        (void)fputs("; unchecked: no checksum guards what it sends", s->out);
    }
}

static void print_people(const sheet *s) {
    heading(s, "People and tools");
    for (size_t i = 0; i < s->replay->entry_n; i++) {
        const bw_entry *e = &s->replay->entry[i];
        if (e->kind == BW_KIND_PERSON_ON) {
            line_start(s, e);
            (void)fputs("works from here on\n", s->out);
        } else if (e->kind == BW_KIND_TOOL_ON) {
            line_start(s, e);
            (void)fprintf(s->out, "wrench: %s, driver %s", bw_entry_text(e, BW_M_TOOL, ""),
                          bw_entry_text(e, BW_M_DRIVER, ""));
            print_known(s, e);
            print_card(s, e);
            (void)fputc('\n', s->out);
        }
    }
}

/* As typed, with the unit that a bare number was taken to be in. */
static const char *typed_text(const bw_entry *e, char *out) {
    bw_text text = bw_text_on(out, LINE_BYTES);
    const char *as_typed = bw_entry_text(e, BW_M_TYPED, "");
    bool bare = as_typed[strcspn(as_typed, "abcdefghijklmnopqrstuvwxyz\"")] == '\0';
    bw_text_add(&text, "%s%s%s", as_typed, bare ? " " : "",
                bare ? bw_entry_text(e, BW_M_UNIT, "") : "");
    return out;
}

static void print_reading(const sheet *s, const bw_entry *e) {
    char time[BW_TIME_TEXT_MAX];
    char typed[LINE_BYTES];
    (void)fputs("  ", s->out);
    column(s->out, bw_entry_text(e, BW_M_SET, ""), 22);
    column(s->out, bw_entry_text(e, BW_M_AT, ""), 20);
    column(s->out, typed_text(e, typed), 14);
    column(s->out, e->by, 10);
    (void)fprintf(s->out, "%s\n", time_column(e, time));
}

static const bw_derived *derived_of(const bw_step *step, const bw_entry *e) {
    for (size_t i = 0; i < step->derived_n; i++) {
        if (strcmp(step->derived[i].id, bw_entry_text(e, BW_M_DERIVED, "")) == 0) {
            return &step->derived[i];
        }
    }
    return NULL;
}

static void print_derived(const sheet *s, const bw_step *step, const bw_entry *e) {
    const bw_derived *d = derived_of(step, e);
    char line[LINE_BYTES];
    bw_text text = bw_text_on(line, sizeof line);
    if (d == NULL) {
        return;
    }
    double value = bw_to_base(bw_entry_number(e, BW_M_VALUE, 0), d->unit);
    bw_text_add(&text, "  = %s ", d->say);
    bw_value_beside_add(&text, value, d->low, d->high, d->unit, d->decimals);
    bw_text_add(&text, "; limits ");
    bw_value_limits_add(&text, d->low, d->high, d->unit, d->decimals);
    (void)fprintf(s->out, "%s: %s\n", line, bw_entry_text(e, BW_M_VERDICT, ""));
}

static bool at_step(const bw_entry *e, const bw_step *step) {
    return strcmp(bw_entry_text(e, BW_M_STEP, ""), step->id) == 0;
}

static void print_measurements(const sheet *s) {
    const bw_plan *plan = s->replay->plan;
    heading(s, "Measurements (every reading as typed, also those that were taken again)");
    for (size_t i = 0; i < plan->step_n; i++) {
        const bw_step *step = &plan->step[i];
        if (step->kind != BW_STEP_MEASURE) {
            continue;
        }
        (void)fprintf(s->out, "%s%s%s\n", step->say, step->gauge != NULL ? "\n  with " : "",
                      step->gauge != NULL ? step->gauge : "");
        for (size_t k = 0; k < s->replay->entry_n; k++) {
            const bw_entry *e = &s->replay->entry[k];
            if (e->kind == BW_KIND_READING && at_step(e, step)) {
                print_reading(s, e);
            } else if (e->kind == BW_KIND_DERIVED && at_step(e, step)) {
                print_derived(s, step, e);
            }
        }
    }
}

static void print_stage_heads(const sheet *s, const bw_step *step) {
    for (size_t i = 0; i < step->stage_n; i++) {
        char line[LINE_BYTES];
        bw_text text = bw_text_on(line, sizeof line);
        bw_target_add(&text, &step->stage[i]);
        (void)fprintf(s->out, "  stage %zu: %s\n", i + 1, line);
    }
}

static const bw_entry *correction_of_number(const sheet *s, uint64_t number) {
    for (size_t i = 0; i < s->replay->entry_n; i++) {
        const bw_entry *other = &s->replay->entry[i];
        if (other->kind == BW_KIND_CORRECTION &&
            (uint64_t)bw_entry_whole(other, BW_M_CORRECTS, 0) == number) {
            return other;
        }
    }
    return NULL;
}

static bool is_answer(const bw_entry *e) {
    return e->kind == BW_KIND_FASTENER_LENGTH || e->kind == BW_KIND_FASTENER_SLOT;
}

/* A verdict that followed what was measured or seen falls with it. */
static const bw_entry *correction_of(const sheet *s, size_t index) {
    const bw_entry *e = &s->replay->entry[index];
    const bw_entry *own = correction_of_number(s, e->number);
    bool answered = own == NULL && index > 0 && is_answer(e - 1);
    return answered ? correction_of_number(s, (e - 1)->number) : own;
}

/* Adds a figure in the plan's torque unit, where the entry has it. */
static void add_torque(const sheet *s, const bw_entry *e, bw_member member, const char *before,
                       const char *behind, bw_text *text) {
    if (has_number(e, member)) {
        bw_text_add(text, "%s", before);
        bw_torque_add(text, bw_entry_number(e, member, 0), s->replay->plan->torque_unit);
        bw_text_add(text, "%s", behind);
    }
}

static const bw_stage *stage_of(const sheet *s, const bw_entry *e) {
    size_t step = 0;
    int64_t stage = bw_entry_whole(e, BW_M_STAGE, 0);
    bool found = bw_plan_find_step(s->replay->plan, bw_entry_text(e, BW_M_STEP, ""), &step);
    const bw_step *st = &s->replay->plan->step[step];
    bool known = found && stage >= 1 && (uint64_t)stage <= st->stage_n;
    return known ? &st->stage[stage - 1].stage : NULL;
}

static void add_judged(const sheet *s, const bw_entry *e, const bw_stage *stage, bw_text *text) {
    bool plain = stage != NULL && stage->kind == BW_STAGE_TORQUE && !stage->adds_prevailing &&
                 !has_number(e, BW_M_UNCERTAINTY_NM);
    if (plain || !has_number(e, BW_M_JUDGED_NM)) {
        return;
    }
    add_torque(s, e, BW_M_JUDGED_NM, "judged: ", "", text);
    add_torque(s, e, BW_M_UNCERTAINTY_NM, ", to within ", " (k = 2)", text);
    add_torque(s, e, BW_M_LOW_NM, ", at least ", "", text);
    add_torque(s, e, BW_M_HIGH_NM, ", at most ", "", text);
    bw_text_add(text, "; rule %s. ", bw_entry_text(e, BW_M_RULE, ""));
}

static void add_seen(const bw_entry *e, bw_text *text) {
    if (has_number(e, BW_M_STRETCH_MM)) {
        bw_text_add(text, "grown by %.3f mm", bw_entry_number(e, BW_M_STRETCH_MM, 0));
        if (has_number(e, BW_M_LOW_MM)) {
            bw_text_add(text, ", at least %.3f", bw_entry_number(e, BW_M_LOW_MM, 0));
        }
        if (has_number(e, BW_M_HIGH_MM)) {
            bw_text_add(text, ", at most %.3f", bw_entry_number(e, BW_M_HIGH_MM, 0));
        }
        bw_text_add(text, ". ");
    }
    if (e->value[BW_M_SLOT_MEETS].type == BW_VALUE_FLAG) {
        bw_text_add(text, "%s",
                    bw_entry_flag(e, BW_M_SLOT_MEETS, false) ? "a slot meets the hole. "
                                                             : "no slot meets the hole. ");
    }
    if (bw_entry_flag(e, BW_M_LOOSE, false)) {
        bw_text_add(text, "it came loose. ");
    }
}

/* What the row has no column for, on a line of its own. */
static void print_more(const sheet *s, const bw_entry *e) {
    char line[LINE_BYTES];
    char unjudged[BW_NOT_JUDGED_MAX] = "";
    const bw_stage *stage = stage_of(s, e);
    bw_text text = bw_text_on(line, sizeof line);
    add_judged(s, e, stage, &text);
    add_seen(e, &text);
    if (e->value[BW_M_CYCLE].type == BW_VALUE_WHOLE) {
        bw_text_add(&text, "tightening %lld of this one. ",
                    (long long)bw_entry_whole(e, BW_M_CYCLE, 0));
    }
    if (stage != NULL) {
        bw_verdict v = bw_verdict_of(e);
        (void)bw_judge_not_judged(stage, &v, unjudged, sizeof unjudged);
    }
    const char *question = bw_entry_text(e, BW_M_QUESTION, "");
    bw_text_add(&text, "%s%s%s", unjudged, unjudged[0] != '\0' ? " " : "", question);
    while (text.len > 0 && line[text.len - 1] == ' ') {
        line[--text.len] = '\0';
    }
    if (text.len > 0) {
        (void)fprintf(s->out, "        %s\n", line);
    }
}

static void print_length(const sheet *s, size_t index) {
    const bw_entry *e = &s->replay->entry[index];
    char time[BW_TIME_TEXT_MAX];
    char typed[LINE_BYTES];
    (void)fprintf(s->out, "        place %lld, length %s: %s, by %s, %s%s\n",
                  (long long)bw_entry_whole(e, BW_M_FASTENER, 0), bw_entry_text(e, BW_M_AT, ""),
                  typed_text(e, typed), e->by, time_column(e, time),
                  correction_of_number(s, e->number) != NULL ? "  TAKEN BACK" : "");
}

static void print_verdict(const sheet *s, size_t index, bw_unit unit) {
    const bw_entry *e = &s->replay->entry[index];
    char cell[BW_FIGURE_MAX];
    char time[BW_TIME_TEXT_MAX];
    bw_text text = bw_text_on(cell, sizeof cell);
    (void)fprintf(s->out, "  %5lld ", (long long)bw_entry_whole(e, BW_M_FASTENER, 0));
    column(s->out, bw_entry_text(e, BW_M_LABEL, ""), 12);
    (void)fprintf(s->out, "%5lld ", (long long)bw_entry_whole(e, BW_M_STAGE, 0));
    bw_torque_add(&text, bw_entry_number(e, BW_M_PEAK_NM, 0), unit);
    column(s->out, cell, 12);
    text = bw_text_on(cell, sizeof cell);
    if (e->value[BW_M_FINAL_DEG].type == BW_VALUE_NUMBER) {
        bw_text_add(&text, "%.1f°", bw_entry_number(e, BW_M_FINAL_DEG, 0));
    } else {
        bw_text_add(&text, "not known");
    }
    column(s->out, cell, 9);
    (void)fprintf(s->out, "%5lld ", (long long)bw_entry_whole(e, BW_M_PULLS, 0));
    column(s->out, bw_entry_text(e, BW_M_VERDICT, ""), 8);
    column(s->out, e->by, 10);
    (void)fprintf(s->out, "%s", time_column(e, time));
    const char *reasons = bw_entry_text(e, BW_M_REASONS, "");
    (void)fprintf(s->out, "%s%s", reasons[0] != '\0' ? "  " : "", reasons);
    const bw_entry *taken_back = correction_of(s, index);
    if (taken_back != NULL) {
        const char *label = bw_entry_text(taken_back, BW_M_LABEL, NULL);
        (void)fprintf(s->out, "  TAKEN BACK: %s%s", label != NULL ? "it was " : "read again",
                      label != NULL ? label : "");
    }
    (void)fputc('\n', s->out);
    print_more(s, e);
}

static void print_decision(const sheet *s, const bw_entry *e) {
    (void)fprintf(s->out, "        decided: %s", bw_entry_text(e, BW_M_DECISION, ""));
    if (e->value[BW_M_SECOND].type != BW_VALUE_NONE) {
        (void)fprintf(s->out, ", by %s with %s, because: %s", e->by,
                      bw_entry_text(e, BW_M_SECOND, ""), bw_entry_text(e, BW_M_REASON, ""));
    }
    (void)fputc('\n', s->out);
}

static void print_group(const sheet *s, const bw_step *step) {
    const bw_plan *plan = s->replay->plan;
    const bw_group *group = &plan->group[step->group];
    (void)fprintf(s->out, "%s%s\n  %zu %s\n  lubricant: %s\n", step->say,
                  step->trial ? "  (ON TRIAL, taken apart again)" : "", group->place_n, group->say,
                  group->lubricant);
    if (group->cycles > 0) {
        (void)fprintf(s->out, "  tightened %d times at most\n", group->cycles);
    }
    print_stage_heads(s, step);
    (void)fputs("  place label        stage peak         turn      pulls verdict  by         time "
                "(UTC)\n",
                s->out);
    for (size_t k = 0; k < s->replay->entry_n; k++) {
        const bw_entry *e = &s->replay->entry[k];
        if (e->kind == BW_KIND_VERDICT && at_step(e, step)) {
            print_verdict(s, k, plan->torque_unit);
        } else if (e->kind == BW_KIND_FASTENER_LENGTH && at_step(e, step)) {
            print_length(s, k);
        } else if (e->kind == BW_KIND_DECISION && at_step(e, step)) {
            print_decision(s, e);
        }
    }
}

/* The tool of a group's verdicts, named once where it is one. */
static void print_tools_of(const sheet *s, const bw_step *step) {
    const char *tool = "";
    for (size_t k = 0; k < s->replay->entry_n; k++) {
        const bw_entry *e = &s->replay->entry[k];
        const char *name = bw_entry_text(e, BW_M_TOOL, "");
        if (e->kind == BW_KIND_VERDICT && at_step(e, step) && strcmp(name, tool) != 0) {
            (void)fprintf(s->out, "  %s place %lld on: tool %s\n",
                          tool[0] == '\0' ? "from" : "then from",
                          (long long)bw_entry_whole(e, BW_M_FASTENER, 0), name);
            tool = name;
        }
    }
}

static void print_fasteners(const sheet *s) {
    const bw_plan *plan = s->replay->plan;
    heading(s, "Fasteners (every verdict in its order)");
    for (size_t i = 0; i < plan->step_n; i++) {
        if (plan->step[i].kind == BW_STEP_TIGHTEN) {
            print_group(s, &plan->step[i]);
            print_tools_of(s, &plan->step[i]);
        }
    }
}

static void print_confirmed(const sheet *s) {
    heading(s, "Cautions, confirmations, answers, notes");
    for (size_t k = 0; k < s->replay->entry_n; k++) {
        const bw_entry *e = &s->replay->entry[k];
        size_t step = 0;
        bool known = bw_plan_find_step(s->replay->plan, bw_entry_text(e, BW_M_STEP, ""), &step);
        if (e->kind == BW_KIND_CONFIRMED && known) {
            line_start(s, e);
            const char *chosen = bw_entry_text(e, BW_M_TEXT, "");
            (void)fprintf(s->out, "%s%s%s\n", s->replay->plan->step[step].say,
                          chosen[0] != '\0' ? " Taken: " : "", chosen);
        } else if ((e->kind == BW_KIND_ANSWERED || e->kind == BW_KIND_POSITION) && known) {
            line_start(s, e);
            (void)fprintf(s->out, "%s%s%s\n",
                          e->kind == BW_KIND_ANSWERED ? s->replay->plan->step[step].say
                                                      : "turned so that it stands:",
                          " ", bw_entry_text(e, BW_M_TEXT, ""));
        } else if (e->kind == BW_KIND_NOTE) {
            line_start(s, e);
            bool asked = known && s->replay->plan->step[step].kind == BW_STEP_NOTE;
            (void)fprintf(s->out, "%s%s%s\n", asked ? s->replay->plan->step[step].say : "note",
                          ": ", bw_entry_text(e, BW_M_TEXT, ""));
        }
    }
}

/* What interrupts, corrects or decides on a value: a line each, in order. */
static void print_irregular(const sheet *s) {
    static const bw_kind kinds[] = {BW_KIND_INTERRUPTED, BW_KIND_TOOL_LOST, BW_KIND_TOOL_BACK,
                                    BW_KIND_CORRECTION,  BW_KIND_PUT_OFF,   BW_KIND_CLOCK_STEP,
                                    BW_KIND_OVERRUN,     BW_KIND_PAUSED,    BW_KIND_RESUMED};
    enum { KINDS = sizeof kinds / sizeof kinds[0] };
    if (!any_of(s, kinds, KINDS)) {
        return;
    }
    heading(s, "Interruptions and corrections");
    for (size_t k = 0; k < s->replay->entry_n; k++) {
        const bw_entry *e = &s->replay->entry[k];
        for (size_t i = 0; i < KINDS; i++) {
            if (e->kind != kinds[i]) {
                continue;
            }
            const char *text = bw_entry_text(e, BW_M_TEXT, bw_entry_text(e, BW_M_REASON, ""));
            const char *label = bw_entry_text(e, BW_M_LABEL, "");
            line_start(s, e);
            (void)fprintf(s->out, "%s%s%s%s%s", bw_kind_says(e->kind), text[0] != '\0' ? ": " : "",
                          text, label[0] != '\0' ? "; fastener " : "", label);
            int64_t corrects = bw_entry_whole(e, BW_M_CORRECTS, 0);
            if (corrects > 0) {
                (void)fprintf(s->out, " (entry %lld)", (long long)corrects);
            }
            (void)fputc('\n', s->out);
        }
    }
}

static void print_open(const sheet *s) {
    const bw_plan *plan = s->replay->plan;
    bw_prompt prompt;
    bw_session_prompt(s->replay->session, &prompt);
    if (prompt.steps_done == plan->step_n) {
        return;
    }
    heading(s, "Open");
    (void)fprintf(s->out, "%zu of %zu steps are done; in hand: %s\n", prompt.steps_done,
                  plan->step_n, prompt.step != NULL ? prompt.step->say : "");
}

/* What outlives the build. */
static void print_due(const sheet *s) {
    static const bw_kind kind = BW_KIND_RETORQUE_DUE;
    if (!any_of(s, &kind, 1)) {
        return;
    }
    heading(s, "Due after closing");
    for (size_t k = 0; k < s->replay->entry_n; k++) {
        const bw_entry *e = &s->replay->entry[k];
        size_t group = 0;
        if (e->kind == kind) {
            bool known = bw_plan_find_group(s->replay->plan, bw_entry_text(e, BW_M_GROUP, ""),
                                            &group);
            (void)fprintf(s->out, "%s: %s\n", known ? s->replay->plan->group[group].say : "",
                          bw_entry_text(e, BW_M_DUE, ""));
        }
    }
}

static void print_evidence(const sheet *s, const char *checkpoint, const char *verifier) {
    heading(s, "Evidence");
    if (checkpoint == NULL) {
        (void)fputs("No checkpoint was signed yet: nothing on this sheet is covered by one.\n",
                    s->out);
        return;
    }
    (void)fprintf(s->out, "Checkpoint over the record (RFC 6962 tree, signed note):\n\n%s\n",
                  checkpoint);
    if (verifier != NULL) {
        (void)fprintf(s->out, "Public key of the bench: %s\n", verifier);
    }
    (void)fputs("Whoever keeps this sheet can show later that the record was not changed since.\n",
                s->out);
}

void bw_sheet_print(const bw_replay *replay, const char *checkpoint, const char *verifier,
                    FILE *out) {
    sheet s = {.replay = replay, .out = out};
    print_head(&s);
    print_people(&s);
    print_measurements(&s);
    print_fasteners(&s);
    print_confirmed(&s);
    print_irregular(&s);
    print_open(&s);
    print_due(&s);
    print_evidence(&s, checkpoint, verifier);
    if (replay->rehearsal) {
        (void)fputs("\nREHEARSAL, NOT A BUILD\n", out);
    }
}
