/* test_bridge.c - zero, zero tracking, load, overload, faults of the bridge and its converter. */
#include "adapter_frame.h"
#include "bridge.h"
#include "cmocka_all.h"

#include <string.h>

enum { OVERLOAD = 2576980, ZERO = -20150 };

/* Counts around a mean: never the same twice, as a converter's noise has it. */
static void take(ad_bridge *bridge, int32_t mean, int n) {
    for (int i = 0; i < n; i++) {
        ad_bridge_take(bridge, mean + (i % 2 == 0 ? 30 : -30) + i % 5 - 2, false);
    }
}

static ad_bridge begun(void) {
    ad_bridge bridge;
    memset(&bridge, 0, sizeof bridge);
    ad_bridge_begin(&bridge, OVERLOAD, ZERO);
    return bridge;
}

static ad_bridge rested(void) {
    ad_bridge bridge = begun();
    take(&bridge, ZERO, 100);
    ad_bridge_use_rest(&bridge);
    ad_bridge_disturb(&bridge);
    assert_int_equal(bridge.zero, ZERO);
    return bridge;
}

static void first_zero(void **state) {
    (void)state;
    const struct {
        int32_t mean;
        bool taken;
    } row[] = {{ZERO, true},
               {ZERO + OVERLOAD / 20 - 50, true},
               {ZERO + OVERLOAD / 20 + 50, false},
               {ZERO - OVERLOAD / 20 - 50, false}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        ad_bridge bridge = begun();
        assert_true((ad_bridge_flags(&bridge) & ADAPTER_FLAG_ZERO_UNKNOWN) != 0);
        take(&bridge, row[i].mean, 100);
        assert_false(bridge.loaded); /* nobody knows yet */
        ad_bridge_use_rest(&bridge);
        assert_int_equal(bridge.zero_known, row[i].taken);
    }
}

static void load_has_a_gap(void **state) {
    (void)state;
    ad_bridge bridge = rested();
    int32_t on = OVERLOAD / AD_BRIDGE_LOADED_SHARE;
    int32_t off = OVERLOAD / AD_BRIDGE_FREE_SHARE;
    const struct {
        int32_t net;
        bool loaded;
    } row[] = {{on, false},     {on + 1, true}, {off + 1, true}, {off, false},
               {-on - 1, true}, {-off, false},  {on - 1, false}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        ad_bridge_take(&bridge, ZERO + row[i].net, false);
        assert_int_equal(bridge.loaded, row[i].loaded);
    }
}

/* A small slow drift is followed an eighth at a rest, up to its limit; a load is not. */
static void zero_tracking(void **state) {
    (void)state;
    ad_bridge bridge = rested();
    take(&bridge, ZERO + 800, 100);
    ad_bridge_use_rest(&bridge);
    assert_int_equal(bridge.zero, ZERO + 100);
    assert_true(bridge.zero_moved);
    bridge.zero_moved = false;
    ad_bridge_disturb(&bridge);
    take(&bridge, bridge.zero + OVERLOAD / AD_BRIDGE_TRACK_SHARE + 50, 100);
    ad_bridge_use_rest(&bridge);
    assert_int_equal(bridge.zero, ZERO + 100);
    assert_false(bridge.zero_moved);
    for (int i = 0; i < 2000; i++) {
        ad_bridge_disturb(&bridge);
        take(&bridge, bridge.zero + 800, 100);
        ad_bridge_use_rest(&bridge);
    }
    int32_t tracked = bridge.zero - ZERO;
    assert_in_range(tracked, OVERLOAD / AD_BRIDGE_LOADED_SHARE - 100,
                    OVERLOAD / AD_BRIDGE_LOADED_SHARE);
}

static void zero_on_command(void **state) {
    (void)state;
    ad_bridge bridge = rested();
    int32_t moved = 0;
    take(&bridge, ZERO + 5000, 100);
    ad_bridge_use_rest(&bridge);
    assert_true(ad_bridge_set_zero(&bridge, &moved));
    assert_int_equal(moved, 5000);
    ad_bridge_disturb(&bridge);
    take(&bridge, ZERO + OVERLOAD / 10, 100);
    ad_bridge_use_rest(&bridge);
    assert_false(ad_bridge_set_zero(&bridge, &moved));
    assert_int_equal(bridge.zero, ZERO + 5000);
}

static void steady_or_not(void **state) {
    (void)state;
    ad_bridge bridge = rested();
    take(&bridge, ZERO, 50);
    assert_false(ad_bridge_disturbed(&bridge));
    ad_bridge_take(&bridge, ZERO + OVERLOAD / AD_BRIDGE_STEADY_SHARE, false);
    assert_true(ad_bridge_disturbed(&bridge));
    ad_bridge_disturb(&bridge);
    take(&bridge, ZERO, 50);
    assert_false(ad_bridge_disturbed(&bridge));
    ad_bridge_settle(&bridge, 3);
    take(&bridge, ZERO, 2);
    assert_true(ad_bridge_disturbed(&bridge));
    take(&bridge, ZERO, 1);
    assert_false(ad_bridge_disturbed(&bridge));
}

/* One spark is no overload; two conversions are, and it stays. */
static void overload(void **state) {
    (void)state;
    ad_bridge bridge = rested();
    ad_bridge_take(&bridge, ZERO + OVERLOAD + 1, false);
    ad_bridge_take(&bridge, ZERO + OVERLOAD, false);
    ad_bridge_take(&bridge, ZERO - OVERLOAD - 1, false);
    assert_false(bridge.overloaded);
    ad_bridge_take(&bridge, ZERO - OVERLOAD - 2, false);
    assert_true(bridge.overloaded);
    take(&bridge, ZERO, 100);
    assert_true((ad_bridge_flags(&bridge) & ADAPTER_FLAG_OVERLOAD) != 0);
    ad_bridge shunted = rested();
    for (int i = 0; i < 5; i++) {
        ad_bridge_take(&shunted, ZERO + OVERLOAD + 10 + i, true);
    }
    assert_false(shunted.overloaded);
    assert_false(shunted.loaded);
}

static void stuck_saturated_open(void **state) {
    (void)state;
    ad_bridge bridge = rested();
    for (int i = 0; i < AD_BRIDGE_SAME_MAX; i++) {
        ad_bridge_take(&bridge, ZERO + 7, false);
        assert_false((ad_bridge_flags(&bridge) & ADAPTER_FLAG_STUCK) != 0);
    }
    ad_bridge_take(&bridge, ZERO + 7, false);
    assert_true((ad_bridge_flags(&bridge) & ADAPTER_FLAG_STUCK) != 0);
    ad_bridge_take(&bridge, ZERO + 8, false);
    assert_false((ad_bridge_flags(&bridge) & ADAPTER_FLAG_STUCK) != 0);
    for (int i = 0; i < AD_BRIDGE_OPEN; i++) {
        assert_false((ad_bridge_flags(&bridge) & ADAPTER_FLAG_OPEN) != 0);
        ad_bridge_take(&bridge, AD_BRIDGE_END, false);
        assert_true((ad_bridge_flags(&bridge) & ADAPTER_FLAG_SATURATED) != 0);
    }
    assert_true((ad_bridge_flags(&bridge) & ADAPTER_FLAG_OPEN) != 0);
    assert_false((ad_bridge_flags(&bridge) & ADAPTER_FLAG_STUCK) != 0);
    ad_bridge_take(&bridge, ZERO, false);
    assert_false((ad_bridge_flags(&bridge) & (ADAPTER_FLAG_OPEN | ADAPTER_FLAG_SATURATED)) != 0);
    ad_bridge_take(&bridge, -AD_BRIDGE_END - 8, false);
    assert_true((ad_bridge_flags(&bridge) & ADAPTER_FLAG_SATURATED) != 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(first_zero),           cmocka_unit_test(load_has_a_gap),
        cmocka_unit_test(zero_tracking),        cmocka_unit_test(zero_on_command),
        cmocka_unit_test(steady_or_not),        cmocka_unit_test(overload),
        cmocka_unit_test(stuck_saturated_open),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
