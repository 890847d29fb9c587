/* test_mistakes.c - one sequence for each mistake that an author can make: exactly that one is
 * found, on its own line, with what would be right. */
#include "kit.h"

#include "sequence/wire.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cmocka_all.h"

#define NOTE "note{id = 'n', say = 's'}\n"

static void test_sequence_word(void **state) {
    (void)state;
    static const kit_row rows[] = {
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
    KIT_CHECK(rows);
}

static void test_texts_and_ids(void **state) {
    (void)state;
    static const kit_row rows[] = {
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
    KIT_CHECK(rows);
}

static void test_after(void **state) {
    (void)state;
    static const kit_row rows[] = {
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
    KIT_CHECK(rows);
}

#define STEP                                                                                       \
    "tighten{id = 't', say = 's', group = 'g', stages = {torque{Nm(60), within = "                 \
    "percent(5)}}}\n"

static void test_groups(void **state) {
    (void)state;
    static const kit_row rows[] = {
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
    KIT_CHECK(rows);
}

#define PLACES(places)                                                                             \
    KIT_HEAD "group{name = 'g', say = 's', lubricant = 'oil', places =\n" places "}\n" STEP

static void test_places(void **state) {
    (void)state;
    static const kit_row rows[] = {
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
    KIT_CHECK(rows);
}

#define READING(reading) KIT_HEAD "measure{id = 'm', say = 's', readings = {\n" reading "}}\n"
#define FLOAT_READING                                                                              \
    "reading{id = 'f', say = 's', unit = 'mm', decimals = 2, plausible = {mm(0), mm(1)}}"

static void test_readings(void **state) {
    (void)state;
    static const kit_row rows[] = {
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
    KIT_CHECK(rows);
}

#define VALUE(value)                                                                               \
    KIT_HEAD "measure{id = 'm', say = 's', readings = {" FLOAT_READING "}, derive = {\n" value     \
             "}}\n"

static void test_derived_values(void **state) {
    (void)state;
    static const kit_row rows[] = {
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
    KIT_CHECK(rows);
}

static void test_lua_mistakes(void **state) {
    (void)state;
    static const kit_row rows[] = {
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
    KIT_CHECK(rows);
}

/* One slip of the pen is one mistake: what refers to the step under the unknown word stays quiet.
 */
static void test_no_mistakes_by_consequence(void **state) {
    (void)state;
    static const kit_row rows[] = {
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
        /* a name of a group, of a field, an id that is missing */
        {KIT_HEAD "group{name = 'main', say = 's', lubricant = 'oil', places = labels{'a'}}\n"
                  "tighten{id = 't', say = 's', group = 'mian', stages = {torque{Nm(60), within = "
                  "percent(5)}}}\n",
         3, "there is no group \"mian\"; did you mean \"main\"?"},
        {KIT_HEAD KIT_GROUP "tighten{id = 't', say = 's', group = 'head', stages = {torque{Nm(60), "
                            "within = percent(5)}}}\n",
         3, "there is no group \"head\""},
        {KIT_HEAD "group{name = 5, say = 's', lubricant = 'oil', places = labels{'a'}}\n" STEP, 2,
         "`name` of group needs a text in quotes"},
        {KIT_HEAD "group{nmae = 'g', say = 's', lubricant = 'oil', places = labels{'a'}}\n" STEP, 2,
         "group has no field `nmae`; did you mean `name`?"},
        {KIT_HEAD "group{name = 'g', say = 's', lubricent = 'oil', places = labels{'a'}}\n" STEP, 2,
         "group has no field `lubricent`; did you mean `lubricant`?"},
        {KIT_HEAD KIT_GROUP "tighten{id = 't', say = 's', gruop = 'g', stages = {torque{Nm(60), "
                            "within = percent(5)}}}\n",
         3, "did you mean `group`?"},
        {KIT_HEAD "note{di = 'n', say = 's'}\nnote{id = 'm', say = 's', after = 'n'}", 2,
         "note has no field `di`; did you mean `id`?"},
    };
    KIT_CHECK(rows);
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

/* Nobody sees the difference between one blank and another. */
static void test_blanks(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_HEAD "note{id = 'n', say = '\u00a0\u2800\u3000'}", 2, "`say` of note is empty"},
        {KIT_HEAD "note{id = 'n', say = '\u3164'}", 2, "holds characters that cannot be shown"},
        {KIT_HEAD "note{id = 'n', say = 'a\ufffe'}", 2, "holds characters that cannot be shown"},
        {KIT_HEAD
         "group{name = 'g', say = 's', lubricant = 'oil', places = labels{'a b', 'a\u00a0b'}}"
         "\n" KIT_TIGHTEN,
         2, "label \"a b\" stands for places 1 and 2"},
        {KIT_HEAD "note{id = '-n', say = 's'}", 2, "and begins with a letter or digit"},
        {KIT_HEAD "note{id = '..', say = 's'}", 2, "and begins with a letter or digit"},
    };
    KIT_CHECK(rows);
    kit_run run = kit_load(KIT_HEAD "note{id = 'n', say = '10\u00a0°C\u2009– à peu près'}");
    kit_assert_plan(&run);
    assert_string_equal(run.loaded.plan->step[0].say, "10 °C – à peu près");
    kit_end(&run);
}

static void test_more_than_can_be_kept(void **state) {
    (void)state;
    static const struct {
        const char *text;
        size_t n;
        int line; /* of what says that there are more; 0: nothing does */
        const char *part;
    } rows[] = {
        {KIT_HEAD "for i = 1, 200 do note{id = 'n' .. i, say = 's', after = 'x' .. i} end", 200, 0,
         NULL},
        /* the same once more is no other mistake */
        {KIT_HEAD "for i = 1, 200 do note{id = 'n' .. i, say = 's', after = {'x' .. i, 'x' .. i}} "
                  "end",
         200, 0, NULL},
        {KIT_HEAD "for i = 1, 200 do note{id = 'n' .. i, say = 's', after = 'x' .. i} end\n"
                  "note{id = 'm', say = 's', after = 'y'}",
         201, 3, "there are more mistakes, from here on, than are told: mend these first"},
        {KIT_HEAD "note{id = 'm'}\nfor i = 1, 500 do note{id = 'n' .. i, after = 'x' .. i} end\n"
                  "note{}",
         201, 3, "there are more mistakes, from here on, than are told"},
        {KIT_HEAD "for i = 1, 5000 do group{name = 'g', say = 's'} note{id = 'n' .. i} end", 1, 2,
         "0 bans are declared"},
        {KIT_HEAD "for i = 1, 300 do note{id = 'n' .. i, say = 's', "
                  "after = {'a', 'a', 'a', 'a', 'a', 'a', 'a', 'a', 'a', 'a', 'a', 'a', 'a', 'a', "
                  "'a', 'a', 'a', 'a', 'a', 'a'}} end",
         2, 2, "mistakes come so often that from here on they are not looked at"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        kit_run run = kit_load(rows[i].text);
        size_t n = run.loaded.mistake_n;
        const bw_mistake *last = &run.loaded.mistake[n - 1];
        assert_int_equal(n, rows[i].n);
        assert_true(rows[i].line == 0 ? strstr(last->text, "mend these first") == NULL
                                      : last->where.line == rows[i].line &&
                                            strstr(last->text, rows[i].part) != NULL);
        kit_end(&run);
    }
}

static void test_too_much_of_everything(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_HEAD
         "group{name = 'g', say = 's', lubricant = 'oil', places = circle{n = 512, diameter = "
         "mm(900)}}\nlocal l = {} for i = 1, 32 do l[i] = torque{Nm(60), within = "
         "percent(5), again = i > 1} end\n"
         "for i = 1, 4 do tighten{id = 't' .. i, say = 's', group = 'g', after = i > 1 and "
         "'t' .. (i - 1) or nil, stages = l} end\n"
         "tighten{id = 'u', say = 's', group = 'g', after = 't4', stages = l}\n"
         "tighten{id = 'v', say = 's', group = 'g', after = 'u', stages = l}\n",
         5,
         "with this step the sequence asks for 81920 pulls, one for each place and stage: at most "
         "65536"},
        {KIT_HEAD
         "local l = {} for i = 1, 128 do l[i] = 'p' .. i end\n"
         "for i = 1, 511 do fit{id = 'f' .. i, say = 's', part = 'p', to = l} end\n"
         "measure{id = 'm', say = 's', readings = {reading{id = 'r', say = 's', unit = 'mm', "
         "decimals = 2, at = l, repeats = 2, plausible = {mm(0), mm(1)}}}}\n",
         4, "with this step the sequence asks for 65664 readings and parts: at most 65536"},
        {KIT_HEAD "for i = 1, 1025 do note{id = 'n' .. i, say = 's'} end", 2,
         "0 groups, 1025 steps and 0 bans are declared: at most 128, 1024 and 32"},
        {KIT_HEAD "for i = 1, 129 do group{name = 'g' .. i} end", 2,
         "129 groups, 0 steps and 0 bans"},
        {KIT_STAGE(
             "table.unpack((function() local t = {} for i = 1, 33 do t[i] = torque{Nm(i), within "
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
    KIT_CHECK(rows);
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
        KIT_HEAD KIT_GROUP KIT_TIGHTEN
        "tighten{id = 'u', say = 's', after = 't', group = 'g', stages = {angle{"
        "deg(90), within = percent(5)}}}",
        KIT_HEAD KIT_GROUP KIT_TIGHTEN
        "tighten{id = 'u', say = 's', after = 't', group = 'g', stages = {torque{"
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

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_sequence_word),
    cmocka_unit_test(test_texts_and_ids),
    cmocka_unit_test(test_after),
    cmocka_unit_test(test_groups),
    cmocka_unit_test(test_places),
    cmocka_unit_test(test_readings),
    cmocka_unit_test(test_derived_values),
    cmocka_unit_test(test_lua_mistakes),
    cmocka_unit_test(test_no_mistakes_by_consequence),
    cmocka_unit_test(test_all_in_one_go_in_order),
    cmocka_unit_test(test_blanks),
    cmocka_unit_test(test_more_than_can_be_kept),
    cmocka_unit_test(test_too_much_of_everything),
    cmocka_unit_test(test_what_is_no_mistake),
};

KIT_MAIN(tests)
