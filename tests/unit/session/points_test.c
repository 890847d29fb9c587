/* points_test.c - readings at many points, read more than once. */
#include "cmocka_all.h"

#include "job_bench.h"

#include <math.h>

/* ---- sets of points ---- */

#define BORES                                                                                      \
    HEAD "measure{id = 'm', say = 's', temperature = {degC(18), degC(22)}, readings = {reading{id" \
         " = 'b', say = 'bore', unit = 'mm', decimals = 3, at = points{{'top', 'foot'}, {'x', "    \
         "'y'}}, repeats = 2, spread = mm(0.004), plausible = {mm(79), mm(81)}}}, derive = "       \
         "{value{id = 'v', say = 'widest', formula = 'largest', of = 'b', unit = 'mm', decimals "  \
         "= 4, high = mm(80.05)}}}\n"

static void test_points_repeats_and_spread(void **state) {
    (void)state;
    job j;
    open_job(&j, BORES);
    bench_type(&j.b, "15");
    bench_recorded(&j.b, "note");
    bench_told(&j.b, "nothing is measured before it is between 18.0");
    bench_type(&j.b, "20.5");
    assert_string_equal(bench_prompt(&j.b).set->at[bench_prompt(&j.b).at], "top x");
    bench_type(&j.b, "80.010");
    assert_true(bw_entry_number(bench_last(&j.b, 0), BW_M_TEMPERATURE_DEGC, 0) == 20.5);
    assert_int_equal(bw_entry_whole(bench_last(&j.b, 0), BW_M_REPEAT, 0), 1);
    assert_int_equal(bench_prompt(&j.b).repeat, 2);
    assert_true(bench_prompt(&j.b).before[0] == 80.010);
    uint64_t first = bench_last(&j.b, 0)->number;
    bench_type(&j.b, "80.015"); /* too far from each other: both are taken back */
    bench_recorded(&j.b, "reading correction correction");
    bench_told(&j.b, "bore, top x: 2 readings differ by 0.0050 mm, at most 0.0040 mm");
    assert_int_equal(bw_entry_whole(bench_last(&j.b, 1), BW_M_CORRECTS, 0), first);
    assert_int_equal(bw_entry_whole(bench_last(&j.b, 0), BW_M_CORRECTS, 0),
                     bench_last(&j.b, 2)->number);
    assert_int_equal(bench_prompt(&j.b).repeat, 1);
    static const char *const typed[] = {"80.010", "80.014", "80.01", "80.01",
                                        "80.01",  "80.01",  "80.01", "80.01"};
    for (size_t i = 0; i < 8; i++) {
        bench_type(&j.b, typed[i]);
    }
    bench_recorded(&j.b, "reading derived");
    assert_true(fabs(bw_entry_number(bench_last(&j.b, 0), BW_M_VALUE, 0) - 80.012) < 1e-9);
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

/* The last point of all is read again, too, before anything is worked out. */
static void test_spread_at_the_last_point(void **state) {
    (void)state;
    job j;
    open_job(&j, BORES);
    bench_type(&j.b, "20");
    for (size_t i = 0; i < 7; i++) {
        bench_type(&j.b, "80.01");
    }
    bench_type(&j.b, "80.02");
    bench_recorded(&j.b, "reading correction correction");
    bench_type(&j.b, "80.02");
    bench_type(&j.b, "back");
    assert_int_equal(bench_prompt(&j.b).repeat, 1);
    bench_type(&j.b, "80.02");
    bench_type(&j.b, "80.02");
    bench_recorded(&j.b, "reading derived");
    close_job(&j);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_points_repeats_and_spread),
    cmocka_unit_test(test_spread_at_the_last_point),
};

KIT_MAIN(tests)
