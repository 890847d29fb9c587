/* expression.c - see expression.h. */
#include "expression.h"

#include "base/decimal.h"

#include <ctype.h>
#include <string.h>

/* Reading stops at the first thing that is not as it should be. */
typedef struct reader {
    expression *e;
    const char *at;
} reader;

static bool wrong(reader *r, const char *what) {
    (void)bw_fail(&r->e->err, BW_E_DATA, "%s at '%.30s'", what, r->at);
    return false;
}

static void skip_space(reader *r) {
    while (*r->at == ' ') {
        r->at++;
    }
}

static bool take(reader *r, char c) {
    skip_space(r);
    if (*r->at != c) {
        return false;
    }
    r->at++;
    return true;
}

static size_t word_length(const char *text) {
    size_t n = 0;
    while (isalnum((unsigned char)text[n]) || text[n] == '_') {
        n++;
    }
    return n;
}

static bool read_number(reader *r, double *out) {
    skip_space(r);
    size_t n = strspn(r->at, "+-.0123456789eE");
    if (bw_number_parse(r->at, n, out, &r->e->err) != BW_OK) {
        return wrong(r, "no number");
    }
    r->at += n;
    return true;
}

/* A bare number, or a unit's word with a number in brackets. */
static bool read_quantity(reader *r, bw_dimension dimension, double *out) {
    skip_space(r);
    if (!isalpha((unsigned char)*r->at)) {
        return dimension == BW_DIM_NUMBER ? read_number(r, out) : wrong(r, "a unit is missing");
    }
    size_t n = word_length(r->at);
    bw_unit unit = BW_UNIT_NUMBER;
    while (unit < BW_UNIT_COUNT && !(strlen(bw_unit_of(unit)->word) == n &&
                                     memcmp(bw_unit_of(unit)->word, r->at, n) == 0)) {
        unit++;
    }
    if (unit == BW_UNIT_COUNT || bw_unit_of(unit)->dimension != dimension) {
        return wrong(r, "another unit is needed");
    }
    r->at += n;
    double value = 0;
    if (!take(r, '(') || !read_number(r, &value) || !take(r, ')')) {
        return wrong(r, "a number in brackets is needed");
    }
    *out = bw_to_base(value, unit);
    return true;
}

static bool read_list(reader *r, bw_dimension dimension, bw_calc_value *out) {
    expression *e = r->e;
    out->list = e->number + e->number_n;
    if (!take(r, '{')) {
        return wrong(r, "a list is needed");
    }
    do {
        if (e->number_n == EXPRESSION_NUMBERS_MAX ||
            !read_quantity(r, dimension, &e->number[e->number_n])) {
            return wrong(r, "a list's value is needed");
        }
        e->number_n++;
        out->list_n++;
    } while (take(r, ','));
    return take(r, '}') || wrong(r, "the list's end is needed");
}

static bool read_text(reader *r, bw_calc_value *out) {
    expression *e = r->e;
    const char *end = take(r, '"') ? strchr(r->at, '"') : NULL;
    if (end == NULL || e->text_n + (size_t)(end - r->at) + 1 > EXPRESSION_TEXT_MAX) {
        return wrong(r, "a text in quotes is needed");
    }
    size_t n = (size_t)(end - r->at);
    char *copy = e->text + e->text_n;
    memcpy(copy, r->at, n);
    copy[n] = '\0';
    e->text_n += n + 1;
    out->text = copy;
    r->at = end + 1;
    return true;
}

static bool read_flag(reader *r, bw_calc_value *out) {
    skip_space(r);
    out->flag = strncmp(r->at, "true", 4) == 0;
    if (!out->flag && strncmp(r->at, "false", 5) != 0) {
        return wrong(r, "true or false is needed");
    }
    r->at += out->flag ? 4 : 5;
    return true;
}

static bool read_value(reader *r, const bw_calc_arg *arg, bw_calc_value *out) {
    out->given = true;
    out->type = arg->type;
    switch (arg->type) {
    case BW_CALC_QUANTITY:
        return read_quantity(r, arg->dimension, &out->number);
    case BW_CALC_LIST:
        return read_list(r, arg->dimension, out);
    case BW_CALC_TEXT:
        return read_text(r, out);
    case BW_CALC_FLAG:
        return read_flag(r, out);
    }
    return false;
}

static bool read_argument(reader *r) {
    skip_space(r);
    size_t n = word_length(r->at);
    const bw_calc_arg *arg = r->e->function->arg;
    while (arg->name != NULL && !(strlen(arg->name) == n && memcmp(arg->name, r->at, n) == 0)) {
        arg++;
    }
    if (arg->name == NULL) {
        return wrong(r, "no such argument");
    }
    r->at += n;
    return take(r, '=') ? read_value(r, arg, &r->e->arg[arg - r->e->function->arg])
                        : wrong(r, "= is needed");
}

bool expression_read(expression *e, const char *text) {
    memset(e, 0, sizeof *e);
    reader r = {e, text};
    char name[64] = "";
    size_t n = word_length(text);
    memcpy(name, text, n < sizeof name - 1 ? n : sizeof name - 1);
    e->function = bw_calc_find(name);
    if (e->function == NULL) {
        return wrong(&r, "no such function");
    }
    r.at += n;
    if (!take(&r, '{')) {
        return wrong(&r, "{ is needed");
    }
    do {
        if (!read_argument(&r)) {
            return false;
        }
    } while (take(&r, ','));
    return (take(&r, '}') && *r.at == '\0') || wrong(&r, "the end is needed");
}

bw_status expression_eval(expression *e, const char *text, bw_calc_result *result, size_t *n) {
    *n = 0;
    return expression_read(e, text) ? bw_calc_eval(e->function, e->arg, result, n, &e->err)
                                    : BW_E_DATA;
}

const bw_calc_value *expression_result(const bw_calc_result *result, size_t n, const char *name) {
    for (size_t i = 0; i < n; i++) {
        if (strcmp(result[i].name, name) == 0) {
            return &result[i].value;
        }
    }
    return NULL;
}
