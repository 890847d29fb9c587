/* job_test.c - the words of a whole job, from the text of a sequence to what the session asks. */
#include "cmocka_all.h"

#include "job_bench.h"

#define TRIAL                                                                                      \
    "tighten{id = 'trial', say = 's', group = 'main', trial = true, stages = {torque{Nm(50), "     \
    "within = percent(5)}}}\n"
#define FINAL                                                                                      \
    "tighten{id = 'final', say = 's', group = 'main', after = 'trial', stages = {torque{Nm(50), "  \
    "within = percent(5)}}}\n"

static void test_cycles_count_on_trial(void **state) {
    (void)state;
    job j;
    open_job(&j, HEAD MAIN TRIAL FINAL);
    assert_true(bench_prompt(&j.b).step->trial);
    assert_int_equal(bench_prompt(&j.b).cycles, 0);
    pull_all(&j, 2);
    assert_int_equal(bw_entry_whole(bench_last(&j.b, 0), BW_M_CYCLE, 0), 1);
    assert_string_equal(bench_prompt(&j.b).step->id, "final");
    assert_int_equal(bench_prompt(&j.b).cycles, 1);
    assert_true(bench_prompt(&j.b).standing.torque_Nm == 0);
    /* Too far: one more time is left. */
    bench_pull(&j.b, 70, 40);
    assert_int_equal(bw_entry_whole(bench_last(&j.b, 0), BW_M_CYCLE, 0), 2);
    bench_options(&j.b, "loosen replace another override");
    bench_type(&j.b, "loosen");
    assert_int_equal(bench_prompt(&j.b).cycles, 2);
    /* Too far again: none is left, only a new one will do, which has all of its own. */
    bench_pull(&j.b, 70, 40);
    assert_int_equal(bw_entry_whole(bench_last(&j.b, 0), BW_M_CYCLE, 0), 3);
    bench_options(&j.b, "replace another override");
    bench_type(&j.b, "loosen");
    bench_told(&j.b, "Answer with one of: replace");
    bench_type(&j.b, "replace");
    assert_int_equal(bench_prompt(&j.b).cycles, 0);
    pull_all(&j, 2);
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

/* What is still to come is kept free for it. */
static void test_cycles_to_come(void **state) {
    (void)state;
    job j;
    open_job(&j,
             HEAD MAIN TRIAL "tighten{id = 'second', say = 's', group = 'main', after = 'trial', "
                             "trial = true, stages = {torque{Nm(50), within = percent(5)}}}\n"
                             "tighten{id = 'final', say = 's', group = 'main', after = 'second', "
                             "stages = {torque{Nm(50), within = percent(5)}}}\n");
    bench_pull(&j.b, 70, 40);
    bench_options(&j.b, "replace another override");
    close_job(&j);
}

#define TWO                                                                                        \
    HEAD "group{name = 'long', say = 's', lubricant = 'oil', places = labels{'a', 'b'}}\n"         \
         "group{name = 'short', say = 's', lubricant = 'oil', places = labels{'c'}}\n"             \
         "tighten{id = 'l1', say = 's', group = 'long', stages = {torque{Nm(30), within = "        \
         "percent(8)}}}\n"                                                                         \
         "tighten{id = 's1', say = 's', group = 'short', after = 'l1', stages = {torque{Nm(12), "  \
         "within = percent(8)}}}\n"                                                                \
         "tighten{id = 'l2', say = 's', group = 'long', after = 's1', continues = 'l1', stages = " \
         "{angle{deg(90), within = deg(4)}}}\n"                                                    \
         "tighten{id = 's2', say = 's', group = 'short', after = 'l2', continues = 's1', stages "  \
         "= {torque{Nm(12), within = percent(8), again = true}}}\n"

/* Two groups take turns; each goes on from where it stood. */
static void test_groups_take_turns(void **state) {
    (void)state;
    job j;
    open_job(&j, TWO);
    pull_all(&j, 3);
    assert_string_equal(bench_prompt(&j.b).step->id, "l2");
    assert_true(bench_prompt(&j.b).standing.torque_Nm >= 27);
    pull_all(&j, 2);
    assert_string_equal(bench_prompt(&j.b).step->id, "s2");
    assert_true(bench_prompt(&j.b).standing.torque_Nm >= 11);
    pull_all(&j, 1);
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

/* Loosened in its second step it begins in the first one, and comes back to where it was. */
static void test_loosened_over_both_steps(void **state) {
    (void)state;
    job j;
    open_job(&j, TWO);
    pull_all(&j, 4);
    bench_asks(&j.b, "b", 1);
    bench_pull(&j.b, 90, 120);
    bench_type(&j.b, "loosen");
    assert_string_equal(bench_prompt(&j.b).step->id, "l1");
    bench_asks(&j.b, "b", 1);
    assert_true(bench_prompt(&j.b).standing.torque_Nm == 0);
    pull_all(&j, 1);
    assert_string_equal(bench_prompt(&j.b).step->id, "l2");
    bench_asks(&j.b, "b", 1);
    assert_true(bench_prompt(&j.b).standing.torque_Nm >= 27);
    pull_all(&j, 2);
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

/* ---- questions, choices, positions, bans, clocks ---- */

#define MARKS                                                                                      \
    HEAD "ask{id = 'block', say = 'Letter?', answers = {'A', 'B'}}\n"                              \
         "ask{id = 'crank', say = 'Digit?', answers = {'1', '2', '3'}}\n"                          \
         "choose{id = 'shell', say = 'Shells.', after = {'block', 'crank'}, row = 'block', "       \
         "column = 'crank', parts = {{'red', 'blue', 'green'}, {'blue', 'green', 'black'}}}\n"

static void test_part_out_of_a_table(void **state) {
    (void)state;
    static const char *const part[2][3] = {{"red", "blue", "green"}, {"blue", "green", "black"}};
    for (int row = 0; row < 2; row++) {
        for (int column = 0; column < 3; column++) {
            char digit[] = {(char)('1' + column), '\0'};
            job j;
            open_job(&j, MARKS);
            bench_options(&j.b, "A B");
            bench_type(&j.b, row == 0 ? "A" : "B");
            bench_recorded(&j.b, "answered");
            bench_type(&j.b, digit);
            assert_string_equal(bench_prompt(&j.b).chosen, part[row][column]);
            bench_type(&j.b, "yes");
            bench_recorded(&j.b, "confirmed");
            bench_has_text(bench_last(&j.b, 0), BW_M_TEXT, part[row][column]);
            assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
            close_job(&j);
        }
    }
}

static void test_answer_taken_back(void **state) {
    (void)state;
    job j;
    open_job(&j, MARKS);
    bench_type(&j.b, "C");
    bench_told(&j.b, "Answer with one of: A, B");
    bench_recorded(&j.b, "");
    bench_type(&j.b, "A");
    bench_type(&j.b, "back it is a B");
    assert_string_equal(bench_prompt(&j.b).step->id, "block");
    bench_type(&j.b, "B");
    bench_type(&j.b, "1");
    assert_string_equal(bench_prompt(&j.b).chosen, "blue");
    close_job(&j);
}

#define BRANCH                                                                                     \
    HEAD "group{name = 'pulley', say = 's', lubricant = 'oil', places = labels{'p'}}\n"            \
         "ask{id = 'bolt', say = 'New or used?', answers = {'new', 'used'}}\n"                     \
         "ask{id = 'batch', say = 'Batch?', answers = {'1', '2'}, after = 'bolt', when = {step = " \
         "'bolt', answer = 'new'}}\n"                                                              \
         "confirm{id = 'second-batch', say = 's', after = 'batch', when = {step = 'batch', "       \
         "answer = '2'}}\n"                                                                        \
         "tighten{id = 'seat', say = 's', group = 'pulley', after = 'bolt', when = {step = "       \
         "'bolt', answer = 'new'}, stages = {torque{Nm(120), within = percent(5)}}}\n"             \
         "tighten{id = 'used', say = 's', group = 'pulley', after = {'bolt', 'seat', "             \
         "'second-batch'}, stages = {torque{Nm(40), within = percent(5)}}}\n"

static void test_left_out_by_an_answer(void **state) {
    (void)state;
    bw_tally tally;
    job j;
    open_job(&j, BRANCH);
    bench_type(&j.b, "used");
    assert_string_equal(bench_prompt(&j.b).step->id, "used");
    bw_session_tally(j.b.session, &tally);
    assert_int_equal(tally.fasteners, 1);
    pull_all(&j, 1);
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
    open_job(&j, BRANCH);
    bench_type(&j.b, "used");
    bench_type(&j.b, "back");
    bench_type(&j.b, "new");
    assert_string_equal(bench_prompt(&j.b).step->id, "batch");
    bench_type(&j.b, "1");
    assert_string_equal(bench_prompt(&j.b).step->id, "seat");
    pull_all(&j, 2);
    bw_session_tally(j.b.session, &tally);
    assert_int_equal(tally.fasteners, 2);
    assert_int_equal(tally.accepted, 2);
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

static void test_position(void **state) {
    (void)state;
    job j;
    open_job(&j,
             HEAD "group{name = 'r', say = 's', lubricant = 'oil', places = labels{'a', 'b'}}\n"
                  "confirm{id = 'one', say = 's', position = 'top of 1'}\n"
                  "tighten{id = 'two', say = 's', group = 'r', after = 'one', position = 'top of "
                  "1', stages = {torque{Nm(20), within = percent(5)}}}\n"
                  "confirm{id = 'three', say = 's', after = 'two', position = 'top of 4'}\n"
                  "confirm{id = 'four', say = 's', after = 'three', moves = true}\n"
                  "confirm{id = 'five', say = 's', after = 'four', position = 'top of 4'}\n");
    static const char *const steps[] = {"one", "two", "three", "four", "five"};
    static const bool asked[] = {true, false, true, false, true};
    for (size_t i = 0; i < 5; i++) {
        assert_string_equal(bench_prompt(&j.b).step->id, steps[i]);
        assert_int_equal(bench_state(&j.b) == BW_STATE_POSITION, asked[i]);
        if (asked[i]) {
            bench_type(&j.b, "no");
            bench_told(&j.b, "It stays open");
            bench_type(&j.b, "yes");
            bench_recorded(&j.b, "position");
        }
        if (i == 1) {
            pull_all(&j, 2);
        } else {
            bench_type(&j.b, "yes");
        }
    }
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

static void test_what_must_not_happen(void **state) {
    (void)state;
    job j;
    open_job(&j, HEAD "confirm{id = 'in', say = 's'}\nconfirm{id = 'on', say = 's', after = 'in'}\n"
                      "confirm{id = 'out', say = 's', after = 'on'}\n"
                      "confirm{id = 'end', say = 's', after = 'out'}\n"
                      "forbid{say = 'turn the crank', from = 'in', to = 'out'}\n");
    static const size_t expected[] = {0, 1, 1, 0};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(bench_prompt(&j.b).ban_n, expected[i]);
        bench_type(&j.b, "yes");
    }
    close_job(&j);
}

#define CLOCKS                                                                                     \
    HEAD "confirm{id = 'bead', say = 's'}\n"                                                       \
         "confirm{id = 'sump', say = 's', after = 'bead', since = 'bead', most = min(20)}\n"       \
         "wait{id = 'cured', say = 's', after = 'sump', since = 'bead', least = h(2)}\n"

static const int64_t begun_ms = BENCH_BEGIN_MS + 3600 * 1000;

static void yes_at(job *j, double minutes) {
    int64_t usual_ms = BENCH_BEGIN_MS + (int64_t)j->b.events * 1000;
    j->b.ahead_ms = begun_ms + (int64_t)(minutes * 60000) - usual_ms;
    bench_type(&j->b, "yes");
}

static void test_clocks(void **state) {
    (void)state;
    job j;
    open_job(&j, CLOCKS);
    yes_at(&j, 0);
    assert_true(bench_prompt(&j.b).since_ms == begun_ms);
    yes_at(&j, 20);
    bench_recorded(&j.b, "confirmed");
    yes_at(&j, 119.9);
    bench_recorded(&j.b, "");
    bench_told(&j.b, "Not yet: 0.1 more minutes of 120.0");
    yes_at(&j, 120);
    bench_recorded(&j.b, "confirmed");
    close_job(&j);
    open_job(&j, CLOCKS);
    yes_at(&j, 0);
    yes_at(&j, 20.5);
    bench_recorded(&j.b, "confirmed overrun");
    bench_told(&j.b, "It is late: 20.5 minutes after \"bead\", 20.0 are allowed.");
    close_job(&j);
}

/* The clock is set between two steps: what passed in between is what passed. */
static void test_clocks_set(void **state) {
    (void)state;
    static const double by_h[] = {-5, 3};
    for (size_t i = 0; i < 2; i++) {
        job j;
        open_job(&j, CLOCKS);
        yes_at(&j, 0);
        bench_send(&j.b, (bw_event){.kind = BW_EVENT_CLOCK_STEP, .by_s = by_h[i] * 3600});
        yes_at(&j, by_h[i] * 60 + 19.9);
        bench_recorded(&j.b, "confirmed");
        yes_at(&j, by_h[i] * 60 + 119.5);
        bench_told(&j.b, "Not yet: 0.5 more minutes of 120.0");
        bench_send(&j.b, (bw_event){.kind = BW_EVENT_CLOCK_STEP, .by_s = -by_h[i] * 3600});
        yes_at(&j, 120);
        bench_recorded(&j.b, "confirmed");
        close_job(&j);
    }
}

#define NO_VALUE                                                                                   \
    HEAD "measure{id = 'm', say = 's', readings = {reading{id = 'd', say = 'bore', unit = 'mm', "  \
         "decimals = 2, at = {'top', 'foot'}, plausible = {mm(0), mm(60)}}}, derive = {value{id "  \
         "= 'v', say = 'taper of the bore', formula = 'taper', of = 'd', unit = 'mm', decimals "   \
         "= 3, high = mm(0.01)}}}\n"

/* A formula that gives nothing says why, there and in the record, and is no value of 0. */
static void test_no_value(void **state) {
    (void)state;
    job j;
    open_job(&j, NO_VALUE);
    bench_type(&j.b, "0");
    bench_type(&j.b, "50");
    bench_recorded(&j.b, "reading derived");
    bench_told(&j.b,
               "taper of the bore can't be worked out: taper: a diameter must be above 0 mm.");
    bench_has_text(bench_last(&j.b, 0), BW_M_TEXT, "taper: a diameter must be above 0 mm");
    bench_has_text(bench_last(&j.b, 0), BW_M_VERDICT, "suspect");
    assert_string_equal(bench_prompt(&j.b).derived_err.text,
                        "taper: a diameter must be above 0 mm");
    bench_options(&j.b, "again override");
    bench_type(&j.b, "again");
    bench_type(&j.b, "50");
    bench_type(&j.b, "50");
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

/* ---- until it is right ---- */

#define RING                                                                                       \
    HEAD "measure{id = 'gap', say = 's', readings = {reading{id = 'g', say = 'gap', unit = 'mm', " \
         "decimals = 2, plausible = {mm(0.05), mm(0.8)}}}, derive = {value{id = 'ring', say = "    \
         "'ring gap', formula = 'mean', of = 'g', unit = 'mm', decimals = 2, low = mm(0.35), "     \
         "high = mm(0.45), when_low = 'File it, square, and deburr.', when_high = 'Take a new "    \
         "ring.'}}}\n"

static void test_filed_until_it_fits(void **state) {
    (void)state;
    job j;
    open_job(&j, RING);
    bench_type(&j.b, "0.22");
    bench_told(&j.b, "To go: 0.13 mm. File it, square, and deburr.");
    bench_options(&j.b, "again override");
    bench_type(&j.b, "again");
    bench_type(&j.b, "0.46");
    bench_told(&j.b, "Too much by: 0.01 mm. Take a new ring.");
    bench_type(&j.b, "again");
    bench_type(&j.b, "0.35");
    bench_told(&j.b, "ring gap 0.35 mm: good");
    assert_int_equal(bench_state(&j.b), BW_STATE_CLOSE);
    close_job(&j);
}

static void test_due_after_closing(void **state) {
    (void)state;
    job j;
    open_job(&j,
             HEAD "group{name = 'hub', say = 'hub nuts', lubricant = 'dry', places = "
                  "labels{'a'}}\ntighten{id = 'nuts', say = 's', group = 'hub', due = 'after 50 "
                  "km', stages = {torque{Nm(90), within = percent(5)}}}\n");
    pull_all(&j, 1);
    bench_type(&j.b, "close");
    bench_recorded(&j.b, "retorque_due build_closed");
    bench_told(&j.b, "must be seen to again");
    bench_has_text(bench_last(&j.b, 1), BW_M_DUE, "after 50 km");
    bench_has_text(bench_last(&j.b, 1), BW_M_GROUP, "hub");
    close_job(&j);
}

static void send_open(job *j, bw_event event) {
    event.kind = BW_EVENT_OPEN;
    event.text = "A. Lund";
    event.program = "p";
    bench_send(&j->b, event);
}

/* Seen to once, it is not due again because something else was opened; it is where it was itself.
 */
static void test_due_again_only_where_done_anew(void **state) {
    (void)state;
    job j;
    open_job(&j,
             HEAD "group{name = 'hub', say = 'hub nuts', lubricant = 'dry', places = "
                  "labels{'a'}}\ntighten{id = 'nuts', say = 's', group = 'hub', due = 'after 50 "
                  "km', stages = {torque{Nm(90), within = percent(5)}}}\n");
    pull_all(&j, 1);
    bench_type(&j.b, "close");
    send_open(&j, (bw_event){.retorque = "hub"});
    bench_recorded(&j.b, "retorque_done");
    send_open(&j, (bw_event){.reopen = true, .second = "C. Berg", .why = "the cap"});
    bench_type(&j.b, "close");
    bench_recorded(&j.b, "build_closed");
    send_open(&j, (bw_event){.reopen = true, .second = "C. Berg", .why = "the hub"});
    bench_event(&j.b, BW_EVENT_TOOL_ON);
    bench_type(&j.b, "redo nuts studs replaced");
    bench_type(&j.b, "redo nuts studs replaced");
    pull_all(&j, 1);
    bench_type(&j.b, "close");
    bench_recorded(&j.b, "retorque_due build_closed");
    close_job(&j);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_cycles_count_on_trial),
    cmocka_unit_test(test_cycles_to_come),
    cmocka_unit_test(test_groups_take_turns),
    cmocka_unit_test(test_loosened_over_both_steps),
    cmocka_unit_test(test_part_out_of_a_table),
    cmocka_unit_test(test_answer_taken_back),
    cmocka_unit_test(test_left_out_by_an_answer),
    cmocka_unit_test(test_position),
    cmocka_unit_test(test_what_must_not_happen),
    cmocka_unit_test(test_clocks),
    cmocka_unit_test(test_clocks_set),
    cmocka_unit_test(test_no_value),
    cmocka_unit_test(test_filed_until_it_fits),
    cmocka_unit_test(test_due_after_closing),
    cmocka_unit_test(test_due_again_only_where_done_anew),
};

KIT_MAIN(tests)
