/* line_test.c - the driver for lines of text: plugins/line/.
 *
 * Captures
 * were made up; what must come of them was computed apart, in exact decimal arithmetic, from the
 * definitions named in plugins/line/README.md. */
#include "cmocka_all.h"
#include "scene.h"

#include <string.h>

static const char captures[] = BW_SOURCE_DIR "/plugins/line/captures";

/* A feed with a driver that has been set and told how the port was opened. */
static bw_feed *set_stage(const char *settings, bool from_the_middle, test_log *log) {
    bw_feed *feed = scene_feed(bw_driver_entry(), NULL, settings);
    bw_feed_out out = test_feed_out(log);
    assert_int_equal(bw_feed_event(feed, BW_DEVICE_OPENED, &out, NULL), BW_OK);
    if (!from_the_middle) {
        assert_int_equal(bw_feed_event(feed, BW_DEVICE_SILENT, &out, NULL), BW_OK);
    }
    return feed;
}

/* ---- captures ---- */

static void read_as_expected(void *ctx, const scene *s) {
    (void)ctx;
    scene_assert_expected(s, bw_driver_entry(), NULL);
}

static void captures_read_as_expected_in_every_division(void **state) {
    (void)state;
    scene_each(captures, read_as_expected, NULL);
}

static void damage_it(void *ctx, const scene *s) {
    (void)ctx;
    if (strcmp(s->name, "noise") != 0) { /* which is all damage */
        scene_each_damage(s, bw_driver_entry(), NULL, scene_assert_only_here);
    }
}

static void damage_stays_in_its_line(void **state) {
    (void)state;
    scene_each(captures, damage_it, NULL);
}

/* ---- single lines ---- */

static void assert_reads(const char *settings, const char *line, size_t len, const char *want) {
    test_log log = test_log_new();
    bw_feed *feed = set_stage(settings, false, &log);
    bw_feed_out out = test_feed_out(&log);
    assert_int_equal(bw_feed_bytes(feed, (const uint8_t *)line, len, &out, NULL), BW_OK);
    assert_int_equal(bw_feed_bytes(feed, (const uint8_t *)"\n", 1, &out, NULL), BW_OK);
    if (want == NULL) {
        assert_int_equal(log.readings, 0);
        assert_memory_equal(log.text, "unknown ", 8);
        assert_int_equal(scene_lines(log.text), 1);
    } else {
        assert_string_equal(log.text, want);
    }
    bw_feed_free(feed);
    test_log_free(&log);
}

typedef struct row {
    const char *settings;
    const char *line;
    const char *want; /* NULL: not understood */
} row;

static void assert_rows(const row *rows, size_t n) {
    for (size_t i = 0; i < n; i++) {
        assert_reads(rows[i].settings, rows[i].line, strlen(rows[i].line), rows[i].want);
    }
}

#define ONE               "sample torque_Nm=1.000000\n"
#define ASSERT_ROWS(rows) assert_rows(rows, sizeof(rows) / sizeof((rows)[0]))

static void numbers_are_read_strictly(void **state) {
    (void)state;
    static const row rows[] = {
        {"", "1 Nm", ONE},
        {"", "+0001.0 N.m", ONE},
        {"", "1,000Nm", ONE}, /* the comma is a decimal mark, always */
        {"", "-0.0 Nm", "sample torque_Nm=0.000000\n"},
        {"", "+.5 Nm", "sample torque_Nm=0.500000\n"},
        {"", "-  .5 Nm", "sample torque_Nm=-0.500000\n"},
        {"", "000000000001 Nm", ONE},
        {"", "0000000000001 Nm", NULL}, /* 13 digits */
        {"", "1. Nm", NULL},
        {"", ". Nm", NULL},
        {"", "- Nm", NULL},
        {"", "+-1 Nm", NULL},
        {"", "1.0.0 Nm", NULL},
        {"", "1,000.0 Nm", NULL},
        {"", "1 000 Nm", NULL},
        {"", "1e0 Nm", NULL},
        {"", "1e99 Nm", NULL},
        {"", "0x1 Nm", NULL},
        {"", "nan Nm", NULL},
        {"", "inf Nm", NULL},
        {"", "\xef\xbc\x91 Nm", NULL}, /* a full-width 1 */
        {"",
         "\xe2\x88\x92"
         "1 Nm",
         NULL}, /* a minus sign that is no hyphen */
        {"", "1 Nm x", NULL},
        {"", "x 1 Nm", NULL},
        {"", "1 Nm 2 Nm", NULL},
        {"", "1 Nm\x0b", NULL},
        {"", " \t1 Nm \t", ONE},
    };
    ASSERT_ROWS(rows);
    char digits[160];
    memset(digits, '1', sizeof digits);
    memcpy(digits + sizeof digits - 3, " Nm", 3);
    assert_reads("", digits, sizeof digits, NULL);
    assert_reads("", "1\0 Nm", 5, NULL);
    assert_reads("", "1 Nm\0", 5, NULL);
    assert_reads("",
                 "\0"
                 "1 Nm",
                 5, NULL);
}

static void units_are_known_by_many_spellings(void **state) {
    (void)state;
    static const row rows[] = {
        {"", "1 Nm", ONE},
        {"", "1Nm", ONE},
        {"", "1 N.m", ONE},
        {"", "1 N-m", ONE},
        {"", "1 N*m", ONE},
        {"", "1 N m", ONE},
        {"", "1 N\xc2\xb7m", ONE},
        {"", "1 N\xb7m", ONE},
        {"", "1 NM", ONE},
        {"", "10 dNm", ONE},
        {"", "100 cN.m", ONE},
        {"", "1000 mN.m", ONE},
        {"", "0.001 kN.m", ONE},
        {"", "1 lbf.ft", "sample torque_Nm=1.355818\n"},
        {"", "1 lbf-ft", "sample torque_Nm=1.355818\n"},
        {"", "1 ft.lb", "sample torque_Nm=1.355818\n"},
        {"", "1 ft-lbs", "sample torque_Nm=1.355818\n"},
        {"", "1 FT-LB", "sample torque_Nm=1.355818\n"},
        {"", "1 ft lbf", "sample torque_Nm=1.355818\n"},
        {"", "100000 lbf.in", "sample torque_Nm=11298.482903\n"},
        {"", "100000 in-lb", "sample torque_Nm=11298.482903\n"},
        {"", "100000 INLBS", "sample torque_Nm=11298.482903\n"},
        {"", "100000 ozf.in", "sample torque_Nm=706.155181\n"},
        {"", "1 kgf.m", "sample torque_Nm=9.806650\n"},
        {"", "1 kg-m", "sample torque_Nm=9.806650\n"},
        {"", "1 kgf.cm", "sample torque_Nm=0.098067\n"},
        {"", "1 KGF-CM", "sample torque_Nm=0.098067\n"},
        {"", "1 MNM", NULL}, /* milli or mega */
        {"", "1 MN.m", NULL},
        {"", "1 nm", NULL},
        {"", "1 N..m", NULL},
        {"", "1 N/m", NULL},
        {"", "1 Nmm", NULL},
        {"", "1 ft/lb", NULL},
        {"", "1 ft", NULL},
        {"", "1 Lbf.Ft", NULL},
        {"", "1 N", NULL},
        {"", "1", NULL},
        {"unit=N.m", "1", ONE},
        {"unit=N.m", "1 Nm", ONE},
        {"unit=N.m", "1 lbf.ft", NULL},
        {"unit=lbf-ft", "1", "sample torque_Nm=1.355818\n"},
        {"unit=lbf-ft", "1 ft.lb", "sample torque_Nm=1.355818\n"},
        {"unit=lbf-ft", "1 Nmx", NULL},
        {"unit=lbf-ft", "1x", NULL},
    };
    ASSERT_ROWS(rows);
}

static void angle_and_time_follow_in_order(void **state) {
    (void)state;
    static const row rows[] = {
        {"", "1 Nm 2 deg", "sample torque_Nm=1.000000 angle_deg=2.000000\n"},
        {"", "1 Nm -2.5deg", "sample torque_Nm=1.000000 angle_deg=-2.500000\n"},
        {"", "1 Nm 2 DEG", "sample torque_Nm=1.000000 angle_deg=2.000000\n"},
        {"", "1 Nm 2\xc2\xb0", "sample torque_Nm=1.000000 angle_deg=2.000000\n"},
        {"", "1 Nm 2 \xb0 @3", "sample torque_Nm=1.000000 angle_deg=2.000000 time_s=3.000000\n"},
        {"", "1Nm@3,5", "sample torque_Nm=1.000000 time_s=3.500000\n"},
        {"", "1 Nm @ 3", NULL},
        {"", "1 Nm @-3", NULL},
        {"", "1 Nm @3s", NULL},
        {"", "1 Nm @3 2 deg", NULL},
        {"", "1 Nm 2 degrees", NULL},
        {"", "1 Nm 2 deg 3 deg", NULL},
        {"", "1 Nm 2", NULL},
        {"angle=no", "1 Nm 2", NULL},
        {"angle=yes", "1 Nm 2", "sample torque_Nm=1.000000 angle_deg=2.000000\n"},
        {"angle=yes", "1 Nm", ONE},
        {"angle=yes", "1 Nm 2 3", NULL},
        {"angle=yes,unit=N.m", "1 2", "sample torque_Nm=1.000000 angle_deg=2.000000\n"},
        {"angle=yes,unit=N.m", "1+2", NULL},
        {"", "PEAK 60.2 N.m 45 deg", "result torque_Nm=60.200000 angle_deg=45.000000\n"},
        {"", "PEAK 60.2N.m@9", "result torque_Nm=60.200000 time_s=9.000000\n"},
        {"", "Peak 60.2 N.m", NULL},
        {"", "PEAK", NULL},
        {"", "PEAKS 1 Nm", NULL},
        {"", "PEAK PEAK 1 Nm", NULL},
        {"sign=normal", "-1 Nm", "sample torque_Nm=-1.000000\n"},
        {"sign=reversed", "-1 Nm -2 deg", "sample torque_Nm=1.000000 angle_deg=2.000000\n"},
        {"sign=reversed", "0 Nm 0 deg", "sample torque_Nm=0.000000 angle_deg=0.000000\n"},
    };
    ASSERT_ROWS(rows);
}

static void other_habits_are_set(void **state) {
    (void)state;
    static const row rows[] = {
        {"lines=results", "1 Nm", "result torque_Nm=1.000000\n"},
        {"lines=samples", "1 Nm", ONE},
        {"skip=#", "# 1 Nm", ""},
        {"skip=#", "1 Nm #", NULL},
        {"thousands=point", "1.234,5 Nm", "sample torque_Nm=1234.500000\n"},
        {"thousands=point", "-1.234 Nm", "sample torque_Nm=-1234.000000\n"},
        {"thousands=point", "1234,5 Nm", "sample torque_Nm=1234.500000\n"},
        {"thousands=point", "0,5 Nm", "sample torque_Nm=0.500000\n"},
        {"thousands=point", "12.34 Nm", NULL},
        {"thousands=point", "1.2345 Nm", NULL},
        {"thousands=point", "1234.567 Nm", NULL},
        {"thousands=point", "1.234.5 Nm", NULL},
        {"thousands=comma", "1,234,567.5 mN.m", "sample torque_Nm=1234.567500\n"},
        {"thousands=comma", "1.5 Nm", "sample torque_Nm=1.500000\n"},
        {"thousands=blank,angle=yes", "1 234.5 Nm 90",
         "sample torque_Nm=1234.500000 "
         "angle_deg=90.000000\n"},
        {"thousands=blank", "1 23 Nm", NULL},
    };
    ASSERT_ROWS(rows);
}

static void a_format_describes_the_line(void **state) {
    (void)state;
#define FORMAT "format=ST{comma}{any}{comma}{torque}{comma}{unit}"
    static const row rows[] = {
        {FORMAT, "ST,GS,+0012.5,Nm", "sample torque_Nm=12.500000\n"},
        {FORMAT, "ST,,  1.0,ft-lb", "sample torque_Nm=1.355818\n"},
        {FORMAT, "US,GS,+0012.5,Nm", NULL},
        {FORMAT, "ST,GS,+0012.5,stone", NULL},
        {FORMAT, "ST,GS,+0012.5", NULL},
        {FORMAT, "ST,GS,+0012.5,Nm x", NULL},
        {FORMAT ",unit=N.m", "ST,GS,+0012.5,ft-lb", NULL},
        {"format=T={torque} A={angle} t={time},unit=N.m", "T=-1.5   A=90.0 t=12.25",
         "sample torque_Nm=-1.500000 angle_deg=90.000000 time_s=12.250000\n"},
        {"format=T={torque} A={angle}", "T=1.5 A=90.0", NULL}, /* no unit anywhere */
        {"format={unit}:{torque};{any}", "N.m:5;whatever, 7", "sample torque_Nm=5.000000\n"},
        {"format={unit};{torque};{any}", "N.m;5;whatever, 7", "sample torque_Nm=5.000000\n"},
        {"format={angle} {torque} {unit},sign=reversed", "-5 -7 Nm",
         "sample torque_Nm=7.000000 angle_deg=5.000000\n"},
        {"format=PEAK {torque} {unit},lines=results", "PEAK   60 Nm",
         "result torque_Nm=60.000000\n"},
    };
    ASSERT_ROWS(rows);
}

static void a_line_has_at_most_200_bytes(void **state) {
    (void)state;
    char line[256];
    memset(line, ' ', sizeof line);
    memcpy(line, "1 Nm", 4);
    assert_reads("", line, 199, ONE); /* and its end */
    assert_reads("", line, 200, NULL);
    memset(line, ' ', sizeof line); /* its tail alone would read well */
    memcpy(line, "112 Nm", 6);
    assert_reads("", line, 202, NULL);
    memcpy(line + sizeof line - 4, "1 Nm", 4);
    assert_reads("", line, sizeof line, NULL);
}

static void what_was_cut_off_is_passed_over(void **state) {
    (void)state;
    test_log log = test_log_new();
    bw_feed_out out = test_feed_out(&log);
    bw_feed *feed = set_stage("", true, &log); /* the first line may be a tail */
    assert_int_equal(bw_feed_bytes(feed, (const uint8_t *)"2 Nm\r1 Nm\r3 N", 13, &out, NULL),
                     BW_OK);
    assert_string_equal(log.text, ONE);
    test_log_clear(&log); /* half a line, then silence */
    assert_int_equal(bw_feed_event(feed, BW_DEVICE_SILENT, &out, NULL), BW_OK);
    assert_int_equal(bw_feed_bytes(feed, (const uint8_t *)"2 Nm\n1 Nm\n4", 11, &out, NULL), BW_OK);
    assert_string_equal(log.text, "unknown 2 Nm\n" ONE);
    test_log_clear(&log); /* half a line, unplugged, plugged in, the other half */
    assert_int_equal(bw_feed_event(feed, BW_DEVICE_LOST, &out, NULL), BW_OK);
    assert_int_equal(bw_feed_event(feed, BW_DEVICE_OPENED, &out, NULL), BW_OK);
    assert_int_equal(bw_feed_bytes(feed, (const uint8_t *)"5 Nm\n1 Nm\n", 10, &out, NULL), BW_OK);
    assert_string_equal(log.text, ONE);
    assert_int_equal(bw_feed_dropped(feed), 4);
    bw_feed_free(feed);
    test_log_free(&log);
}

static void settings_are_checked(void **state) {
    (void)state;
    static const struct {
        const char *key;
        const char *value;
        const char *says;
    } rows[] = {{"unit", "stone", "unit=stone: unit is N.m,"},
                {"unit", "Nm ", "unit=Nm : unit is N.m,"},
                {"unit", "", "unit=: unit is N.m,"},
                {"angle", "maybe", "angle=maybe: angle is yes "},
                {"sign", "left", "sign=left: sign is normal or reversed"},
                {"speed", "9600", "speed=9600: the line driver has the settings unit, angle"},
                {"lines", "many", "lines=many: lines is samples or results"},
                {"thousands", "dot", "thousands=dot: thousands is none, point"},
                {"format", "{unit}", "format={unit}: format is up to 127"},
                {"format", "{torque}{x}", "format={torque}{x}: format has {torque}"},
                {"skip", "0123456789012345", "skip=0123456789012345: skip is up to 15"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_feed *feed = NULL;
        bw_err err = {.code = BW_OK};
        assert_int_equal(bw_feed_new(bw_driver_entry(), &feed, NULL), BW_OK);
        assert_int_equal(bw_feed_set(feed, rows[i].key, rows[i].value, &err), BW_E_DATA);
        assert_memory_equal(err.text, rows[i].says, strlen(rows[i].says));
        bw_feed_free(feed);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(captures_read_as_expected_in_every_division),
        cmocka_unit_test(damage_stays_in_its_line),
        cmocka_unit_test(numbers_are_read_strictly),
        cmocka_unit_test(units_are_known_by_many_spellings),
        cmocka_unit_test(angle_and_time_follow_in_order),
        cmocka_unit_test(other_habits_are_set),
        cmocka_unit_test(a_format_describes_the_line),
        cmocka_unit_test(a_line_has_at_most_200_bytes),
        cmocka_unit_test(what_was_cut_off_is_passed_over),
        cmocka_unit_test(settings_are_checked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
