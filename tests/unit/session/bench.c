/* bench.c - see bench.h. */
#include "cmocka_all.h"

#include "bench.h"

#include "base/decimal.h"
#include "base/text.h"

#include <math.h>
#include <string.h>
/* ---- events ---- */

static const bw_session_identity identity = {.build = "P2-17", .bench = "slip 3"};

void bench_open(bench *b) {
    bench_open_plan(b, bench_plan());
}

void bench_open_plan(bench *b, const bw_plan *plan) {
    *b = (bench){.arena = bw_arena_new(0), .plan = plan};
    assert_non_null(b->arena);
    b->actions = bw_arena_alloc(b->arena, 1, sizeof *b->actions);
    b->entry = bw_arena_alloc(b->arena, BENCH_ENTRIES_MAX, sizeof *b->entry);
    b->session = bw_session_new(plan, &identity, b->arena);
    assert_non_null(b->actions);
    assert_non_null(b->entry);
    assert_non_null(b->session);
}

void bench_close(bench *b) {
    assert_int_equal(bw_session_misfits(b->session), 0);
    bw_arena_free(b->arena);
}

/* As it would be read back: through its JSON. */
static void keep(bench *b, const bw_entry *entry) {
    const char *json = NULL;
    size_t len = 0;
    bw_err err = {0};
    assert_true(b->entry_n < BENCH_ENTRIES_MAX);
    bw_entry *copy = &b->entry[b->entry_n];
    if (bw_entry_encode(entry, b->arena, &json, &len, &err) != BW_OK ||
        bw_entry_decode(json, len, b->arena, copy, &err) != BW_OK) {
        fail_msg("entry `%s`: %s", bw_kind_name(entry->kind), err.text);
    }
    copy->number = ++b->entry_n;
}

void bench_send(bench *b, bw_event event) {
    event.now_ms = BENCH_BEGIN_MS + (int64_t)b->events++ * 1000 + b->ahead_ms;
    event.next_number = b->entry_n + 1;
    bw_session_decide(b->session, &event, b->actions);
    assert_true(b->actions->entry_n <= BW_ACTIONS_ENTRIES_MAX);
    for (size_t i = 0; i < b->actions->entry_n; i++) {
        keep(b, &b->actions->entry[i]);
        b->actions->entry[i].number = b->entry_n;
    }
    for (size_t i = 0; i < b->actions->entry_n; i++) {
        bw_session_apply(b->session, &b->actions->entry[i]);
    }
}

static const char *const source_names[] = {"plover2.lua", "lib/caps.lua"};
static const char *const source_texts[] = {"-- the sequence\n", "-- what it shares\n"};

static const char hex[] = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef";

void bench_person(bench *b, const char *name) {
    bench_send(b, (bw_event){.kind = BW_EVENT_OPEN,
                             .text = name,
                             .program = "boltwright 0.1.0",
                             .source_n = 2,
                             .source_name = source_names,
                             .source_text = source_texts});
}

void bench_type(bench *b, const char *line) {
    bench_send(b, (bw_event){.kind = BW_EVENT_ANSWER, .text = line});
}

void bench_begin(bench *b) {
    bench_send(b, (bw_event){.kind = BW_EVENT_PULL_BEGUN});
}

void bench_end(bench *b, const bw_verdict *verdict, bool complete) {
    bench_send(b, (bw_event){.kind = BW_EVENT_PULL_ENDED,
                             .verdict = verdict,
                             .complete = complete,
                             .samples = 321,
                             .trace_hex = hex,
                             .raw_hex = hex,
                             .tool = "wrench 200"});
}

/* What the judge makes of a pull that ends at this torque and turn; a trace is taken as seen. */
static bw_verdict judged(const bench *b, double peak_Nm, double turn_deg) {
    static const bw_stage nothing = {
        .low_Nm = -INFINITY, .high_Nm = INFINITY, .low_deg = -INFINITY, .high_deg = INFINITY};
    bw_state state = bench_state(b);
    bool asked = state == BW_STATE_PULL || state == BW_STATE_PULLING;
    const bw_stage *asked_stage = asked ? bw_session_stage(b->session) : &nothing;
    bw_standing standing = bw_session_standing(b->session);
    assert_non_null(asked_stage);
    bw_stage stage = *asked_stage;
    stage.needs_trace = false;
    bw_verdict v = bw_judge_result(&stage, &standing, &(bw_terms){0}, peak_Nm, true, turn_deg);
    v.reasons &= ~(uint32_t)BW_REASON_NO_TRACE;
    return v;
}

void bench_event(bench *b, bw_event_kind kind) {
    bw_verdict verdict = {0};
    switch (kind) {
    case BW_EVENT_OPEN:
        bench_person(b, "A. Lund");
        return;
    case BW_EVENT_ANSWER:
        bench_type(b, "yes");
        return;
    case BW_EVENT_PULL_ENDED:
        verdict = judged(b, 30, 20);
        bench_end(b, &verdict, true);
        return;
    default:
        bench_send(b, (bw_event){.kind = kind,
                                 .text = "The cable was pulled out.",
                                 .tool = "wrench 200",
                                 .port = "/dev/ttyUSB0",
                                 .driver = "line 1",
                                 .settings = "baud=115200",
                                 .by_s = -3600});
        return;
    }
}

void bench_verdict(bench *b, bw_verdict verdict) {
    bw_standing standing = bw_session_standing(b->session);
    verdict.pulls = standing.pulls + 1;
    verdict.pull_turn_deg = verdict.turn_deg;
    verdict.turn_deg += standing.turn_deg;
    verdict.pull_peak_Nm = verdict.peak_Nm > 0 ? verdict.peak_Nm : verdict.judged_Nm;
    verdict.peak_Nm = fmax(verdict.pull_peak_Nm, standing.peak_Nm);
    verdict.has_judged = verdict.judged_Nm > 0;
    bench_begin(b);
    bench_end(b, &verdict, true);
}

void bench_pull(bench *b, double peak_Nm, double turn_deg) {
    bw_verdict verdict = judged(b, peak_Nm, turn_deg);
    bench_begin(b);
    bench_end(b, &verdict, true);
}

void bench_good_pull(bench *b) {
    const bw_stage *stage = bw_session_stage(b->session);
    bw_standing standing = bw_session_standing(b->session);
    assert_non_null(stage);
    bool torque = stage->kind == BW_STAGE_TORQUE;
    static const bw_verdict good[BW_STAGE_KIND_COUNT] = {
        [BW_STAGE_BACK_OFF] = {.peak_Nm = 50, .has_turn = true, .turn_deg = 90},
        [BW_STAGE_YIELD] = {.peak_Nm = 95, .judged_Nm = 92, .has_turn = true, .turn_deg = 70},
        [BW_STAGE_STRETCH] = {.peak_Nm = 45, .judged_Nm = 45, .has_turn = true, .turn_deg = 40},
        [BW_STAGE_SLOT] = {.peak_Nm = 70, .judged_Nm = 70, .has_turn = true, .turn_deg = 20},
        [BW_STAGE_CHECK] = {.peak_Nm = 62, .judged_Nm = 62, .has_turn = true, .turn_deg = 0.5},
        [BW_STAGE_PREVAILING] = {.judged_Nm = 3, .has_turn = true, .turn_deg = 400},
        [BW_STAGE_ROTATING] = {.judged_Nm = 4, .has_turn = true, .turn_deg = 400},
        [BW_STAGE_CREEP] = {.judged_Nm = 2.3, .has_turn = true, .turn_deg = 400},
    };
    if (good[stage->kind].has_turn) {
        bw_verdict v = good[stage->kind];
        v.loose = stage->until_loose;
        bench_verdict(b, v);
        return;
    }
    bench_pull(b, torque ? stage->target_Nm : standing.torque_Nm + 30,
               torque ? 30 : stage->target_deg - standing.turn_deg);
}

/* ---- getting somewhere ---- */

static void read_well(bench *b) {
    bool bore = strcmp(bench_prompt(b).set->id, "bore") == 0;
    bench_type(b, bore ? "50.050" : "50.000");
}

/* Grown by what is aimed for; free, 65 mm. */
static void measure_well(bench *b) {
    char text[40];
    bw_prompt p = bench_prompt(b);
    double length_mm = p.tightened ? p.free_mm + p.aim.target_mm : 65.0;
    bench_type(b, bw_decimal_format(length_mm, 3, text, sizeof text));
}

void bench_answer_well(bench *b) {
    switch (bench_state(b)) {
    case BW_STATE_NEW:
        bench_person(b, "A. Lund");
        break;
    case BW_STATE_CONFIRM:
        bench_type(b, "yes");
        break;
    case BW_STATE_CLOSE:
        bench_type(b, "close");
        break;
    case BW_STATE_NOTE:
        bench_type(b, "B 4711");
        break;
    case BW_STATE_READING:
        read_well(b);
        break;
    case BW_STATE_NO_TOOL:
        bench_event(b, BW_EVENT_TOOL_ON);
        break;
    case BW_STATE_PULL:
        bench_good_pull(b);
        break;
    case BW_STATE_LENGTH:
        measure_well(b);
        break;
    case BW_STATE_FIT:
        bench_type(b, "C1");
        break;
    case BW_STATE_WITNESS:
        bench_type(b, "B. Ek");
        break;
    case BW_STATE_SLOT:
    case BW_STATE_ASK:
    case BW_STATE_POSITION:
        bench_type(b, "yes");
        break;
    default:
        fail_msg("no good answer in state %s", bw_state_name(bench_state(b)));
    }
}

void bench_work(bench *b, size_t until_step) {
    for (int i = 0; i < 200; i++) {
        bw_prompt prompt = bench_prompt(b);
        bool there = until_step == STEPS ? prompt.state == BW_STATE_CLOSE
                                         : prompt.step == &b->plan->step[until_step];
        if (there) {
            return;
        }
        bench_answer_well(b);
    }
    fail_msg("step %zu was not reached", until_step);
}

void bench_at(bench *b, size_t step) {
    bench_open(b);
    bench_person(b, "A. Lund");
    bench_event(b, BW_EVENT_TOOL_ON);
    bench_work(b, step);
}

void bench_kinds_at(bench *b, size_t step, size_t stage, size_t place) {
    bench_open_plan(b, bench_kinds_plan());
    bench_person(b, "A. Lund");
    bench_event(b, BW_EVENT_TOOL_ON);
    for (int i = 0; i < 200; i++) {
        bw_prompt p = bench_prompt(b);
        bool there = p.step == &b->plan->step[step] && p.stage_index == stage && p.place == place;
        if (there && p.state == BW_STATE_PULL) {
            return;
        }
        bench_answer_well(b);
    }
    fail_msg("step %zu, stage %zu, place %zu was not reached", step, stage, place);
}

static bool confirms(const bw_entry *e, size_t *step) {
    bool of_step = bw_plan_find_step(bench_plan(), bw_entry_text(e, BW_M_STEP, ""), step);
    return of_step && (e->kind == BW_KIND_CONFIRMED || (e->kind == BW_KIND_NOTE && *step == BLOCK));
}

/* What is done anew is confirmed anew, with all that stands on it. */
static void forget_redone(const bw_entry *e, size_t *confirmed) {
    bool redone[STEPS];
    size_t step = 0;
    if (bw_plan_find_step(bench_plan(), bw_entry_text(e, BW_M_STEP, ""), &step)) {
        bw_session_redone(bench_plan(), step, redone);
        for (size_t i = 0; i < STEPS; i++) {
            confirmed[i] = redone[i] ? 0 : confirmed[i];
        }
    }
}

/* One that was taken back does not count. */
static void count_confirmed(const bench *b, const bw_entry *e, size_t *confirmed) {
    size_t step = 0;
    if (confirms(e, &step)) {
        confirmed[step]++;
    }
    if (e->kind == BW_KIND_STEP_REDONE) {
        forget_redone(e, confirmed);
    }
    uint64_t corrects = (uint64_t)bw_entry_whole(e, BW_M_CORRECTS, 0);
    for (size_t i = 0; e->kind == BW_KIND_CORRECTION && i < b->entry_n; i++) {
        if (b->entry[i].number == corrects && confirms(&b->entry[i], &step)) {
            confirmed[step]--;
        }
    }
}

/* To the end from here; then each thing stands in the record as confirmed once, no more. */
void bench_finish(bench *b) {
    for (int i = 0; i < 200 && bench_state(b) != BW_STATE_CLOSE; i++) {
        bw_prompt p = bench_prompt(b);
        bool decides = p.state == BW_STATE_VALUE || p.state == BW_STATE_VERDICT;
        if (decides) {
            bench_type(b, p.option[0].word);
        } else {
            bench_answer_well(b);
        }
    }
    assert_int_equal(bench_state(b), BW_STATE_CLOSE);
    bw_tally tally;
    bw_session_tally(b->session, &tally);
    assert_int_equal(tally.accepted + tally.overridden, tally.fasteners);
    if (b->plan == bench_kinds_plan()) {
        return;
    }
    assert_int_equal(tally.measurements, 4);
    size_t confirmed[STEPS] = {0};
    for (size_t i = 0; i < b->entry_n; i++) {
        count_confirmed(b, &b->entry[i], confirmed);
    }
    static const size_t asked[] = {HOT, BLOCK, CLEAN, TURN};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(confirmed[asked[i]], 1);
    }
}

/* ---- looking ---- */

bw_state bench_state(const bench *b) {
    return bw_session_state(b->session);
}

bw_prompt bench_prompt(const bench *b) {
    bw_prompt prompt;
    bw_session_prompt(b->session, &prompt);
    return prompt;
}

const char *bench_kinds(const bench *b) {
    static char kinds[2000];
    bw_text text = bw_text_on(kinds, sizeof kinds);
    for (size_t i = 0; i < b->actions->entry_n; i++) {
        bw_text_add(&text, "%s%s", i > 0 ? " " : "", bw_kind_name(b->actions->entry[i].kind));
    }
    return kinds;
}

const char *bench_said(const bench *b) {
    return b->actions->say;
}

const bw_entry *bench_last(const bench *b, size_t n) {
    assert_true(n < b->entry_n);
    return &b->entry[b->entry_n - 1 - n];
}

/* ---- checking ---- */

void bench_asks(const bench *b, const char *label, size_t stage) {
    bw_prompt p = bench_prompt(b);
    assert_int_equal(p.state, BW_STATE_PULL);
    assert_string_equal(p.group->place[p.place].label, label);
    assert_int_equal(p.stage_index + 1, stage);
    assert_int_equal(bw_session_stage(b->session)->kind, p.stage->stage.kind);
}

void bench_at_step(const bench *b, size_t step) {
    assert_ptr_equal(bench_prompt(b).step, &b->plan->step[step]);
}

void bench_recorded(const bench *b, const char *kinds) {
    assert_string_equal(bench_kinds(b), kinds);
}

void bench_told(const bench *b, const char *part) {
    if (strstr(bench_said(b), part) == NULL) {
        fail_msg("`%s` is not in: %s", part, bench_said(b));
    }
}

void bench_has_text(const bw_entry *e, bw_member member, const char *text) {
    assert_string_equal(bw_entry_text(e, member, "(none)"), text);
}

void bench_options(const bench *b, const char *expected) {
    bw_prompt p = bench_prompt(b);
    char words[200];
    bw_text text = bw_text_on(words, sizeof words);
    for (size_t i = 0; i < p.option_n; i++) {
        bw_text_add(&text, "%s%s", i > 0 ? " " : "", p.option[i].word);
    }
    assert_string_equal(words, expected);
}

/* ---- killed ---- */

bw_session *bench_fold(bench *b, size_t n) {
    bw_session *fresh = bw_session_new(b->plan, &identity, b->arena);
    assert_non_null(fresh);
    for (size_t i = 0; i < n; i++) {
        bw_session_apply(fresh, &b->entry[i]);
    }
    assert_int_equal(bw_session_misfits(fresh), 0);
    return fresh;
}

void bench_killed(bench *b) {
    b->session = bench_fold(b, b->entry_n);
    bench_person(b, "A. Lund");
    bench_event(b, BW_EVENT_TOOL_ON);
}
