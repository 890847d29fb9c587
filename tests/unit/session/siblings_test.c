/* siblings_test.c - one fastener beside the others of its group, and beside itself in the stage
 * before. */
#include "cmocka_all.h"

#include "bench.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

static void test_siblings(void **state) {
    (void)state;
    static const double slope[] = {1.0, 1.5, 0, 1.25, 1.75};
    bench b;
    bench_kinds_at(&b, HEAD, 0, 0);
    for (size_t i = 0; i < 5; i++) {
        bw_siblings before = bw_session_standing(b.session).siblings;
        assert_int_equal(before.n, i < 3 ? i : i - 1); /* one was not seen */
        bench_verdict(&b, (bw_verdict){.judged_Nm = 60, .slope_Nm_per_deg = slope[i]});
    }
    bw_siblings siblings = bw_session_standing(b.session).siblings;
    assert_int_equal(siblings.n, 4);
    assert_true(siblings.median_Nm_per_deg == 1.375 && siblings.mad_Nm_per_deg == 0.25);
    bench_verdict(&b, (bw_verdict){.outcome = BW_VERDICT_SUSPECT,
                                   .reasons = BW_REASON_STEEP,
                                   .judged_Nm = 60,
                                   .slope_Nm_per_deg = 4});
    bench_told(&b, "its torque rose by 4.00 N·m a degree, that of the others of its group by 1.38: "
                   "lubricant is missing");
    assert_true(bw_entry_number(bench_last(&b, 0), BW_M_SLOPE, 0) == 4);
    bench_options(&b, "loosen replace override");
    bench_killed(&b);
    assert_int_equal(bench_state(&b), BW_STATE_VERDICT);
    bench_type(&b, "loosen");
    assert_int_equal(bw_session_standing(b.session).siblings.n, 4);
    bench_good_pull(&b);
    /* The next stage has siblings of its own. */
    bench_asks(&b, "1", 2);
    assert_int_equal(bw_session_standing(b.session).siblings.n, 0);
    bench_close(&b);
}

/* ---- those that came before there were others ---- */

static const char *asked(const bench *b) {
    return bw_entry_text(bench_last(b, 0), BW_M_QUESTION, "");
}

static void pass_with(bench *b, double slope_Nm_per_deg) {
    bench_verdict(b, (bw_verdict){.judged_Nm = 60, .slope_Nm_per_deg = slope_Nm_per_deg});
}

/* The first of them is asked about with the last: until then it may be the others that differ. */
static void test_look_back(void **state) {
    (void)state;
    static const double slope[] = {3, 1, 1.1, 1, 1.1};
    bench b;
    bench_kinds_at(&b, HEAD, 0, 0);
    for (size_t i = 0; i < 5; i++) {
        pass_with(&b, slope[i]);
        assert_string_equal(asked(&b), "");
    }
    pass_with(&b, 1);
    assert_string_equal(asked(&b), "Beside the whole group the torque rose faster on 1: are bolt, "
                                   "washer and lubricant there as they should be?");
    bench_told(&b, " Beside the whole group the torque rose faster on 1: ");
    bench_close(&b);
}

static void test_look_back_both_ways(void **state) {
    (void)state;
    static const double slope[] = {3, 1, 1, 0.3, 3.1};
    bench b;
    bench_kinds_at(&b, HEAD, 0, 0);
    for (size_t i = 0; i < 5; i++) {
        pass_with(&b, slope[i]);
    }
    pass_with(&b, 1);
    assert_non_null(strstr(asked(&b), " rose faster on 1, 5; slower on 4: are "));
    bench_close(&b);
}

/* ---- long labels ---- */

enum { MANY = 80, LABEL_BYTES = BW_PLAN_ID_MAX };

/* One step of a group that is large, each of its labels as long as one can be. */
typedef struct large {
    char label[MANY][LABEL_BYTES + 1];
    bw_place place[MANY];
    size_t order[MANY];
    bw_group group;
    bw_step step;
    bw_plan plan;
} large;

static void fill_large(large *l) {
    *l = (large){.plan = *bench_kinds_plan()};
    for (size_t i = 0; i < MANY; i++) {
        bw_text text = bw_text_on(l->label[i], sizeof l->label[i]);
        bw_text_add(&text, "stud %02zu of the lower flange, left side, inner row", i);
        assert_true(text.len == LABEL_BYTES || text.cut);
        l->place[i].label = l->label[i];
        l->order[i] = i;
    }
    l->group = l->plan.group[3];
    l->group.place_n = MANY;
    l->group.place = l->place;
    l->group.order = l->order;
    l->step = l->plan.step[HEAD];
    l->step.group = 0;
    l->plan.group_n = 1;
    l->plan.group = &l->group;
    l->plan.step_n = 1;
    l->plan.step = &l->step;
}

/* The first `steep_n` rise too fast, the `shallow_n` behind them too slowly. */
static void pass_large(bench *b, large *l, size_t steep_n, size_t shallow_n) {
    fill_large(l);
    bench_open_plan(b, &l->plan);
    bench_person(b, "A. Lund");
    bench_event(b, BW_EVENT_TOOL_ON);
    for (size_t i = 0; i < MANY; i++) {
        pass_with(b, i < steep_n ? 3 : i < steep_n + shallow_n ? 0.3 : 1);
    }
}

static size_t count_of(const char *text, const char *part) {
    size_t n = 0;
    for (const char *at = strstr(text, part); at != NULL; at = strstr(at + 1, part)) {
        n++;
    }
    return n;
}

/* Every one that is meant is named, on the screen and in the record. */
static void test_look_back_names_all(void **state) {
    (void)state;
    static large l;
    bench b;
    pass_large(&b, &l, 8, 7);
    for (size_t i = 0; i < 15; i++) {
        assert_non_null(strstr(asked(&b), l.label[i]));
        bench_told(&b, l.label[i]);
    }
    assert_int_equal(count_of(asked(&b), "stud "), 15);
    bench_told(&b, "; slower on stud 08");
    bench_told(&b, ": are bolt, washer and lubricant there as they should be?");
    bench_close(&b);
}

/* Where there is no room for all, it says how many it leaves out. */
static void test_look_back_counts_the_rest(void **state) {
    (void)state;
    static large l;
    bench b;
    pass_large(&b, &l, 20, 18);
    const char *text = asked(&b);
    const char *slower = strstr(text, "; slower on ");
    assert_non_null(slower);
    bench_told(&b, text);
    assert_non_null(strstr(text, ": are bolt, washer and lubricant there as they should be?"));
    unsigned long more[2] = {0};
    const char *rest[2] = {strstr(text, " and "), strstr(slower, " and ")};
    for (size_t i = 0; i < 2; i++) {
        assert_non_null(rest[i]);
        more[i] = strtoul(rest[i] + strlen(" and "), NULL, 10);
        assert_true(more[i] > 1);
    }
    size_t slower_named = count_of(slower, "stud ");
    assert_int_equal(count_of(text, "stud ") - slower_named + more[0], 20);
    assert_int_equal(slower_named + more[1], 18);
    bench_close(&b);
}

/* Nothing to ask: all alike, or not seen, or the last one does not pass. */
static void test_no_look_back(void **state) {
    (void)state;
    for (int kind = 0; kind < 3; kind++) {
        bench b;
        bench_kinds_at(&b, HEAD, 0, 0);
        pass_with(&b, kind == 0 ? 1.05 : kind == 1 ? 0 : 3);
        for (size_t i = 0; i < 4; i++) {
            pass_with(&b, 1);
        }
        if (kind < 2) {
            pass_with(&b, 1);
        } else {
            bench_verdict(&b, (bw_verdict){.outcome = BW_VERDICT_SUSPECT,
                                           .reasons = BW_REASON_SPIKE,
                                           .judged_Nm = 60,
                                           .slope_Nm_per_deg = 1});
        }
        assert_string_equal(asked(&b), "");
        bench_close(&b);
    }
}

/* ---- beside itself ---- */

/* The steepest of the stages so far, whatever was decided about others. */
static void test_slope_of_the_stages_before(void **state) {
    (void)state;
    bench b;
    bench_kinds_at(&b, HEAD, 0, 0);
    assert_true(bw_session_standing(b.session).joint_Nm_per_deg == 0);
    for (size_t i = 0; i < 6; i++) {
        pass_with(&b, 1 + 0.05 * (double)i);
    }
    bench_asks(&b, "1", 2);
    assert_true(bw_session_standing(b.session).joint_Nm_per_deg == 1);
    assert_true(bw_session_standing(b.session).slope_Nm_per_deg == 0);
    bench_good_pull(&b);
    bench_asks(&b, "2", 2);
    assert_true(bw_session_standing(b.session).joint_Nm_per_deg == 1.05);
    bench_close(&b);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_siblings),
        cmocka_unit_test(test_look_back),
        cmocka_unit_test(test_look_back_both_ways),
        cmocka_unit_test(test_look_back_names_all),
        cmocka_unit_test(test_look_back_counts_the_rest),
        cmocka_unit_test(test_no_look_back),
        cmocka_unit_test(test_slope_of_the_stages_before),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
