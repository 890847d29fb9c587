/* test_mistakes.c - one sequence for each mistake that an author can make: exactly that one is
 * found, on its own line, with what would be right. */
#include "kit.h"

#include "sequence/wire.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cmocka_all.h"

typedef struct row {
    const char *text;
    int line;
    const char *part;
} row;

static void check_rows(const row *rows, size_t n) {
    for (size_t i = 0; i < n; i++) {
        kit_run run = kit_load(rows[i].text);
        kit_assert_one(&run, rows[i].line, rows[i].part);
        kit_end(&run);
    }
}

#define CHECK(rows) check_rows(rows, sizeof rows / sizeof rows[0])

#define NOTE "note{id = 'n', say = 's'}\n"

static void test_sequence_word(void **state) {
    (void)state;
    static const row rows[] = {
        {NOTE, 1, "is missing: it comes first"},
        {KIT_HEAD KIT_HEAD NOTE, 2, "stands there already"},
        {NOTE KIT_HEAD, 2, "must come before all groups and steps"},
        {KIT_HEAD, 1, "there are no steps"},
        {"sequence{engine = 'E', document = 'D'}\n" NOTE, 1, "sequence lacks `title`"},
        {"sequence{title = 'T', document = 'D'}\n" NOTE, 1, "sequence lacks `engine`"},
        {"sequence{title = 'T', engine = 'E'}\n" NOTE, 1, "sequence lacks `document`"},
        {"sequence{title = 'T', engine = 'E', document = 'D', torque_unit = 'mm'}\n" NOTE, 1,
         "needs a unit of torque in quotes, such as \"N.m\", not the text \"mm\""},
        {"sequence{title = 'T', engine = 'E', document = 'D', torque_unit = 'nm'}\n" NOTE, 1,
         "needs a unit of torque"},
        {"sequence{title = 'T', engine = 'E', document = 'D', invented = 'yes'}\n" NOTE, 1,
         "`invented` of sequence needs true or false, not the text \"yes\""},
        {"sequence{titel = 'T', title = 'T', engine = 'E', document = 'D'}\n" NOTE, 1,
         "sequence has no field `titel`; did you mean `title`?"},
        {"sequence{xyzzy = 1, title = 'T', engine = 'E', document = 'D'}\n" NOTE, 1,
         "it takes: title engine edition"},
        {"sequence{'T', title = 'T', engine = 'E', document = 'D'}\n" NOTE, 1,
         "sequence holds the text \"T\" without a name"},
        {"sequence{[true] = 1, title = 'T', engine = 'E', document = 'D'}\n" NOTE, 1,
         "holds something under true, where only names can stand"},
        {"sequence('T')\n" KIT_HEAD NOTE, 1, "`sequence` takes one table in braces"},
    };
    CHECK(rows);
}

static void test_texts_and_ids(void **state) {
    (void)state;
    static const row rows[] = {
        {KIT_HEAD "note{say = 's'}", 2, "note lacks `id`"},
        {KIT_HEAD "note{id = 'n'}", 2, "note lacks `say`"},
        {KIT_HEAD "note{id = 'n', say = 5}", 2, "needs a text in quotes, not the bare number 5"},
        {KIT_HEAD "note{id = 'n', say = Nm(5)}", 2, "needs a text in quotes, not 5 N·m"},
        {KIT_HEAD "note{id = 'n', say = ''}", 2, "`say` of note is empty"},
        {KIT_HEAD "note{id = 'n', say = '  \\n '}", 2, "`say` of note is empty"},
        {KIT_HEAD "note{id = 'n', say = 'a\\27b'}", 2, "cannot be shown as they are"},
        {KIT_HEAD "note{id = 'n', say = 'a\\xFFb'}", 2, "cannot be shown as they are"},
        {KIT_HEAD "note{id = 'n', say = 'a\\u{202E}b'}", 2, "cannot be shown as they are"},
        {KIT_HEAD "note{id = 'n', say = 'a\\0b'}", 2, "cannot be shown as they are"},
        {KIT_HEAD "note{id = 'n', say = ('x'):rep(601)}", 2, "is 601 bytes long: at most 600"},
        {KIT_HEAD "note{id = 'n', say = ('x'):rep(100000)}", 2, "is 100000 bytes long"},
        {KIT_HEAD "note{id = 'two words', say = 's'}", 2, "may hold letters a to z"},
        {KIT_HEAD "note{id = 'ключ', say = 's'}", 2, "may hold letters a to z"},
        {KIT_HEAD "note{id = ('x'):rep(49), say = 's'}", 2, "is 49 bytes long: at most 48"},
        {KIT_HEAD "note{id = 'n', say = 's', why = {}}", 2, "needs a text in quotes"},
        {KIT_HEAD "note{id = 'n', say = print}", 2, "unknown word `print`"},
        {KIT_HEAD "note{id = 'n', say = pairs}", 2, "needs a text in quotes, not a function"},
        {KIT_HEAD NOTE "note{id = 'n', say = 's'}", 3, "step id \"n\" stands already in line 2"},
        {KIT_HEAD "confirm{id = 'n', say = 's', burys = 'x'}", 2, "did you mean `buries`?"},
    };
    CHECK(rows);
}

static void test_after(void **state) {
    (void)state;
    static const row rows[] = {
        {KIT_HEAD "note{id = 'clean', say = 's'}\nnote{id = 'm', say = 's', after = 'claen'}", 3,
         "`after` names \"claen\", which is no step; did you mean \"clean\"?"},
        {KIT_HEAD "note{id = 'm', say = 's', after = 'somewhere'}", 2,
         "`after` names \"somewhere\", which is no step"},
        {KIT_HEAD "note{id = 'm', say = 's', after = {'n'}}\n" NOTE, 2,
         "which comes later: write it before this step"},
        {KIT_HEAD "note{id = 'm', say = 's', after = 'm'}", 2, "names the step itself"},
        {KIT_HEAD "note{id = 'm', say = 's', after = 7}", 2, "an id in quotes, or a list of ids"},
        {KIT_HEAD "note{id = 'm', say = 's', after = {7}}", 2, "needs a text in quotes"},
        {KIT_HEAD "note{id = 'm', say = 's', after = {x = 'n'}}", 2, "a list of ids in braces"},
    };
    CHECK(rows);
}

#define STEP                                                                                       \
    "tighten{id = 't', say = 's', group = 'g', stages = {torque{Nm(60), within = "                 \
    "percent(5)}}}\n"

static void test_groups(void **state) {
    (void)state;
    static const row rows[] = {
        {KIT_HEAD "group{name = 'g', say = 's', places = labels{'a'}}\n" STEP, 2,
         "group lacks `lubricant`"},
        {KIT_HEAD "group{name = 'g', say = 's', lubricnt = 'oil', lubricant = 'oil', "
                  "places = labels{'a'}}\n" STEP,
         2, "did you mean `lubricant`?"},
        {KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil'}\n" STEP, 2,
         "group lacks `places`"},
        {KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', places = {'a', 'b'}}\n" STEP, 2,
         "needs grid{}, circle{}, places{} or labels{}, not a list in braces"},
        {KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', places = labels{}}\n" STEP, 2,
         "labels holds 0 places"},
        {KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', places = labels{'a', 'b', "
                  "'a'}}\n" STEP,
         2, "label \"a\" stands for places 1 and 3"},
        {KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', places = labels{1, 'b'}}\n" STEP,
         2, "needs a text in quotes, not the bare number 1"},
        {KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', places = labels{'a'}, order = "
                  "'spiral'}\n" STEP,
         2, "order \"spiral\" needs to know where the places are"},
        {KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', places = labels{'a'}, order = "
                  "'zigzag'}\n" STEP,
         2, "is one of \"listed\", \"spiral\", \"crosswise\", \"rows\""},
        {KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', order = 'crosswise', places = "
                  "grid{rows = 2, columns = 5, dx = mm(90), dy = mm(90)}}\n" STEP,
         2, "crosswise needs places on one circle"},
        {KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', order = 'rows', places = "
                  "places{{x = mm(0), y = mm(0)}, {x = mm(0), y = mm(0)}}}\n" STEP,
         2, "at one spot"},
        {KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', thread = 'M11by1', places = "
                  "labels{'a'}}\n" STEP,
         2, "`thread` of group: "},
        {KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', thread = 'M11x1.25', class = "
                  "'7.7', places = labels{'a'}}\n" STEP,
         2, "`class` of group: "},
        {KIT_HEAD KIT_GROUP KIT_GROUP STEP, 3, "group \"g\" stands already in line 2"},
        {KIT_HEAD KIT_GROUP NOTE, 2, "group \"g\" is never tightened"},
        {KIT_HEAD "group{name = 'main', say = 's', lubricant = 'oil', places = labels{'a'}}\n"
                  "for _, g in ipairs{'main', 'mian'} do tighten{id = g, say = 's', group = g, "
                  "stages = {torque{Nm(60), within = percent(5)}}} end",
         3, "there is no group \"mian\"; did you mean \"main\"?"},
        {KIT_HEAD "tighten{id = 't', say = 's', stages = {torque{Nm(60), within = Nm(3)}}}", 2,
         "tighten lacks `group`"},
    };
    CHECK(rows);
}

#define PLACES(places)                                                                             \
    KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', places =\n" places "}\n" STEP

static void test_places(void **state) {
    (void)state;
    static const row rows[] = {
        {PLACES("grid{rows = 0, columns = 2, dx = mm(1), dy = mm(1)}"), 3,
         "`rows` of grid needs a whole number from 1 to 512, not the bare number 0"},
        {PLACES("grid{rows = 2.5, columns = 2, dx = mm(1), dy = mm(1)}"), 3, "a whole number"},
        {PLACES("grid{rows = 1e9, columns = 2, dx = mm(1), dy = mm(1)}"), 3, "a whole number"},
        {PLACES("grid{rows = 0/0, columns = 2, dx = mm(1), dy = mm(1)}"), 3, "a whole number"},
        {PLACES("grid{rows = '2', columns = 2, dx = mm(1), dy = mm(1)}"), 3, "a whole number"},
        {PLACES("grid{rows = 100, columns = 100, dx = mm(1), dy = mm(1)}"), 3,
         "at most 512 places, not 10000"},
        {PLACES("grid{rows = 2, columns = 2, dx = mm(0), dy = mm(1)}"), 3, "must be above zero"},
        {PLACES("grid{rows = 2, columns = 2, dx = 90, dy = mm(1)}"), 3,
         "`dx` of grid needs a length such as mm(0.05), not the bare number 90"},
        {PLACES("grid{rows = 2, columns = 2, dx = mm(1)}"), 3, "grid lacks `dy`"},
        {PLACES("grid{rows = 2, columns = 2, dx = mm(1), dy = mm(1), labels = {'a', 'b'}}"), 3,
         "grid has 4 places and 2 labels"},
        {PLACES("grid{rows = 1, columns = 2, dx = mm(1), labels = {'a', 'a'}}"), 3,
         "label \"a\" stands for places 1 and 2"},
        {PLACES("circle{n = 1, diameter = mm(100)}"), 3, "a whole number from 2 to 512"},
        {PLACES("circle{n = 6, diameter = mm(-1)}"), 3, "must be above zero"},
        {PLACES("circle{n = 6}"), 3, "circle lacks `diameter`"},
        {PLACES("places{{x = mm(0)}}"), 3, "a place lacks `y`"},
        {PLACES("places{5}"), 3, "place 1 needs braces"},
        {PLACES("places{{x = mm(0), y = mm(0), z = mm(0)}}"), 3, "a place has no field `z`"},
        {PLACES("places{{x = mm(0), y = deg(0)}}"), 3, "needs a length such as mm(0.05), not 0°"},
    };
    CHECK(rows);
}

#define STAGE(stage)                                                                               \
    KIT_HEAD KIT_GROUP "tighten{id = 't', say = 's', group = 'g', stages = {\n" stage "\n}}\n"

static void test_torque_stages(void **state) {
    (void)state;
    static const row rows[] = {
        {STAGE("torque{Nm(60)}"), 4, "torque: lacks its limits"},
        {STAGE("torque{60, within = percent(5)}"), 4,
         "`the target` of torque needs a torque such as Nm(60), not the bare number 60"},
        {STAGE("torque{mm(60), within = percent(5)}"), 4,
         "needs a torque such as Nm(60), not 60 mm"},
        {STAGE("torque{within = percent(5)}"), 4, "torque needs one target without a name"},
        {STAGE("torque{Nm(60), Nm(70), within = percent(5)}"), 4, "needs one target"},
        {STAGE("torque{Nm(0), within = percent(5)}"), 4, "the target must be above zero"},
        {STAGE("torque{Nm(-60), within = percent(5)}"), 4, "the target must be above zero"},
        {STAGE("torque{Nm(0/0), within = percent(5)}"), 4, "is not a finite number"},
        {STAGE("torque{Nm(1e300 * 1e300), within = percent(5)}"), 4, "is not a finite number"},
        {STAGE("torque{Nm(1e30), within = percent(5)}"), 4, "is too large to be meant"},
        {STAGE("torque{Nm(200000), within = percent(5)}"), 4, "what a hand can do"},
        {STAGE("torque{Nm(60), low = Nm(63), high = Nm(57)}"), 4,
         "low must be below high (low is 63 N·m, high is 57 N·m)"},
        {STAGE("torque{Nm(60), low = Nm(60), high = Nm(60)}"), 4, "low must be below high"},
        {STAGE("torque{Nm(60), low = Nm(61), high = Nm(65)}"), 4, "outside of its own limits"},
        {STAGE("torque{Nm(60), low = Nm(50), high = Nm(59.9)}"), 4, "outside of its own limits"},
        {STAGE("torque{Nm(60), low = Nm(0), high = Nm(65)}"), 4, "low must be above zero"},
        {STAGE("torque{Nm(60), low = Nm(57)}"), 4, "torque lacks `high`"},
        {STAGE("torque{Nm(60), low = Nm(57), high = Nm(63), within = Nm(3)}"), 4, "not both"},
        {STAGE("torque{Nm(60), low = mm(57), high = Nm(63)}"), 4,
         "`low` of torque needs a torque such as Nm(60), not 57 mm"},
        {STAGE("torque{Nm(60), within = 5}"), 4,
         "needs a torque such as Nm(60), not the bare "
         "number 5"},
        {STAGE("torque{Nm(60), within = deg(5)}"), 4, "needs a torque such as Nm(60), not 5°"},
        {STAGE("torque{Nm(60), within = percent(0)}"), 4, "must be above zero"},
        {STAGE("torque{Nm(60), within = percent(100)}"), 4, "below 100 per cent"},
        {STAGE("torque{Nm(60), within = Nm(60)}"), 4, "low must be above zero"},
        {STAGE("torque{Nm(60), within = percent(5), floor = Nm(3)}"), 4,
         "torque has no field `floor`"},
        {STAGE("torque{Nm(60), within = percent(5), least_turn = deg(-1)}"), 4,
         "must be zero or above"},
        {STAGE("torque{Nm(60), within = percent(5), least_turn = 2}"), 4,
         "needs an angle such as deg(90), not the bare number 2"},
        {STAGE("torque{Nm(60), within = percent(5)},\n torque{Nm(40), within = percent(5)}"), 5,
         "this stage goes down to 40 N·m after 60 N·m"},
        {STAGE("torque{Nm(60), within = percent(5)},\n torque{lbf_ft(30), within = percent(5)}"), 5,
         "goes down to 30 lbf·ft after 60 N·m"},
        {STAGE("torque{Nm(40), within = percent(5)}, angle{deg(90), within = deg(5), floor = "
               "Nm(70)},\n torque{Nm(60), within = percent(5)}"),
         5, "goes down to 60 N·m after 70 N·m"},
        {STAGE("grid{rows = 1, columns = 1}"), 4,
         "`stages` of tighten needs a list in braces of: torque torque_angle angle back_off "
         "yield stretch slot check prevailing rotating creep, not grid{"},
        {STAGE(""), 3, "`stages` of tighten holds 0"},
        {KIT_HEAD KIT_GROUP "tighten{id = 't', say = 's', group = 'g'}", 3,
         "tighten lacks `stages`"},
        {KIT_HEAD KIT_GROUP
         "tighten{id = 't', say = 's', group = 'g', stages = torque{Nm(60), within = Nm(3)}}",
         3, "a list in braces of: torque"},
    };
    CHECK(rows);
}

static void test_angle_stages(void **state) {
    (void)state;
    static const row rows[] = {
        {STAGE("angle{deg(90), within = deg(4)}"), 4, "an angle has no beginning before a torque"},
        {STAGE("torque_angle{deg(90), within = deg(4)}"), 4, "torque_angle lacks `snug`"},
        {STAGE("torque_angle{snug = Nm(0), deg(90), within = deg(4)}"), 4,
         "`snug` of torque_angle must be above zero"},
        {STAGE("torque_angle{snug = deg(40), deg(90), within = deg(4)}"), 4,
         "`snug` of torque_angle needs a torque"},
        {STAGE("torque_angle{snug = Nm(40), Nm(90), within = deg(4)}"), 4,
         "needs an angle such as deg(90), not 90 N·m"},
        {STAGE("torque_angle{snug = Nm(40), deg(90)}"), 4, "lacks its limits"},
        {STAGE("torque_angle{snug = Nm(40), deg(9000), within = deg(4)}"), 4, "what a hand can do"},
        {STAGE("torque_angle{snug = Nm(40), deg(90), within = Nm(4)}"), 4, "needs an angle"},
        {STAGE("torque_angle{snug = Nm(40), deg(90), within = deg(4), floor = Nm(90), ceiling = "
               "Nm(80)}"),
         4, "floor must be below ceiling"},
        {STAGE("torque_angle{snug = Nm(40), deg(90), within = deg(4), ceiling = Nm(30)}"), 4,
         "ceiling must be above snug"},
        {STAGE("torque_angle{snug = Nm(40), deg(90), within = deg(4), floor = 75}"), 4,
         "`floor` of torque_angle needs a torque such as Nm(60), not the bare number 75"},
    };
    CHECK(rows);
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

#define READING(reading) KIT_HEAD "measure{id = 'm', say = 's', readings = {\n" reading "}}\n"
#define FLOAT_READING                                                                              \
    "reading{id = 'f', say = 's', unit = 'mm', decimals = 2, plausible = {mm(0), mm(1)}}"

static void test_readings(void **state) {
    (void)state;
    static const row rows[] = {
        {READING("reading{say = 's', unit = 'mm', decimals = 2, plausible = {mm(0), mm(1)}}"), 3,
         "reading lacks `id`"},
        {READING("reading{id = 'f', say = 's', decimals = 2, plausible = {mm(0), mm(1)}}"), 3,
         "reading lacks `unit`"},
        {READING("reading{id = 'f', say = 's', unit = 'mils', decimals = 2, plausible = {mm(0), "
                 "mm(1)}}"),
         3, "needs a unit in quotes, such as \"mm\""},
        {READING("reading{id = 'f', say = 's', unit = '%', decimals = 2, plausible = {mm(0), "
                 "mm(1)}}"),
         3, "needs a unit in quotes, such as \"mm\""},
        {READING("reading{id = 'f', say = 's', unit = 'mm', plausible = {mm(0), mm(1)}}"), 3,
         "reading lacks `decimals`"},
        {READING("reading{id = 'f', say = 's', unit = 'mm', decimals = 7, plausible = {mm(0), "
                 "mm(1)}}"),
         3, "a whole number from 0 to 6"},
        {READING("reading{id = 'f', say = 's', unit = 'mm', decimals = 2}"), 3,
         "reading lacks `plausible`"},
        {READING("reading{id = 'f', say = 's', unit = 'mm', decimals = 2, plausible = {mm(1), "
                 "mm(0)}}"),
         3, "from the least to the most"},
        {READING("reading{id = 'f', say = 's', unit = 'mm', decimals = 2, plausible = {mm(1)}}"), 3,
         "needs the least and the most that can be"},
        {READING("reading{id = 'f', say = 's', unit = 'mm', decimals = 2, plausible = {0, mm(1)}}"),
         3, "needs a length such as mm(0.05), not the bare number 0"},
        {READING("reading{id = 'f', say = 's', unit = 'mm', decimals = 2, plausible = {Nm(0), "
                 "mm(1)}}"),
         3, "needs a length such as mm(0.05), not 0 N·m"},
        {READING("reading{id = 'f', say = 's', unit = 'mm', decimals = 2, plausible = {mm(0), "
                 "mm(1)}, at = {'a', 'b', 'a'}}"),
         3, "names \"a\" twice"},
        {READING("reading{id = 'f', say = 's', unit = 'mm', decimals = 2, plausible = {mm(0), "
                 "mm(1)}, at = {}}"),
         3, "`at` of reading is an empty list"},
        {READING(FLOAT_READING ",\n" FLOAT_READING), 4, "reading id \"f\" is used twice"},
        {READING(""), 2, "`readings` of measure holds 0"},
        {READING("torque{Nm(1), within = Nm(0.1)}"), 3, "a list in braces of: reading"},
        {KIT_HEAD "measure{id = 'm', say = 's'}", 2, "measure lacks `readings`"},
    };
    CHECK(rows);
}

#define VALUE(value)                                                                               \
    KIT_HEAD "measure{id = 'm', say = 's', readings = {" FLOAT_READING "}, derive = {\n" value     \
             "}}\n"

static void test_derived_values(void **state) {
    (void)state;
    static const row rows[] = {
        {VALUE("value{id = 'v', say = 's', formula = 'mean', of = 'f', decimals = 2}"), 3,
         "value lacks `unit`"},
        {VALUE("value{id = 'v', say = 's', of = 'f', unit = 'mm', decimals = 2}"), 3,
         "value lacks `formula`"},
        {VALUE("value{id = 'v', say = 's', formula = 'meen', of = 'f', unit = 'mm', decimals = 2}"),
         3, "formula \"meen\" is not known; did you mean \"mean\"?"},
        {VALUE("value{id = 'v', say = 's', formula = 'xyzzy', of = 'f', unit = 'mm', decimals = "
               "2}"),
         3, "formula \"xyzzy\" is not known"},
        {VALUE("value{id = 'v', say = 's', formula = 'mean', unit = 'mm', decimals = 2}"), 3,
         "value lacks `of`"},
        {VALUE("value{id = 'v', say = 's', formula = 'mean', of = 'dial', unit = 'mm', decimals = "
               "2}"),
         3, "`of` names \"dial\", which this step does not read"},
        {VALUE("value{id = 'v', say = 's', formula = 'mean', of = {'f', 'f'}, unit = 'mm', "
               "decimals = 2}"),
         3, "formula \"mean\" takes 1: readings; `of` names 2"},
        {VALUE("value{id = 'v', say = 's', formula = 'clearance_least', of = 'f', unit = 'mm', "
               "decimals = 2}"),
         3, "formula \"clearance_least\" takes 2"},
        {VALUE("value{id = 'v', say = 's', formula = 'mean', of = 'f', unit = 'mm', decimals = 2, "
               "low = mm(0.5), high = mm(0.1)}"),
         3, "value: low must be below high"},
        {VALUE("value{id = 'v', say = 's', formula = 'mean', of = 'f', unit = 'mm', decimals = 2, "
               "high = 0.1}"),
         3, "needs a length such as mm(0.05), not the bare number 0.1"},
        {VALUE("value{id = 'v', say = 's', formula = 'mean', of = 'f', unit = 'mm', decimals = 2, "
               "low = mm(1.5)}"),
         3,
         "no plausible readings lie within the limits of this value: they give 0.00 mm to 1.00 "
         "mm"},
        {VALUE("value{id = 'v', say = 's', formula = 'taper', of = 'f', unit = 'mm', decimals = "
               "2}"),
         3, "taper"},
        {VALUE("value{id = 'f', say = 's', formula = 'mean', of = 'f', unit = 'mm', decimals = 2}"),
         3, "value id \"f\" is used twice"},
        {VALUE("value{id = 'v', say = 's', formula = 'mean', of = 'f', unit = 'mm', decimals = "
               "2},\nvalue{id = 'v', say = 's', formula = 'mean', of = 'f', unit = 'mm', decimals "
               "= 2}"),
         4, "value id \"v\" is used twice"},
    };
    CHECK(rows);
}

static void test_lua_mistakes(void **state) {
    (void)state;
    static const row rows[] = {
        {KIT_HEAD NOTE "x = = 1", 3, "unexpected symbol near '='"},
        {KIT_HEAD NOTE "\nlocal t = nil; t.x = 1", 4, "attempt to index a nil value (local 't')"},
        {KIT_HEAD NOTE "error('my own words')", 3, "my own words"},
        {KIT_HEAD NOTE "error({})", 3, "stopped by error(), given a table"},
        {KIT_HEAD NOTE "error(nil)", 3, "stopped by error(), given nothing"},
        {KIT_HEAD NOTE "error(Nm(5))", 3, "stopped by error(), given 5 N·m"},
        {KIT_HEAD NOTE "local function f() error('deep', 2) end\nf()", 4, "deep"},
        {KIT_HEAD NOTE "assert(false, 'was it')", 3, "was it"},
        {KIT_HEAD NOTE "x = Nm(5) + mm(3)", 3, "5 N·m + 3 mm has no meaning"},
        {KIT_HEAD NOTE "x = Nm(5) + 3", 3, "5 N·m + the bare number 3 has no meaning"},
        {KIT_HEAD NOTE "x = Nm(5) < mm(3)", 3, "5 N·m cannot be compared with 3 mm"},
        {KIT_HEAD NOTE "x = Nm(Nm(5))", 3, "a quantity is converted by to(..., \"N.m\")"},
        {KIT_HEAD NOTE "x = Nm('5')", 3, "Nm takes one number, as in Nm(12.5), not the text \"5\""},
        {KIT_HEAD NOTE "x = Nm()", 3, "Nm takes one number"},
        {KIT_HEAD NOTE "x = to(Nm(5), 'mm')", 3, "a torque cannot be given in mm"},
        {KIT_HEAD NOTE "x = to(Nm(5), 'stone')", 3, "`stone` is no unit"},
        {KIT_HEAD NOTE "x = to(5, 'mm')", 3, "to takes a quantity and a unit in quotes"},
        {KIT_HEAD NOTE "group = 5", 3, "`group` is a word of the language and keeps its meaning"},
        {KIT_HEAD NOTE "math.pi = 3", 3, "Lua's own tables cannot be written to"},
        {KIT_HEAD NOTE "x = nn", 3, "unknown word `nn`"},
        {KIT_HEAD NOTE "lbf_fft(5)", 3, "unknown word `lbf_fft`; did you mean `lbf_ft`?"},
        {KIT_HEAD NOTE "x = thread_size{thred = 'M8'}", 3, "did you mean `thread`?"},
        {KIT_HEAD NOTE "for k in pairs{[{}] = 1} do end", 3, "has no fixed order"},
        {KIT_HEAD "note{id = 'n', say = 's', after = {", 2, "unexpected symbol near <eof>"},
    };
    CHECK(rows);
}

/* One slip of the pen is one mistake: what refers to the step under the unknown word stays quiet.
 */
static void test_no_mistakes_by_consequence(void **state) {
    (void)state;
    static const row rows[] = {
        {KIT_HEAD "nte{id = 'n', say = 's'}\nnote{id = 'm', say = 's', after = 'n'}", 2,
         "unknown word `nte`; did you mean `note`?"},
        {KIT_HEAD KIT_GROUP "tightn{id = 't', say = 's', group = 'g', stages = {}}\n" NOTE, 3,
         "did you mean `tighten`?"},
        {KIT_HEAD "gruop{name = 'g'}\n" STEP, 2, "did you mean `group`?"},
        {KIT_HEAD KIT_GROUP "tighten{id = 't', say = 's', group = 'g', stages = {torqe{Nm(60)}}}\n",
         3, "did you mean `torque`?"},
        {KIT_HEAD KIT_GROUP "tighten{id = 't', say = 's', group = 'g', stages = {torque{Nmm(60), "
                            "within = percent(5)}}}\n",
         3, "did you mean `Nm`?"},
        {KIT_HEAD KIT_GROUP "local t = nil\nt.x = 1\n" STEP, 4, "attempt to index a nil value"},
        {KIT_HEAD "local t = unknwn + 1 - 2 * 3 / 4\nlocal s = 'a' .. t .. #t\n"
                  "if t < 5 or t <= 5 or t.x then t.y = t.z() end\n" NOTE,
         2, "unknown word `unknwn`"},
    };
    CHECK(rows);
}

static void test_all_in_one_go_in_order(void **state) {
    (void)state;
    kit_run run = kit_load(KIT_HEAD
                           "note{id = 'a'}\nnote{id = 'b'}\n"
                           "note{id = 'c', say = 's', after = 'd'}\nxyz()\nnote{say = 's'}");
    assert_int_equal(run.loaded.mistake_n, 5);
    for (size_t i = 0; i < 5; i++) {
        assert_int_equal(run.loaded.mistake[i].where.line, (int)i + 2);
    }
    kit_end(&run);
}

static void test_more_than_can_be_kept(void **state) {
    (void)state;
    kit_run run = kit_load(KIT_HEAD "for i = 1, 500 do note{id = 'n' .. i, after = 'x' .. i} end");
    assert_int_equal(run.loaded.mistake_n, BW_MISTAKES_MAX);
    kit_end(&run);
}

static void test_too_much_of_everything(void **state) {
    (void)state;
    static const row rows[] = {
        {KIT_HEAD "for i = 1, 1025 do note{id = 'n' .. i, say = 's'} end", 2,
         "0 groups and 1025 steps are declared: at most 128 and 1024"},
        {KIT_HEAD "for i = 1, 129 do group{name = 'g' .. i} end", 2, "129 groups and 0 steps"},
        {STAGE("table.unpack((function() local t = {} for i = 1, 33 do t[i] = torque{Nm(i), within "
               "= percent(5)} end return t end)())"),
         3, "`stages` of tighten holds 33: 1 to 32 are possible"},
        {READING("table.unpack((function() local t = {} for i = 1, 200 do t[i] = reading{id = 'r' "
                 ".. i, say = 's', unit = 'mm', decimals = 2, plausible = {mm(0), mm(1)}, at = "
                 "{'a', 'b'}} end return t end)())"),
         2, "a step has at most 256 readings, not 400"},
        {KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', places = labels{table.unpack("
                  "(function() local t = {} for i = 1, 600 do t[i] = 'p' .. i end return t end)())"
                  "}}\n" STEP,
         2, "labels holds 600 places: 1 to 512 are possible"},
    };
    CHECK(rows);
}

/* What is written a little otherwise than usual and is right all the same. */
static void test_what_is_no_mistake(void **state) {
    (void)state;
    static const char *const texts[] = {
        KIT_HEAD "note{id = 'n', say = [[Over\n   several\tlines.  ]]}",
        KIT_HEAD "local id = note{id = 'n', say = 's'}\nnote{id = 'm', say = 's', after = id}",
        KIT_HEAD "local g = group{name = 'g', say = 's', lubricant = 'dry', places = labels{'ä'}}\n"
                 "tighten{id = 't', say = 's', group = g, stages = {torque{lbf_ft(44), low = "
                 "Nm(57), high = Nm(63)}}}",
        KIT_HEAD KIT_GROUP KIT_TIGHTEN "tighten{id = 'u', say = 's', group = 'g', stages = {angle{"
                                       "deg(90), within = percent(5)}}}",
        KIT_HEAD KIT_GROUP KIT_TIGHTEN "tighten{id = 'u', say = 's', group = 'g', stages = {torque{"
                                       "Nm(40), within = percent(5)}}}",
        KIT_HEAD "note{id = 'n', say = 'Jørgen’s 3/8″ — «ключ» 缸'}",
        KIT_HEAD "if missing == nil then end" /* a name that was never set is told */,
    };
    for (size_t i = 0; i + 1 < sizeof texts / sizeof texts[0]; i++) {
        kit_run run = kit_load(texts[i]);
        kit_assert_plan(&run);
        kit_assert_sound(run.loaded.plan);
        kit_end(&run);
    }
    kit_run run = kit_load(texts[sizeof texts / sizeof texts[0] - 1]);
    kit_assert_has(&run, 2, "unknown word `missing`");
    kit_end(&run);
    run = kit_load(texts[0]);
    assert_string_equal(run.loaded.plan->step[0].say, "Over several lines.");
    kit_end(&run);
}

static void test_least_turn(void **state) {
    (void)state;
    kit_run run = kit_load(STAGE("torque{Nm(30), within = percent(5)}, "
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

static void assert_limit(bw_quantity got, double value, bw_unit unit, int decimals) {
    assert_true(got.value == value);
    assert_int_equal(got.unit, unit);
    assert_int_equal(got.decimals, decimals);
}

static void test_figures_as_written(void **state) {
    (void)state;
    kit_run run = kit_load(
        STAGE("torque{lbf_ft(22.5), low = Nm(29), high = Nm(32.25)}, "
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
    cmocka_unit_test(test_sequence_word),
    cmocka_unit_test(test_texts_and_ids),
    cmocka_unit_test(test_after),
    cmocka_unit_test(test_groups),
    cmocka_unit_test(test_places),
    cmocka_unit_test(test_torque_stages),
    cmocka_unit_test(test_angle_stages),
    cmocka_unit_test(test_proof),
    cmocka_unit_test(test_readings),
    cmocka_unit_test(test_derived_values),
    cmocka_unit_test(test_lua_mistakes),
    cmocka_unit_test(test_no_mistakes_by_consequence),
    cmocka_unit_test(test_all_in_one_go_in_order),
    cmocka_unit_test(test_more_than_can_be_kept),
    cmocka_unit_test(test_too_much_of_everything),
    cmocka_unit_test(test_what_is_no_mistake),
    cmocka_unit_test(test_least_turn),
    cmocka_unit_test(test_figures_as_written),
};

KIT_MAIN(tests)
