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
        {KIT_HEAD KIT_GROUP STEP("t") "trial = true, due = 'x', " STAGE STEP(
             "u") "after = 't', " STAGE,
         3, "what is taken apart again is not due afterwards"},
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

#define ASK "ask{id = 'a', say = 's', answers = {'x', 'y'}}\n"

static void test_questions(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_HEAD "ask{id = 'a', say = 's'}", 2, "ask lacks `answers`"},
        {KIT_HEAD "ask{id = 'a', say = 's', answers = {'x'}}", 2, "holds 1: 2 to 12 are possible"},
        {KIT_HEAD "ask{id = 'a', say = 's', answers = {'x', 'y', 'x'}}", 2, "holds \"x\" twice"},
        {KIT_HEAD "ask{id = 'a', say = 's', answers = {'x', 'back'}}", 2,
         "holds \"back\", which does something else when it is typed at the bench"},
        {KIT_HEAD "ask{id = 'a', say = 's', answers = {'x', 'part worn'}}", 2,
         "holds \"part worn\", which does something else"},
        {KIT_HEAD ASK "note{id = 'n', say = 's', when = {step = 'a', answer = 'x'}}", 3,
         "`when` names \"a\", which need not be done before this step"},
        {KIT_HEAD ASK "note{id = 'n', say = 's', after = 'a', when = {step = 'a', answer = 'z'}}",
         3, "\"z\" is no answer to \"a\"; it has \"x\", \"y\""},
        {KIT_HEAD ASK "note{id = 'n', say = 's', after = 'a', when = {step = 'aa', answer = 'x'}}",
         3, "`when` names \"aa\", which is no step"},
        {KIT_HEAD ASK "note{id = 'n', say = 's', after = 'a', when = 'x'}", 3,
         "`when` of note needs a question and its answer in braces"},
        {KIT_HEAD ASK "note{id = 'n', say = 's', after = 'a', when = {step = 'a'}}", 3,
         "`when` lacks `answer`"},
        {KIT_HEAD
         "note{id = 'm', say = 's'}\nnote{id = 'n', say = 's', after = 'm', when = {step = "
         "'m', answer = 'x'}}",
         3, "`when` names \"m\", which is no ask{}"},
    };
    KIT_CHECK(rows);
    kit_run run = kit_load(
        KIT_HEAD KIT_GROUP ASK STEP("t") "after = 'a', when = {step = 'a', answer = 'x'}, " STAGE
            STEP("u") "after = 'a', when = {step = 'a', answer = 'y'}, " STAGE);
    kit_assert_plan(&run);
    kit_end(&run);
}

#define CHOOSE(rest) ASK "choose{id = 'c', say = 's', after = 'a', row = 'a', " rest "}"

static void test_choices(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_HEAD CHOOSE("parts = {'red'}"), 3, "needs 2 rows, one for each answer of `row`, of 1"},
        {KIT_HEAD CHOOSE("column = 'a', parts = {{'r', 'g'}, {'b'}}"), 3, "of 2 texts each"},
        {KIT_HEAD CHOOSE("parts = {'red', 5}"), 3, "`parts` of choose needs a text in quotes"},
        {KIT_HEAD CHOOSE("column = 'n', parts = {{'r', 'g'}, {'b', 'y'}}"), 3,
         "`column` names \"n\", which is no step"},
        {KIT_HEAD "choose{id = 'c', say = 's', parts = {'r'}}", 2, "choose lacks `row`"},
    };
    KIT_CHECK(rows);
}

static void test_clocks_and_bans(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_HEAD "note{id = 'n', say = 's'}\nwait{id = 'w', say = 's', after = 'n', since = 'n'}",
         3, "wait lacks `least`"},
        {KIT_HEAD "note{id = 'n', say = 's'}\nwait{id = 'w', say = 's', since = 'n', least = h(1)}",
         3, "`since` names \"n\", which need not be done before this step"},
        {KIT_HEAD "note{id = 'n', say = 's'}\nwait{id = 'w', say = 's', after = 'n', since = 'n', "
                  "least = mm(1)}",
         3, "`least` of wait needs a time"},
        {KIT_HEAD "note{id = 'n', say = 's'}\nwait{id = 'w', say = 's', after = 'n', since = 'n', "
                  "least = h(0)}",
         3, "`least` of wait must be above zero"},
        {KIT_HEAD
         "note{id = 'n', say = 's'}\nconfirm{id = 'c', say = 's', after = 'n', since = 'n'}",
         3, "confirm lacks `most`"},
        {KIT_HEAD "confirm{id = 'c', say = 's', most = min(5)}", 2, "confirm lacks `since`"},
        {KIT_HEAD "note{id = 'n', say = 's'}\nnote{id = 'm', say = 's'}\nforbid{say = 's', from = "
                  "'n', to = 'm'}",
         4, "\"n\" need not be done before \"m\""},
        {KIT_HEAD "note{id = 'n', say = 's'}\nforbid{say = 's', from = 'n', to = 'x'}", 3,
         "`to` names \"x\", which is no step"},
        {KIT_HEAD "note{id = 'n', say = 's'}\nforbid{say = 's', to = 'n'}", 3,
         "forbid lacks `from`"},
    };
    KIT_CHECK(rows);
}

#define VALUE(rest)                                                                                \
    KIT_HEAD "measure{id = 'm', say = 's', readings = {reading{id = 'g', say = 's', unit = 'mm', " \
             "decimals = 2, plausible = {mm(0), mm(1)}}}, derive = {\nvalue{id = 'v', say = 's', " \
             "formula = 'mean', of = 'g', unit = 'mm', decimals = 2, " rest "}}}"

static void test_what_to_do_then(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {VALUE("low = mm(0.2), when_high = 'x'"), 3, "has `when_high`, and no `high`"},
        {VALUE("high = mm(0.2), when_low = 'x'"), 3, "has `when_low`, and no `low`"},
        {VALUE("low = mm(0.2), when_low = 5"), 3, "`when_low` of value needs a text in quotes"},
    };
    KIT_CHECK(rows);
}

#define TWICE(a, b)                                                                                \
    KIT_HEAD KIT_GROUP STEP("t") "stages = {torque{\nboth(" a ", " b "), within = percent(5)}}}\n"

static void test_figures_given_twice(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {TWICE("Nm(60)", "lbf_ft(45)"), 4, "60 N·m and 45 lbf·ft are not the same"},
        {TWICE("Nm(60)", "lbf_ft(43)"), 4, "not the same"},
        {TWICE("Nm(60)", "mm(44)"), 4, "both takes one figure in two units"},
        {TWICE("Nm(60)", "44"), 4, "both takes one figure in two units"},
    };
    KIT_CHECK(rows);
    kit_run run = kit_load(TWICE("Nm(60)", "lbf_ft(44)"));
    kit_assert_plan(&run);
    assert_true(run.loaded.plan->step[0].stage[0].stage.target_Nm == 60);
    kit_end(&run);
}

#define GRID(rest)                                                                                 \
    KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', order = 'spiral', " rest             \
             "places = grid{rows = 2, columns = 3, dx = mm(9), dy = mm(9)}}\n" KIT_TIGHTEN

static void test_mirrored_and_reversed(void **state) {
    (void)state;
    kit_run plain = kit_load(GRID(""));
    kit_run mirrored = kit_load(GRID("mirrored = true, "));
    kit_run reversed = kit_load(GRID("reversed = true, "));
    kit_assert_plan(&plain);
    kit_assert_plan(&mirrored);
    kit_assert_plan(&reversed);
    const bw_group *a = plain.loaded.plan->group;
    const bw_group *b = mirrored.loaded.plan->group;
    const bw_group *c = reversed.loaded.plan->group;
    for (size_t i = 0; i < a->place_n; i++) {
        assert_int_equal(a->order[i], b->order[i]);
        assert_int_equal(a->order[i], c->order[a->place_n - 1 - i]);
        assert_true(a->place[i].point.x_mm == -b->place[i].point.x_mm);
        assert_true(a->place[i].point.y_mm == b->place[i].point.y_mm);
    }
    kit_end(&plain);
    kit_end(&mirrored);
    kit_end(&reversed);
    static const kit_row rows[] = {
        {KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', mirrored = true, places = "
                  "labels{'a'}}\n" KIT_TIGHTEN,
         2, "`mirrored` needs to know where the places are"},
    };
    KIT_CHECK(rows);
}

/* A step's own way through the places: named, or the group's backwards, mirrored or not. */
static void test_order_of_a_step(void **state) {
    (void)state;
#define OWN(group, rest)                                                                           \
    KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', order = 'crosswise', " group         \
             "places = circle{n = 8, diameter = mm(90)}}\n"                                        \
             "tighten{id = 't', say = 's', group = 'g', " rest                                     \
             "stages = {torque{Nm(60), within = percent(5)}}}\n"
    static const struct {
        const char *text;
        bool own, backwards, listed;
    } rows[] = {
        {OWN("", ""), false, false, false},
        {OWN("", "order = 'listed', "), true, false, true},
        {OWN("", "order = 'listed', reversed = true, "), true, true, true},
        {OWN("", "order = 'crosswise', "), true, false, false},
        {OWN("mirrored = true, ", "order = 'crosswise', "), true, false, false},
        {OWN("", "reversed = true, "), true, true, false},
        {OWN("mirrored = true, ", "reversed = true, "), true, true, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        kit_run run = kit_load(rows[i].text);
        kit_assert_plan(&run);
        const bw_plan *plan = run.loaded.plan;
        const size_t *order = bw_step_order(plan, &plan->step[0]);
        assert_true((plan->step[0].order != NULL) == rows[i].own);
        for (size_t k = 0; k < 8; k++) {
            size_t at = rows[i].backwards ? 7 - k : k;
            assert_int_equal(order[k], rows[i].listed ? at : plan->group[0].order[at]);
        }
        kit_end(&run);
    }
    static const kit_row wrong[] = {
        {OWN("", "order = 'clockwise', "), 3, "order \"clockwise\" is not known"},
        {KIT_HEAD KIT_GROUP "tighten{id = 't', say = 's', group = 'g', order = 'spiral', stages = "
                            "{torque{Nm(60), within = percent(5)}}}\n",
         3, "order \"spiral\" needs to know where the places are"},
    };
    KIT_CHECK(wrong);
#undef OWN
}

#define GROUP_WITH(rest)                                                                           \
    KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', " rest                               \
             "places = labels{'a', 'b'}}\n" KIT_TIGHTEN

static void test_joint_class_and_source(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {GROUP_WITH("joint = 'D', "), 2, "`joint` of group is \"A\" (danger to life)"},
        {GROUP_WITH("joint = 'AB', "), 2, "not \"AB\""},
        {GROUP_WITH("joint = 1, "), 2, "`joint` of group needs a text in quotes"},
        {GROUP_WITH("revision = 'B', "), 2, "group has a `revision` and no `document`"},
        {KIT_HEAD KIT_GROUP STEP("t") "stages = {\ntorque{Nm(60), within = percent(5), revision = "
                                      "'B'}}}",
         4, "torque has a `revision` and no `document`"},
    };
    KIT_CHECK(rows);
    kit_run run = kit_load(GROUP_WITH("joint = 'A', document = 'X', "));
    kit_assert_plan(&run);
    const bw_plan *plan = run.loaded.plan;
    assert_int_equal(plan->group[0].joint_class, 'A');
    assert_true(plan->step[0].stage[0].stage.needs_trace);
    assert_string_equal(plan->step[0].stage[0].document, "X");
    assert_string_equal(plan->step[0].stage[0].revision, "");
    kit_end(&run);
    run = kit_load(GROUP_WITH("joint = 'B', "));
    kit_assert_plan(&run);
    assert_false(run.loaded.plan->step[0].stage[0].stage.needs_trace);
    assert_null(run.loaded.plan->step[0].stage[0].document);
    kit_end(&run);
}

#define MEASURE(temperature, reading)                                                              \
    KIT_HEAD "measure{id = 'm', say = 's', " temperature "readings = {\nreading{id = 'r', say = "  \
             "'s', unit = 'mm', decimals = 3, plausible = {mm(1), mm(2)}, " reading "}}}\n"

static void test_points(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {MEASURE("", "at = points{{'a', 'b'}}"), 3, "points holds 1 lists: 2 to 4 are possible"},
        {MEASURE("", "at = points{'a', 'b'}"), 3, "`points[1]` of points needs a list of labels"},
        {MEASURE("", "at = points{{'a', 'a'}, {'b'}}"), 3, "names \"a b\" twice"},
        {MEASURE(
             "",
             "at = points{{'cylinder 1'}, {'a name of a point so long', 'and one that is longer "
             "than that one by a few'}}"),
         3, "bytes long: at most 48, take shorter labels"},
        {MEASURE("", "repeats = 1"), 3, "`repeats` of reading needs a whole number from 2 to 9"},
        {MEASURE("", "spread = mm(0.1)"), 3, "reading has a `spread` and no `repeats`"},
        {MEASURE("", "repeats = 2, spread = Nm(1)"), 3, "`spread` of reading needs a length"},
        {MEASURE("", "repeats = 2, spread = mm(-1)"), 3, "must not be below zero"},
        {MEASURE("temperature = degC(20), ", ""), 2, "`temperature` of measure needs the least"},
        {MEASURE("temperature = {degC(22), degC(18)}, ", ""), 2, "not the other way round"},
        {MEASURE("temperature = {mm(18), degC(22)}, ", ""), 2,
         "`temperature` of measure needs a temp"},
        {MEASURE("", "repeats = 9, at = points{{'1','2','3','4'}, {'1','2','3','4'}, {'a','b'}}"),
         2, "a step has at most 256 readings, not 288"},
    };
    KIT_CHECK(rows);
    kit_run run = kit_load(MEASURE("temperature = {degC(18), degC(22)}, ",
                                   "at = points{{'1', '2'}, {'top', 'foot'}, {'x', 'y'}}, repeats "
                                   "= 3, spread = thou(1)"));
    kit_assert_plan(&run);
    const bw_step *step = run.loaded.plan->step;
    const bw_reading_set *set = &step->set[1];
    assert_true(step->has_temperature && step->set_n == 2 && step->set[0].unit == BW_UNIT_DEGC);
    assert_true(set->at_n == 8 && set->repeats == 3 && set->has_spread && set->spread == 0.0254);
    assert_string_equal(set->at[0], "1 top x");
    assert_string_equal(set->at[1], "1 top y");
    assert_string_equal(set->at[2], "1 foot x");
    assert_string_equal(set->at[7], "2 foot y");
    kit_end(&run);
}

#define FIT(rest) KIT_HEAD "fit{id = 'f', say = 's', " rest "}\n"

static void test_parts(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {FIT("to = {'1', '2'}"), 2, "fit lacks `part`"},
        {FIT("part = 'cap'"), 2, "fit lacks `to`"},
        {FIT("part = 'cap', to = {'1', '1'}"), 2, "`to` of fit holds \"1\" twice"},
        {FIT("part = 'cap', to = {'1', '2'}, marks = {'A', 'A'}"), 2, "`marks` of fit holds \"A\""},
        {FIT("part = 'cap', to = {'1', '2'}, marks = {'A'}"), 2, "has 2 places in `to` and 1"},
        {FIT("part = 'cap', to = {'1', '2'}, marks = {'A', 'note 5'}"), 2,
         "`marks` of fit holds \"note 5\", which does something else when it is typed"},
        {FIT("part = 'cap', to = {'1'}") "fit{id = 'g', say = 's', part = 'cap', to = {'1'}, as = "
                                         "'f'}",
         3, "`as` names \"f\", which need not be done before this step"},
        {FIT("part = 'cap', to = {'1'}") "fit{id = 'g', say = 's', after = 'f', part = 'cap', to = "
                                         "{'2'}, as = 'f'}",
         3, "which is no fit{} to the same places"},
        {FIT("part = 'cap', to = {'1'}, marks = {'A'}, as = 'x'"), 2, "not from both"},
    };
    KIT_CHECK(rows);
}

#define LASH                                                                                       \
    "measure{id = 'm', say = 's', readings = {reading{id = 'r', say = 's', unit = 'mm', decimals " \
    "= 2, plausible = {mm(2), mm(3)}}}, derive = {value{id = 'v', say = 's', formula = 'mean', of" \
    " = 'r', unit = 'mm', decimals = 3}}}\n"
#define DRAWER(of, rest)                                                                           \
    KIT_HEAD LASH "choose{id = 'c', say = 's', after = 'm', of = " of ", " rest "}\n"
#define OF_V "{step = 'm', value = 'v'}"

static void test_drawer(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {DRAWER("'m'", "stock = {mm(2)}, within = mm(0.1)"), 3, "`of` of choose needs a step and"},
        {DRAWER("{step = 'm', value = 'w'}", "stock = {mm(2)}, within = mm(0.1)"), 3,
         "step \"m\" has no value \"w\""},
        {DRAWER("{step = 'n', value = 'v'}", "stock = {mm(2)}, within = mm(0.1)"), 3,
         "`of` names \"n\", which is no step"},
        {DRAWER(OF_V, "within = mm(0.1)"), 3, "choose lacks `stock`"},
        {DRAWER(OF_V, "stock = {}, within = mm(0.1)"), 3, "needs 1 to 128 sizes in braces"},
        {DRAWER(OF_V, "stock = {Nm(2)}, within = mm(0.1)"), 3, "`stock` of choose needs a length"},
        {DRAWER(OF_V, "stock = {mm(2)}"), 3, "choose lacks `within`"},
        {DRAWER(OF_V, "stock = {mm(2)}, within = mm(0)"), 3, "`within` of choose must be above"},
        {DRAWER(OF_V, "stock = {mm(2)}, within = mm(1), row = 'm'"), 3, "not from both"},
    };
    KIT_CHECK(rows);
}

static void test_reuse(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {GROUP_WITH("reuse = 'once', "), 2, "`reuse` of group is \"never\", \"after_check\""},
        {GROUP_WITH("reuse = 'after_check', "), 2, "group lacks `reuse_check`"},
        {GROUP_WITH("reuse = 'free', reuse_check = 'x', "), 2, "needs reuse = \"after_check\""},
        {GROUP_WITH("reuse = 'never', new_each_time = true, "), 2, "say the same"},
    };
    KIT_CHECK(rows);
    kit_run run = kit_load(GROUP_WITH("reuse = 'never', "));
    kit_assert_plan(&run);
    assert_true(run.loaded.plan->group[0].new_each_time);
    kit_end(&run);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_parts),
    cmocka_unit_test(test_drawer),
    cmocka_unit_test(test_reuse),
    cmocka_unit_test(test_points),
    cmocka_unit_test(test_joint_class_and_source),
    cmocka_unit_test(test_figures_given_twice),
    cmocka_unit_test(test_mirrored_and_reversed),
    cmocka_unit_test(test_order_of_a_step),
    cmocka_unit_test(test_what_to_do_then),
    cmocka_unit_test(test_questions),
    cmocka_unit_test(test_choices),
    cmocka_unit_test(test_clocks_and_bans),
    cmocka_unit_test(test_order),
    cmocka_unit_test(test_continues),
    cmocka_unit_test(test_trial_and_cycles),
};

KIT_MAIN(tests)
