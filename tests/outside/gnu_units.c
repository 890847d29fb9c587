/* gnu_units.c - a thousand random conversions beside those of GNU units, to 1 part in 10^12.
 *
 * The program `units` runs once, reading all pairs from a pipe's file and answering line by line.
 */
#include "trade/units.h"

#include "cmocka_all.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PAIRS = 1000 };

/* What GNU units calls our units; NULL: it has no name for it, or (temperatures) a function. */
static const char *const names[BW_UNIT_COUNT] = {
    [BW_UNIT_NM] = "N m",        [BW_UNIT_LBF_FT] = "lbf ft", [BW_UNIT_LBF_IN] = "lbf in",
    [BW_UNIT_KGF_M] = "kgf m",   [BW_UNIT_KGF_CM] = "kgf cm", [BW_UNIT_OZF_IN] = "lbf in / 16",
    [BW_UNIT_DNM] = "dN m",      [BW_UNIT_N] = "N",           [BW_UNIT_KN] = "kN",
    [BW_UNIT_LBF] = "lbf",       [BW_UNIT_KGF] = "kgf",       [BW_UNIT_MM] = "mm",
    [BW_UNIT_UM] = "micrometer", [BW_UNIT_CM] = "cm",         [BW_UNIT_M] = "m",
    [BW_UNIT_IN] = "in",         [BW_UNIT_THOU] = "thou",     [BW_UNIT_MPA] = "MPa",
    [BW_UNIT_PSI] = "psi",       [BW_UNIT_KSI] = "1000 psi",  [BW_UNIT_BAR] = "bar",
    [BW_UNIT_DEG] = "degree",    [BW_UNIT_TURN] = "turn",     [BW_UNIT_RAD] = "radian",
    [BW_UNIT_KG] = "kg",         [BW_UNIT_G] = "g",           [BW_UNIT_LB] = "lb",
    [BW_UNIT_MM3] = "mm^3",      [BW_UNIT_CM3] = "cm^3",      [BW_UNIT_IN3] = "in^3",
    [BW_UNIT_S] = "s",           [BW_UNIT_MIN] = "minute",    [BW_UNIT_H] = "hour",
};

static uint32_t next_random(uint32_t *x) {
    *x ^= *x << 13;
    *x ^= *x >> 17;
    *x ^= *x << 5;
    return *x;
}

typedef struct pair {
    double value;
    bw_unit from, to;
} pair;

static pair random_pair(uint32_t *x) {
    for (;;) {
        pair p = {
            (double)(1 + next_random(x) % 999999999) / 10000,
            (bw_unit)(next_random(x) % BW_UNIT_COUNT),
            (bw_unit)(next_random(x) % BW_UNIT_COUNT),
        };
        if (names[p.from] != NULL && names[p.to] != NULL && p.from != p.to &&
            bw_unit_of(p.from)->dimension == bw_unit_of(p.to)->dimension) {
            return p;
        }
    }
}

static void test_random_pairs(void **state) {
    (void)state;
    static const char path[] = BW_BINARY_DIR "/tests/gnu_units.in";
    FILE *in = fopen(path, "w");
    assert_non_null(in);
    pair pairs[PAIRS];
    uint32_t x = 20240229u;
    for (size_t i = 0; i < PAIRS; i++) {
        pairs[i] = random_pair(&x);
        fprintf(in, "%.4f %s\n%s\n", pairs[i].value, names[pairs[i].from], names[pairs[i].to]);
    }
    assert_int_equal(fclose(in), 0);
    FILE *answers = popen("units -q -t -o '%.17g' < '" BW_BINARY_DIR "/tests/gnu_units.in'", "r");
    assert_non_null(answers);
    double worst = 0;
    for (size_t i = 0; i < PAIRS; i++) {
        char line[128];
        assert_non_null(fgets(line, sizeof line, answers));
        double theirs = strtod(line, NULL);
        double ours = bw_from_base(bw_to_base(pairs[i].value, pairs[i].from), pairs[i].to);
        double off = fabs(ours / theirs - 1);
        worst = off > worst ? off : worst;
        if (!(off <= 1e-12)) {
            fail_msg("%.4f %s in %s: %.17g, not %s", pairs[i].value, names[pairs[i].from],
                     names[pairs[i].to], ours, line);
        }
    }
    assert_int_equal(pclose(answers), 0);
    print_message("worst of %d: %.1e\n", PAIRS, worst);
}

static void test_temperatures(void **state) {
    (void)state;
    FILE *answers = popen(
        "for c in -40 -17.5 0 20 37 100 287.3; do units -t -o '%.17g' \"tempC($c)\" tempF; done",
        "r");
    assert_non_null(answers);
    static const double degC[] = {-40, -17.5, 0, 20, 37, 100, 287.3};
    for (size_t i = 0; i < sizeof degC / sizeof degC[0]; i++) {
        char line[128];
        assert_non_null(fgets(line, sizeof line, answers));
        assert_true(fabs(bw_from_base(degC[i], BW_UNIT_DEGF) - strtod(line, NULL)) <= 1e-10);
    }
    assert_int_equal(pclose(answers), 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_random_pairs),
        cmocka_unit_test(test_temperatures),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
