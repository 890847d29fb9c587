/* captures_test.c - one driver, all its captures: plugins/NAME/captures.
 *
 * Built once for each driver in C.  Where its frames carry a checksum no damage of a single byte
 * may let a wrong value through; where they carry none, damage stays in its own frame. */
#include "cmocka_all.h"
#include "scene.h"

static const char captures[] = BW_SOURCE_DIR "/plugins/" DRIVER_NAME "/captures";

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
    bool checked = (bw_driver_entry()->can & BW_CAN_CHECKSUM) != 0;
    scene_each_damage(s, bw_driver_entry(), NULL,
                      checked ? scene_assert_nothing_wrong : scene_assert_only_here);
}

static void damage_lets_nothing_wrong_through(void **state) {
    (void)state;
    scene_each(captures, damage_it, NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(captures_read_as_expected_in_every_division),
        cmocka_unit_test(damage_lets_nothing_wrong_through),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
