/* kit.c - see kit.h. */
#define _GNU_SOURCE /* nftw */
#include "kit.h"

#include "base/text.h"

#include <ftw.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "cmocka_all.h"

bool kit_is_worker(int argc, char *argv[]) {
    return argc == 3 && strcmp(argv[1], "--worker") == 0 && strcmp(argv[2], "sequence") == 0;
}

/* ---- texts ---- */

kit_run kit_load(const char *text) {
    kit_run run = {.arena = bw_arena_new(0)};
    assert_non_null(run.arena);
    bw_source source = {.name = "test.lua", .text = text, .len = strlen(text)};
    bw_err err = {.code = BW_OK, .text = ""};
    if (bw_sequence_load_sources(&source, 1, run.arena, &run.loaded, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    assert_true((run.loaded.plan == NULL) == (run.loaded.mistake_n > 0));
    return run;
}

void kit_end(kit_run *run) {
    bw_arena_free(run->arena);
    run->arena = NULL;
}

char *kit_mistakes_text(const bw_loaded *loaded) {
    size_t size = 1 + loaded->mistake_n * 1024;
    char *data = malloc(size);
    assert_non_null(data);
    bw_text text = bw_text_on(data, size);
    for (size_t i = 0; i < loaded->mistake_n; i++) {
        const bw_mistake *m = &loaded->mistake[i];
        bw_text_add(&text, "%s:%d: %s\n", m->where.file, m->where.line, m->text);
    }
    return data;
}

static void fail_with_mistakes(const kit_run *run, const char *wanted) {
    char *all = kit_mistakes_text(&run->loaded);
    print_error("%s; got:\n%s", wanted, all);
    free(all);
    fail();
}

void kit_assert_plan(const kit_run *run) {
    if (run->loaded.plan == NULL) {
        fail_with_mistakes(run, "a plan was wanted");
    }
}

static bool is_it(const bw_mistake *mistake, int line, const char *part) {
    return mistake->where.line == line && strstr(mistake->text, part) != NULL;
}

void kit_assert_one(const kit_run *run, int line, const char *part) {
    if (run->loaded.mistake_n != 1 || !is_it(&run->loaded.mistake[0], line, part)) {
        print_error("line %d: ", line);
        fail_with_mistakes(run, part);
    }
}

void kit_check_rows(const kit_row *rows, size_t n) {
    for (size_t i = 0; i < n; i++) {
        kit_run run = kit_load(rows[i].text);
        kit_assert_one(&run, rows[i].line, rows[i].part);
        kit_end(&run);
    }
}

void kit_assert_has(const kit_run *run, int line, const char *part) {
    for (size_t i = 0; i < run->loaded.mistake_n; i++) {
        if (is_it(&run->loaded.mistake[i], line, part)) {
            return;
        }
    }
    print_error("line %d: ", line);
    fail_with_mistakes(run, part);
}

/* ---- a plan as text ---- */

static void put_quantity(bw_text *out, const char *name, bw_quantity q) {
    bw_text_add(out, " %s=%.17g/%d/%d", name, q.value, (int)q.unit, q.decimals);
}

static void put_stage(bw_text *out, const bw_plan_stage *s) {
    const bw_stage *j = &s->stage;
    const double figures[] = {j->snug_Nm,     j->target_Nm, j->low_Nm,   j->high_Nm,
                              j->target_deg,  j->low_deg,   j->high_deg, j->least_turn_deg,
                              j->slope_share, j->target_mm, j->low_mm,   j->high_mm};
    bw_text_add(out, "  stage %s :%d", bw_stage_traits_of(j->kind)->word, s->where.line);
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        bw_text_add(out, " %.17g", figures[i]);
    }
    put_quantity(out, "target", s->target);
    put_quantity(out, "low", s->low);
    put_quantity(out, "high", s->high);
    put_quantity(out, "snug", s->snug);
    put_quantity(out, "floor", s->floor);
    put_quantity(out, "ceiling", s->ceiling);
    put_quantity(out, "about", s->about);
    bw_text_add(out, " %d %d %d %d %d %d %d\n", s->has_floor, s->has_ceiling, s->from_torque,
                s->again, s->slots, j->adds_prevailing, j->until_loose);
}

static void put_measure(bw_text *out, const bw_step *step) {
    for (size_t i = 0; i < step->set_n; i++) {
        const bw_reading_set *set = &step->set[i];
        bw_text_add(out, "  set %s \"%s\" %d %d %.17g %.17g :%d", set->id, set->say, (int)set->unit,
                    set->decimals, set->least, set->most, set->where.line);
        for (size_t k = 0; k < set->at_n; k++) {
            bw_text_add(out, " at \"%s\"", set->at[k]);
        }
        bw_text_add(out, "\n");
    }
    for (size_t i = 0; i < step->derived_n; i++) {
        const bw_derived *d = &step->derived[i];
        bw_text_add(out, "  value %s \"%s\" %s %d %d %.17g %.17g :%d of", d->id, d->say,
                    d->formula->name, (int)d->unit, d->decimals, d->low, d->high, d->where.line);
        for (size_t k = 0; k < d->of_n; k++) {
            bw_text_add(out, " %zu", d->of[k]);
        }
        bw_text_add(out, "\n");
    }
}

static const char *or_none(const char *text) {
    return text == NULL ? "-" : text;
}

static void put_step(bw_text *out, const bw_step *step) {
    bw_text_add(out, "step %s %s \"%s\" \"%s\" \"%s\" \"%s\" %s:%d after", bw_step_word(step->kind),
                step->id, step->say, or_none(step->why), or_none(step->buries),
                or_none(step->gauge), step->where.file, step->where.line);
    for (size_t i = 0; i < step->after_n; i++) {
        bw_text_add(out, " %zu", step->after[i]);
    }
    for (size_t i = 0; i < step->buried_n; i++) {
        bw_text_add(out, " buries %zu", step->buried[i]);
    }
    bw_text_add(out, " %d %d %zu when %d %zu %zu \"%s\" %d since %d %zu %.17g %.17g\n", step->trial,
                step->goes_on, step->before, step->has_when, step->when, step->when_answer,
                or_none(step->position), step->moves, step->has_since, step->since, step->least_s,
                step->most_s);
    for (size_t i = 0; i < step->answer_n; i++) {
        bw_text_add(out, "  answer \"%s\"\n", step->answer[i]);
    }
    put_measure(out, step);
    bw_text_add(out, "  own order %d %s\n", step->order != NULL, bw_order_word(step->order_kind));
    for (size_t i = 0; i < step->stage_n; i++) {
        put_stage(out, &step->stage[i]);
    }
}

static void put_group(bw_text *out, const bw_group *group) {
    bw_text_add(out, "group %s \"%s\" %.17g %.17g %s \"%s\" \"%s\" %d %d %d %s %s:%d\n",
                group->name, group->say, group->thread_d_mm, group->thread_pitch_mm,
                or_none(group->property_class), group->lubricant, or_none(group->washers),
                group->new_each_time, group->cycles, group->has_points,
                bw_order_word(group->order_kind), group->where.file, group->where.line);
    for (size_t i = 0; i < group->place_n; i++) {
        const bw_place *place = &group->place[i];
        bw_text_add(out, "  \"%s\" %.17g %.17g %zu\n", place->label, place->point.x_mm,
                    place->point.y_mm, group->order[i]);
    }
}

char *kit_plan_text(const bw_plan *plan) {
    enum { SIZE = 1 << 20 };
    char *data = malloc(SIZE);
    assert_non_null(data);
    bw_text out = bw_text_on(data, SIZE);
    bw_text_add(&out, "%s|%s|%s|%s|%s|%d|%d|%s\n", plan->title, plan->engine, plan->edition,
                plan->document, plan->revision, plan->invented, (int)plan->torque_unit,
                bw_rule_word(plan->rule));
    for (size_t i = 0; i < plan->group_n; i++) {
        put_group(&out, &plan->group[i]);
    }
    for (size_t i = 0; i < plan->step_n; i++) {
        put_step(&out, &plan->step[i]);
    }
    assert_false(out.cut);
    return data;
}

/* ---- what plan.h promises ---- */

static void assert_text(const char *text, size_t most) {
    assert_non_null(text);
    assert_true(strlen(text) <= most);
    assert_true(bw_text_printable(text, strlen(text), false));
}

static void assert_maybe_text(const char *text) {
    if (text != NULL) {
        assert_text(text, BW_PLAN_TEXT_MAX);
        assert_true(text[0] != '\0');
    }
}

static void assert_quantity(bw_quantity q) {
    assert_true(isfinite(q.value));
    assert_non_null(bw_unit_of(q.unit));
    assert_in_range(q.decimals + 1, 0, 16);
}

/* What a kind's limits are of; the others are unlimited. */
static char limits_of(const bw_stage *stage) {
    static const char limits[BW_STAGE_KIND_COUNT] = {
        [BW_STAGE_TORQUE] = 'T',   [BW_STAGE_TORQUE_ANGLE] = 'A', [BW_STAGE_ANGLE] = 'A',
        [BW_STAGE_BACK_OFF] = 'A', [BW_STAGE_YIELD] = 'T',        [BW_STAGE_STRETCH] = 'L',
        [BW_STAGE_SLOT] = 'T',     [BW_STAGE_CHECK] = 'T',        [BW_STAGE_PREVAILING] = 'T',
        [BW_STAGE_ROTATING] = 'T', [BW_STAGE_CREEP] = 'T'};
    return stage->until_loose ? '-' : limits[stage->kind];
}

/* target 0: the kind has none. */
static void assert_band(bool limited, double low, double high, double target) {
    assert_true(low < high);
    assert_true(!limited || (low > 0 && isfinite(high)));
    assert_true(!limited || target == 0 || (low <= target && target <= high));
}

static void assert_stage(const bw_plan_stage *s) {
    const bw_stage *j = &s->stage;
    assert_in_range(j->kind, 0, BW_STAGE_KIND_COUNT - 1);
    assert_quantity(s->target);
    assert_quantity(s->low);
    assert_quantity(s->high);
    assert_quantity(s->about);
    char limits = limits_of(j);
    assert_band(limits == 'T', j->low_Nm, j->high_Nm, j->target_Nm);
    assert_band(limits == 'A', j->low_deg, j->high_deg, j->target_deg);
    assert_band(limits == 'L', j->low_mm, j->high_mm, j->target_mm);
    assert_true(j->least_turn_deg >= 0);
    assert_true((j->kind == BW_STAGE_TORQUE_ANGLE || j->kind == BW_STAGE_YIELD) ==
                (j->snug_Nm > 0));
    assert_true((j->kind == BW_STAGE_YIELD) == (j->slope_share > 0) && j->slope_share < 1);
    assert_true((j->kind == BW_STAGE_SLOT) == (s->slots > 0));
    assert_true(!bw_stage_traits_of(j->kind)->runs || j->least_turn_deg > 0);
}

static void assert_set(const bw_reading_set *set) {
    assert_text(set->id, BW_PLAN_ID_MAX);
    assert_text(set->say, BW_PLAN_TEXT_MAX);
    assert_non_null(bw_unit_of(set->unit));
    assert_in_range(set->decimals, 0, 12);
    assert_true(isfinite(set->least) && isfinite(set->most) && set->least < set->most);
    assert_in_range(set->at_n, 1, BW_PLAN_READINGS_MAX);
    for (size_t i = 0; i < set->at_n; i++) {
        assert_text(set->at[i], BW_PLAN_ID_MAX);
    }
}

static void assert_derived(const bw_step *step, const bw_derived *derived) {
    assert_text(derived->id, BW_PLAN_ID_MAX);
    assert_text(derived->say, BW_PLAN_TEXT_MAX);
    assert_non_null(derived->formula);
    assert_int_equal(derived->of_n, derived->formula->operands);
    assert_true(derived->low < derived->high);
    for (size_t i = 0; i < derived->of_n; i++) {
        assert_true(derived->of[i] < step->set_n);
    }
}

static void assert_step(const bw_plan *plan, size_t index) {
    const bw_step *step = &plan->step[index];
    assert_in_range(step->kind, 0, BW_STEP_KIND_COUNT - 1);
    assert_text(step->id, BW_PLAN_ID_MAX);
    assert_text(step->say, BW_PLAN_TEXT_MAX);
    assert_maybe_text(step->why);
    assert_maybe_text(step->buries);
    assert_maybe_text(step->gauge);
    assert_true(step->where.line >= 1);
    size_t found = 0;
    assert_true(bw_plan_find_step(plan, step->id, &found) && found == index);
    for (size_t i = 0; i < step->after_n; i++) {
        assert_true(step->after[i] < index);
    }
    for (size_t i = 0; i < step->buried_n; i++) {
        assert_true(step->buried[i] != index && step->buries != NULL);
    }
    assert_true((step->kind == BW_STEP_MEASURE) == (step->set_n > 0));
    assert_true((step->kind == BW_STEP_TIGHTEN) == (step->stage_n > 0));
    for (size_t i = 0; i < step->set_n; i++) {
        assert_set(&step->set[i]);
    }
    for (size_t i = 0; i < step->derived_n; i++) {
        assert_derived(step, &step->derived[i]);
    }
    for (size_t i = 0; i < step->stage_n; i++) {
        assert_true(step->group < plan->group_n);
        assert_stage(&step->stage[i]);
    }
}

static void assert_group(const bw_plan *plan, size_t index) {
    const bw_group *group = &plan->group[index];
    size_t found = 0;
    assert_text(group->name, BW_PLAN_ID_MAX);
    assert_text(group->say, BW_PLAN_TEXT_MAX);
    assert_text(group->lubricant, BW_PLAN_TEXT_MAX);
    assert_true(bw_plan_find_group(plan, group->name, &found) && found == index);
    assert_in_range(group->place_n, 1, BW_ORDER_MAX);
    bool taken[BW_ORDER_MAX] = {false};
    for (size_t i = 0; i < group->place_n; i++) {
        assert_text(group->place[i].label, BW_PLAN_ID_MAX);
        assert_true(isfinite(group->place[i].point.x_mm) && isfinite(group->place[i].point.y_mm));
        assert_true(group->order[i] < group->place_n && !taken[group->order[i]]);
        taken[group->order[i]] = true;
        assert_true(bw_group_find_place(group, group->place[i].label, &found) && found == i);
    }
}

void kit_assert_sound(const bw_plan *plan) {
    assert_text(plan->title, BW_PLAN_TEXT_MAX);
    assert_text(plan->engine, BW_PLAN_TEXT_MAX);
    assert_text(plan->document, BW_PLAN_TEXT_MAX);
    assert_text(plan->edition, BW_PLAN_TEXT_MAX);
    assert_text(plan->revision, BW_PLAN_TEXT_MAX);
    assert_int_equal(bw_unit_of(plan->torque_unit)->dimension, BW_DIM_TORQUE);
    assert_in_range(plan->step_n, 1, BW_PLAN_STEPS_MAX);
    assert_true(plan->group_n <= BW_PLAN_GROUPS_MAX);
    for (size_t i = 0; i < plan->group_n; i++) {
        assert_group(plan, i);
    }
    for (size_t i = 0; i < plan->step_n; i++) {
        assert_step(plan, i);
    }
}

/* ---- files ---- */

char *kit_path(const char *folder, const char *name) {
    size_t size = strlen(folder) + strlen(name) + 2;
    char *path = malloc(size);
    assert_non_null(path);
    (void)snprintf(path, size, "%s/%s", folder, name);
    return path;
}

char *kit_folder(void) {
    char *folder = kit_path(BW_BINARY_DIR, "sequence-XXXXXX");
    assert_non_null(mkdtemp(folder));
    return folder;
}

static int remove_one(const char *path, const struct stat *st, int flag, struct FTW *ftw) {
    (void)st;
    (void)flag;
    (void)ftw;
    return remove(path);
}

void kit_folder_remove(char *folder) {
    assert_int_equal(nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS), 0);
    free(folder);
}

void kit_write(const char *folder, const char *name, const void *data, size_t len) {
    char *path = kit_path(folder, name);
    for (char *slash = strchr(path + strlen(folder) + 1, '/'); slash != NULL;
         slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        (void)mkdir(path, 0700);
        *slash = '/';
    }
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(data, 1, len, file), len);
    assert_int_equal(fclose(file), 0);
    free(path);
}

void kit_write_text(const char *folder, const char *name, const char *text) {
    kit_write(folder, name, text, strlen(text));
}

char *kit_read(const char *path, size_t *len) {
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    struct stat st;
    assert_int_equal(fstat(fileno(file), &st), 0);
    char *data = malloc((size_t)st.st_size + 1);
    assert_non_null(data);
    *len = fread(data, 1, (size_t)st.st_size, file);
    data[*len] = '\0';
    assert_int_equal(fclose(file), 0);
    return data;
}
