/* parts_test.c - which part goes where, and which piece is taken from the drawer. */
#include "cmocka_all.h"

#include "job_bench.h"

/* ---- parts and their places ---- */

#define CAPS_OFF_AND_ON                                                                            \
    HEAD "fit{id = 'off', say = 's', part = 'cap', to = {'1', '2'}}\n"                             \
         "fit{id = 'on', say = 's', after = 'off', part = 'cap', to = {'1', '2'}, as = 'off'}\n"

static void test_parts_go_back_to_their_places(void **state) {
    (void)state;
    job j;
    open_job(&j, CAPS_OFF_AND_ON);
    assert_int_equal(bench_state(&j.b), BW_STATE_FIT);
    assert_null(bench_prompt(&j.b).mark);
    bench_type(&j.b, "");
    bench_recorded(&j.b, "");
    bench_type(&j.b, "A7 batch 2231");
    bench_recorded(&j.b, "part_fitted");
    bench_has_text(bench_last(&j.b, 0), BW_M_AT, "1");
    bench_has_text(bench_last(&j.b, 0), BW_M_SERIAL_NUMBER, "A7");
    bench_has_text(bench_last(&j.b, 0), BW_M_BATCH, "2231");
    bench_type(&j.b, "C9");
    bench_type(&j.b, "part dowel, 2 pieces");
    assert_int_equal(bw_session_misfits(j.b.session), 0);
    bench_type(&j.b, "back");
    bench_told(&j.b, "The last part is open again; the old one stays in the record.");
    assert_int_equal(bench_prompt(&j.b).to, 1);
    bench_type(&j.b, "B8");
    assert_string_equal(bench_prompt(&j.b).step->id, "on");
    assert_string_equal(bench_prompt(&j.b).mark, "A7");
    bench_type(&j.b, "B8");
    bench_recorded(&j.b, "note");
    bench_told(&j.b, "A7 belongs to 1, not B8, which belongs to 2: are they swapped?");
    bench_type(&j.b, "X");
    bench_told(&j.b, "not X. Look at it again");
    bench_type(&j.b, "A7");
    bench_type(&j.b, "B8");
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

#define SHIM                                                                                       \
    HEAD "measure{id = 'm', say = 's', readings = {reading{id = 'r', say = 'gap', unit = 'mm', "   \
         "decimals = 2, plausible = {mm(2), mm(3)}}}, derive = {value{id = 'v', say = 'shim', "    \
         "formula = 'mean', of = 'r', unit = 'mm', decimals = 3}}}\n"                              \
         "choose{id = 'c', say = 's', after = 'm', of = {step = 'm', value = 'v'}, stock = "       \
         "{mm(2.50), mm(2.60), thou(104)}, within = mm(0.02)}\n"

static void test_shim_out_of_the_drawer(void **state) {
    (void)state;
    static const struct {
        const char *typed, *taken;
    } rows[] = {{"2.48", "2.5 mm"}, {"2.52", "2.5 mm"},   {"2.53", NULL},
                {"2.61", "2.6 mm"}, {"2.64", "104 thou"}, {"2.47", NULL}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        job j;
        open_job(&j, SHIM);
        bench_type(&j.b, rows[i].typed);
        const char *chosen = bench_prompt(&j.b).chosen;
        bench_type(&j.b, "yes");
        if (rows[i].taken != NULL) {
            assert_string_equal(chosen, rows[i].taken);
            bench_has_text(bench_last(&j.b, 0), BW_M_TEXT, rows[i].taken);
        } else {
            assert_null(chosen);
            bench_recorded(&j.b, "");
            bench_told(&j.b, "No size in the drawer comes within 0.020 mm");
        }
        close_job(&j);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_parts_go_back_to_their_places),
    cmocka_unit_test(test_shim_out_of_the_drawer),
};

KIT_MAIN(tests)
