/* measure_test.c - readings and what is computed from them; one story a test. */
#include "cmocka_all.h"

#include "bench.h"

#include <math.h>
#include <string.h>

/* ---- readings and values ---- */

static void test_readings_in_their_order(void **state) {
    (void)state;
    static const struct {
        const char *set, *at, *typed;
    } rows[] = {{"bore", "front", "50.050"},
                {"bore", "rear", "50.051"},
                {"journal", "front", "50,001"},
                {"journal", "rear", "1.96854 in"}};
    bench b;
    bench_at(&b, BEARINGS);
    for (size_t i = 0; i < 4; i++) {
        bw_prompt p = bench_prompt(&b);
        assert_string_equal(p.set->id, rows[i].set);
        assert_string_equal(p.set->at[p.at], rows[i].at);
        assert_int_equal(p.reading_number, i + 1);
        assert_int_equal(p.reading_n, 4);
        bench_type(&b, rows[i].typed);
        const bw_entry *e = &b.entry[b.entry_n - b.actions->entry_n];
        bench_has_text(e, BW_M_SET, rows[i].set);
        bench_has_text(e, BW_M_AT, rows[i].at);
        bench_has_text(e, BW_M_TYPED, rows[i].typed);
        bench_has_text(e, BW_M_GAUGE, "bore gauge");
        bench_has_text(e, BW_M_UNIT, i < 3 ? "mm" : "in");
    }
    bench_recorded(&b, "reading derived derived derived");
    const bw_entry *clearance = bench_last(&b, 2);
    bench_has_text(clearance, BW_M_DERIVED, "clearance");
    bench_has_text(clearance, BW_M_FORMULA, "oil_clearance_least");
    bench_has_text(clearance, BW_M_VERDICT, "pass");
    assert_true(fabs(bw_entry_number(clearance, BW_M_VALUE, 0) - 0.049) < 1e-6);
    assert_true(bw_entry_number(clearance, BW_M_LOW, 0) == 0.03);
    assert_int_equal(bench_last(&b, 0)->value[BW_M_LOW].type, BW_VALUE_NONE);
    assert_int_equal(b.actions->tone, BW_TONE_GOOD);
    bench_told(&b, "oil clearance 0.049 mm: good (limits 0.030 mm to 0.080 mm).");
    bench_told(&b, "taper of the journal 0.000 mm: good (at most 0.010 mm).");
    bench_at_step(&b, CAPS);
    bench_close(&b);
}

/* A slip of the decimal point is caught on entry, and noted. */
static void test_implausible_reading(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    bench_type(&b, "5.005");
    bench_recorded(&b, "note");
    bench_told(&b, "5.005 mm can't be a bore of the shells");
    bench_told(&b, "between 50.000 mm and 51.000 mm");
    bench_has_text(bench_last(&b, 0), BW_M_TEXT, bench_said(&b));
    assert_int_equal(bench_prompt(&b).reading_number, 1);
    static const char *const edges[] = {"50", "51"};
    for (size_t i = 0; i < 2; i++) {
        bench_type(&b, edges[i]);
        bench_recorded(&b, "reading");
    }
    bench_close(&b);
}

static void test_what_is_no_reading(void **state) {
    (void)state;
    static const char *const lines[] = {"",    "fifty", "50.05 Nm",    "50.05.1", "nan",
                                        "inf", "1e2",   "50.05 mm mm", "0x32"};
    bench b;
    bench_at(&b, BEARINGS);
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        bench_type(&b, lines[i]);
        bench_recorded(&b, "");
        assert_true(strlen(bench_said(&b)) > 10);
        assert_int_equal(bench_prompt(&b).reading_number, 1);
    }
    bench_close(&b);
}

static void test_back(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    bench_type(&b, "50.050");
    bench_type(&b, "50.500"); /* a slip within the plausible */
    uint64_t slip = bench_last(&b, 0)->number;
    bench_type(&b, "back read upside down");
    bench_recorded(&b, "correction");
    assert_int_equal(bw_entry_whole(bench_last(&b, 0), BW_M_CORRECTS, 0), slip);
    bench_has_text(bench_last(&b, 0), BW_M_REASON, "read upside down");
    assert_int_equal(bench_prompt(&b).reading_number, 2);
    bw_tally tally;
    bw_session_tally(b.session, &tally);
    assert_int_equal(tally.measurements, 1);
    bench_type(&b, "50.050");
    bench_work(&b, CAPS);
    bw_session_tally(b.session, &tally);
    assert_int_equal(tally.measurements, 4);
    bench_close(&b);
}

/* A thing confirmed by mistake: both confirmations stay, with the correction between them. */
static void test_back_to_confirmation(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    size_t step = bench_prompt(&b).step_number;
    assert_true(bench_prompt(&b).may_go_back);
    bench_type(&b, "back");
    bench_recorded(&b, "correction");
    bench_told(&b, "confirmation is taken back");
    bench_has_text(bench_last(&b, 0), BW_M_REASON, "confirmed by mistake");
    assert_int_equal(bench_state(&b), BW_STATE_CONFIRM);
    assert_true(bench_prompt(&b).step_number < step);
    assert_false(bench_prompt(&b).may_go_back);
    assert_null(bench_difference(b.session, bench_fold(&b, b.entry_n)));
    bench_type(&b, "back");
    bench_recorded(&b, "");
    bench_told(&b, "no reading to go back to, and no confirmation");
    bench_type(&b, "yes");
    bench_recorded(&b, "confirmed");
    assert_int_equal(bench_prompt(&b).step_number, step);
    bench_close(&b);
}

static void measure(bench *b, const char *front_bore, const char *rear_bore,
                    const char *front_journal, const char *rear_journal) {
    bench_type(b, front_bore);
    bench_type(b, rear_bore);
    bench_type(b, front_journal);
    bench_type(b, rear_journal);
}

/* Outside: the readings behind that value are taken again, the old ones stay in the record. */
static void test_value_measured_again(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    measure(&b, "50.050", "50.050", "50.000", "50.015");
    assert_int_equal(bench_state(&b), BW_STATE_VALUE);
    bw_prompt p = bench_prompt(&b);
    assert_string_equal(p.derived->id, "taper");
    assert_true(fabs(p.derived_value - 0.015) < 1e-9);
    bench_options(&b, "again override");
    bench_told(&b, "taper of the journal 0.015 mm is outside: measure again or decide (at most");
    assert_int_equal(b.actions->tone, BW_TONE_BAD); /* though the others are good */
    bench_type(&b, "again");
    bench_recorded(&b, "decision");
    bench_has_text(bench_last(&b, 0), BW_M_DERIVED, "taper");
    p = bench_prompt(&b);
    assert_string_equal(p.set->id, "journal"); /* the bores stand */
    assert_int_equal(p.reading_number, 3);
    bench_type(&b, "50.000");
    bench_type(&b, "50.001");
    bench_recorded(&b, "reading derived derived"); /* the bores' own taper stands, too */
    bench_at_step(&b, CAPS);
    bench_close(&b);
}

static void test_value_overridden(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    measure(&b, "50.090", "50.090", "50.000", "50.000");
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_type(&b, "race engine");
    const bw_entry *e = bench_last(&b, 0);
    bench_has_text(e, BW_M_DERIVED, "clearance");
    bench_has_text(e, BW_M_STEP, "bearings");
    bench_has_text(e, BW_M_SECOND, "B. Ek");
    bench_at_step(&b, CAPS);
    bench_close(&b);
}

/* Two values outside are decided one after the other; what was decided is not asked again because
 * the other one's readings are taken again. */
static void test_a_decided_value_stands(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    measure(&b, "50.050", "50.065", "50.000", "50.015");
    assert_string_equal(bench_prompt(&b).derived->id, "bore_taper");
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_type(&b, "will be honed");
    assert_string_equal(bench_prompt(&b).derived->id, "taper");
    bench_type(&b, "again");
    bench_type(&b, "50.000");
    bench_type(&b, "50.000");
    bench_recorded(&b, "reading derived derived"); /* clearance and taper */
    bench_at_step(&b, CAPS);
    bench_close(&b);
}

/* Put off while a value is open: it is asked again when the step comes back. */
static void test_value_put_off(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    measure(&b, "50.200", "50.200", "50.000", "50.015");
    assert_string_equal(bench_prompt(&b).derived->id, "clearance");
    bench_type(&b, "later");
    bench_work(&b, BEARINGS);
    assert_string_equal(bench_prompt(&b).derived->id, "clearance");
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_type(&b, "race engine");
    assert_string_equal(bench_prompt(&b).derived->id, "taper");
    bench_close(&b);
}

/* The last reading was a slip: only the values that come from it are open again. */
static void test_back_leaves_other_values(void **state) {
    (void)state;
    bench b;
    bench_at(&b, BEARINGS);
    measure(&b, "50.050", "50.065", "50.000", "50.015");
    bench_type(&b, "back");
    assert_int_equal(bench_state(&b), BW_STATE_READING);
    assert_int_equal(bench_prompt(&b).reading_number, 4);
    assert_null(bench_prompt(&b).derived);
    bench_type(&b, "50.000");
    bench_recorded(&b, "reading derived derived");
    assert_int_equal(bench_state(&b), BW_STATE_VALUE); /* the bore's own taper is still outside */
    assert_string_equal(bench_prompt(&b).derived->id, "bore_taper");
    bench_close(&b);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_readings_in_their_order),
        cmocka_unit_test(test_implausible_reading),
        cmocka_unit_test(test_what_is_no_reading),
        cmocka_unit_test(test_back),
        cmocka_unit_test(test_back_to_confirmation),
        cmocka_unit_test(test_value_measured_again),
        cmocka_unit_test(test_value_overridden),
        cmocka_unit_test(test_a_decided_value_stands),
        cmocka_unit_test(test_value_put_off),
        cmocka_unit_test(test_back_leaves_other_values),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
