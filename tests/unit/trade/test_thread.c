/* test_thread.c - threads as people write them, and the static tables of the trade. */
#include "trade/thread.h"

#include "trade/chart.h"
#include "trade/choose.h"
#include "trade/grade.h"
#include "trade/measure.h"
#include "trade/pattern.h"
#include "trade/scatter.h"
#include "trade/uncertainty.h"
#include "trade/weight.h"

#include "cmocka_all.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

static void test_reads_threads(void **state) {
    (void)state;
    static const struct {
        const char *text;
        double d_mm, pitch_mm;
        bool inch;
    } rows[] = {
        {"M10x1.25", 10, 1.25, false},
        {" M10 x 1.25 ", 10, 1.25, false},
        {"M10X1,25", 10, 1.25, false},
        {"M10×1.25", 10, 1.25, false},
        {"M10", 10, 1.5, false},
        {"M 2.5", 2.5, 0.45, false},
        {"M11x1.25", 11, 1.25, false}, /* no standard combination, and read all the same */
        {"M10.3x0.9", 10.3, 0.9, false},
        {"3/8-24", 9.525, 25.4 / 24, true},
        {"3/8-24 UNF", 9.525, 25.4 / 24, true},
        {"3/8-16UNC", 9.525, 25.4 / 16, true},
        {"3/8-20 UNS", 9.525, 25.4 / 20, true},
        {"3/8-20 UN", 9.525, 25.4 / 20, true},
        {"0.375-24", 9.525, 25.4 / 24, true},
        {"1 1/8-7", 28.575, 25.4 / 7, true},
        {"#10-32", 4.826, 25.4 / 32, true},
        {"10-32", 4.826, 25.4 / 32, true},
        {"# 10 - 24", 4.826, 25.4 / 24, true},
        {"1-64", 0.073 * 25.4, 25.4 / 64, true},
        {"1-8", 25.4, 25.4 / 8, true},
        {"#1-8", 0.073 * 25.4, 25.4 / 8, true},
        {"#10-11.5", 4.826, 25.4 / 11.5, true},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_thread t = {0};
        bw_err err = {BW_OK, ""};
        bw_status s = bw_thread_parse(rows[i].text, strlen(rows[i].text), &t, &err);
        if (s != BW_OK || fabs(t.d_mm - rows[i].d_mm) > 1e-12 ||
            fabs(t.pitch_mm - rows[i].pitch_mm) > 1e-12 || t.inch != rows[i].inch) {
            fail_msg("'%s': %.12g x %.12g %s", rows[i].text, t.d_mm, t.pitch_mm, err.text);
        }
    }
}

static void test_refuses_other_texts(void **state) {
    (void)state;
    static const struct {
        const char *text;
        const char *part;
    } rows[] = {
        {"", "a thread such as"},
        {"M", "a thread such as"},
        {"M10x", "a thread such as"},
        {"Mx1", "a thread such as"},
        {"M10x1.25x2", "a thread such as"},
        {"M10y1", "a thread such as"},
        {"M1\xc3", "a thread such as"},
        {"10", "a thread such as"},
        {"-24", "a thread such as"},
        {"3/8-", "a thread such as"},
        {"3/8-0", "a thread such as"},
        {"3/7-24", "a thread such as"},
        {"10 mm-24", "a thread such as"},
        {"#99-24", "a thread such as"},
        {"#-24", "a thread such as"},
        {"3/8-24 UNC", "'UNC' does not go with 24"},
        {"3/8-16 UNF", "'UNF' does not go with 16"},
        {"3/8-20 UNF", "'UNF' does not go with 20"},
        {"3/8-20 UNC", "'UNC' does not go with 20"},
        {"3/8-24 XNF", "'XNF' does not"},
        {"3/8-24 UX", "'UX' does not"},
        {"3/8-24 UNX", "'UNX' does not"},
        {"3/8-24 averylongseries", "'averylon' does not"},
        {"1", "a thread such as"},
        {"M15", "M15 has no coarse pitch"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_thread t = {1, 2, true};
        bw_err err = {BW_OK, ""};
        bw_status s = bw_thread_parse(rows[i].text, strlen(rows[i].text), &t, &err);
        if (s != BW_E_DATA || strstr(err.text, rows[i].part) == NULL || t.d_mm != 1) {
            fail_msg("'%s': %d %s", rows[i].text, s, err.text);
        }
    }
}

/* The sizes lie where they must, whatever the thread: d > d2 > D1 > d3, and As between the circles
 * of d3 and d2. */
static void test_geometry_holds_together(void **state) {
    (void)state;
    for (double d = 1; d < 100; d *= 1.37) {
        for (double p = d / 20; p < d / 2; p *= 1.5) {
            for (int inch = 0; inch < 2; inch++) {
                const bw_thread t = {d, p, inch == 1};
                bw_thread_size s = {0};
                assert_int_equal(bw_thread_size_of(&t, &s, NULL), BW_OK);
                assert_true(d > s.d2_mm && s.d2_mm > s.D1_mm && s.D1_mm > s.d3_mm);
                assert_true(s.d0_mm < s.d2_mm && s.stress_area_mm2 > 0.78 * s.d0_mm * s.d0_mm);
                assert_true(s.lead_deg > 0 && s.lead_deg < 15);
            }
        }
    }
}

static void test_bearing(void **state) {
    (void)state;
    bw_bearing b = {0};
    assert_int_equal(bw_bearing_of(20, 0, &b, NULL), BW_OK);
    assert_true(b.mean_mm == 10 && fabs(b.friction_mm - 40.0 / 3) < 1e-12);
    assert_int_equal(bw_bearing_of(20, 19.99, &b, NULL), BW_OK);
    assert_true(fabs(b.friction_mm - b.mean_mm) < 1e-4); /* a thin ring has one lever */
}

/* Every static table ends, and each of its rows is found by its name and says where it is from. */
static void test_tables(void **state) {
    (void)state;
    size_t n = 0;
    for (; bw_grade_at(n) != NULL; n++) {
        const bw_grade *g = bw_grade_at(n);
        const bw_grade *found = NULL;
        assert_int_equal(bw_grade_find(g->name, g->to_mm, &found, NULL), BW_OK);
        assert_ptr_equal(found, g);
        assert_true(g->proof_MPa < g->yield_MPa && g->yield_MPa < g->tensile_MPa);
    }
    assert_true(n >= 12);
    const bw_grade *none = NULL;
    assert_int_equal(bw_grade_find("8.8", 0, &none, NULL), BW_E_DATA);
    assert_null(none);
    for (n = 0; bw_scatter_at(n) != NULL; n++) {
        const bw_scatter *found = NULL;
        assert_int_equal(bw_scatter_find(bw_scatter_at(n)->name, &found, NULL), BW_OK);
        assert_ptr_equal(found, bw_scatter_at(n));
        assert_true(found->half_least <= found->half_most && found->source[0] != '\0');
    }
    for (n = 0; bw_preset_at(n) != NULL; n++) {
        const bw_preset *found = NULL;
        assert_int_equal(bw_preset_find(bw_preset_at(n)->name, &found, NULL), BW_OK);
        assert_ptr_equal(found, bw_preset_at(n));
        assert_true(found->least <= found->most && found->source[0] != '\0');
    }
    for (n = 0; bw_material_at(n) != NULL; n++) {
        const bw_material *found = NULL;
        assert_int_equal(bw_material_find(bw_material_at(n)->name, &found, NULL), BW_OK);
        assert_ptr_equal(found, bw_material_at(n));
    }
    for (n = 0; bw_flange_pattern_at(n) != NULL; n++) {
        const bw_flange_pattern *found = NULL;
        assert_int_equal(bw_flange_pattern_find(bw_flange_pattern_at(n)->name, &found, NULL),
                         BW_OK);
        assert_ptr_equal(found, bw_flange_pattern_at(n));
        assert_true(found->round[found->round_n - 1].percent == 100);
    }
    assert_null(bw_standing_word(BW_STANDS_COUNT));
    assert_null(bw_shape_word(BW_SHAPE_COUNT));
    assert_null(bw_rule_word(BW_RULE_COUNT));
    assert_null(bw_decision_word(BW_DECIDED_COUNT));
    assert_null(bw_gravity_word(BW_GRAVITY_COUNT));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_reads_threads),
        cmocka_unit_test(test_refuses_other_texts),
        cmocka_unit_test(test_geometry_holds_together),
        cmocka_unit_test(test_bearing),
        cmocka_unit_test(test_tables),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
