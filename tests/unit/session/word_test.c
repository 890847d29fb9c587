/* word_test.c - steps in their order, and what can be typed at any prompt; one story a test. */
#include "cmocka_all.h"

#include "bench.h"

#include <string.h>

/* ---- steps in their order ---- */

/* What was put off comes back when there is nothing else, the one first put off first; nothing
 * that must come after it opens before. */
static void test_later_and_its_return(void **state) {
    (void)state;
    bench b;
    bench_open(&b);
    bench_person(&b, "A. Lund");
    bench_type(&b, "later waiting for the oven");
    bench_recorded(&b, "put_off");
    bench_has_text(bench_last(&b, 0), BW_M_STEP, "hot");
    bench_has_text(bench_last(&b, 0), BW_M_REASON, "waiting for the oven");
    bench_at_step(&b, BLOCK);
    bench_type(&b, "later");
    assert_int_equal(bench_last(&b, 0)->value[BW_M_REASON].type, BW_VALUE_NONE);
    /* CLEAN comes after HOT: BEARINGS is next. */
    bench_at_step(&b, BEARINGS);
    bench_work(&b, HOT);
    assert_int_equal(bench_state(&b), BW_STATE_CONFIRM);
    /* Put off again, it goes behind the other one. */
    bench_type(&b, "later");
    bench_at_step(&b, BLOCK);
    bench_type(&b, "later");
    bench_at_step(&b, HOT);
    bench_type(&b, "yes");
    /* Now CLEAN, and all behind it, before the note that was put off. */
    bench_at_step(&b, CLEAN);
    bench_event(&b, BW_EVENT_TOOL_ON);
    bench_work(&b, TURN);
    bench_type(&b, "yes");
    bench_at_step(&b, BLOCK);
    bench_type(&b, "B 4711");
    assert_int_equal(bench_state(&b), BW_STATE_CLOSE);
    bench_close(&b);
}

/* Whatever is put off whenever, no step is asked for before those it comes after. */
static void test_prerequisites_never_opened_before(void **state) {
    (void)state;
    for (unsigned mask = 0; mask < 1u << 12; mask += 5) {
        bench b;
        bench_open(&b);
        bench_person(&b, "A. Lund");
        bench_event(&b, BW_EVENT_TOOL_ON);
        bool done[STEPS] = {false};
        unsigned bits = mask;
        while (bench_state(&b) != BW_STATE_CLOSE) {
            bw_prompt before = bench_prompt(&b);
            for (size_t i = 0; i < before.step->after_n; i++) {
                assert_true(done[before.step->after[i]]);
            }
            bool later = (bits & 1) != 0;
            bits >>= 1;
            if (later) {
                bench_type(&b, "later");
                continue;
            }
            bench_answer_well(&b);
            bw_prompt after = bench_prompt(&b);
            done[before.step_number - 1] = after.steps_done > before.steps_done;
        }
        bench_close(&b);
    }
}

/* A pull that is on, or a verdict that waits, is not left behind the prompt of another step; a
 * note then does not answer that step. */
static void test_later_in_the_middle(void **state) {
    (void)state;
    bench b;
    bench_open(&b);
    bench_person(&b, "A. Lund");
    bench_event(&b, BW_EVENT_TOOL_ON);
    bench_type(&b, "yes");
    bench_type(&b, "later"); /* BLOCK, a note */
    bench_work(&b, CAPS);
    bench_begin(&b);
    bench_type(&b, "later");
    bench_recorded(&b, "");
    bench_told(&b, "A pull is on");
    bench_type(&b, "note the socket slipped a little");
    assert_int_equal(bench_state(&b), BW_STATE_PULLING);
    assert_non_null(bench_prompt(&b).group);
    bw_verdict high = {.outcome = BW_VERDICT_HIGH,
                       .reasons = BW_REASON_ABOVE_LIMIT,
                       .peak_Nm = 40,
                       .pull_peak_Nm = 40,
                       .pulls = 1};
    bench_end(&b, &high, true);
    bench_type(&b, "later");
    bench_recorded(&b, "");
    bench_told(&b, "decided first");
    bench_type(&b, "note looked at it twice");
    assert_int_equal(bench_prompt(&b).steps_done, 3); /* HOT, CLEAN, BEARINGS; not BLOCK */
    bench_close(&b);
}

/* ---- other words ---- */

static void test_note_at_a_step(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_type(&b, "note  thread chased ");
    bench_has_text(bench_last(&b, 0), BW_M_STEP, "caps");
    bench_has_text(bench_last(&b, 0), BW_M_TEXT, "thread chased");
    bench_told(&b, "Noted.");
    assert_int_equal(b.actions->tone, BW_TONE_PLAIN);
    bench_asks(&b, "1 right", 1);
    bench_close(&b);
}

static void test_person(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_type(&b, "person B. Ek");
    bench_recorded(&b, "person_on");
    assert_string_equal(bench_last(&b, 0)->by, "B. Ek");
    assert_string_equal(bench_prompt(&b).by, "B. Ek");
    bench_good_pull(&b);
    assert_string_equal(bench_last(&b, 0)->by, "B. Ek");
    /* The second person is another one than who works now. */
    bench_pull(&b, 40, 30);
    bench_type(&b, "override");
    bench_type(&b, "B. Ek");
    bench_told(&b, "That is you");
    bench_type(&b, "A. Lund");
    assert_int_equal(bench_state(&b), BW_STATE_REASON);
    bench_close(&b);
    /* A name that no record has room for. */
    bench_at(&b, CAPS);
    char line[80] = "person ";
    memset(line + 7, 'x', 64);
    line[7 + 64] = '\0';
    bench_type(&b, line);
    bench_recorded(&b, "");
    line[7 + 63] = '\0';
    bench_type(&b, line);
    bench_recorded(&b, "person_on");
    bench_close(&b);
}

static void test_reject(void **state) {
    (void)state;
    bench b;
    bench_at(&b, CAPS);
    bench_type(&b, "reject");
    bench_recorded(&b, "");
    bench_told(&b, "Write why");
    bench_type(&b, "reject block cracked");
    bench_recorded(&b, "build_closed");
    assert_true(b.actions->closed);
    bench_has_text(bench_last(&b, 0), BW_M_OUTCOME, "rejected");
    bench_has_text(bench_last(&b, 0), BW_M_TEXT, "block cracked");
    assert_int_equal(bench_state(&b), BW_STATE_CLOSED);
    bw_tally tally;
    bw_session_tally(b.session, &tally);
    assert_string_equal(tally.outcome, "rejected");
    bench_close(&b);
}

static void test_help_names_every_word(void **state) {
    (void)state;
    static const char *const words[] = {"back",   "wrong", "later",  "note",
                                        "person", "pause", "reject", "yes"};
    bench b;
    bench_at(&b, CAPS);
    bench_type(&b, "help");
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        bench_told(&b, words[i]);
    }
    bench_close(&b);
}

static void test_confirm_takes_only_yes(void **state) {
    (void)state;
    static const char *const yes[] = {"", "yes", "y", "ok", "done", "  yes  "};
    static const char *const no[] = {"no", "n", "Yes please", "pausE", "1", "close"};
    for (size_t i = 0; i < sizeof no / sizeof no[0]; i++) {
        bench b;
        bench_at(&b, CLEAN);
        bench_type(&b, no[i]);
        bench_recorded(&b, "");
        bench_told(&b, "It stays open");
        bench_type(&b, yes[i]);
        bench_recorded(&b, "confirmed");
        bench_close(&b);
    }
}

/* ---- lines that can't stand in a record ---- */

static void test_bad_lines(void **state) {
    (void)state;
    static char longest[5000];
    static const char *const bad[] = {
        "yes\x01",      "a\tb",          "\x1b[31mred", "caf\xe9",          "\xc3",
        "\xe2\x80\xae", "\xe2\x80\x8b.", "del\x7f",     "two\nlines of it", longest};
    memset(longest, 'x', sizeof longest - 1);
    static const size_t steps[] = {HOT, BLOCK, BEARINGS, CAPS};
    for (size_t s = 0; s < sizeof steps / sizeof steps[0]; s++) {
        bench b;
        bench_at(&b, steps[s]);
        for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
            bw_prompt before = bench_prompt(&b);
            bench_type(&b, bad[i]);
            bench_recorded(&b, "");
            bench_told(&b, "too long or holds characters");
            assert_ptr_equal(bench_prompt(&b).step, before.step);
        }
        bench_close(&b);
    }
}

/* A note of exactly as much as fits, and one more. */
static void test_longest_line(void **state) {
    (void)state;
    char line[BW_PLAN_TEXT_MAX + 1];
    bench b;
    bench_at(&b, BLOCK);
    memset(line, 'n', sizeof line);
    line[BW_PLAN_TEXT_MAX] = '\0';
    bench_type(&b, line);
    bench_recorded(&b, "");
    line[BW_PLAN_TEXT_MAX - 1] = '\0';
    bench_type(&b, line);
    bench_recorded(&b, "note");
    bench_has_text(bench_last(&b, 0), BW_M_TEXT, line);
    bench_close(&b);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_later_and_its_return),
        cmocka_unit_test(test_prerequisites_never_opened_before),
        cmocka_unit_test(test_later_in_the_middle),
        cmocka_unit_test(test_note_at_a_step),
        cmocka_unit_test(test_person),
        cmocka_unit_test(test_reject),
        cmocka_unit_test(test_help_names_every_word),
        cmocka_unit_test(test_confirm_takes_only_yes),
        cmocka_unit_test(test_bad_lines),
        cmocka_unit_test(test_longest_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
