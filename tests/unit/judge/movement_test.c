/* movement_test.c - each threshold of movement.c: what is movement, where it began, and at which
 * torques the handle is looked at. */
#include "cmocka_all.h"

#include "judge/movement.h"

static const double hair = 1e-9;

/* A drift of 0.05 degree a second over ten seconds and two steps of 0.1 stay below a degree. */
static void test_is_movement(void **state) {
    (void)state;
    assert_false(bw_movement_is(1.0));
    assert_true(bw_movement_is(1.0 + hair));
}

/* ---- levels ---- */

/* A hundredth of the torque in hand, and no less than a wrench can tell. */
static void test_width(void **state) {
    (void)state;
    static const double rows[][2] = {{100, 1}, {10, 0.1}, {5, 0.05}, {4, 0.05}, {0, 0.05}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_movement m;
        bw_movement_begin(&m, 5, rows[i][0]);
        assert_true(m.width_Nm == rows[i][1]);
        assert_true(m.from_Nm == 5.0);
    }
}

/* Each level stands with the sample that reached it, and with the highest torque before that. */
static void test_levels(void **state) {
    (void)state;
    bw_movement m;
    bw_movement_begin(&m, 5, 100);
    bw_movement_take(&m, 0, 0, 5 - hair);
    assert_int_equal(m.n, 0);
    bw_movement_take(&m, 1, 0.5, 5);
    assert_int_equal(m.n, 1);
    bw_movement_take(&m, 2, 1, 6 - hair);
    bw_movement_take(&m, 3, 1.5, 4);
    assert_int_equal(m.n, 1);
    bw_movement_take(&m, 4, 2, 7);
    assert_int_equal(m.n, 3);
    assert_true(m.level[0].before_Nm == 5 - hair);
    for (size_t i = 1; i < 3; i++) {
        const bw_level *level = &m.level[i];
        assert_true(level->time_s == 4.0 && level->travel_deg == 2.0 && level->torque_Nm == 7.0);
        assert_true(level->before_Nm == 6 - hair);
    }
}

/* Out of room every other level goes; those that stay are where they were. */
static void test_widens(void **state) {
    (void)state;
    bw_movement m;
    bw_movement_begin(&m, 5, 100);
    for (int i = 0; i < BW_MOVEMENT_LEVELS; i++) {
        bw_movement_take(&m, i, 0, 5 + i);
    }
    bw_movement_take(&m, 128, 0, 133 - hair);
    assert_int_equal(m.n, 128);
    assert_true(m.width_Nm == 1.0);
    bw_movement_take(&m, 129, 0, 133);
    assert_int_equal(m.n, 65);
    assert_true(m.width_Nm == 2.0);
    for (size_t i = 0; i < 64; i++) {
        assert_true(m.level[i].torque_Nm == 5 + 2 * (double)i);
    }
    assert_true(m.level[64].time_s == 129.0);
}

/* ---- the first movement ---- */

/* The handle went so far at 5, 6, 7 N.m and so on. */
static bw_movement travelled(const double *travel_deg, size_t n) {
    bw_movement m;
    bw_movement_begin(&m, 5, 100);
    for (size_t i = 0; i < n; i++) {
        bw_movement_take(&m, 10 + (double)i, travel_deg[i], 5 + (double)i);
    }
    return m;
}

static void test_none(void **state) {
    (void)state;
    bw_movement m;
    bw_movement_begin(&m, 5, 100);
    assert_false(bw_movement_first(&m, 0).found);
    static const double still[] = {0, 0.1, 0.9, 1.0};
    m = travelled(still, 4);
    assert_false(bw_movement_first(&m, 0).found);
    assert_false(bw_movement_first(&m, 0.5).found); /* nor behind the last level */
}

/* Where movement is certain, it began where the travel left the wind-up by more than four steps of
 * the angle: 0.3 degree. */
static void test_began(void **state) {
    (void)state;
    for (int more = 0; more < 2; more++) {
        double travel[] = {0.1, 0.2, 0.3 + hair * more, 0.9, 1.1, 3};
        bw_movement m = travelled(travel, 6);
        bw_moved moved = bw_movement_first(&m, 0);
        assert_true(moved.found);
        assert_true(moved.time_s == (more == 0 ? 13 : 12));
        assert_true(moved.torque_Nm == (more == 0 ? 7 : 6)); /* held just before */
    }
}

/* It moves from the first level on, held by nothing: there is no level before that. */
static void test_from_the_first(void **state) {
    (void)state;
    static const double travel[] = {0.5, 2};
    bw_movement m = travelled(travel, 2);
    bw_moved moved = bw_movement_first(&m, 0);
    assert_true(moved.found && moved.time_s == 10.0 && moved.torque_Nm == 0.0);
}

/* Half a degree per N.m above 5 N.m is the wrench's own; a degree and a hair beyond it is not. */
static void test_windup(void **state) {
    (void)state;
    for (int more = 0; more < 2; more++) {
        double travel[] = {0, 0.5, 1, 2.5 + hair * more};
        bw_movement m = travelled(travel, 4);
        bw_moved moved = bw_movement_first(&m, 0.5);
        assert_int_equal(moved.found, more);
        assert_true(more == 0 || (moved.time_s == 13.0 && moved.torque_Nm == 7.0));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_is_movement),    cmocka_unit_test(test_width),
        cmocka_unit_test(test_levels),         cmocka_unit_test(test_widens),
        cmocka_unit_test(test_none),           cmocka_unit_test(test_began),
        cmocka_unit_test(test_from_the_first), cmocka_unit_test(test_windup),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
