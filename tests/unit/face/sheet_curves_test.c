/* sheet_curves_test.c - from traces to the curves that are laid over each other. */
#include "cmocka_all.h"

#include "face/sheet_make.h"

#include <math.h>
#include <string.h>

enum { ENTRIES = 8 };

/* Two bolts, one stage to 40 N.m; what was pulled is told by each test. */
typedef struct bench {
    bw_making m;
    bw_arena *arena;
    bw_place place[2];
    size_t order[2];
    bw_group group;
    bw_plan_stage stage;
    bw_step step;
    bw_plan plan;
    bw_entry entry[ENTRIES];
    const bw_entry *taken_back[ENTRIES];
    bw_replay replay;
    bw_sheet_proof proof;
} bench;

/* Traces by their first letter. */
static const char *trace_of(void *ctx, const char *hash, size_t *len) {
    static const char *const texts[] = {
        /* free, then loaded from 0 to 10 degrees, then eased off */
        ("time_s,torque_Nm,angle_deg\n0,0,-3\n0.1,0,-1\n0.2,4,0\n0.3,12,2\n0.4,20,4\n0.5,28,6\n"
         "0.6,36,8\n0.7,40,10\n0.8,20,9.5\n0.9,0,9\n"),
        /* no angle */
        "time_s,torque_Nm,angle_deg\n0,0,\n0.5,10,\n1.0,20,\n1.5,40,\n2.0,10,\n2.5,0,\n",
        /* damaged */
        "time_s,torque_Nm,angle_deg\n0,x,1\n",
    };
    (void)ctx;
    size_t index = (size_t)(hash[0] - 'a');
    if (index >= sizeof texts / sizeof texts[0]) {
        return NULL;
    }
    *len = strlen(texts[index]);
    return texts[index];
}

static int set_up(void **state) {
    bench *b = test_calloc(1, sizeof *b);
    b->arena = bw_arena_new(0);
    b->place[0].label = "1";
    b->place[1].label = "2";
    b->order[1] = 1;
    b->group = (bw_group){.name = "g", .place_n = 2, .place = b->place, .order = b->order};
    b->stage.stage = (bw_stage){.kind = BW_STAGE_TORQUE,
                                .target_Nm = 40,
                                .low_Nm = 38,
                                .high_Nm = 42,
                                .low_deg = -INFINITY,
                                .high_deg = INFINITY};
    b->step = (bw_step){
        .kind = BW_STEP_TIGHTEN, .id = "t", .say = "Tighten.", .stage_n = 1, .stage = &b->stage};
    b->plan = (bw_plan){
        .torque_unit = BW_UNIT_NM, .group_n = 1, .group = &b->group, .step_n = 1, .step = &b->step};
    b->replay = (bw_replay){.entry = b->entry, .plan = &b->plan};
    b->proof = (bw_sheet_proof){.trace = trace_of};
    bw_make_begin(&b->m, b->arena);
    b->m.replay = &b->replay;
    b->m.plan = &b->plan;
    b->m.proof = &b->proof;
    b->m.taken_back = b->taken_back;
    *state = b;
    return 0;
}

static int take_down(void **state) {
    bench *b = *state;
    bw_arena_free(b->arena);
    test_free(b);
    return 0;
}

static bw_entry *add(bench *b, bw_kind kind, int64_t fastener, int64_t attempt) {
    bw_entry *e = &b->entry[b->replay.entry_n++];
    *e = bw_entry_of(kind);
    bw_entry_set_text(e, BW_M_STEP, "t");
    bw_entry_set_whole(e, BW_M_STAGE, 1);
    bw_entry_set_whole(e, BW_M_FASTENER, fastener);
    bw_entry_set_whole(e, BW_M_ATTEMPT, attempt);
    return e;
}

static void pulled(bench *b, int64_t fastener, int64_t attempt, const char *trace) {
    bw_entry_set_text(add(b, BW_KIND_PULL, fastener, attempt), BW_M_TRACE, trace);
}

static void a_curve_begins_under_load_and_ends_at_the_peak(void **state) {
    bench *b = *state;
    pulled(b, 1, 1, "a");
    bw_sheet_plot *plot = bw_make_plot(&b->m, &b->step, 0);
    assert_non_null(plot);
    assert_int_equal(plot->curve_n, 1);
    const bw_sheet_curve *c = plot->curve;
    assert_string_equal(c->label, "1");
    assert_int_equal(c->n, 6);
    assert_true(fabs(c->x[0] - (0)) < 1e-9);
    assert_true(fabs(c->y[0] - (4)) < 1e-9);
    assert_true(fabs(c->x[5] - (10)) < 1e-9);
    assert_true(fabs(c->y[5] - (40)) < 1e-9);
    assert_false(c->odd);
    assert_string_equal(plot->x_name, "turn, °");
    assert_int_equal(plot->limit_n, 2);
    assert_true(fabs(plot->limit[0].y - (38)) < 1e-9);
    assert_true(fabs(plot->y_most - (42)) < 1e-9);
}

static void pulls_of_one_attempt_go_on_from_each_other(void **state) {
    bench *b = *state;
    pulled(b, 2, 1, "a");
    pulled(b, 2, 1, "a");
    const bw_sheet_curve *c = bw_make_plot(&b->m, &b->step, 0)->curve;
    assert_int_equal(c->n, 13);
    assert_true(isnan(c->y[6])); /* the pen is lifted */
    assert_true(fabs(c->x[7] - (10)) < 1e-9);
    assert_true(fabs(c->x[12] - (20)) < 1e-9);
}

static void only_the_newest_attempt_is_drawn(void **state) {
    bench *b = *state;
    pulled(b, 1, 1, "a");
    pulled(b, 1, 2, "a");
    assert_int_equal(bw_make_plot(&b->m, &b->step, 0)->curve->n, 6);
}

static void what_is_not_a_pass_stands_out(void **state) {
    bench *b = *state;
    pulled(b, 1, 1, "a");
    bw_entry_set_text(add(b, BW_KIND_VERDICT, 1, 1), BW_M_VERDICT, "high");
    pulled(b, 2, 1, "a");
    bw_entry_set_text(add(b, BW_KIND_VERDICT, 2, 1), BW_M_VERDICT, "pass");
    const bw_sheet_plot *plot = bw_make_plot(&b->m, &b->step, 0);
    assert_int_equal(plot->curve_n, 2);
    for (const bw_sheet_curve *c = plot->curve; c != NULL; c = c->next) {
        assert_int_equal(c->odd, strcmp(c->label, "1") == 0);
    }
}

static void without_angle_it_is_drawn_over_time(void **state) {
    bench *b = *state;
    pulled(b, 1, 1, "b");
    const bw_sheet_plot *plot = bw_make_plot(&b->m, &b->step, 0);
    assert_string_equal(plot->x_name, "time, s");
    assert_true(fabs(plot->curve->x[plot->curve->n - 1] - (1.0)) < 1e-9); /* from 10 to 40 N.m */
}

static void what_was_taken_back_or_cannot_be_read_is_left_out(void **state) {
    bench *b = *state;
    pulled(b, 1, 1, "a");
    b->taken_back[0] = &b->entry[0];
    pulled(b, 2, 1, "c");
    pulled(b, 2, 1, "z");
    assert_null(bw_make_plot(&b->m, &b->step, 0));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, take_down)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(a_curve_begins_under_load_and_ends_at_the_peak),
        TEST(pulls_of_one_attempt_go_on_from_each_other),
        TEST(only_the_newest_attempt_is_drawn),
        TEST(what_is_not_a_pass_stands_out),
        TEST(without_angle_it_is_drawn_over_time),
        TEST(what_was_taken_back_or_cannot_be_read_is_left_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
