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
        /* backward: breaks away at 40 N.m, comes loose within 30 degrees */
        ("time_s,torque_Nm,angle_deg\n0,0,0\n0.1,-20,0\n0.2,-40,-1\n0.3,-30,-10\n0.4,-20,-20\n"
         "0.5,-6,-31\n0.6,0,-40\n"),
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
    assert_true(fabs(plot->window.low_y - (38)) < 1e-9);
    assert_true(fabs(plot->window.high_y - (42)) < 1e-9);
    assert_true(isinf(plot->window.low_x) && isinf(plot->window.high_x));
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

/* A stage of that kind whose turn is limited from 8 to 12 degrees, its torque from 38 to 42 N.m. */
static void limited(bench *b, bw_stage_kind kind) {
    b->stage.stage.kind = kind;
    b->stage.stage.low_deg = 8;
    b->stage.stage.high_deg = 12;
}

static void judged(bench *b, int64_t fastener, double turn_deg) {
    bw_entry *e = add(b, BW_KIND_VERDICT, fastener, 1);
    bw_entry_set_text(e, BW_M_VERDICT, "pass");
    bw_entry_set_number(e, BW_M_FINAL_DEG, turn_deg);
}

static double end_of(const bw_sheet_curve *c) {
    return c->x[c->n - 1];
}

static void where_a_turn_is_limited_each_curve_ends_at_the_turn_that_was_judged(void **state) {
    bench *b = *state;
    limited(b, BW_STAGE_TORQUE_ANGLE);
    pulled(b, 1, 1, "a");
    judged(b, 1, 7.5);
    pulled(b, 2, 1, "a");
    judged(b, 2, 9);
    const bw_sheet_plot *plot = bw_make_plot(&b->m, &b->step, 0);
    assert_int_equal(plot->curve_n, 2);
    assert_true(fabs(end_of(plot->curve) - 9) < 1e-9); /* the newest stands first */
    assert_true(fabs(end_of(plot->curve->next) - 7.5) < 1e-9);
    assert_true(fabs(plot->x_least + 2.5) < 1e-9);
    assert_true(fabs(plot->x_most - 12) < 1e-9); /* the window is in sight */
    assert_string_equal(plot->x_name, "turn as judged, °");
}

static void a_turn_that_is_not_known_has_no_place_in_the_window(void **state) {
    bench *b = *state;
    limited(b, BW_STAGE_ANGLE);
    pulled(b, 1, 1, "a");
    pulled(b, 2, 1, "a");
    judged(b, 2, 9);
    const bw_sheet_plot *plot = bw_make_plot(&b->m, &b->step, 0);
    assert_int_equal(plot->curve_n, 1);
    assert_string_equal(plot->title, "Stage 1: 1 of 2 fasteners");
}

static void every_kind_has_its_window(void **state) {
    static const char *const of[BW_STAGE_KIND_COUNT] = {
        [BW_STAGE_TORQUE] = "the peak",       [BW_STAGE_TORQUE_ANGLE] = "the end",
        [BW_STAGE_ANGLE] = "the end",         [BW_STAGE_BACK_OFF] = "the end",
        [BW_STAGE_YIELD] = "the yield point", [BW_STAGE_STRETCH] = "the peak",
        [BW_STAGE_SLOT] = "the peak",         [BW_STAGE_CHECK] = "the first move",
        [BW_STAGE_PREVAILING] = "the mean",   [BW_STAGE_ROTATING] = "the mean",
        [BW_STAGE_CREEP] = "the mean"};
    bench *b = *state;
    pulled(b, 1, 1, "a");
    judged(b, 1, 10);
    pulled(b, 2, 1, "d");
    judged(b, 2, 10);
    for (int kind = 0; kind < BW_STAGE_KIND_COUNT; kind++) {
        limited(b, (bw_stage_kind)kind);
        const bw_sheet_plot *plot = bw_make_plot(&b->m, &b->step, 0);
        assert_non_null(plot);
        assert_string_equal(plot->window.what, of[kind]);
        assert_true(fabs(plot->window.low_x - 8) < 1e-9 && fabs(plot->window.high_x - 12) < 1e-9);
        assert_true(fabs(plot->window.low_y - 38) < 1e-9 && fabs(plot->window.high_y - 42) < 1e-9);
    }
}

static void a_least_turn_is_a_limit(void **state) {
    bench *b = *state;
    b->stage.stage.least_turn_deg = 3;
    pulled(b, 1, 1, "a");
    judged(b, 1, 10);
    const bw_sheet_plot *plot = bw_make_plot(&b->m, &b->step, 0);
    assert_true(fabs(plot->window.low_x - 3) < 1e-9);
    assert_true(isinf(plot->window.high_x));
}

static void torque_limits_of_each_fastener_are_no_window(void **state) {
    bench *b = *state;
    b->stage.stage.adds_prevailing = true;
    b->stage.stage.high_deg = 12;
    pulled(b, 1, 1, "a");
    judged(b, 1, 10);
    const bw_sheet_plot *plot = bw_make_plot(&b->m, &b->step, 0);
    assert_true(isinf(plot->window.low_y) && isinf(plot->window.high_y));
    assert_non_null(strstr(plot->window.what, "each its own"));
}

static void over_time_there_is_no_limit_of_turn(void **state) {
    bench *b = *state;
    limited(b, BW_STAGE_TORQUE_ANGLE);
    pulled(b, 1, 1, "b");
    const bw_sheet_plot *plot = bw_make_plot(&b->m, &b->step, 0);
    assert_int_equal(plot->curve_n, 1);
    assert_true(isinf(plot->window.low_x) && isinf(plot->window.high_x));
    assert_true(fabs(plot->window.low_y - 38) < 1e-9);
}

static void backed_off_is_seen_in_a_mirror(void **state) {
    bench *b = *state;
    limited(b, BW_STAGE_BACK_OFF);
    b->stage.stage.low_Nm = -INFINITY;
    b->stage.stage.high_Nm = INFINITY;
    pulled(b, 1, 1, "d");
    judged(b, 1, 30);
    const bw_sheet_plot *plot = bw_make_plot(&b->m, &b->step, 0);
    const bw_sheet_curve *c = plot->curve;
    assert_int_equal(c->n, 5);
    assert_true(fabs(c->x[0] - (-1)) < 1e-9 && fabs(c->y[0] - 20) < 1e-9);
    assert_true(fabs(end_of(c) - 30) < 1e-9 && fabs(c->y[4] - 6) < 1e-9);
    assert_true(fabs(plot->y_most - 40) < 1e-9);
    assert_string_equal(plot->x_name, "turn backward, °");
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
        TEST(where_a_turn_is_limited_each_curve_ends_at_the_turn_that_was_judged),
        TEST(a_turn_that_is_not_known_has_no_place_in_the_window),
        TEST(every_kind_has_its_window),
        TEST(a_least_turn_is_a_limit),
        TEST(torque_limits_of_each_fastener_are_no_window),
        TEST(over_time_there_is_no_limit_of_turn),
        TEST(backed_off_is_seen_in_a_mirror),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
