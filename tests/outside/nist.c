/* nist.c - mean, standard deviation and lag-1 autocorrelation of the NIST StRD univariate sets.
 *
 * Certified values and data: U.S. National Institute of Standards and Technology, Statistical
 * Reference Datasets (work of the U.S. government), seen as files in a public repository.  NumAcc1
 * to 4 are constructed.  PiDigits is not here: its certified mean is 4.5348 and the first 5000
 * digits of pi have 4.5358, so the set cannot be made again without its file. */
#include "trade/statistics.h"

#include "cmocka_all.h"

#include <math.h>

static const double lew[] = {
    -213, -564, -35,  -15,  141,  115,  -420, -360, 203,  -338, -431, 194,  -220, -513, 154,  -125,
    -559, 92,   -21,  -579, -52,  99,   -543, -175, 162,  -457, -346, 204,  -300, -474, 164,  -107,
    -572, -8,   83,   -541, -224, 180,  -420, -374, 201,  -236, -531, 83,   27,   -564, -112, 131,
    -507, -254, 199,  -311, -495, 143,  -46,  -579, -90,  136,  -472, -338, 202,  -287, -477, 169,
    -124, -568, 17,   48,   -568, -135, 162,  -430, -422, 172,  -74,  -577, -13,  92,   -534, -243,
    194,  -355, -465, 156,  -81,  -578, -64,  139,  -449, -384, 193,  -198, -538, 110,  -44,  -577,
    -6,   66,   -552, -164, 161,  -460, -344, 205,  -281, -504, 134,  -28,  -576, -118, 156,  -437,
    -381, 200,  -220, -540, 83,   11,   -568, -160, 172,  -414, -408, 188,  -125, -572, -32,  139,
    -492, -321, 205,  -262, -504, 142,  -83,  -574, 0,    48,   -571, -106, 137,  -501, -266, 190,
    -391, -406, 194,  -186, -553, 83,   -13,  -577, -49,  103,  -515, -280, 201,  300,  -506, 131,
    -45,  -578, -80,  138,  -462, -361, 201,  -211, -554, 32,   74,   -533, -235, 187,  -372, -442,
    182,  -147, -566, 25,   68,   -535, -244, 194,  -351, -463, 174,  -125, -570, 15,   72,   -550,
    -190, 172,  -424, -385, 198,  -218, -536, 96};
static const double michelson[] = {
    299.85, 299.74, 299.90, 300.07, 299.93, 299.85, 299.95, 299.98, 299.98, 299.88, 300.00, 299.98,
    299.93, 299.65, 299.76, 299.81, 300.00, 300.00, 299.96, 299.96, 299.96, 299.94, 299.96, 299.94,
    299.88, 299.80, 299.85, 299.88, 299.90, 299.84, 299.83, 299.79, 299.81, 299.88, 299.88, 299.83,
    299.80, 299.79, 299.76, 299.80, 299.88, 299.88, 299.88, 299.86, 299.72, 299.72, 299.62, 299.86,
    299.97, 299.95, 299.88, 299.91, 299.85, 299.87, 299.84, 299.84, 299.85, 299.84, 299.84, 299.84,
    299.89, 299.81, 299.81, 299.82, 299.80, 299.77, 299.76, 299.74, 299.75, 299.76, 299.91, 299.92,
    299.89, 299.86, 299.88, 299.72, 299.84, 299.85, 299.85, 299.78, 299.89, 299.84, 299.78, 299.81,
    299.76, 299.81, 299.79, 299.81, 299.82, 299.85, 299.87, 299.87, 299.81, 299.74, 299.81, 299.94,
    299.95, 299.80, 299.81, 299.87};
static const double mavro[] = {
    2.00180, 2.00170, 2.00180, 2.00190, 2.00180, 2.00170, 2.00150, 2.00140, 2.00150, 2.00150,
    2.00170, 2.00180, 2.00180, 2.00190, 2.00190, 2.00210, 2.00200, 2.00160, 2.00140, 2.00130,
    2.00130, 2.00150, 2.00150, 2.00160, 2.00150, 2.00140, 2.00130, 2.00140, 2.00150, 2.00140,
    2.00150, 2.00160, 2.00150, 2.00160, 2.00190, 2.00200, 2.00200, 2.00210, 2.00220, 2.00230,
    2.00240, 2.00250, 2.00270, 2.00260, 2.00260, 2.00260, 2.00270, 2.00260, 2.00250, 2.00240};

/* Digits that agree, 15 where all do. */
static double digits(double got, double certified) {
    double off = fabs(got - certified) / fabs(certified);
    return off <= 1e-15 ? 15 : -log10(off);
}

static void check(const char *name, const double *value, size_t n, double mean, double s,
                  double lag1, double least_digits) {
    bw_summary summary = {0};
    assert_int_equal(bw_summary_of(value, n, &summary, NULL), BW_OK);
    double d_mean = digits(summary.mean, mean);
    double d_s = digits(summary.s, s);
    double d_lag = digits(summary.lag1, lag1);
    print_message("%-9s mean %.1f, s %.1f, lag-1 %.1f digits\n", name, d_mean, d_s, d_lag);
    if (d_mean < least_digits || d_s < least_digits || d_lag < least_digits) {
        fail_msg("%s: %.17g %.17g %.17g", name, summary.mean, summary.s, summary.lag1);
    }
}

enum { CONSTRUCTED = 1001 };

/* First, then 500 times low and high, as NIST made them. */
static void constructed(double *value, double first, double low, double high) {
    value[0] = first;
    for (size_t i = 1; i < CONSTRUCTED; i += 2) {
        value[i] = low;
        value[i + 1] = high;
    }
}

static void test_constructed(void **state) {
    (void)state;
    static const double first[] = {10000001, 10000003, 10000002};
    check("NumAcc1", first, 3, 10000002, 1, -0.5, 15);
    static double value[CONSTRUCTED];
    constructed(value, 1.2, 1.1, 1.3);
    check("NumAcc2", value, CONSTRUCTED, 1.2, 0.1, -0.999, 13);
    constructed(value, 1000000.2, 1000000.1, 1000000.3);
    check("NumAcc3", value, CONSTRUCTED, 1000000.2, 0.1, -0.999, 9);
    /* The numbers themselves, as doubles, hold eight digits of s. */
    constructed(value, 10000000.2, 10000000.1, 10000000.3);
    check("NumAcc4", value, CONSTRUCTED, 10000000.2, 0.1, -0.999, 8);
}

/* The one-pass sum of squares must fail the same gate: else the gate proves nothing. */
static void test_the_gate_rejects_the_naive_formula(void **state) {
    (void)state;
    static double value[CONSTRUCTED];
    constructed(value, 1000000.2, 1000000.1, 1000000.3);
    double sum = 0;
    double squares = 0;
    for (size_t i = 0; i < CONSTRUCTED; i++) {
        sum += value[i];
        squares += value[i] * value[i];
    }
    double n = CONSTRUCTED;
    double s = sqrt(fabs(squares - sum * sum / n) / (n - 1));
    assert_true(digits(s, 0.1) < 9);
}

static void test_observed(void **state) {
    (void)state;
    check("Lew", lew, sizeof lew / sizeof lew[0], -177.435000000000, 277.332168044316,
          -0.307304800605679, 13);
    check("Michelso", michelson, sizeof michelson / sizeof michelson[0], 299.852400000000,
          0.0790105478190518, 0.535199668621283, 13);
    check("Mavro", mavro, sizeof mavro / sizeof mavro[0], 2.00185600000000, 0.000429123454003053,
          0.937989183438248, 12);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_constructed),
        cmocka_unit_test(test_the_gate_rejects_the_naive_formula),
        cmocka_unit_test(test_observed),

    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
