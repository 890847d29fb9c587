/* calc.c - see calc.h: the table of all functions, topic by topic, and what surrounds a call. */
#include "trade/calc.h"

#include "trade/calc_int.h"

#include <math.h>
#include <string.h>

static const bw_calc_function *const topics[] = {
    bw_calc_fastener, bw_calc_scatter, bw_calc_stretch, bw_calc_reading,
    bw_calc_engine,   bw_calc_number,  bw_calc_weight,
};

enum { TOPIC_N = sizeof topics / sizeof topics[0] };

const bw_calc_function *bw_calc_at(size_t index) {
    for (size_t t = 0; t < TOPIC_N; t++) {
        for (const bw_calc_function *f = topics[t]; f->name != NULL; f++) {
            if (index-- == 0) {
                return f;
            }
        }
    }
    return NULL;
}

const bw_calc_function *bw_calc_find(const char *name) {
    for (size_t t = 0; t < TOPIC_N; t++) {
        for (const bw_calc_function *f = topics[t]; f->name != NULL; f++) {
            if (strcmp(f->name, name) == 0) {
                return f;
            }
        }
    }
    return NULL;
}

static bool finite_value(const bw_calc_value *v) {
    if (v->type == BW_CALC_QUANTITY) {
        return isfinite(v->number);
    }
    size_t n = v->type == BW_CALC_LIST ? v->list_n : 0;
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(v->list[i])) {
            return false;
        }
    }
    return true;
}

static bw_status check_arg(const bw_calc_arg *arg, const bw_calc_value *v, bw_err *err) {
    if (!v->given) {
        return arg->optional ? BW_OK
                             : bw_fail(err, BW_E_DATA, "`%s` is missing: %s", arg->name, arg->says);
    }
    if (v->type != arg->type) {
        return bw_fail(err, BW_E_DATA, "`%s` is of another kind than is needed: %s", arg->name,
                       arg->says);
    }
    if (!finite_value(v)) {
        return bw_fail(err, BW_E_DATA, "`%s` is not a finite number", arg->name);
    }
    if (v->type == BW_CALC_LIST && (v->list_n == 0 || v->list_n > BW_CALC_LIST_MAX)) {
        return bw_fail(err, BW_E_DATA, "`%s` has %zu values: 1 to %d are needed", arg->name,
                       v->list_n, BW_CALC_LIST_MAX);
    }
    return BW_OK;
}

bw_status bw_calc_eval(const bw_calc_function *function, const bw_calc_value *arg,
                       bw_calc_result *result, size_t *result_n, bw_err *err) {
    for (size_t i = 0; function->arg[i].name != NULL; i++) {
        bw_status s = check_arg(&function->arg[i], &arg[i], err);
        if (s != BW_OK) {
            return s;
        }
    }
    bw_calc_result out[BW_CALC_RESULTS_MAX];
    size_t n = 0;
    bw_status s = function->eval(arg, out, &n, err);
    if (s == BW_OK) {
        memcpy(result, out, n * sizeof *out);
        *result_n = n;
    }
    return s;
}

double bw_calc_or(const bw_calc_value *a, double otherwise) {
    return a->given ? a->number : otherwise;
}

bw_status bw_calc_thread(const bw_calc_value *a, bw_thread *out, bw_err *err) {
    bool sizes = a[1].given && a[2].given;
    if (a[0].given == (a[1].given || a[2].given) || (!a[0].given && !sizes)) {
        return bw_fail(err, BW_E_DATA,
                       "give either `thread`, such as \"M10x1.25\", or both `d` and `pitch`");
    }
    if (sizes) {
        *out = (bw_thread){a[1].number, a[2].number, false};
        return BW_OK;
    }
    return bw_thread_parse(a[0].text, strlen(a[0].text), out, err);
}

bw_status bw_calc_tightening(const bw_calc_value *a, bw_tightening *out, bw_err *err) {
    out->friction_thread = a[3].number;
    out->friction_head = a[4].number;
    out->bearing_outer_mm = a[5].number;
    out->bearing_inner_mm = a[6].number;
    return bw_calc_thread(a, &out->thread, err);
}

static bw_calc_value *next(bw_calc_result *r, size_t *n, const char *name, bw_calc_type type) {
    bw_calc_result *result = &r[(*n)++];
    *result = (bw_calc_result){.name = name, .value = {.given = true, .type = type}};
    return &result->value;
}

void bw_put(bw_calc_result *r, size_t *n, const char *name, double value, bw_unit shown) {
    bw_calc_value *v = next(r, n, name, BW_CALC_QUANTITY);
    v->number = value;
    v->unit = shown;
}

void bw_put_text(bw_calc_result *r, size_t *n, const char *name, const char *text) {
    next(r, n, name, BW_CALC_TEXT)->text = text;
}

void bw_put_flag(bw_calc_result *r, size_t *n, const char *name, bool flag) {
    next(r, n, name, BW_CALC_FLAG)->flag = flag;
}

bw_status bw_calc_same_length(const char *one, const bw_calc_value *a, const char *other,
                              const bw_calc_value *b, bw_err *err) {
    if (a->list_n != b->list_n) {
        return bw_fail(err, BW_E_DATA, "`%s` has %zu values and `%s` %zu: as many are needed", one,
                       a->list_n, other, b->list_n);
    }
    return BW_OK;
}
