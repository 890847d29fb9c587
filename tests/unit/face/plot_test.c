/* plot_test.c - the drawing of a trace: what is in it, where it stands, and that it is XML. */
#include "cmocka_all.h"

#include "face/plot.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SAMPLES = 30000 };

static bw_sample sample[SAMPLES];

static const bw_stage torque = {.kind = BW_STAGE_TORQUE,
                                .target_Nm = 60,
                                .low_Nm = 57,
                                .high_Nm = 63,
                                .low_deg = -INFINITY,
                                .high_deg = INFINITY};

/* Up and down in a triangle, with a peak in one sample only. */
static void draw_samples(size_t n, bool has_angle) {
    for (size_t i = 0; i < n; i++) {
        double share = (double)i / (double)n;
        sample[i] = (bw_sample){share, 50 * fmin(share, 1 - share), 90 * share, has_angle};
    }
    sample[n / 3].torque_Nm = 62.5;
}

static char *drawn(const bw_plot *plot) {
    char *text = NULL;
    size_t len = 0;
    FILE *out = open_memstream(&text, &len);
    assert_non_null(out);
    assert_true(bw_plot_svg(plot, out));
    assert_int_equal(fclose(out), 0);
    assert_int_equal(strlen(text), len);
    return text;
}

static size_t times(const char *text, const char *part) {
    size_t n = 0;
    for (const char *at = text; (at = strstr(at, part)) != NULL; at += strlen(part)) {
        n++;
    }
    return n;
}

static void test_everything_is_there(void **state) {
    (void)state;
    static const bw_plot_span pulls[] = {{0.1, 0.4}, {0.5, 0.9}};
    static const bw_plot_point points[] = {{0.25, "above_limit"}};
    draw_samples(900, true);
    bw_plot plot = {.title = "a<b & c",
                    .sample = sample,
                    .n = 900,
                    .stage = &torque,
                    .threshold_Nm = 3,
                    .pull = pulls,
                    .pull_n = 2,
                    .point = points,
                    .point_n = 1};
    char *svg = drawn(&plot);
    assert_int_equal(times(svg, "<svg "), 1);
    assert_int_equal(times(svg, "</svg>\n"), 1);
    assert_int_equal(times(svg, "<polyline"), 2); /* over angle and over time */
    assert_int_equal(times(svg, "at most 63 N·m"), 2);
    assert_int_equal(times(svg, "at least 57 N·m"), 2);
    assert_int_equal(times(svg, "at rest below 3 N·m"), 2);
    assert_int_equal(times(svg, "class=\"pull\""), 2);
    assert_int_equal(times(svg, "above_limit, 0.250 s"), 2);
    assert_int_equal(times(svg, "a&lt;b &amp; c"), 1);
    assert_int_equal(times(svg, "counted from"), 0);
    assert_int_equal(times(svg, "nan") + times(svg, "inf"), 0);
    free(svg);
}

static void test_turn_limits(void **state) {
    (void)state;
    bw_stage stage = {.kind = BW_STAGE_TORQUE_ANGLE,
                      .snug_Nm = 10,
                      .low_Nm = -INFINITY,
                      .high_Nm = INFINITY,
                      .low_deg = 40,
                      .high_deg = 48};
    draw_samples(900, true);
    bw_plot plot = {.title = "",
                    .sample = sample,
                    .n = 900,
                    .stage = &stage,
                    .counted = true,
                    .counted_from_deg = 20};
    char *svg = drawn(&plot);
    assert_int_equal(times(svg, ">counted from here<"), 1);
    assert_int_equal(times(svg, ">at least 40°<"), 1);
    assert_int_equal(times(svg, ">at most 48°<"), 1);
    assert_int_equal(times(svg, "counted from 10 N·m"), 2);
    free(svg);
}

/* 90 degrees lie on 470 points of paper: a turn of 45 degrees, the peak, stands in the middle. */
static void test_where_it_stands(void **state) {
    (void)state;
    static const bw_plot_point points[] = {{0.5, "peak"}};
    draw_samples(900, true);
    sample[899].angle_deg = 90;
    bw_plot plot = {
        .title = "", .sample = sample, .n = 900, .stage = &torque, .point = points, .point_n = 1};
    char *svg = drawn(&plot);
    const char *at = strstr(svg, "<circle class=\"point\" cx=\"");
    assert_non_null(at);
    double x = strtod(at + strlen("<circle class=\"point\" cx=\""), NULL);
    assert_true(fabs(x - (60 + 470.0 / 2)) < 1);
    free(svg);
}

/* Long traces are thinned, and keep their one high sample; without angle there is one drawing. */
static void test_long_and_without_angle(void **state) {
    (void)state;
    draw_samples(SAMPLES, false);
    bw_plot plot = {.title = "", .sample = sample, .n = SAMPLES, .stage = &torque};
    char *svg = drawn(&plot);
    assert_int_equal(times(svg, "<polyline"), 1);
    assert_true(times(svg, "\n") < 2400);
    /* 62.5 of 63 N.m and 6 % above, on 346 points from the top at 44. */
    char y[32];
    (void)snprintf(y, sizeof y, ",%.2f\n", 44 + 346 - 62.5 / (63 * 1.06) * 346);
    assert_int_equal(times(svg, y), 1);
    free(svg);
}

static void test_nothing_and_one(void **state) {
    (void)state;
    bw_plot plot = {.title = "", .sample = sample, .n = 0, .stage = &torque};
    char *svg = drawn(&plot);
    assert_int_equal(times(svg, "nan") + times(svg, "inf"), 0);
    free(svg);
    draw_samples(3, true);
    plot.n = 1;
    svg = drawn(&plot);
    assert_int_equal(times(svg, "nan") + times(svg, "inf"), 0);
    free(svg);
}

static void test_full_disk_is_told(void **state) {
    (void)state;
    draw_samples(SAMPLES, true);
    bw_plot plot = {.title = "", .sample = sample, .n = SAMPLES, .stage = &torque};
    FILE *full = fopen("/dev/full", "w");
    assert_non_null(full);
    assert_false(bw_plot_svg(&plot, full));
    (void)fclose(full);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_everything_is_there), cmocka_unit_test(test_turn_limits),
        cmocka_unit_test(test_where_it_stands),     cmocka_unit_test(test_long_and_without_angle),
        cmocka_unit_test(test_nothing_and_one),     cmocka_unit_test(test_full_disk_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
