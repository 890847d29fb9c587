/* test_stages.c - stages of tighten{...}: what each word yields, and what may follow what. */
#include "kit.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "cmocka_all.h"

#define ONE "group{name = 'g', say = 's', lubricant = 'oil', places = labels{'a'}}\n"

#define WITHIN     "within = percent(5)"
#define NM(torque) "torque{Nm(" torque "), " WITHIN "}"
#define FREE       "prevailing{low = Nm(1), high = Nm(8), least_turn = deg(360)}"

#define YIELD_STAGE                                                                                \
    "yield{share = percent(50), snug = Nm(40), low = Nm(70), high = Nm(110), most_turn = deg(120)}"

static void assert_limit(bw_quantity got, double value, bw_unit unit, int decimals) {
    assert_true(got.value == value);
    assert_int_equal(got.unit, unit);
    assert_int_equal(got.decimals, decimals);
}

static bool same_figures(const bw_stage *a, const bw_stage *b) {
    const double left[] = {a->snug_Nm,     a->target_Nm, a->low_Nm,   a->high_Nm,
                           a->target_deg,  a->low_deg,   a->high_deg, a->least_turn_deg,
                           a->slope_share, a->target_mm, a->low_mm,   a->high_mm};
    const double right[] = {b->snug_Nm,     b->target_Nm, b->low_Nm,   b->high_Nm,
                            b->target_deg,  b->low_deg,   b->high_deg, b->least_turn_deg,
                            b->slope_share, b->target_mm, b->low_mm,   b->high_mm};
    for (size_t i = 0; i < sizeof left / sizeof left[0]; i++) {
        if (left[i] != right[i]) {
            return false;
        }
    }
    return true;
}

static void test_what_stages_may_follow(void **state) {
    (void)state;
    static const char *const stages[] = {
        NM("60") ", back_off{deg(90), within = deg(9)}, " NM("40"),
        NM("60") ", back_off{until_loose = true}, " FREE ", " NM("40"),
        NM("60") ", back_off{deg(90), within = deg(9)}, angle{deg(180), within = deg(9)}",
        NM("60") ", check{low = Nm(50), high = Nm(75), most_turn = deg(5)}, torque{Nm(60), " WITHIN
                 ", again = true}",
        NM("60") ", check{low = Nm(60), high = Nm(61), most_turn = deg(5)}",
        NM("60") ", angle{deg(9), within = deg(2)}, check{low = Nm(65), high = Nm(75), most_turn = "
                 "deg(5)}",
        NM("40") ", angle{deg(90), within = deg(4), from = Nm(40)}",
        NM("30") ", angle{deg(90), within = deg(4), from = Nm(40)}",
        "angle{deg(90), within = deg(4), from = Nm(40)}",
        NM("60") ", slot{low = Nm(60), high = Nm(90), slots = 3}",
        "slot{low = Nm(60), high = Nm(90), slots = 24}",
        FREE ", " NM("20") ", torque{Nm(60), " WITHIN ", above_prevailing = true}, check{low = "
                           "Nm(50), high = Nm(80), most_turn = deg(5), above_prevailing = true}",
        FREE ", torque{Nm(60), " WITHIN ", above_prevailing = true}, angle{deg(90), within = "
             "deg(4)}",
        NM("60") ", back_off{until_loose = true}, stretch{mm(0.2), " WITHIN "}, angle{deg(9), "
                 "within = deg(2)}",
        "rotating{low = Nm(2), high = Nm(6), least_turn = deg(360)}",
        "torque{lbf_ft(44), " WITHIN "}, torque{lbf_ft(44), " WITHIN ", again = true}",
        YIELD_STAGE,
    };
    for (size_t i = 0; i < sizeof stages / sizeof stages[0]; i++) {
        char text[1024];
        (void)snprintf(text, sizeof text,
                       KIT_HEAD KIT_GROUP
                       "tighten{id = 't', say = 's', group = 'g', stages = {\n%s\n}}\n",
                       stages[i]);
        kit_run run = kit_load(text);
        kit_assert_plan(&run);
        kit_assert_sound(run.loaded.plan);
        kit_end(&run);
    }
}

static const bw_plan_stage *only_stage(kit_run *run, const char *stage) {
    char text[1024];
    (void)snprintf(text, sizeof text,
                   KIT_HEAD ONE "tighten{id = 't', say = 's', group = 'g', stages = {%s}}", stage);
    *run = kit_load(text);
    kit_assert_plan(run);
    return &run->loaded.plan->step[0].stage[run->loaded.plan->step[0].stage_n - 1];
}

#define INF (double)INFINITY

/* Every figure of every kind, as trade/stage.h says; what a kind does not use is 0 or unlimited. */
static void test_what_each_kind_yields(void **state) {
    (void)state;
    static const struct {
        const char *stages;
        bw_stage stage;
    } rows[] = {
        {"torque{Nm(60), within = percent(5), least_turn = deg(5)}",
         {BW_STAGE_TORQUE, false, false, 0, 60, 57, 63, 0, -INF, INF, 5, 0, 0, -INF, INF, false}},
        {NM("60") ", torque{Nm(60), " WITHIN ", again = true}",
         {BW_STAGE_TORQUE, false, false, 0, 60, 57, 63, 0, -INF, INF, 0, 0, 0, -INF, INF, false}},
        {FREE ", torque{Nm(60), " WITHIN ", above_prevailing = true}",
         {BW_STAGE_TORQUE, true, false, 0, 60, 57, 63, 0, -INF, INF, 2, 0, 0, -INF, INF, false}},
        {"torque_angle{snug = Nm(40), deg(90), within = deg(4), floor = Nm(50)}",
         {BW_STAGE_TORQUE_ANGLE, false, false, 40, 0, 50, INF, 90, 86, 94, 0, 0, 0, -INF, INF,
          false}},
        {"angle{from = Nm(40), deg(90), within = deg(4)}",
         {BW_STAGE_TORQUE_ANGLE, false, false, 40, 0, -INF, INF, 90, 86, 94, 0, 0, 0, -INF, INF,
          false}},
        {NM("60") ", angle{deg(90), within = deg(4), ceiling = Nm(99)}",
         {BW_STAGE_ANGLE, false, false, 0, 0, -INF, 99, 90, 86, 94, 0, 0, 0, -INF, INF, false}},
        {NM("60") ", back_off{deg(90), within = deg(15)}",
         {BW_STAGE_BACK_OFF, false, false, 0, 0, -INF, INF, 90, 75, 105, 0, 0, 0, -INF, INF,
          false}},
        {NM("60") ", back_off{until_loose = true}",
         {BW_STAGE_BACK_OFF, false, true, 0, 0, -INF, INF, 0, -INF, INF, 0, 0, 0, -INF, INF,
          false}},
        {YIELD_STAGE,
         {BW_STAGE_YIELD, false, false, 40, 0, 70, 110, 0, -INF, 120, 0, 0.5, 0, -INF, INF, false}},
        {"stretch{mm(0.15), low = mm(0.13), high = mm(0.17), about = Nm(45), ceiling = Nm(60)}",
         {BW_STAGE_STRETCH, false, false, 0, 45, -INF, 60, 0, -INF, INF, 0, 0, 0.15, 0.13, 0.17,
          false}},
        {"stretch{thou(10), low = thou(9), high = thou(11)}",
         {BW_STAGE_STRETCH, false, false, 0, 0, -INF, INF, 0, -INF, INF, 0, 0, 0.254, 0.2286,
          0.2794, false}},
        {"slot{low = Nm(60), high = Nm(90), slots = 6}",
         {BW_STAGE_SLOT, false, false, 0, 60, 60, 90, 0, -INF, 60, 0, 0, 0, -INF, INF, false}},
        {NM("60") ", check{low = Nm(50), high = Nm(75), most_turn = deg(5)}",
         {BW_STAGE_CHECK, false, false, 0, 0, 50, 75, 0, -INF, 5, 0, 0, 0, -INF, INF, false}},
        {FREE,
         {BW_STAGE_PREVAILING, false, false, 0, 0, 1, 8, 0, -INF, INF, 360, 0, 0, -INF, INF,
          false}},
        {"rotating{low = Nm(2), high = Nm(6), least_turn = deg(360)}",
         {BW_STAGE_ROTATING, false, false, 0, 0, 2, 6, 0, -INF, INF, 360, 0, 0, -INF, INF, false}},
        {"creep{low = Nm(2), high = Nm(2.6), least_turn = deg(720)}",
         {BW_STAGE_CREEP, false, false, 0, 0, 2, 2.6, 0, -INF, INF, 720, 0, 0, -INF, INF, false}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        kit_run run;
        const bw_stage *got = &only_stage(&run, rows[i].stages)->stage;
        const bw_stage *want = &rows[i].stage;
        if (got->kind != want->kind || got->adds_prevailing != want->adds_prevailing ||
            got->until_loose != want->until_loose || !same_figures(got, want)) {
            fail_msg("%s", rows[i].stages);
        }
        kit_end(&run);
    }
}

static void test_what_is_kept_as_written(void **state) {
    (void)state;
    kit_run run;
    const bw_plan_stage *s = only_stage(&run, "angle{from = lbf_ft(30), deg(90), within = deg(4)}");
    assert_true(s->from_torque && !s->again && s->slots == 0);
    assert_limit(s->snug, 30, BW_UNIT_LBF_FT, 0);
    kit_end(&run);
    s = only_stage(&run, NM("60") ", torque{Nm(60), " WITHIN ", again = true}");
    assert_true(s->again && !s->from_torque);
    kit_end(&run);
    s = only_stage(&run, "slot{low = Nm(60.0), high = lbf_ft(66), slots = 6}");
    assert_int_equal(s->slots, 6);
    assert_limit(s->high, 66, BW_UNIT_LBF_FT, 0);
    kit_end(&run);
    s = only_stage(&run, "stretch{mm(0.15), within = mm(0.02), about = lbf_ft(33), ceiling = "
                         "Nm(60)}");
    assert_limit(s->target, 0.15, BW_UNIT_MM, 2);
    assert_limit(s->high, 0.17, BW_UNIT_MM, 2);
    assert_limit(s->about, 33, BW_UNIT_LBF_FT, 0);
    assert_limit(s->ceiling, 60, BW_UNIT_NM, 0);
    assert_true(s->has_ceiling && !s->has_floor);
    kit_end(&run);
}

static void test_turn_after_backing_off(void **state) {
    (void)state;
    kit_run run = kit_load(KIT_STAGE(NM(
        "60") ", torque{Nm(60), " WITHIN
              ", again = true}, back_off{deg(90), within = deg(9)}, " NM("60") ", back_off{until_loose = true}, " NM(
                  "20") ", " NM("21") ", "
                                      "check{low = Nm(20), high = Nm(30), most_turn = deg(5)}, " NM(
                                          "30")));
    kit_assert_plan(&run);
    static const double turns_deg[] = {2, 0, 0, 2, 0, 2, 0, 0, 2};
    for (size_t i = 0; i < sizeof turns_deg / sizeof turns_deg[0]; i++) {
        assert_true(run.loaded.plan->step[0].stage[i].stage.least_turn_deg == turns_deg[i]);
    }
    kit_end(&run);
}

static void test_rule(void **state) {
    (void)state;
    static const char *const words[] = {"simple", "guarded", "guarded_95"};
    for (int i = 0; i < BW_RULE_COUNT; i++) {
        char text[256];
        (void)snprintf(text, sizeof text,
                       "sequence{title = 'T', engine = 'E', document = 'D', rule = '%s'}\n"
                       "note{id = 'n', say = 's'}",
                       words[i]);
        kit_run run = kit_load(text);
        kit_assert_plan(&run);
        assert_int_equal(run.loaded.plan->rule, i);
        kit_end(&run);
    }
    kit_run run = kit_load(KIT_HEAD "note{id = 'n', say = 's'}");
    assert_int_equal(run.loaded.plan->rule, BW_RULE_SIMPLE);
    kit_end(&run);
    static const kit_row rows[] = {
        {"sequence{title = 'T', engine = 'E', document = 'D', rule = 'gaurded'}\n"
         "note{id = 'n', say = 's'}",
         1, "`rule` of sequence is one of \"simple\""},
        {"sequence{title = 'T', engine = 'E', document = 'D', rule = true}\n"
         "note{id = 'n', say = 's'}",
         1, "`rule` of sequence needs a text in quotes, not true"},
    };
    KIT_CHECK(rows);
}
static void test_least_turn(void **state) {
    (void)state;
    kit_run run = kit_load(KIT_STAGE("torque{Nm(30), within = percent(5)}, "
                                     "torque{Nm(36), within = percent(5)}, "
                                     "torque{Nm(40), within = percent(5)}, "
                                     "torque{Nm(60), within = percent(5), least_turn = deg(0)}, "
                                     "torque{Nm(90), within = percent(5), least_turn = deg(8)}, "
                                     "angle{deg(30), within = deg(3)}, "
                                     "torque{Nm(200), within = percent(5)}"));
    kit_assert_plan(&run);
    static const double turns_deg[] = {2, 2, 0, 0, 8, 0, 0};
    for (size_t i = 0; i < sizeof turns_deg / sizeof turns_deg[0]; i++) {
        assert_true(run.loaded.plan->step[0].stage[i].stage.least_turn_deg == turns_deg[i]);
    }
    kit_end(&run);
}

static void test_figures_as_written(void **state) {
    (void)state;
    kit_run run = kit_load(
        KIT_STAGE("torque{lbf_ft(22.5), low = Nm(29), high = Nm(32.25)}, "
                  "torque{Nm(60), within = Nm(2.5)}, "
                  "torque{Nm(80.0), within = percent(7.5)}, "
                  "torque_angle{snug = lbf_ft(60), deg(90), within = deg(4), floor = "
                  "Nm(100), ceiling = kgf_m(20)}"));
    kit_assert_plan(&run);
    const bw_plan_stage *s = run.loaded.plan->step[0].stage;
    assert_limit(s[0].target, 22.5, BW_UNIT_LBF_FT, 1);
    assert_limit(s[0].low, 29, BW_UNIT_NM, 0);
    assert_limit(s[0].high, 32.25, BW_UNIT_NM, 2);
    assert_limit(s[1].low, 57.5, BW_UNIT_NM, 1);
    assert_limit(s[1].high, 62.5, BW_UNIT_NM, 1);
    assert_limit(s[2].target, 80, BW_UNIT_NM, 0);
    assert_limit(s[2].low, 74, BW_UNIT_NM, -1);
    assert_limit(s[3].snug, 60, BW_UNIT_LBF_FT, 0);
    assert_limit(s[3].ceiling, 20, BW_UNIT_KGF_M, 0);
    /* 60 lbf.ft = 81.349 076 9 N.m, 20 kgf.m = 196.133 N.m: exact factors, see trade/units.c */
    assert_float_equal(s[3].stage.snug_Nm, 81.3490769, 1e-7);
    assert_float_equal(s[3].stage.high_Nm, 196.133, 1e-9);
    assert_true(s[3].stage.low_Nm == 100 && s[3].has_floor && s[3].has_ceiling);
    assert_int_equal(s[3].where.line, 4);
    kit_end(&run);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_what_stages_may_follow),
    cmocka_unit_test(test_what_each_kind_yields),
    cmocka_unit_test(test_what_is_kept_as_written),
    cmocka_unit_test(test_turn_after_backing_off),
    cmocka_unit_test(test_rule),
    cmocka_unit_test(test_least_turn),
    cmocka_unit_test(test_figures_as_written),
};

KIT_MAIN(tests)
