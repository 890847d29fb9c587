/* statistics.c - see statistics.h. */
#include "trade/statistics.h"

#include "trade/check.h"

#include <math.h>

static const double largest = 1e150; /* squares stay finite */

bw_status bw_summary_of(const double *value, size_t n, bw_summary *out, bw_err *err) {
    bw_status s = bw_check_list("values", value, n, 1, -largest, largest, "", err);
    if (s != BW_OK) {
        return s;
    }
    double count = (double)n;
    double shift = value[0];
    bw_summary r = {0, 0, 0, value[0], value[0]};
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        sum += value[i] - shift;
        r.least = value[i] < r.least ? value[i] : r.least;
        r.most = value[i] > r.most ? value[i] : r.most;
    }
    double offset = sum / count; /* of the mean from the first value */
    double squares = 0;
    double neighbours = 0;
    double rest = 0;
    double before = 0;
    for (size_t i = 0; i < n; i++) {
        double off = value[i] - shift - offset;
        squares += off * off;
        neighbours += before * off; /* the first has no neighbour before: 0 */
        rest += off;
        before = off;
    }
    squares -= rest * rest / count;
    r.mean = shift + (offset + rest / count);
    r.s = n > 1 && squares > 0 ? sqrt(squares / (count - 1)) : 0;
    r.lag1 = squares > 0 ? neighbours / squares : 0;
    *out = r;
    return BW_OK;
}

/* Lets the value at root sink to its place in a heap of n. */
static void sink(double *heap, size_t root, size_t n) {
    double value = heap[root];
    size_t child = 2 * root + 1;
    while (child < n) {
        if (child + 1 < n && heap[child + 1] > heap[child]) {
            child++;
        }
        if (heap[child] <= value) {
            break;
        }
        heap[root] = heap[child];
        root = child;
        child = 2 * root + 1;
    }
    heap[root] = value;
}

/* Heap sort: no recursion, no memory, n log n whatever comes. */
static void sort(double *value, size_t n) {
    for (size_t root = n / 2; root-- > 0;) {
        sink(value, root, n);
    }
    for (size_t end = n; end-- > 1;) {
        double most = value[0];
        value[0] = value[end];
        value[end] = most;
        sink(value, 0, end);
    }
}

static double middle_of_sorted(const double *value, size_t n) {
    double upper = value[n / 2];
    return n % 2 == 1 ? upper : value[n / 2 - 1] / 2 + upper / 2;
}

bw_status bw_median_of(const double *value, size_t n, double *scratch, double *median, double *mad,
                       bw_err *err) {
    bw_status s = bw_check_list("values", value, n, 1, -largest, largest, "", err);
    if (s != BW_OK) {
        return s;
    }
    for (size_t i = 0; i < n; i++) {
        scratch[i] = value[i];
    }
    sort(scratch, n);
    double middle = middle_of_sorted(scratch, n);
    for (size_t i = 0; i < n; i++) {
        scratch[i] = fabs(value[i] - middle);
    }
    sort(scratch, n);
    *median = middle;
    *mad = middle_of_sorted(scratch, n);
    return BW_OK;
}
