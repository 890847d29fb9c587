/* test_stage_mistakes.c - each mistake that can be made in a stage of tighten{...}, on its own line
 * with what would be right. */
#include "kit.h"

#include <stdio.h>
#include <string.h>

#include "cmocka_all.h"

static void test_torque_stages(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_STAGE("torque{Nm(60)}"), 4, "torque: lacks its limits"},
        {KIT_STAGE("torque{60, within = percent(5)}"), 4,
         "`the target` of torque needs a torque such as Nm(60), not the bare number 60"},
        {KIT_STAGE("torque{mm(60), within = percent(5)}"), 4,
         "needs a torque such as Nm(60), not 60 mm"},
        {KIT_STAGE("torque{within = percent(5)}"), 4, "torque needs one target without a name"},
        {KIT_STAGE("torque{Nm(60), Nm(70), within = percent(5)}"), 4, "needs one target"},
        {KIT_STAGE("torque{Nm(0), within = percent(5)}"), 4, "the target must be above zero"},
        {KIT_STAGE("torque{Nm(-60), within = percent(5)}"), 4, "the target must be above zero"},
        {KIT_STAGE("torque{Nm(0/0), within = percent(5)}"), 4, "is not a finite number"},
        {KIT_STAGE("torque{Nm(1e300 * 1e300), within = percent(5)}"), 4, "is not a finite number"},
        {KIT_STAGE("torque{Nm(1e30), within = percent(5)}"), 4, "is too large to be meant"},
        {KIT_STAGE("torque{Nm(200000), within = percent(5)}"), 4, "what a hand can do"},
        {KIT_STAGE("torque{Nm(60), low = Nm(63), high = Nm(57)}"), 4,
         "low must be below high (low is 63 N·m, high is 57 N·m)"},
        {KIT_STAGE("torque{Nm(60), low = Nm(60), high = Nm(60)}"), 4, "low must be below high"},
        {KIT_STAGE("torque{Nm(60), low = Nm(61), high = Nm(65)}"), 4, "outside of its own limits"},
        {KIT_STAGE("torque{Nm(60), low = Nm(50), high = Nm(59.9)}"), 4,
         "outside of its own limits"},
        {KIT_STAGE("torque{Nm(60), low = Nm(0), high = Nm(65)}"), 4, "low must be above zero"},
        {KIT_STAGE("torque{Nm(60), low = Nm(57)}"), 4, "torque lacks `high`"},
        {KIT_STAGE("torque{Nm(60), low = Nm(57), high = Nm(63), within = Nm(3)}"), 4, "not both"},
        {KIT_STAGE("torque{Nm(60), low = mm(57), high = Nm(63)}"), 4,
         "`low` of torque needs a torque such as Nm(60), not 57 mm"},
        {KIT_STAGE("torque{Nm(60), within = 5}"), 4,
         "needs a torque such as Nm(60), not the bare "
         "number 5"},
        {KIT_STAGE("torque{Nm(60), within = deg(5)}"), 4, "needs a torque such as Nm(60), not 5°"},
        {KIT_STAGE("torque{Nm(60), within = percent(0)}"), 4, "must be above zero"},
        {KIT_STAGE("torque{Nm(60), within = percent(100)}"), 4, "below 100 per cent"},
        {KIT_STAGE("torque{Nm(60), within = Nm(60)}"), 4, "low must be above zero"},
        {KIT_STAGE("torque{Nm(60), within = percent(5), floor = Nm(3)}"), 4,
         "torque has no field `floor`"},
        {KIT_STAGE("torque{Nm(60), within = percent(5), least_turn = deg(-1)}"), 4,
         "must be zero or above"},
        {KIT_STAGE("torque{Nm(60), within = percent(5), least_turn = 2}"), 4,
         "needs an angle such as deg(90), not the bare number 2"},
        {KIT_STAGE("torque{Nm(60), within = percent(5)},\n torque{Nm(40), within = percent(5)}"), 5,
         "this stage goes down to 40 N·m after 60 N·m"},
        {KIT_STAGE(
             "torque{Nm(60), within = percent(5)},\n torque{lbf_ft(30), within = percent(5)}"),
         5, "goes down to 30 lbf·ft after 60 N·m"},
        {KIT_STAGE("torque{Nm(40), within = percent(5)}, angle{deg(90), within = deg(5), floor = "
                   "Nm(70)},\n torque{Nm(60), within = percent(5)}"),
         5, "goes down to 60 N·m after 70 N·m"},
        {KIT_STAGE("grid{rows = 1, columns = 1}"), 4,
         "`stages[1]` of tighten needs a list in braces of: torque torque_angle angle back_off "
         "yield stretch slot check prevailing rotating creep, not grid{"},
        {KIT_STAGE(""), 3, "`stages` of tighten holds 0"},
        {KIT_HEAD KIT_GROUP "tighten{id = 't', say = 's', group = 'g'}", 3,
         "tighten lacks `stages`"},
        {KIT_HEAD KIT_GROUP
         "tighten{id = 't', say = 's', group = 'g', stages = torque{Nm(60), within = Nm(3)}}",
         3, "a list in braces of: torque"},
    };
    KIT_CHECK(rows);
}

static void test_angle_stages(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_STAGE("angle{deg(90), within = deg(4)}"), 4,
         "an angle has no beginning before a torque"},
        {KIT_STAGE("torque_angle{deg(90), within = deg(4)}"), 4, "torque_angle lacks `snug`"},
        {KIT_STAGE("torque_angle{snug = Nm(0), deg(90), within = deg(4)}"), 4,
         "`snug` of torque_angle must be above zero"},
        {KIT_STAGE("torque_angle{snug = deg(40), deg(90), within = deg(4)}"), 4,
         "`snug` of torque_angle needs a torque"},
        {KIT_STAGE("torque_angle{snug = Nm(40), Nm(90), within = deg(4)}"), 4,
         "needs an angle such as deg(90), not 90 N·m"},
        {KIT_STAGE("torque_angle{snug = Nm(40), deg(90)}"), 4, "lacks its limits"},
        {KIT_STAGE("torque_angle{snug = Nm(40), deg(9000), within = deg(4)}"), 4,
         "what a hand can do"},
        {KIT_STAGE("torque_angle{snug = Nm(40), deg(90), within = Nm(4)}"), 4, "needs an angle"},
        {KIT_STAGE(
             "torque_angle{snug = Nm(40), deg(90), within = deg(4), floor = Nm(90), ceiling = "
             "Nm(80)}"),
         4, "floor must be below ceiling"},
        {KIT_STAGE("torque_angle{snug = Nm(40), deg(90), within = deg(4), ceiling = Nm(30)}"), 4,
         "ceiling must be above snug"},
        {KIT_STAGE("torque_angle{snug = Nm(40), deg(90), within = deg(4), floor = 75}"), 4,
         "`floor` of torque_angle needs a torque such as Nm(60), not the bare number 75"},
    };
    KIT_CHECK(rows);
}

static void test_proof(void **state) {
    (void)state;
    /* ISO 898-1: M8 has As 36.6 mm2, class 8.8 a proof stress of 580 MPa: 21.2 kN, which a nut
     * factor of 0.20 makes 34 N.m. */
    static const char group[] = "group{name = 'g', say = 's', lubricant = 'oil', thread = "
                                "'M8x1.25', class = '8.8', places = labels{'a'}}\n";
    static const struct {
        int torque_Nm;
        bool beyond;
    } rows[] = {{33, false}, {35, true}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[1024];
        (void)snprintf(text, sizeof text,
                       KIT_HEAD "%stighten{id = 't', say = 's', group = 'g', stages = {torque{"
                                "Nm(%d), within = Nm(1)}}}",
                       group, rows[i].torque_Nm);
        kit_run run = kit_load(text);
        if (rows[i].beyond) {
            kit_assert_one(&run, 3, "proof load is reached at 34 N·m");
        } else {
            kit_assert_plan(&run);
        }
        kit_end(&run);
    }
}

#define WITHIN     "within = percent(5)"
#define NM(torque) "torque{Nm(" torque "), " WITHIN "}"
#define FREE       "prevailing{low = Nm(1), high = Nm(8), least_turn = deg(360)}"

static void test_back_off(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_STAGE(NM("60") ",\nback_off{}"), 5,
         "needs an angle with its limits, such as back_off{ deg(90), within = deg(15) }, or "
         "until_loose = true"},
        {KIT_STAGE(NM("60") ",\nback_off{until_loose = false}"), 5, "needs an angle with its"},
        {KIT_STAGE(NM("60") ",\nback_off{deg(90), within = deg(9), until_loose = true}"), 5,
         "not both"},
        {KIT_STAGE(NM("60") ",\nback_off{within = deg(9), until_loose = true}"), 5, "not both"},
        {KIT_STAGE(NM("60") ",\nback_off{deg(90)}"), 5, "lacks its limits"},
        {KIT_STAGE(NM("60") ",\nback_off{deg(90), low = deg(95), high = deg(85)}"), 5,
         "low must be below high"},
        {KIT_STAGE(NM("60") ",\nback_off{Nm(90), within = deg(9)}"), 5, "not 90 N·m"},
        {KIT_STAGE(NM("60") ",\nback_off{until_loose = 1}"), 5, "true or false"},
        {KIT_STAGE("back_off{until_loose = true}"), 4, "there is nothing to back off"},
        {KIT_STAGE(FREE ",\nback_off{until_loose = true}"), 5, "there is nothing to back off"},
        {KIT_STAGE(NM("60") ", back_off{until_loose = true},\nback_off{deg(9), within = deg(2)}"),
         5, "there is nothing to back off"},
        {KIT_STAGE(NM("60") ", back_off{until_loose = true},\nangle{deg(90), within = deg(4)}"), 5,
         "an angle has no beginning"},
        {KIT_STAGE(NM("60") ", back_off{until_loose = true}, " NM("20") ",\n" NM("10")), 5,
         "goes down to 10 N·m after 20 N·m"},
    };
    KIT_CHECK(rows);
}

static void test_only_up(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_STAGE(NM("70") ",\nslot{low = Nm(60), high = Nm(90), slots = 6}"), 5,
         "goes down to 60 N·m after 70 N·m"},
        {KIT_STAGE("slot{low = Nm(60), high = Nm(90), slots = 6},\n" NM("50")), 5,
         "goes down to 50 N·m after 60 N·m"},
        {KIT_STAGE(NM("120") ",\nyield{share = percent(50), snug = Nm(120), low = Nm(70), high = "
                             "Nm(110), most_turn = deg(120)}"),
         5, "low"},
        {KIT_STAGE(NM("70") ",\nangle{deg(90), within = deg(4), ceiling = Nm(60)}"), 5,
         "goes down to 60 N·m after 70 N·m"},
        {KIT_STAGE(NM("70") ", angle{deg(90), within = deg(4)},\n" NM("60")), 5,
         "goes down to 60 N·m after 70 N·m"},
        {KIT_STAGE("torque_angle{snug = Nm(70), deg(90), within = deg(4)},\n" NM("60")), 5,
         "goes down to 60 N·m after 70 N·m"},
        {KIT_STAGE("yield{share = percent(50), snug = Nm(40), low = Nm(70), high = Nm(110), "
                   "most_turn = deg(120)},\n" NM("60")),
         5, "goes down to 60 N·m after 70 N·m"},
        {KIT_STAGE(NM("60") ", check{low = Nm(50), high = Nm(75), most_turn = deg(5)},\n" NM("40")),
         5, "goes down to 40 N·m after 60 N·m"},
        {KIT_STAGE(NM("60") ",\nangle{deg(90), within = deg(4), from = Nm(40)}"), 5,
         "angle: the turn cannot be counted from 40 N·m where 60 N·m stands already"},
        {KIT_STAGE(NM("60") ",\ntorque_angle{deg(90), within = deg(4), snug = Nm(40)}"), 5,
         "torque_angle: the turn cannot be counted from 40 N·m where 60 N·m stands already"},
        {KIT_STAGE(NM("60") ",\nyield{share = percent(50), snug = Nm(40), low = Nm(70), high = "
                            "Nm(110), most_turn = deg(120)}"),
         5, "yield: the turn cannot be counted from 40 N·m where 60 N·m stands already"},
    };
    KIT_CHECK(rows);
}

static void test_again(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_STAGE("torque{Nm(60), " WITHIN ", again = true}"), 4,
         "no torque{} stage of this step has left it at 60 N·m"},
        {KIT_STAGE(NM("50") ",\ntorque{Nm(60), " WITHIN ", again = true}"), 5,
         "`again` is a pass once more at a torque that stands"},
        {KIT_STAGE(NM("60") ", back_off{deg(90), within = deg(9)},\ntorque{Nm(60), " WITHIN
                            ", again = true}"),
         5, "`again` is a pass once more"},
        {KIT_STAGE(NM("60") ", angle{deg(90), within = deg(9)},\ntorque{Nm(60), " WITHIN
                            ", again = true}"),
         5, "`again` is a pass once more"},
        {KIT_STAGE(NM("60") ",\ntorque{Nm(60), " WITHIN ", again = true, least_turn = deg(2)}"), 5,
         "need not turn: leave `least_turn` out"},
        {KIT_STAGE(NM("60") ",\ntorque{Nm(60), " WITHIN ", again = 1}"), 5,
         "`again` of torque needs true or false"},
        {KIT_HEAD KIT_GROUP KIT_TIGHTEN
         "tighten{id = 'u', say = 's', after = 't', group = 'g', stages = {\n"
         "torque{Nm(60), " WITHIN ", again = true}}}",
         5, "no torque{} stage of this step"},
    };
    KIT_CHECK(rows);
}

static void test_prevailing(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_STAGE("torque{Nm(60), " WITHIN ", above_prevailing = true}"), 4,
         "`above_prevailing` has nothing to add: put a prevailing{} stage before this one"},
        {KIT_HEAD KIT_GROUP
         "tighten{id = 'u', say = 's', group = 'g', stages = {" FREE "}}\n"
         "tighten{id = 't', say = 's', after = 'u', group = 'g', stages = {\n"
         "slot{low = Nm(60), high = Nm(90), slots = 6, above_prevailing = true}}}",
         5, "`above_prevailing` has nothing to add"},
        {KIT_STAGE(FREE ", torque{Nm(60), " WITHIN ", above_prevailing = true},\n" NM("80")), 5,
         "so must this one: above_prevailing = true"},
        {KIT_STAGE(FREE ", " NM("60") ",\nangle{deg(90), within = deg(4), above_prevailing = "
                                      "true}"),
         5, "raises from, floor and ceiling, and none of them is there"},
        {KIT_STAGE(NM("60") ",\n" FREE), 5, "is felt while a fastener is run down free"},
        {KIT_STAGE("prevailing{low = Nm(8), high = Nm(1), least_turn = deg(360)}"), 4,
         "low must be below high (low is 8 N·m, high is 1 N·m)"},
        {KIT_STAGE("prevailing{low = Nm(0), high = Nm(8), least_turn = deg(360)}"), 4,
         "low must be above zero"},
        {KIT_STAGE("prevailing{low = Nm(1), high = Nm(200000), least_turn = deg(360)}"), 4,
         "high must be what a hand can do"},
        {KIT_STAGE("prevailing{low = Nm(1), high = Nm(8)}"), 4, "prevailing lacks `least_turn`"},
        {KIT_STAGE("prevailing{low = Nm(1), high = Nm(8), least_turn = deg(0)}"), 4,
         "`least_turn` of prevailing must be above zero"},
        {KIT_STAGE("prevailing{high = Nm(8), least_turn = deg(360)}"), 4, "prevailing lacks `low`"},
        {KIT_STAGE("prevailing{Nm(4), low = Nm(1), high = Nm(8), least_turn = deg(360)}"), 4,
         "holds 4 N·m without a name"},
        {KIT_STAGE(FREE ",\nstretch{mm(0.15), " WITHIN ", above_prevailing = true}"), 5,
         "stretch has no field `above_prevailing`"},
    };
    KIT_CHECK(rows);
}

#define YIELD(share, snug, low, high, turn)                                                        \
    KIT_STAGE("yield{share = " share ", snug = " snug ", low = " low ", high = " high              \
              ", most_turn = " turn "}")

static void test_yield(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {YIELD("percent(9)", "Nm(40)", "Nm(70)", "Nm(110)", "deg(120)"), 4,
         "`share` must be from 10 to 90 per cent of the steepest slope"},
        {YIELD("percent(91)", "Nm(40)", "Nm(70)", "Nm(110)", "deg(120)"), 4, "from 10 to 90"},
        {YIELD("0.5", "Nm(40)", "Nm(70)", "Nm(110)", "deg(120)"), 4,
         "`share` of yield needs a number such as percent(5), not the bare number 0.5"},
        {YIELD("percent(50)", "Nm(70)", "Nm(70)", "Nm(110)", "deg(120)"), 4,
         "snug must be below low"},
        {YIELD("percent(50)", "Nm(40)", "Nm(110)", "Nm(70)", "deg(120)"), 4,
         "low must be below high"},
        {YIELD("percent(50)", "Nm(40)", "Nm(70)", "Nm(110)", "deg(0)"), 4,
         "`most_turn` of yield must be above zero"},
        {KIT_STAGE("yield{share = percent(50), low = Nm(70), high = Nm(110), most_turn = "
                   "deg(120)}"),
         4, "yield lacks `snug`"},
        {KIT_STAGE("yield{share = percent(50), snug = Nm(40), low = Nm(70), high = Nm(110)}"), 4,
         "yield lacks `most_turn`"},
        {KIT_STAGE("yield{snug = Nm(40), low = Nm(70), high = Nm(110), most_turn = deg(120)}"), 4,
         "yield lacks `share`"},
    };
    KIT_CHECK(rows);
}

static void test_stretch(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_STAGE("stretch{mm(0.15)}"), 4, "lacks its limits"},
        {KIT_STAGE(NM("20") ",\nstretch{mm(0.15), " WITHIN "}"), 5,
         "a stretch is reckoned from the free length, and a stage before has tightened it"},
        {KIT_STAGE("stretch{mm(0.15), " WITHIN "},\nstretch{mm(0.2), " WITHIN "}"), 5,
         "put stretch{} first, or loosen it fully before"},
        {KIT_STAGE("stretch{Nm(45), " WITHIN "}"), 4, "needs a length such as mm(0.05), not 45"},
        {KIT_STAGE("stretch{mm(0), " WITHIN "}"), 4, "the target must be above zero"},
        {KIT_STAGE("stretch{mm(150), " WITHIN "}"), 4, "the target must be above zero, and what"},
        {KIT_STAGE("stretch{mm(0.15), low = mm(0.17), high = mm(0.13)}"), 4,
         "low must be below high (low is 0.17 mm, high is 0.13 mm)"},
        {KIT_STAGE("stretch{mm(0.15), low = mm(0.16), high = mm(0.17)}"), 4,
         "outside of its own limits"},
        {KIT_STAGE("stretch{mm(0.15), " WITHIN ", about = Nm(60), ceiling = Nm(60)}"), 4,
         "about must be below ceiling"},
        {KIT_STAGE("stretch{mm(0.15), " WITHIN ", about = Nm(0)}"), 4,
         "`about` of stretch must be above zero"},
        {KIT_STAGE("stretch{mm(0.15), " WITHIN ", about = mm(1)}"), 4,
         "`about` of stretch needs a torque"},
    };
    KIT_CHECK(rows);
}

static void test_slot(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_STAGE("slot{low = Nm(90), high = Nm(60), slots = 6}"), 4, "low must be below high"},
        {KIT_STAGE("slot{low = Nm(60), high = Nm(90), slots = 2}"), 4,
         "`slots` of slot needs a whole number from 3 to 24, not the bare number 2"},
        {KIT_STAGE("slot{low = Nm(60), high = Nm(90), slots = 25}"), 4, "from 3 to 24"},
        {KIT_STAGE("slot{low = Nm(60), high = Nm(90)}"), 4, "slot lacks `slots`"},
        {KIT_STAGE("slot{low = Nm(60), slots = 6}"), 4, "slot lacks `high`"},
    };
    KIT_CHECK(rows);
}

static void test_check(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_STAGE("check{low = Nm(50), high = Nm(75), most_turn = deg(5)}"), 4,
         "there is nothing to check: no stage before has tightened it"},
        {KIT_STAGE(FREE ",\ncheck{low = Nm(50), high = Nm(75), most_turn = deg(5)}"), 5,
         "there is nothing to check"},
        {KIT_STAGE(NM("60") ", back_off{until_loose = true},\ncheck{low = Nm(50), high = Nm(75), "
                            "most_turn = deg(5)}"),
         5, "there is nothing to check"},
        {KIT_STAGE(NM("60") ",\ncheck{low = Nm(50), high = Nm(59), most_turn = deg(5)}"), 5,
         "high is 59 N·m, below the 60 N·m to which it was tightened: every sound one would fail"},
        {KIT_STAGE(NM("60") ",\ncheck{low = Nm(61), high = Nm(75), most_turn = deg(5)}"), 5,
         "low is 61 N·m, above the 60 N·m to which it was tightened: every sound one would fail"},
        {KIT_STAGE(NM("40") ", angle{deg(90), within = deg(4), floor = Nm(70)},\ncheck{low = "
                            "Nm(50), high = Nm(69), most_turn = deg(5)}"),
         5, "high is 69 N·m, below the 70 N·m"},
        {KIT_HEAD KIT_GROUP KIT_TIGHTEN
         "tighten{id = 'u', say = 's', after = 't', group = 'g', stages = {\n"
         "check{low = Nm(40), high = Nm(50), most_turn = deg(5)}}}",
         5, "high is 50 N·m, below the 60 N·m"},
        {KIT_HEAD KIT_GROUP KIT_TIGHTEN
         "tighten{id = 'u', say = 's', after = 't', group = 'g', stages = {\n"
         "back_off{until_loose = true},\n"
         "check{low = Nm(40), high = Nm(50), most_turn = deg(5)}}}",
         6, "there is nothing to check"},
        {KIT_STAGE(NM("60") ",\ncheck{low = Nm(75), high = Nm(50), most_turn = deg(5)}"), 5,
         "low must be below high"},
        {KIT_STAGE(NM("60") ",\ncheck{low = Nm(50), high = Nm(75)}"), 5, "check lacks `most_turn`"},
    };
    KIT_CHECK(rows);
}

#define ONE "group{name = 'g', say = 's', lubricant = 'oil', places = labels{'a'}}\n"

static void test_rotating_and_creep(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_STAGE("creep{low = Nm(2), high = Nm(2.6), least_turn = deg(360)}"), 4,
         "creep is for one nut on one shaft: its group has one place, not 2"},
        {KIT_HEAD ONE "tighten{id = 't', say = 's', group = 'g', stages = {\ncreep{low = Nm(2), "
                      "high = Nm(2.6), least_turn = deg(360)},\nback_off{deg(90), within = "
                      "deg(9)}}}",
         5, "a sleeve that was crushed by creep{} never goes back"},
        {KIT_STAGE("rotating{low = Nm(6), high = Nm(2), least_turn = deg(360)}"), 4,
         "low must be below high"},
        {KIT_STAGE("rotating{low = Nm(2), high = Nm(6)}"), 4, "rotating lacks `least_turn`"},
        {KIT_STAGE("rotating{low = Nm(2), high = Nm(6), most_turn = deg(360), least_turn = "
                   "deg(360)}"),
         4, "rotating has no field `most_turn`"},
    };
    KIT_CHECK(rows);
}

/* What a stage with a mistake leaves is not known: what leans on it stays quiet. */
static void test_no_stage_mistakes_by_consequence(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_STAGE("torque{Nm(60)},\nangle{deg(90), within = deg(4)}"), 4, "lacks its limits"},
        {KIT_STAGE("torque{Nm(60)},\ntorque{Nm(60), " WITHIN ", again = true}"), 4, "lacks its"},
        {KIT_STAGE("prevailing{low = Nm(1)},\ntorque{Nm(60), " WITHIN ", above_prevailing = "
                   "true}"),
         4, "prevailing lacks `high`"},
        {KIT_STAGE("torqe{Nm(60)},\ncheck{low = Nm(50), high = Nm(75), most_turn = deg(5)}"), 4,
         "did you mean `torque`?"},
        {KIT_STAGE(NM("60") ",\nbackoff{until_loose = true},\n" NM("40")), 5,
         "did you mean `back_off`?"},
    };
    for (size_t i = 0; i + 1 < sizeof rows / sizeof rows[0]; i++) {
        kit_run run = kit_load(rows[i].text);
        bool lacks_two = strstr(rows[i].text, "prevailing{low = Nm(1)}") != NULL;
        kit_assert_has(&run, rows[i].line, rows[i].part);
        assert_int_equal(run.loaded.mistake_n, lacks_two ? 2 : 1);
        kit_end(&run);
    }
    kit_check_rows(&rows[sizeof rows / sizeof rows[0] - 1], 1);
}

/* The thread of test_proof, which bears 34 N.m less a hair. */
static void test_proof_of_other_kinds(void **state) {
    (void)state;
    static const struct {
        const char *stage;
        const char *part; /* NULL: no mistake */
    } rows[] = {
        {"slot{low = Nm(25), high = Nm(33), slots = 6}", NULL},
        {"slot{low = Nm(25), high = Nm(35), slots = 6}", "35 N·m is beyond what this fastener"},
        {"stretch{mm(0.1), " WITHIN ", about = Nm(33)}", NULL},
        {"stretch{mm(0.1), " WITHIN ", about = Nm(35)}", "35 N·m is beyond"},
        {"stretch{mm(0.1), " WITHIN ", about = Nm(30), ceiling = Nm(36)}", "36 N·m is beyond"},
        {"torque_angle{snug = Nm(33), deg(90), within = deg(4)}", NULL},
        {"torque_angle{snug = Nm(35), deg(90), within = deg(4)}", "35 N·m is beyond"},
        {"yield{share = percent(50), snug = Nm(20), low = Nm(30), high = Nm(45), most_turn = "
         "deg(90)}",
         NULL},
        {"yield{share = percent(50), snug = Nm(35), low = Nm(40), high = Nm(45), most_turn = "
         "deg(90)}",
         "35 N·m is beyond"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[1024];
        (void)snprintf(text, sizeof text,
                       KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', thread = "
                                "'M8x1.25', class = '8.8', places = labels{'a'}}\n"
                                "tighten{id = 't', say = 's', group = 'g', stages = {%s}}",
                       rows[i].stage);
        kit_run run = kit_load(text);
        if (rows[i].part == NULL) {
            kit_assert_plan(&run);
        } else {
            kit_assert_one(&run, 3, rows[i].part);
        }
        kit_end(&run);
    }
}

/* A step that only checks leaves what the step before it has left. */
static void test_check_in_a_step_of_its_own(void **state) {
    (void)state;
    static const char check[] = "tighten{id = '%s', say = 's', after = '%s', group = 'g', stages = "
                                "{check{low = Nm(50), high = Nm(%d), most_turn = deg(5)}}}\n";
    char first[256];
    char second[256];
    char text[1024];
    (void)snprintf(first, sizeof first, check, "u", "t", 75);
    (void)snprintf(second, sizeof second, check, "v", "u", 59);
    (void)snprintf(text, sizeof text, KIT_HEAD KIT_GROUP KIT_TIGHTEN "%s%s", first, second);
    kit_run run = kit_load(text);
    kit_assert_one(&run, 5, "high is 59 N·m, below the 60 N·m");
    kit_end(&run);
    (void)snprintf(first, sizeof first, check, "u", "w", 75);
    (void)snprintf(
        text, sizeof text,
        KIT_HEAD KIT_GROUP KIT_TIGHTEN
        "tighten{id = 'w', after = 't', say = 's', group = 'g', stages = {back_off{deg(90), within = "
        "deg(9)}}}\n%s%s",
        first, second);
    run = kit_load(text);
    kit_assert_plan(&run);
    kit_end(&run);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_torque_stages),
    cmocka_unit_test(test_angle_stages),
    cmocka_unit_test(test_proof),
    cmocka_unit_test(test_back_off),
    cmocka_unit_test(test_only_up),
    cmocka_unit_test(test_again),
    cmocka_unit_test(test_prevailing),
    cmocka_unit_test(test_yield),
    cmocka_unit_test(test_stretch),
    cmocka_unit_test(test_slot),
    cmocka_unit_test(test_check),
    cmocka_unit_test(test_rotating_and_creep),
    cmocka_unit_test(test_no_stage_mistakes_by_consequence),
    cmocka_unit_test(test_proof_of_other_kinds),
    cmocka_unit_test(test_check_in_a_step_of_its_own),
};

KIT_MAIN(tests)
