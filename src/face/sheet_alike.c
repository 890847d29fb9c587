/* sheet_alike.c - which measuring steps ask for the same of several parts, and what to call them
 * together. */
#include "face/sheet_make.h"

#include <string.h>

static bool same_text(const char *a, const char *b) {
    return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

static bool same_set(const bw_reading_set *a, const bw_reading_set *b) {
    bool same = strcmp(a->say, b->say) == 0 && a->unit == b->unit && a->at_n == b->at_n;
    for (size_t i = 0; same && i < a->at_n; i++) {
        same = strcmp(a->at[i], b->at[i]) == 0;
    }
    return same;
}

static bool same_derived(const bw_derived *a, const bw_derived *b) {
    return strcmp(a->say, b->say) == 0 && a->unit == b->unit && a->low == b->low &&
           a->high == b->high;
}

bool bw_steps_alike(const bw_step *a, const bw_step *b) {
    bool same = b->kind == BW_STEP_MEASURE && a->set_n == b->set_n &&
                a->derived_n == b->derived_n && same_text(a->gauge, b->gauge);
    for (size_t i = 0; same && i < a->set_n; i++) {
        same = same_set(&a->set[i], &b->set[i]);
    }
    for (size_t i = 0; same && i < a->derived_n; i++) {
        same = same_derived(&a->derived[i], &b->derived[i]);
    }
    return same;
}

/* ---- names: "Main bearing 1 to 5: journal and bore" with rows "bearing 1" ... ---- */

static size_t bare_length(const char *say) {
    size_t len = strlen(say);
    return len > 0 && say[len - 1] == '.' ? len - 1 : len;
}

static bool ends_word(char c) {
    return c == ' ' || c == ':' || c == ',' || c == ';';
}

static bw_naming common(const char *a, const char *b) {
    size_t a_len = bare_length(a);
    size_t b_len = bare_length(b);
    size_t least = a_len < b_len ? a_len : b_len;
    bw_naming n = {0, 0};
    while (n.before < least && a[n.before] == b[n.before]) {
        n.before++;
    }
    while (n.before > 0 && a[n.before - 1] != ' ') {
        n.before--;
    }
    while (n.behind < least - n.before && a[a_len - n.behind - 1] == b[b_len - n.behind - 1]) {
        n.behind++;
    }
    while (n.behind > 0 && !ends_word(a[a_len - n.behind])) {
        n.behind--;
    }
    return n;
}

bw_naming bw_steps_naming(const bw_step *const *step, size_t n) {
    bw_naming all = common(step[0]->say, step[n - 1]->say);
    for (size_t i = 1; i < n; i++) {
        bw_naming one = common(step[0]->say, step[i]->say);
        all.before = one.before < all.before ? one.before : all.before;
        all.behind = one.behind < all.behind ? one.behind : all.behind;
    }
    return all;
}

const char *bw_make_steps_title(bw_making *m, const bw_step *const *step, size_t n,
                                bw_naming name) {
    const char *first = step[0]->say;
    const char *last = step[n - 1]->say;
    size_t first_len = bare_length(first);
    if (n == 1) {
        return bw_make_said(m, "%.*s", (int)first_len, first);
    }
    return bw_make_said(m, "%.*s to %.*s%.*s", (int)(first_len - name.behind), first,
                        (int)(bare_length(last) - name.behind - name.before), last + name.before,
                        (int)name.behind, first + first_len - name.behind);
}

/* A number with the word before it: "bearing 1". */
const char *bw_make_step_name(bw_making *m, const bw_step *step, bw_naming name) {
    char first = step->say[name.before];
    bool number = first >= '0' && first <= '9';
    size_t from = number && name.before > 0 ? name.before - 1 : name.before;
    while (number && from > 0 && step->say[from - 1] != ' ') {
        from--;
    }
    size_t len = bare_length(step->say) - name.behind - from;
    return bw_make_said(m, "%.*s", (int)len, step->say + from);
}
