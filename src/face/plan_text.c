/* plan_text.c - see plan_text.h. */
#include "face/plan_text.h"

#include "face/bolt_map.h"
#include "face/figures.h"

enum { LINE_BYTES = 1 << 14 };

static void print_measure(const bw_step *step, bw_text *text) {
    for (size_t i = 0; i < step->set_n; i++) {
        const bw_reading_set *set = &step->set[i];
        bw_text_add(text, "      %s, in %s, plausible ", set->say, bw_unit_of(set->unit)->symbol);
        bw_value_limits_add(text, set->least, set->most, set->unit, set->decimals);
        bw_text_add(text, ", at:");
        for (size_t k = 0; k < set->at_n; k++) {
            bw_text_add(text, "%s %s", k > 0 ? "," : "", set->at[k]);
        }
        if (bw_set_repeats(set) > 1) {
            bw_text_add(text, "; each %zu times", bw_set_repeats(set));
        }
        if (set->has_spread) {
            bw_text_add(text, ", which differ by at most ");
            bw_value_add(text, set->spread, set->unit, set->decimals);
        }
        bw_text_add(text, "\n");
    }
    for (size_t i = 0; i < step->derived_n; i++) {
        const bw_derived *d = &step->derived[i];
        bw_text_add(text, "      = %s by %s, limits ", d->say, d->formula->name);
        bw_value_limits_add(text, d->low, d->high, d->unit, d->decimals);
        bw_text_add(text, "\n");
        if (d->when_low != NULL) {
            bw_text_add(text, "        where it is low: %s\n", d->when_low);
        }
        if (d->when_high != NULL) {
            bw_text_add(text, "        where it is high: %s\n", d->when_high);
        }
    }
}

static void print_group(const bw_group *group, bw_text *text) {
    bw_text_add(text, "      %zu %s", group->place_n, group->say);
    if (group->thread_d_mm > 0) {
        bw_text_add(text, ", M%g", group->thread_d_mm);
    }
    if (group->thread_pitch_mm > 0) {
        bw_text_add(text, "x%g", group->thread_pitch_mm);
    }
    if (group->property_class != NULL) {
        bw_text_add(text, ", class %s", group->property_class);
    }
    bw_text_add(text, "; lubricant: %s%s", group->lubricant,
                group->new_each_time ? "; new each time" : "");
    if (group->cycles > 0) {
        bw_text_add(text, "; tightened %d times at most", group->cycles);
    }
    bw_text_add(text, "\n");
    if (group->reuse_check != NULL) {
        bw_text_add(text, "      used again only after a check: %s\n", group->reuse_check);
    }
    if (group->joint_class != 0) {
        bw_text_add(
            text, "      joint class %c%s\n", group->joint_class,
            group->joint_class == 'A' ? ": danger to life; needs a trace and a second person" : "");
    }
}

static void print_labels(const bw_group *group, bw_text *text) {
    bw_text_add(text, "      places:");
    for (size_t i = 0; i < group->place_n; i++) {
        bw_text_add(text, "%s %zu %s", i > 0 ? "," : "", i + 1, group->place[i].label);
    }
    bw_text_add(text, "\n");
}

static void print_tighten(const bw_plan *plan, const bw_step *step, bw_text *text) {
    const bw_group *group = &plan->group[step->group];
    print_group(group, text);
    if (step->trial) {
        bw_text_add(text, "      on trial only: taken apart again afterwards\n");
    }
    if (step->goes_on) {
        bw_text_add(text, "      continues: %s\n", plan->step[step->before].id);
    }
    if (step->due != NULL) {
        bw_text_add(text, "      due after closing: %s\n", step->due);
    }
    const size_t *order = bw_step_order(plan, step);
    bw_text_add(text, "      order (%s):",
                bw_order_word(step->order != NULL ? step->order_kind : group->order_kind));
    for (size_t k = 0; k < group->place_n; k++) {
        bw_text_add(text, "%s %zu", k > 0 ? "," : "", order[k] + 1);
    }
    bw_text_add(text, "\n");
    print_labels(group, text);
    for (size_t i = 0; i < step->stage_n; i++) {
        bw_text_add(text, "      stage %zu of %zu: ", i + 1, step->stage_n);
        bw_target_add(text, &step->stage[i]);
        bw_text_add(text, "\n");
        if (step->stage[i].document != NULL) {
            char source[BW_SOURCE_TEXT_MAX];
            bw_text_add(text, "        figures from: %s\n",
                        bw_source_text(plan, &step->stage[i], source, sizeof source));
        }
    }
}

static void print_clock(const bw_plan *plan, const bw_step *step, bw_text *text) {
    if (step->has_since) {
        bool wait = step->kind == BW_STEP_WAIT;
        bw_text_add(text, "      %s %g minutes after: %s\n", wait ? "not before" : "no later than",
                    (wait ? step->least_s : step->most_s) / 60, plan->step[step->since].id);
    }
}

static void print_stock(const bw_plan *plan, const bw_step *step, bw_text *text) {
    const bw_step *measures = &plan->step[step->stock_step];
    bw_text_add(text, "      nearest to %s of %s, within %g mm, out of:",
                measures->derived[step->stock_value].id, measures->id, step->stock_within);
    for (size_t i = 0; i < step->stock_n; i++) {
        bw_text_add(text, "%s %s", i > 0 ? "," : "", step->part[i]);
    }
    bw_text_add(text, "\n");
}

static void print_fit(const bw_plan *plan, const bw_step *step, bw_text *text) {
    bw_text_add(text, "      %s to:", step->fits);
    for (size_t i = 0; i < step->to_n; i++) {
        bw_text_add(text, "%s %s%s%s", i > 0 ? "," : "", step->to[i],
                    step->mark != NULL ? " marked " : "", step->mark != NULL ? step->mark[i] : "");
    }
    bw_text_add(text, "%s%s\n", step->has_as ? "; as they were at " : "",
                step->has_as ? plan->step[step->as].id : "");
}

static void print_choice(const bw_plan *plan, const bw_step *step, bw_text *text) {
    const bw_step *row = &plan->step[step->row];
    const bw_step *column = &plan->step[step->column];
    size_t columns = step->has_column ? column->answer_n : 1;
    for (size_t i = 0; i < row->answer_n; i++) {
        bw_text_add(text, "      %s %s:", row->id, row->answer[i]);
        for (size_t k = 0; k < columns; k++) {
            bw_text_add(text, "%s%s%s %s", k > 0 ? ";" : "", step->has_column ? " with " : "",
                        step->has_column ? column->answer[k] : "", step->part[i * columns + k]);
        }
        bw_text_add(text, "\n");
    }
}

/* What any step may have, and what questions and choices hold. */
static void print_circumstances(const bw_plan *plan, const bw_step *step, bw_text *text) {
    if (step->has_when) {
        const bw_step *asks = &plan->step[step->when];
        bw_text_add(text, "      only where %s is: %s\n", asks->id,
                    asks->answer[step->when_answer]);
    }
    if (step->position != NULL) {
        bw_text_add(text, "      only while it stands: %s\n", step->position);
    }
    print_clock(plan, step, text);
    for (size_t i = 0; i < step->answer_n; i++) {
        bw_text_add(text, "%s%s%s", i > 0 ? ", " : "      answers: ", step->answer[i],
                    i + 1 == step->answer_n ? "\n" : "");
    }
    if (step->kind == BW_STEP_FIT) {
        print_fit(plan, step, text);
    } else if (step->stock_n > 0) {
        print_stock(plan, step, text);
    } else if (step->kind == BW_STEP_CHOOSE) {
        print_choice(plan, step, text);
    }
}

static void print_buries(const bw_plan *plan, const bw_step *step, bw_text *text) {
    if (step->buries != NULL) {
        bw_text_add(text, "      buries: %s", step->buries);
        for (size_t i = 0; i < step->buried_n; i++) {
            bw_text_add(text, "%s%s", i == 0 ? "; all of this is done before: " : ", ",
                        plan->step[step->buried[i]].id);
        }
        bw_text_add(text, "\n");
    }
}

static void print_step(const bw_plan *plan, size_t index, FILE *out) {
    const bw_step *step = &plan->step[index];
    char line[LINE_BYTES];
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add(&text, "%3zu  %-8s %s  [%s]\n", index + 1, bw_step_word(step->kind), step->say,
                step->id);
    if (step->after_n > 0) {
        bw_text_add(&text, "      only after:");
        for (size_t i = 0; i < step->after_n; i++) {
            bw_text_add(&text, "%s %s", i > 0 ? "," : "", plan->step[step->after[i]].id);
        }
        bw_text_add(&text, "\n");
    }
    print_buries(plan, step, &text);
    print_circumstances(plan, step, &text);
    if (step->kind == BW_STEP_MEASURE) {
        print_measure(step, &text);
    } else if (step->kind == BW_STEP_TIGHTEN) {
        print_tighten(plan, step, &text);
    }
    (void)fputs(line, out);
}

static const char *rule_words(bw_rule rule) {
    static const char *const words[BW_RULE_COUNT] = {
        [BW_RULE_SIMPLE] = "inside its limits",
        [BW_RULE_GUARDED] = "inside its limits by the wrench's expanded uncertainty (k = 2)",
        [BW_RULE_GUARDED_95] = "inside its limits by 1.645 times the wrench's standard uncertainty",
    };
    return words[rule];
}

void bw_plan_print(const bw_plan *plan, FILE *out) {
    (void)fprintf(out, "%s\nEngine: %s.  Edition %s.  Figures from: %s, revision %s.\n",
                  plan->title, plan->engine, plan->edition, plan->document, plan->revision);
    (void)fprintf(out, "A torque or an angle is accepted %s: rule %s.\n", rule_words(plan->rule),
                  bw_rule_word(plan->rule));
    if (plan->invented) {
        (void)fputs("ALL FIGURES ARE INVENTED: not for real work.\n", out);
    }
    for (size_t i = 0; i < plan->step_n; i++) {
        print_step(plan, i, out);
    }
    for (size_t i = 0; i < plan->ban_n; i++) {
        (void)fprintf(out, "Between %s and %s must not happen: %s.\n",
                      plan->step[plan->ban[i].from].id, plan->step[plan->ban[i].until].id,
                      plan->ban[i].say);
    }
    bw_plan_print_tools(plan, out);
    bw_wrench_need need = bw_plan_need(plan);
    (void)fprintf(out,
                  "%zu steps, %zu pulls, about %zu strokes of the wrench, no mistakes found.\n",
                  plan->step_n, need.pulls, need.strokes);
}

void bw_mistakes_print(const bw_mistake *mistake, size_t n, FILE *out) {
    for (size_t i = 0; i < n; i++) {
        (void)fprintf(out, "%s:%d: %s\n", mistake[i].where.file, mistake[i].where.line,
                      mistake[i].text);
    }
}
