/* calc_number.c - statistics, uncertainty and decisions in the table of functions. */
#include "trade/calc_int.h"
#include "trade/chart.h"
#include "trade/distribution.h"
#include "trade/statistics.h"
#include "trade/uncertainty.h"

#include <math.h>
#include <string.h>

static const char gum[] = "JCGM 100";
static const char handbook[] = "NIST/SEMATECH e-Handbook; statistics software manuals";

static const bw_calc_arg values_args[] = {BW_ARG_LIST("values", NUMBER, "in the order of time"),
                                          BW_ARG_END};

static bw_status eval_statistics(BW_EVAL) {
    double scratch[BW_CALC_LIST_MAX];
    bw_summary summary = {0};
    double median = 0;
    double mad = 0;
    bw_status s = bw_summary_of(a[0].list, a[0].list_n, &summary, err);
    if (s == BW_OK) {
        s = bw_median_of(a[0].list, a[0].list_n, scratch, &median, &mad, err);
    }
    bw_put(r, n, "n", (double)a[0].list_n, BW_UNIT_NUMBER);
    bw_put(r, n, "mean", summary.mean, BW_UNIT_NUMBER);
    bw_put(r, n, "s", summary.s, BW_UNIT_NUMBER);
    bw_put(r, n, "lag1", summary.lag1, BW_UNIT_NUMBER);
    bw_put(r, n, "least", summary.least, BW_UNIT_NUMBER);
    bw_put(r, n, "most", summary.most, BW_UNIT_NUMBER);
    bw_put(r, n, "median", median, BW_UNIT_NUMBER);
    bw_put(r, n, "mad", mad, BW_UNIT_NUMBER);
    return s;
}

static bw_status eval_type_a(BW_EVAL) {
    bw_type_a type_a = {0};
    bw_status s = bw_type_a_of(a[0].list, a[0].list_n, &type_a, err);
    bw_put(r, n, "mean", type_a.mean, BW_UNIT_NUMBER);
    bw_put(r, n, "s", type_a.s, BW_UNIT_NUMBER);
    bw_put(r, n, "u", type_a.u, BW_UNIT_NUMBER);
    bw_put(r, n, "freedom", type_a.freedom, BW_UNIT_NUMBER);
    return s;
}

/* The enumerator of a word; BW_E_DATA with `words` where there is none. */
static bw_status find_word(const char *name, const char *word, const char *(*word_at)(int),
                           const char *words, int *out, bw_err *err) {
    for (int i = 0; word_at(i) != NULL; i++) {
        if (strcmp(word_at(i), word) == 0) {
            *out = i;
            return BW_OK;
        }
    }
    return bw_fail(err, BW_E_DATA, "%s is '%s': %s is needed", name, word, words);
}

static const char *shape_at(int i) {
    return bw_shape_word((bw_shape)i);
}

static const char *rule_at(int i) {
    return bw_rule_word((bw_rule)i);
}

static const bw_calc_arg type_b_args[] = {
    BW_ARG("width", NUMBER, "half-width; for resolution the whole step"),
    BW_ARG_TEXT("shape", "rectangular, triangular, u or resolution"),
    BW_ARG_END,
};

static bw_status eval_type_b(BW_EVAL) {
    int shape = 0;
    double u = 0;
    bw_status s = find_word("shape", a[1].text, shape_at,
                            "rectangular, triangular, u or resolution", &shape, err);
    if (s == BW_OK) {
        s = bw_type_b_of(a[0].number, (bw_shape)shape, &u, err);
    }
    bw_put(r, n, "value", u, BW_UNIT_NUMBER);
    return s;
}

static const bw_calc_arg combine_args[] = {
    BW_ARG_LIST("u", NUMBER, "standard uncertainties, component by component"),
    BW_OPT_LIST("sensitivities", NUMBER, "what each counts for (1)"),
    BW_OPT_LIST("freedoms", NUMBER, "degrees of freedom; 0: known exactly (0)"),
    BW_ARG_END,
};

enum { COMPONENTS_MAX = 256 };

static bw_status components_of(const bw_calc_value *a, bw_component *out, bw_err *err) {
    bw_status s = BW_CHECK(err, {"components", (double)a[0].list_n, 1, COMPONENTS_MAX, ""});
    if (s == BW_OK && a[1].given) {
        s = bw_calc_same_length("u", &a[0], "sensitivities", &a[1], err);
    }
    if (s == BW_OK && a[2].given) {
        s = bw_calc_same_length("u", &a[0], "freedoms", &a[2], err);
    }
    for (size_t i = 0; s == BW_OK && i < a[0].list_n; i++) {
        out[i] = (bw_component){a[0].list[i], a[1].given ? a[1].list[i] : 1,
                                a[2].given ? a[2].list[i] : 0};
    }
    return s;
}

static bw_status eval_combine(BW_EVAL) {
    bw_component component[COMPONENTS_MAX];
    bw_combined combined = {0};
    bw_status s = components_of(a, component, err);
    if (s == BW_OK) {
        s = bw_combine(component, a[0].list_n, &combined, err);
    }
    bw_put(r, n, "u", combined.u, BW_UNIT_NUMBER);
    bw_put(r, n, "freedom", combined.freedom, BW_UNIT_NUMBER);
    return s;
}

static const bw_calc_arg coverage_args[] = {
    BW_ARG("freedom", NUMBER, "effective degrees of freedom; 0: known exactly"),
    BW_ARG("probability", NUMBER, "such as 0.95"),
    BW_ARG_END,
};

static bw_status eval_coverage_factor(BW_EVAL) {
    double k = 0;
    bw_status s = bw_coverage_factor(a[0].number, a[1].number, &k, err);
    bw_put(r, n, "value", k, BW_UNIT_NUMBER);
    return s;
}

static const bw_calc_arg conformance_args[] = {
    BW_ARG("value", NUMBER, "measured"),
    BW_ARG("u", NUMBER, "standard uncertainty"),
    BW_OPT("low", NUMBER, "lower limit (none)"),
    BW_OPT("high", NUMBER, "upper limit (none)"),
    BW_ARG_END,
};

static bw_status eval_conformance(BW_EVAL) {
    double p = 0;
    bw_status s = bw_conformance(a[0].number, a[1].number, bw_calc_or(&a[2], -(double)INFINITY),
                                 bw_calc_or(&a[3], (double)INFINITY), &p, err);
    bw_put(r, n, "value", p, BW_UNIT_PERCENT);
    return s;
}

static const bw_calc_arg decision_args[] = {
    BW_ARG("value", NUMBER, "measured"),
    BW_ARG("u", NUMBER, "standard uncertainty"),
    BW_OPT("low", NUMBER, "lower limit (none)"),
    BW_OPT("high", NUMBER, "upper limit (none)"),
    BW_ARG_TEXT("rule", "simple, guarded or guarded_95"),
    BW_ARG_END,
};

static bw_status eval_decision(BW_EVAL) {
    int rule = 0;
    bw_decided decided = {BW_DECIDED_FAIL, 0, 0};
    bw_status s = find_word("rule", a[4].text, rule_at, "simple, guarded or guarded_95", &rule,
                            err);
    if (s == BW_OK) {
        s = bw_decide((bw_rule)rule, a[0].number, a[1].number, bw_calc_or(&a[2], -(double)INFINITY),
                      bw_calc_or(&a[3], (double)INFINITY), &decided, err);
    }
    bw_put_text(r, n, "value", bw_decision_word(decided.decision));
    return s;
}

static const bw_calc_arg constants_args[] = {BW_ARG("n", NUMBER, "values in a subgroup, 2 to 25"),
                                             BW_ARG_END};

static bw_status eval_chart_constants(BW_EVAL) {
    bw_chart_constants c = {0};
    bw_status s = bw_chart_constants_of(a[0].number, &c, err);
    bw_put(r, n, "d2", c.d2, BW_UNIT_NUMBER);
    bw_put(r, n, "d3", c.d3, BW_UNIT_NUMBER);
    bw_put(r, n, "c4", c.c4, BW_UNIT_NUMBER);
    bw_put(r, n, "A2", c.A2, BW_UNIT_NUMBER);
    bw_put(r, n, "A3", c.A3, BW_UNIT_NUMBER);
    bw_put(r, n, "B3", c.B3, BW_UNIT_NUMBER);
    bw_put(r, n, "B4", c.B4, BW_UNIT_NUMBER);
    bw_put(r, n, "D3", c.D3, BW_UNIT_NUMBER);
    bw_put(r, n, "D4", c.D4, BW_UNIT_NUMBER);
    return s;
}

static void put_chart(bw_calc_result *r, size_t *n, const bw_chart *chart) {
    bw_put(r, n, "centre", chart->centre, BW_UNIT_NUMBER);
    bw_put(r, n, "low", chart->low, BW_UNIT_NUMBER);
    bw_put(r, n, "high", chart->high, BW_UNIT_NUMBER);
    bw_put(r, n, "range_centre", chart->spread_centre, BW_UNIT_NUMBER);
    bw_put(r, n, "range_low", chart->spread_low, BW_UNIT_NUMBER);
    bw_put(r, n, "range_high", chart->spread_high, BW_UNIT_NUMBER);
    bw_put(r, n, "sigma", chart->sigma, BW_UNIT_NUMBER);
}

static const bw_calc_arg ranges_args[] = {
    BW_ARG_LIST("means", NUMBER, "of the subgroups"),
    BW_ARG_LIST("ranges", NUMBER, "of the subgroups"),
    BW_ARG("n", NUMBER, "values in a subgroup, 2 to 25"),
    BW_ARG_END,
};

static bw_status eval_chart_of_ranges(BW_EVAL) {
    bw_chart chart = {0};
    bw_status s = bw_calc_same_length("means", &a[0], "ranges", &a[1], err);
    if (s == BW_OK) {
        s = bw_chart_of_ranges(a[0].list, a[1].list, a[0].list_n, a[2].number, &chart, err);
    }
    put_chart(r, n, &chart);
    return s;
}

static bw_status eval_chart_of_values(BW_EVAL) {
    bw_chart chart = {0};
    bw_status s = bw_chart_of_values(a[0].list, a[0].list_n, &chart, err);
    put_chart(r, n, &chart);
    return s;
}

static const bw_calc_arg capability_args[] = {
    BW_ARG("mean", NUMBER, "of the values"),
    BW_ARG("s", NUMBER, "their standard deviation"),
    BW_ARG("n", NUMBER, "how many they were"),
    BW_ARG("low", NUMBER, "lower limit"),
    BW_ARG("high", NUMBER, "upper limit"),
    BW_OPT("confidence", NUMBER, "of the limits on cp and cpk (0.95)"),
    BW_ARG_END,
};

static bw_status eval_capability(BW_EVAL) {
    bw_capability c = {0};
    bw_status s = bw_capability_of(a[0].number, a[1].number, a[2].number, a[3].number, a[4].number,
                                   bw_calc_or(&a[5], 0.95), &c, err);
    bw_put(r, n, "cp", c.cp, BW_UNIT_NUMBER);
    bw_put(r, n, "cpk", c.cpk, BW_UNIT_NUMBER);
    bw_put(r, n, "k", c.k, BW_UNIT_NUMBER);
    bw_put(r, n, "cp_low", c.cp_low, BW_UNIT_NUMBER);
    bw_put(r, n, "cp_high", c.cp_high, BW_UNIT_NUMBER);
    bw_put(r, n, "cpk_low", c.cpk_low, BW_UNIT_NUMBER);
    bw_put(r, n, "cpk_high", c.cpk_high, BW_UNIT_NUMBER);
    return s;
}

static const bw_calc_arg normal_args[] = {BW_ARG("z", NUMBER, "in standard deviations"),
                                          BW_ARG_END};

static bw_status eval_normal(BW_EVAL) {
    (void)err;
    bw_put(r, n, "value", bw_normal_cdf(a[0].number), BW_UNIT_NUMBER);
    return BW_OK;
}

static const bw_calc_arg normal_quantile_args[] = {BW_ARG("probability", NUMBER, "0 to 1"),
                                                   BW_ARG_END};

static bw_status eval_normal_quantile(BW_EVAL) {
    double z = 0;
    bw_status s = bw_normal_quantile(a[0].number, &z, err);
    bw_put(r, n, "value", z, BW_UNIT_NUMBER);
    return s;
}

static const bw_calc_arg quantile_args[] = {
    BW_ARG("probability", NUMBER, "0 to 1"),
    BW_ARG("freedom", NUMBER, "degrees of freedom"),
    BW_ARG_END,
};

static bw_status eval_student_quantile(BW_EVAL) {
    double t = 0;
    bw_status s = bw_student_quantile(a[0].number, a[1].number, &t, err);
    bw_put(r, n, "value", t, BW_UNIT_NUMBER);
    return s;
}

static bw_status eval_chi_square_quantile(BW_EVAL) {
    double x = 0;
    bw_status s = bw_chi_square_quantile(a[0].number, a[1].number, &x, err);
    bw_put(r, n, "value", x, BW_UNIT_NUMBER);
    return s;
}

const bw_calc_function bw_calc_number[] = {
    {"statistics", "mean, standard deviation, lag-1 autocorrelation, median, MAD",
     "definitions; checked on the NIST StRD sets", "statistics{values = {4.53, 4.55, 4.51, 4.54}}",
     values_args, eval_statistics},
    {"type_a", "standard uncertainty of a mean of repeated readings", gum,
     "type_a{values = {4.53, 4.55, 4.51, 4.54}}", values_args, eval_type_a},
    {"type_b", "standard uncertainty from what else is known", gum,
     "type_b{width = 0.001, shape = \"resolution\"}", type_b_args, eval_type_b},
    {"combine", "combined standard uncertainty and effective degrees of freedom", gum,
     "combine{u = {25, 9.7, 2.9, 16.6}, freedoms = {18, 25.6, 50, 2}}", combine_args, eval_combine},
    {"coverage_factor", "k for a coverage probability", gum,
     "coverage_factor{freedom = 16, probability = 0.99}", coverage_args, eval_coverage_factor},
    {"conformance", "probability that the true value is within limits", "JCGM 106",
     "conformance{value = -5.47, u = 0.05, high = -5.40}", conformance_args, eval_conformance},
    {"decision", "pass, pass_within, fail_within or fail under a decision rule",
     "JCGM 106; ISO 14253-1 from memory",
     "decision{value = 0.108, u = 0.001, low = 0.041, high = 0.109, rule = \"guarded\"}",
     decision_args, eval_decision},
    {"chart_constants", "constants of control charts", handbook, "chart_constants{n = 5}",
     constants_args, eval_chart_constants},
    {"chart_of_ranges", "limits of a chart of means and ranges", handbook,
     "chart_of_ranges{means = {10.1, 9.9, 10.0}, ranges = {0.3, 0.5, 0.4}, n = 5}", ranges_args,
     eval_chart_of_ranges},
    {"chart_of_values", "limits of a chart of single values", handbook,
     "chart_of_values{values = {10.1, 9.9, 10.0, 10.2}}", values_args, eval_chart_of_values},
    {"capability", "Cp, Cpk and their confidence limits", handbook,
     "capability{mean = 16, s = 2, n = 50, low = 8, high = 20}", capability_args, eval_capability},
    {"normal", "distribution function of the standard normal", "definition", "normal{z = 1}",
     normal_args, eval_normal},
    {"normal_quantile", "its inverse", "definition", "normal_quantile{probability = 0.95}",
     normal_quantile_args, eval_normal_quantile},
    {"student_quantile", "inverse of Student's distribution", "definition",
     "student_quantile{probability = 0.975, freedom = 16}", quantile_args, eval_student_quantile},
    {"chi_square_quantile", "inverse of the chi squared distribution", "definition",
     "chi_square_quantile{probability = 0.95, freedom = 10}", quantile_args,
     eval_chi_square_quantile},
    {0},
};
