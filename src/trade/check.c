/* check.c - see check.h. */
#include "trade/check.h"

#include <stdbool.h>

/* Written so that NaN is outside. */
static bool inside(const bw_range *r) {
    return r->value >= r->least && r->value <= r->most;
}

bw_status bw_check(const bw_range *range, size_t n, bw_err *err) {
    for (size_t i = 0; i < n; i++) {
        if (!inside(&range[i])) {
            const bw_range *r = &range[i];
            return bw_fail(err, BW_E_DATA, "%s is %.9g%s: %.9g to %.9g%s is needed", r->name,
                           r->value, r->unit, r->least, r->most, r->unit);
        }
    }
    return BW_OK;
}

bw_status bw_check_list(const char *name, const double *value, size_t n, size_t n_least,
                        double least, double most, const char *unit, bw_err *err) {
    if (n < n_least) {
        return bw_fail(err, BW_E_DATA, "%s has %zu values: %zu or more are needed", name, n,
                       n_least);
    }
    for (size_t i = 0; i < n; i++) {
        const bw_range r = {name, value[i], least, most, unit};
        if (!inside(&r)) {
            return bw_fail(err, BW_E_DATA, "%s number %zu is %.9g%s: %.9g to %.9g%s is needed",
                           name, i + 1, r.value, unit, least, most, unit);
        }
    }
    return BW_OK;
}
