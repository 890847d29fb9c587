/* test_job_mistakes.c - what is wrong with how steps stand to each other over a whole job. */
#include "kit.h"

#include "cmocka_all.h"

#define STAGE    "stages = {torque{Nm(60), within = percent(5)}}}\n"
#define STEP(id) "tighten{id = '" id "', say = 's', group = 'g', "
#define OTHER    "group{name = 'h', say = 's', lubricant = 'oil', places = labels{'a', 'b'}}\n"
#define LIMITED(n)                                                                                 \
    "group{name = 'g', say = 's', lubricant = 'oil', cycles = " n ", places = labels{'a', 'b'}}\n"

static void test_order(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_HEAD KIT_GROUP KIT_TIGHTEN STEP("u") STAGE, 4,
         "nothing says that \"t\" is done before \"u\", which has the same fasteners"},
        {KIT_HEAD KIT_GROUP KIT_TIGHTEN
         "note{id = 'n', say = 's'}\n" STEP("u") "after = 'n', " STAGE,
         5, "nothing says that \"t\" is done before \"u\""},
    };
    KIT_CHECK(rows);
    kit_run run = kit_load(
        KIT_HEAD KIT_GROUP KIT_TIGHTEN
        "note{id = 'n', say = 's', after = 't'}\n" STEP("u") "after = 'n', " STAGE);
    kit_assert_plan(&run);
    kit_end(&run);
}

static void test_continues(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_HEAD KIT_GROUP KIT_TIGHTEN STEP("u") "after = 't', continues = 'x', " STAGE, 4,
         "`continues` names the last step before this one that tightens group \"g\"; \"x\" is not"},
        {KIT_HEAD KIT_GROUP STEP("u") "continues = 't', " STAGE, 3, "\"t\" is not that step"},
        {KIT_HEAD KIT_GROUP KIT_TIGHTEN STEP("u") "after = 't', " STAGE STEP(
             "v") "after = 'u', continues = 't', " STAGE,
         5, "\"t\" is not that step"},
        {KIT_HEAD KIT_GROUP KIT_TIGHTEN STEP("u") "after = 't', continues = 't', stages = {\n"
                                                  "torque{Nm(50), within = percent(5)}}}",
         5, "goes down to 50 N·m after 60 N·m"},
        {KIT_HEAD KIT_GROUP STEP("t") "trial = true, " STAGE STEP(
             "u") "after = 't', continues = 't', " STAGE,
         4, "what continues a step is on trial where that"},
        {KIT_HEAD KIT_GROUP KIT_TIGHTEN STEP("u") "after = 't', continues = 5, " STAGE, 4,
         "`continues` of tighten needs a text in quotes"},
    };
    KIT_CHECK(rows);
}

static void test_trial_and_cycles(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_HEAD KIT_GROUP STEP("t") "trial = true, " STAGE, 3,
         "\"t\" is on trial, and no step after it tightens group \"g\" for good"},
        {KIT_HEAD LIMITED("1") STEP("t") "trial = true, " STAGE STEP("u") "after = 't', " STAGE, 2,
         "tight 2 times, trial assemblies included; `cycles` allows 1"},
        {KIT_HEAD LIMITED("1")
             STEP("t") "stages = {torque{Nm(60), within = percent(5)}, "
                       "back_off{until_loose = true}, torque{Nm(20), within = percent(5)}}}\n",
         2, "tight 2 times"},
        {KIT_HEAD LIMITED("0") KIT_TIGHTEN, 2, "`cycles` of group needs a whole number from 1"},
        {KIT_HEAD KIT_GROUP STEP("t") "trial = true, " STAGE STEP(
             "u") "after = 't', stages = {\nangle{deg(90), within = deg(5)}}}",
         5, "an angle has no beginning before a torque"},
    };
    KIT_CHECK(rows);
    kit_run run = kit_load(KIT_HEAD LIMITED("2") STEP("t") "trial = true, " STAGE STEP(
        "u") "after = 't', " STAGE STEP("v") "after = 'u', continues = 'u', stages = "
                                             "{angle{deg(90), within = deg(5)}}}");
    kit_assert_plan(&run);
    const bw_plan *plan = run.loaded.plan;
    assert_true(plan->step[0].trial && !plan->step[1].trial);
    assert_true(!plan->step[1].goes_on && plan->step[2].goes_on);
    assert_int_equal(plan->step[2].before, 1);
    assert_int_equal(bw_step_cycles(&plan->step[1]), 1);
    assert_int_equal(bw_step_cycles(&plan->step[2]), 0);
    kit_end(&run);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_order),
    cmocka_unit_test(test_continues),
    cmocka_unit_test(test_trial_and_cycles),
};

KIT_MAIN(tests)
