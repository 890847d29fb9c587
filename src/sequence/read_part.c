/* read_part.c - which part goes where, which piece of the drawer is taken, and whether a fastener
 * may be used again.  See draft.h. */
#include "sequence/draft.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

/* ---- fit{}: a part for each place ---- */

static void check_labels(const bw_fields *form, const char *field, const char *const *label,
                         size_t n) {
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < i; k++) {
            if (strcmp(label[i], label[k]) == 0) {
                bw_mistake_add(form->mistakes, bw_fields_at(form, field),
                               "`%s` of fit holds \"%s\" twice: each needs its own", field,
                               label[i]);
            }
        }
    }
}

static const char *const *read_labels(const bw_fields *form, const char *field, bw_need need,
                                      size_t *n) {
    const bw_value *list = bw_fields_get(form, field, need);
    const char *const *label = list == NULL ? NULL : bw_fields_labels(form, list, field, n);
    if (label != NULL && *n > BW_ORDER_MAX) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, field),
                       "`%s` of fit holds %zu: at most %d", field, *n, BW_ORDER_MAX);
        return NULL;
    }
    check_labels(form, field, label, label == NULL ? 0 : *n);
    return label;
}

void bw_read_fit(bw_draft *draft, const bw_fields *form, bw_step *step) {
    size_t to_n = 0;
    size_t mark_n = 0;
    bw_draft_step *named = &draft->named[draft->plan.step_n - 1];
    step->fits = bw_fields_text(form, "part", BW_NEEDED);
    step->to = read_labels(form, "to", BW_NEEDED, &to_n);
    step->to_n = step->to == NULL ? 0 : to_n;
    step->mark = read_labels(form, "marks", BW_OPTIONAL, &mark_n);
    named->as = bw_fields_id(form, "as", BW_OPTIONAL);
    for (size_t i = 0; i < mark_n && step->mark != NULL; i++) {
        if (bw_is_bench_word(step->mark[i])) {
            bw_mistake_add(
                draft->mistakes, bw_fields_at(form, "marks"),
                "`marks` of fit holds \"%s\", which does something else when it is typed "
                "at the bench",
                step->mark[i]);
        }
    }
    if (step->to != NULL && step->mark != NULL && mark_n != to_n) {
        bw_mistake_add(draft->mistakes, bw_fields_at(form, "marks"),
                       "fit has %zu places in `to` and %zu `marks`: one for each is needed", to_n,
                       mark_n);
    }
    if (named->as != NULL && bw_fields_has(form, "marks")) {
        bw_mistake_add(draft->mistakes, bw_fields_at(form, "marks"),
                       "fit takes its marks from `marks` or from the step `as`, not from both");
        named->as = NULL;
    }
}

/* ---- choose{ of, stock, within }: the piece that comes nearest ---- */

static bool read_stock(bw_draft *draft, const bw_fields *form, bw_step *step) {
    const bw_value *list = bw_fields_get(form, "stock", BW_NEEDED);
    bool good = list != NULL && list->kind == BW_VALUE_TABLE && list->field_n == 0 &&
                list->list_n > 0 && list->list_n <= BW_PLAN_STOCK_MAX;
    if (list != NULL && !good) {
        bw_mistake_add(draft->mistakes, bw_fields_at(form, "stock"),
                       "`stock` of choose needs 1 to %d sizes in braces: {mm(2.50), mm(2.55)}",
                       BW_PLAN_STOCK_MAX);
    }
    bw_quantity *stock = good ? bw_draft_memory(draft, list->list_n, sizeof *stock) : NULL;
    const char **part = good ? bw_draft_memory(draft, list->list_n, sizeof *part) : NULL;
    for (size_t i = 0; stock != NULL && part != NULL && i < list->list_n; i++) {
        bw_written written;
        char shown[64];
        if (!bw_fields_quantity_of(form, &list->list[i], "stock", BW_DIM_LENGTH, &written)) {
            return false;
        }
        stock[i] = written.quantity;
        part[i] = bw_arena_text(draft->arena, bw_quantity_text(stock[i], shown, sizeof shown));
        draft->mistakes->memory_out = draft->mistakes->memory_out || part[i] == NULL;
    }
    step->stock = stock;
    step->part = part;
    step->stock_n = stock != NULL && part != NULL ? list->list_n : 0;
    return step->stock_n > 0;
}

void bw_read_stock(bw_draft *draft, const bw_fields *form, bw_step *step) {
    bw_draft_step *named = &draft->named[draft->plan.step_n - 1];
    const bw_value *of = bw_fields_get(form, "of", BW_NEEDED);
    bw_written within;
    if (of != NULL && of->kind != BW_VALUE_TABLE) {
        bw_mistake_add(draft->mistakes, bw_fields_at(form, "of"),
                       "`of` of choose needs a step and its value in braces: {step = \"lash-1\", "
                       "value = \"shim\"}");
    } else if (of != NULL) {
        bw_fields table = bw_fields_in(form, "of", of, "`of`", "step value");
        named->of_step = bw_fields_id(&table, "step", BW_NEEDED);
        named->of_value = bw_fields_id(&table, "value", BW_NEEDED);
    }
    (void)read_stock(draft, form, step);
    if (bw_fields_quantity(form, "within", BW_NEEDED, BW_DIM_LENGTH, &within)) {
        step->stock_within = within.base;
        if (within.base <= 0) {
            bw_mistake_add(draft->mistakes, within.spot, "`within` of choose must be above zero");
        }
    }
    if (bw_fields_has(form, "row") || bw_fields_has(form, "column") ||
        bw_fields_has(form, "parts")) {
        bw_mistake_add(draft->mistakes, form->spot,
                       "choose takes its part from `row` and `parts`, or from `of` and `stock`, "
                       "not from both");
    }
}

/* ---- group{ reuse, reuse_check } ---- */

void bw_read_reuse(const bw_fields *form, bw_group *group) {
    const char *reuse = bw_fields_text(form, "reuse", BW_OPTIONAL);
    const char *check = bw_fields_text(form, "reuse_check", BW_OPTIONAL);
    bool after_check = reuse != NULL && strcmp(reuse, "after_check") == 0;
    bool never = reuse != NULL && strcmp(reuse, "never") == 0;
    if (reuse != NULL && !after_check && !never && strcmp(reuse, "free") != 0) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, "reuse"),
                       "`reuse` of group is \"never\", \"after_check\" or \"free\", not \"%.48s\"",
                       reuse);
    } else if (after_check != bw_fields_has(form, "reuse_check")) {
        bw_mistake_add(form->mistakes, form->spot,
                       after_check
                           ? "group lacks `reuse_check`: what is checked before one is used "
                             "again, such as \"no longer than 118 mm\""
                           : "`reuse_check` of group needs reuse = \"after_check\"");
    }
    if (reuse != NULL && bw_fields_has(form, "new_each_time")) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, "new_each_time"),
                       "`new_each_time` and `reuse` say the same: leave one of them out");
    }
    group->new_each_time = group->new_each_time || never;
    group->reuse_check = after_check ? check : NULL;
}
