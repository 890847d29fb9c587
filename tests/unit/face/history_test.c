/* history_test.c - what the display tells of a step that is done anew. */
#include "cmocka_all.h"

#include "face/display/history.h"

#include <string.h>

static bw_entry entry_of(bw_kind kind) {
    bw_entry e = bw_entry_of(kind);
    e.by = "A. Lund";
    bw_entry_set_text(&e, BW_M_STEP, "caps");
    bw_entry_set_whole(&e, BW_M_STAGE, 1);
    bw_entry_set_whole(&e, BW_M_FASTENER, 3);
    bw_entry_set_whole(&e, BW_M_ATTEMPT, 1);
    return e;
}

static void accept(bw_history *h) {
    bw_entry pull = entry_of(BW_KIND_PULL);
    bw_entry verdict = entry_of(BW_KIND_VERDICT);
    bw_entry_set_text(&verdict, BW_M_VERDICT, "pass");
    bw_history_entry(h, &pull);
    bw_history_entry(h, &verdict);
}

static void check_newest_line(const bw_history *h, const char *text) {
    json_t *lines = bw_history_lines(h);
    json_t *newest = json_array_get(lines, 0);
    assert_string_equal(json_string_value(json_object_get(newest, "text")), text);
    json_decref(lines);
}

static void what_is_done_anew_is_told_and_its_verdict_is_not(void **state) {
    const bw_plan plan = {0};
    bw_history h;
    (void)state;
    bw_history_init(&h, &plan, NULL);
    accept(&h);
    json_t *verdict = bw_history_verdict(&h);
    assert_non_null(verdict);
    json_decref(verdict);
    assert_non_null(h.accepted);
    assert_int_equal(h.pulled.n, 1);
    bw_entry redone = entry_of(BW_KIND_STEP_REDONE);
    bw_entry_set_text(&redone, BW_M_REASON, "they were dry");
    bw_history_entry(&h, &redone);
    assert_null(bw_history_verdict(&h));
    assert_null(h.accepted);
    assert_int_equal(h.pulled.n, 0); /* no sibling of what is pulled next */
    check_newest_line(&h, "Done anew: caps. they were dry");
    accept(&h);
    assert_non_null(h.accepted);
    bw_history_free(&h);
}

static void which_one_was_replaced_is_told(void **state) {
    const bw_plan plan = {0};
    bw_history h;
    (void)state;
    bw_history_init(&h, &plan, NULL);
    bw_entry answered = entry_of(BW_KIND_ANSWERED);
    bw_entry_set_text(&answered, BW_M_TEXT, "replaced");
    bw_entry_set_text(&answered, BW_M_LABEL, "4 left");
    bw_history_entry(&h, &answered);
    check_newest_line(&h, "caps: replaced 4 left");
    bw_history_free(&h);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_done_anew_is_told_and_its_verdict_is_not),
        cmocka_unit_test(which_one_was_replaced_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
