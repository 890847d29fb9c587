/* bench.c - see bench.h. */
#include "cmocka_all.h"

#include "bench.h"

#include "base/decimal.h"
#include "base/text.h"

#include <math.h>
#include <string.h>

/* ---- the plan ---- */

#define NM(v)                                                                                      \
    { .value = (v), .unit = BW_UNIT_NM, .decimals = 0 }
#define DEG(v)                                                                                     \
    { .value = (v), .unit = BW_UNIT_DEG, .decimals = 0 }

#define TORQUE_STAGE(low_, target_, high_, turn_)                                                  \
    {                                                                                              \
        .stage = {.kind = BW_STAGE_TORQUE,                                                         \
                  .target_Nm = (target_),                                                          \
                  .low_Nm = (low_),                                                                \
                  .high_Nm = (high_),                                                              \
                  .low_deg = -INFINITY,                                                            \
                  .high_deg = INFINITY,                                                            \
                  .least_turn_deg = (turn_)},                                                      \
        .target = NM(target_), .low = NM(low_), .high = NM(high_)                                  \
    }

#define ANGLE_STAGE(low_, target_, high_)                                                          \
    {                                                                                              \
        .stage = {.kind = BW_STAGE_ANGLE,                                                          \
                  .low_Nm = -INFINITY,                                                             \
                  .high_Nm = INFINITY,                                                             \
                  .target_deg = (target_),                                                         \
                  .low_deg = (low_),                                                               \
                  .high_deg = (high_)},                                                            \
        .target = DEG(target_), .low = DEG(low_), .high = DEG(high_)                               \
    }

static const bw_place cap_places[] = {
    {.label = "1 left"}, {.label = "1 right"}, {.label = "2 left"}, {.label = "2 right"}};
static const size_t cap_order[] = {1, 2, 0, 3};
static const bw_place rod_places[] = {{.label = "1"}, {.label = "2"}};
static const size_t rod_order[] = {0, 1};

static const bw_group groups[] = {
    {.name = "caps",
     .say = "main cap bolts",
     .lubricant = "engine oil",
     .place_n = 4,
     .place = cap_places,
     .order = cap_order},
    {.name = "rods",
     .say = "rod bolts",
     .lubricant = "moly paste",
     .place_n = 2,
     .place = rod_places,
     .order = rod_order},
};

static const char *const ends[] = {"front", "rear"};
static const bw_reading_set sets[] = {
    {.id = "bore",
     .say = "bore of the shells",
     .unit = BW_UNIT_MM,
     .decimals = 3,
     .least = 50,
     .most = 51,
     .at_n = 2,
     .at = ends},
    {.id = "journal",
     .say = "journal diameter",
     .unit = BW_UNIT_MM,
     .decimals = 3,
     .least = 50,
     .most = 51,
     .at_n = 2,
     .at = ends},
};

static const size_t both[] = {0, 1};
static const size_t bore_only[] = {0};
static const size_t journal_only[] = {1};

static const size_t after_hot[] = {HOT};
static const size_t after_clean_and_bearings[] = {CLEAN, BEARINGS};
static const size_t after_caps[] = {CAPS};
static const size_t after_rods[] = {RODS};

static const bw_plan_stage cap_stages[] = {TORQUE_STAGE(28, 30, 32, 5),
                                           TORQUE_STAGE(57, 60, 63, 0)};
static const bw_plan_stage rod_stages[] = {TORQUE_STAGE(19, 20, 21, 5), ANGLE_STAGE(86, 90, 94)};

/* The formulas are found by name, so this table can't be const data of the file. */
typedef struct plan_store {
    bw_derived derived[3];
    bw_step step[STEPS];
    bw_plan plan;
} plan_store;

static void fill(plan_store *store) {
    store->derived[0] = (bw_derived){.id = "clearance",
                                     .say = "oil clearance",
                                     .formula = bw_formula_find("oil_clearance_least"),
                                     .of_n = 2,
                                     .of = both,
                                     .unit = BW_UNIT_MM,
                                     .decimals = 3,
                                     .low = 0.03,
                                     .high = 0.08};
    store->derived[1] = (bw_derived){.id = "bore_taper",
                                     .say = "taper of the bore",
                                     .formula = bw_formula_find("taper"),
                                     .of_n = 1,
                                     .of = bore_only,
                                     .unit = BW_UNIT_MM,
                                     .decimals = 3,
                                     .low = -INFINITY,
                                     .high = 0.01};
    store->derived[2] = (bw_derived){.id = "taper",
                                     .say = "taper of the journal",
                                     .formula = bw_formula_find("taper"),
                                     .of_n = 1,
                                     .of = journal_only,
                                     .unit = BW_UNIT_MM,
                                     .decimals = 3,
                                     .low = -INFINITY,
                                     .high = 0.01};
    bw_step *step = store->step;
    step[HOT] = (bw_step){.kind = BW_STEP_CAUTION, .id = "hot", .say = "The oven is hot."};
    step[BLOCK] = (bw_step){.kind = BW_STEP_NOTE, .id = "block", .say = "Number on the block"};
    step[CLEAN] = (bw_step){.kind = BW_STEP_CONFIRM,
                            .id = "clean",
                            .say = "Threads are clean.",
                            .after_n = 1,
                            .after = after_hot};
    step[BEARINGS] = (bw_step){.kind = BW_STEP_MEASURE,
                               .id = "bearings",
                               .say = "Measure shells and journals.",
                               .gauge = "bore gauge",
                               .set_n = 2,
                               .set = sets,
                               .derived_n = 3,
                               .derived = store->derived};
    step[CAPS] = (bw_step){.kind = BW_STEP_TIGHTEN,
                           .id = "caps",
                           .say = "Tighten the main caps.",
                           .after_n = 2,
                           .after = after_clean_and_bearings,
                           .group = 0,
                           .stage_n = 2,
                           .stage = cap_stages};
    step[RODS] = (bw_step){.kind = BW_STEP_TIGHTEN,
                           .id = "rods",
                           .say = "Tighten the rods.",
                           .after_n = 1,
                           .after = after_caps,
                           .group = 1,
                           .stage_n = 2,
                           .stage = rod_stages};
    step[TURN] = (bw_step){.kind = BW_STEP_CONFIRM,
                           .id = "turn",
                           .say = "The crank turns by hand.",
                           .after_n = 1,
                           .after = after_rods};
    store->plan = (bw_plan){.title = "Plover 2 bottom end",
                            .engine = "Plover 2",
                            .edition = "1",
                            .document = "Harbour pilot service, manual 7",
                            .revision = "C",
                            .invented = true,
                            .torque_unit = BW_UNIT_NM,
                            .group_n = 2,
                            .group = groups,
                            .step_n = STEPS,
                            .step = step};
}

const bw_plan *bench_plan(void) {
    static plan_store store;
    if (store.plan.step_n == 0) {
        fill(&store);
    }
    return &store.plan;
}

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

/* ---- comparing ---- */

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

static bool same_text(const char *a, const char *b) {
    return a == NULL || b == NULL ? a == b : strcmp(a, b) == 0;
}

static bool same_standing(const bw_standing *a, const bw_standing *b) {
    return a->torque_Nm == b->torque_Nm && a->turn_deg == b->turn_deg &&
           a->turn_known == b->turn_known && a->snug_reached == b->snug_reached &&
           a->peak_Nm == b->peak_Nm && a->pulls == b->pulls && a->judged_Nm == b->judged_Nm &&
           a->slope_Nm_per_deg == b->slope_Nm_per_deg && a->siblings.n == b->siblings.n &&
           a->siblings.median_Nm_per_deg == b->siblings.median_Nm_per_deg &&
           a->siblings.mad_Nm_per_deg == b->siblings.mad_Nm_per_deg;
}

static bool same_terms(bw_terms a, bw_terms b) {
    return a.rule == b.rule && a.range_low_Nm == b.range_low_Nm &&
           a.range_high_Nm == b.range_high_Nm && a.uncertainty_share == b.uncertainty_share &&
           a.uncertainty_deg == b.uncertainty_deg;
}

static bool same_stage(const bw_stage *a, const bw_stage *b) {
    if (a == NULL || b == NULL) {
        return a == b;
    }
    return a->kind == b->kind && a->low_Nm == b->low_Nm && a->high_Nm == b->high_Nm &&
           a->target_Nm == b->target_Nm && a->target_deg == b->target_deg &&
           a->target_mm == b->target_mm;
}

/* What the record keeps of a verdict. */
static bool same_verdict(const bw_verdict *a, const bw_verdict *b) {
    return a->outcome == b->outcome && a->reasons == b->reasons && a->more == b->more &&
           a->peak_Nm == b->peak_Nm && a->has_turn == b->has_turn && a->turn_deg == b->turn_deg &&
           a->snug_reached == b->snug_reached && a->pulls == b->pulls &&
           a->has_judged == b->has_judged && a->judged_Nm == b->judged_Nm && a->loose == b->loose &&
           a->has_stretch == b->has_stretch && a->stretch_mm == b->stretch_mm;
}

static bool same_options(const bw_prompt *a, const bw_prompt *b) {
    bool same = a->option_n == b->option_n;
    for (size_t i = 0; same && i < a->option_n; i++) {
        same = same_text(a->option[i].word, b->option[i].word) &&
               same_text(a->option[i].says, b->option[i].says);
    }
    return same;
}

static bool same_progress(const bw_prompt *a, const bw_prompt *b) {
    if (a->group != b->group || (a->progress == NULL) != (b->progress == NULL)) {
        return false;
    }
    size_t n = a->group != NULL && a->progress != NULL && b->progress != NULL ? a->group->place_n
                                                                              : 0;
    for (size_t i = 0; i < n; i++) {
        if (a->progress[i].stages_done != b->progress[i].stages_done ||
            a->progress[i].overridden != b->progress[i].overridden ||
            a->progress[i].attempt != b->progress[i].attempt ||
            a->progress[i].reuse != b->progress[i].reuse) {
            return false;
        }
    }
    return true;
}

static const char *prompt_difference(const bw_prompt *a, const bw_prompt *b) {
    const struct {
        const char *what;
        bool same;
    } rows[] = {
        {"state", a->state == b->state},
        {"person", same_text(a->by, b->by)},
        {"step", a->step == b->step && a->step_number == b->step_number},
        {"steps done", a->steps_done == b->steps_done},
        {"reading", a->set == b->set && a->at == b->at && a->reading_number == b->reading_number &&
                        a->reading_n == b->reading_n},
        {"value", a->derived == b->derived && a->derived_value == b->derived_value},
        {"fastener", a->group == b->group && a->place == b->place && a->turn_of == b->turn_of},
        {"stage", a->stage_index == b->stage_index && a->stage == b->stage},
        {"aim", same_stage(&a->aim, &b->aim) && a->prevailing_Nm == b->prevailing_Nm},
        {"length", a->tightened == b->tightened && a->free_mm == b->free_mm},
        {"what it stands at", a->torque_known == b->torque_known},
        {"standing", same_standing(&a->standing, &b->standing)},
        {"progress", same_progress(a, b)},
        {"attempt", a->attempt == b->attempt},
        {"verdict", same_verdict(&a->verdict, &b->verdict)},
        {"tool", same_text(a->tool_text, b->tool_text)},
        {"options", same_options(a, b)},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (!rows[i].same) {
            return rows[i].what;
        }
    }
    return NULL;
}

const char *bench_difference(const bw_session *a, const bw_session *b) {
    bw_prompt prompt_a;
    bw_prompt prompt_b;
    bw_tally tally_a;
    bw_tally tally_b;
    bw_session_prompt(a, &prompt_a);
    bw_session_prompt(b, &prompt_b);
    const char *what = prompt_difference(&prompt_a, &prompt_b);
    if (what != NULL) {
        return what;
    }
    bw_session_tally(a, &tally_a);
    bw_session_tally(b, &tally_b);
    bool same = tally_a.fasteners == tally_b.fasteners && tally_a.accepted == tally_b.accepted &&
                tally_a.overridden == tally_b.overridden && tally_a.pulls == tally_b.pulls &&
                tally_a.measurements == tally_b.measurements &&
                same_text(tally_a.outcome, tally_b.outcome);
    if (!same) {
        return "tally";
    }
    bw_standing standing_a = bw_session_standing(a);
    bw_standing standing_b = bw_session_standing(b);
    bool asked = same_stage(bw_session_stage(a), bw_session_stage(b)) &&
                 same_standing(&standing_a, &standing_b);
    return asked && same_terms(bw_session_terms(a), bw_session_terms(b)) ? NULL
                                                                         : "what to judge by";
}
