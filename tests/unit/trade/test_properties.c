/* test_properties.c - what must hold for any figures: both ways and back, more in gives more out.
 */
#include "trade/chart.h"
#include "trade/distribution.h"
#include "trade/preload.h"
#include "trade/scatter.h"
#include "trade/stretch.h"
#include "trade/uncertainty.h"
#include "trade/weight.h"

#include "cmocka_all.h"

#include <math.h>
#include <stdbool.h>

enum { ROUNDS = 2000 };

static uint32_t random_state = 123456789u;

static double between(double least, double most) {
    random_state ^= random_state << 13;
    random_state ^= random_state >> 17;
    random_state ^= random_state << 5;
    return least + (most - least) * (double)random_state / 4294967296.0;
}

static bw_tightening any_tightening(void) {
    double d = between(3, 60);
    double outer = d * between(1.2, 2.5);
    return (bw_tightening){{d, d * between(0.05, 0.2), between(0, 1) < 0.5},
                           between(0, 0.5),
                           between(0, 0.5),
                           outer,
                           outer * between(0.3, 0.95)};
}

static void same(double a, double b) {
    if (!(fabs(a - b) <= 1e-9 * fabs(b))) {
        fail_msg("%.17g is not %.17g", a, b);
    }
}

static void test_torque_both_ways(void **state) {
    (void)state;
    for (int i = 0; i < ROUNDS; i++) {
        const bw_tightening t = any_tightening();
        double preload = between(1, 1e6);
        double torque = 0;
        double back = 0;
        assert_int_equal(bw_torque_from_preload(&t, preload, &torque, NULL), BW_OK);
        assert_int_equal(bw_preload_from_torque(&t, torque, &back, NULL), BW_OK);
        same(back, preload);
        bw_lever lever = {0};
        assert_int_equal(bw_lever_of(&t, &lever, NULL), BW_OK);
        same(lever.pitch_mm + lever.thread_mm + lever.head_mm, lever.total_mm);
        assert_true(lever.loosen_mm < lever.total_mm);
        /* The short form with this joint's own nut factor says the same. */
        double k = lever.nut_factor;
        assert_int_equal(bw_torque_from_nut_factor(k, t.thread.d_mm, preload, &back, NULL), BW_OK);
        same(back, torque);
        assert_int_equal(bw_preload_from_nut_factor(k, t.thread.d_mm, torque, &back, NULL), BW_OK);
        same(back, preload);
    }
}

/* More friction: more torque for the same preload, in the thread as under the head. */
static void test_torque_grows_with_friction(void **state) {
    (void)state;
    for (int i = 0; i < ROUNDS; i++) {
        bw_tightening t = any_tightening();
        double less = 0;
        double more = 0;
        assert_int_equal(bw_torque_from_preload(&t, 1000, &less, NULL), BW_OK);
        t.friction_thread += 0.01;
        assert_int_equal(bw_torque_from_preload(&t, 1000, &more, NULL), BW_OK);
        assert_true(more > less);
        t.friction_head += 0.01;
        assert_int_equal(bw_torque_from_preload(&t, 1000, &less, NULL), BW_OK);
        assert_true(less > more);
    }
}

/* At the permissible preload tightening uses exactly that share of yield. */
static void test_utilisation_both_ways(void **state) {
    (void)state;
    for (int i = 0; i < ROUNDS; i++) {
        const bw_tightening t = any_tightening();
        double yield = between(200, 1200);
        double share = between(0.1, 1);
        bool elastic = i % 2 == 0;
        double preload = 0;
        bw_stress stress = {0};
        assert_int_equal(bw_permissible_preload(&t.thread, t.friction_thread, yield, share, elastic,
                                                &preload, NULL),
                         BW_OK);
        assert_int_equal(
            bw_stress_at(&t.thread, t.friction_thread, preload, elastic, &stress, NULL), BW_OK);
        same(stress.reduced_MPa, share * yield);
        assert_true(stress.reduced_MPa > stress.tension_MPa);
    }
}

/* Torsion is what the thread's own share of the torque twists the core with: 16 M/(pi d0^3)
 * elastic, 12 M/(pi d0^3) plastic. */
static void test_torsion_is_the_threads_torque(void **state) {
    (void)state;
    for (int i = 0; i < ROUNDS; i++) {
        const bw_tightening t = any_tightening();
        double preload = between(100, 1e5);
        bw_lever lever = {0};
        bw_thread_size size = {0};
        assert_int_equal(bw_lever_of(&t, &lever, NULL), BW_OK);
        assert_int_equal(bw_thread_size_of(&t.thread, &size, NULL), BW_OK);
        double moment_Nmm = preload * (lever.pitch_mm + lever.thread_mm);
        double core_mm3 = 3.14159265358979323846 * size.d0_mm * size.d0_mm * size.d0_mm;
        for (int elastic = 0; elastic < 2; elastic++) {
            bw_stress stress = {0};
            assert_int_equal(
                bw_stress_at(&t.thread, t.friction_thread, preload, elastic == 1, &stress, NULL),
                BW_OK);
            same(stress.torsion_MPa, (elastic ? 16 : 12) * moment_Nmm / core_mm3);
            same(stress.tension_MPa, preload / size.stress_area_mm2);
        }
    }
}

static void test_another_lubricant_and_back(void **state) {
    (void)state;
    for (int i = 0; i < ROUNDS; i++) {
        const bw_tightening t = any_tightening();
        bw_tightening other = t;
        other.friction_thread = between(0, 0.5);
        other.friction_head = between(0, 0.5);
        double there = 0;
        double back = 0;
        assert_int_equal(bw_torque_for_friction(&t, other.friction_thread, other.friction_head, 60,
                                                &there, NULL),
                         BW_OK);
        assert_int_equal(
            bw_torque_for_friction(&other, t.friction_thread, t.friction_head, there, &back, NULL),
            BW_OK);
        same(back, 60);
        double k = between(0.05, 0.5);
        assert_int_equal(bw_torque_for_nut_factor(60, k, 0.2, &there, NULL), BW_OK);
        assert_int_equal(bw_torque_for_nut_factor(there, 0.2, k, &back, NULL), BW_OK);
        same(back, 60);
    }
}

static void test_angle_and_stretch_both_ways(void **state) {
    (void)state;
    for (int i = 0; i < ROUNDS; i++) {
        double pitch = between(0.3, 5);
        double bolt = between(1e4, 1e6);
        double joint = between(1e4, 1e7);
        double angle = between(1, 360);
        double preload = 0;
        double back = 0;
        assert_int_equal(bw_preload_from_angle(angle, pitch, bolt, joint, &preload, NULL), BW_OK);
        assert_int_equal(bw_angle_from_preload(preload, pitch, bolt, joint, &back, NULL), BW_OK);
        same(back, angle);
        const bw_section section[] = {{between(1, 100), between(10, 900)},
                                      {between(1, 100), between(10, 900)}};
        double stretch = 0;
        assert_int_equal(bw_stretch_from_preload(section, 2, 205000, 1000, &stretch, NULL), BW_OK);
        assert_int_equal(bw_preload_from_stretch(section, 2, 205000, stretch, &back, NULL), BW_OK);
        same(back, 1000);
        /* Two pieces of one section are one piece. */
        const bw_section whole = {section[0].length_mm * 2, section[0].area_mm2};
        const bw_section halves[] = {section[0], section[0]};
        double a = 0;
        double b = 0;
        assert_int_equal(bw_compliance_of(&whole, 1, 205000, &a, NULL), BW_OK);
        assert_int_equal(bw_compliance_of(halves, 2, 205000, &b, NULL), BW_OK);
        same(a, b);
        double factor = 0;
        assert_int_equal(bw_load_factor(bolt, joint, &factor, NULL), BW_OK);
        assert_true(factor > 0 && factor < 1);
    }
}

static void test_bands_both_ways(void **state) {
    (void)state;
    for (int i = 0; i < ROUNDS; i++) {
        double alpha = between(1, 8);
        double half = 0;
        double back = 0;
        assert_int_equal(bw_half_width_from_alpha(alpha, &half, NULL), BW_OK);
        assert_int_equal(bw_alpha_from_half_width(half, &back, NULL), BW_OK);
        same(back, alpha);
    }
}

static void test_levers_both_ways(void **state) {
    (void)state;
    for (int i = 0; i < ROUNDS; i++) {
        const bw_adapter a = {between(200, 1000), between(0, 150), between(-180, 180)};
        double setting = 0;
        double back = 0;
        assert_int_equal(bw_adapter_setting(&a, 60, &setting, NULL), BW_OK);
        assert_int_equal(bw_adapter_torque(&a, setting, &back, NULL), BW_OK);
        same(back, 60);
        const bw_dead_weight w = {between(1, 100), between(100, 2000), between(9.75, 9.85), 1.2,
                                  8000};
        double torque = 0;
        assert_int_equal(bw_dead_weight_torque(&w, &torque, NULL), BW_OK);
        assert_int_equal(bw_dead_weight_mass(&w, torque, &back, NULL), BW_OK);
        same(back, w.mass_kg);
    }
}

/* Gravity grows towards the poles and falls with height, and the models agree to 5e-5. */
static void test_gravity_is_gravity(void **state) {
    (void)state;
    for (double latitude = 0; latitude < 90; latitude += 1) {
        double last = 0;
        for (bw_gravity_model m = BW_GRAVITY_WGS84; m < BW_GRAVITY_COUNT; m++) {
            double here = 0;
            double south = 0;
            double poleward = 0;
            assert_int_equal(bw_gravity(m, latitude, 0, &here, NULL), BW_OK);
            assert_int_equal(bw_gravity(m, -latitude, 0, &south, NULL), BW_OK);
            assert_int_equal(bw_gravity(m, latitude + 1, 0, &poleward, NULL), BW_OK);
            same(south, here);
            assert_true(poleward > here);
            assert_true(last == 0 || fabs(here - last) < 5e-5 * here);
            last = here;
            double higher = 0;
            bw_status s = bw_gravity(m, latitude, 1000, &higher, NULL);
            assert_true(m == BW_GRAVITY_CFR1065 ? s == BW_E_DATA : higher < here);
        }
    }
    double g = 0;
    assert_int_equal(bw_gravity(BW_GRAVITY_COUNT, 0, 0, &g, NULL), BW_E_DATA);
}

/* Distribution functions rise, and their quantiles undo them, across the seam at 1000 as well. */
static void test_distributions_rise(void **state) {
    (void)state;
    static const double freedoms[] = {1, 2, 7.5, 30, 400, 999, 1001, 5000};
    for (size_t f = 0; f < sizeof freedoms / sizeof freedoms[0]; f++) {
        double before = -1;
        for (double t = -6; t <= 6; t += 0.25) {
            double p = 0;
            assert_int_equal(bw_student_cdf(t, freedoms[f], &p, NULL), BW_OK);
            assert_true(p > before);
            before = p;
            double back = 0;
            assert_int_equal(bw_student_quantile(p, freedoms[f], &back, NULL), BW_OK);
            /* Near 1 a probability has lost the digits of its tail. */
            assert_true(t > 2 || fabs(back - t) < 1e-9);
        }
        before = -1;
        for (double x = 0; x <= 3; x += 0.25) {
            double p = 0;
            assert_int_equal(bw_chi_square_cdf(x * freedoms[f], freedoms[f], &p, NULL), BW_OK);
            assert_true(p >= before && p <= 1);
            before = p;
        }
    }
    for (double t = -8; t <= 8; t += 0.5) {
        double below = 0;
        double above = 0;
        assert_int_equal(bw_student_cdf(t, 1000, &below, NULL), BW_OK);
        assert_int_equal(bw_student_cdf(t, nextafter(1000, 2000), &above, NULL), BW_OK);
        assert_true(fabs(below - above) <= 1e-11 * below + 1e-24);
    }
    double p = 7;
    assert_int_equal(bw_student_cdf((double)NAN, 5, &p, NULL), BW_E_DATA);
    assert_int_equal(bw_chi_square_cdf(-1, 5, &p, NULL), BW_E_DATA);
    assert_true(p == 7);
}

/* What is certain stays certain; a component without weight changes nothing. */
static void test_uncertainty_edges(void **state) {
    (void)state;
    bw_combined c = {0};
    const bw_component exact[] = {{0, 1, 5}, {0, 3, 0}};
    assert_int_equal(bw_combine(exact, 2, &c, NULL), BW_OK);
    assert_true(c.u == 0 && c.freedom == 0);
    const bw_component one[] = {{2, 1, 9}, {5, 0, 2}};
    assert_int_equal(bw_combine(one, 2, &c, NULL), BW_OK);
    assert_true(c.u == 2);
    same(c.freedom, 9);
    assert_int_equal(bw_combine(one, 0, &c, NULL), BW_E_DATA);
    double u = 0;
    assert_int_equal(bw_type_b_of(1, BW_SHAPE_COUNT, &u, NULL), BW_E_DATA);
    double k = 0;
    double k_normal = 0;
    assert_int_equal(bw_coverage_factor(0, 0.95, &k_normal, NULL), BW_OK);
    assert_int_equal(bw_coverage_factor(1e7, 0.95, &k, NULL), BW_OK);
    assert_true(k == k_normal);
    bw_decided d = {BW_DECIDED_FAIL, 0, 0};
    assert_int_equal(bw_decide(BW_RULE_COUNT, 1, 0.1, 0, 2, &d, NULL), BW_E_DATA);
    /* The four states on the lower side. */
    static const struct {
        double y;
        bw_decision decision;
    } rows[] = {{0.79, BW_DECIDED_FAIL},
                {0.81, BW_DECIDED_FAIL_WITHIN},
                {1, BW_DECIDED_PASS_WITHIN},
                {1.21, BW_DECIDED_PASS}};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(bw_decide(BW_RULE_GUARDED, rows[i].y, 0.1, 1, (double)INFINITY, &d, NULL),
                         BW_OK);
        assert_int_equal(d.decision, rows[i].decision);
    }
    assert_int_equal(bw_decide(BW_RULE_GUARDED_95, 1, 0.1, 1, 2, &d, NULL), BW_OK);
    same(d.accept_low, 1.16448536269514722);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_torque_both_ways),
        cmocka_unit_test(test_torque_grows_with_friction),
        cmocka_unit_test(test_utilisation_both_ways),
        cmocka_unit_test(test_torsion_is_the_threads_torque),
        cmocka_unit_test(test_another_lubricant_and_back),
        cmocka_unit_test(test_angle_and_stretch_both_ways),
        cmocka_unit_test(test_bands_both_ways),
        cmocka_unit_test(test_levers_both_ways),
        cmocka_unit_test(test_gravity_is_gravity),
        cmocka_unit_test(test_distributions_rise),
        cmocka_unit_test(test_uncertainty_edges),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
