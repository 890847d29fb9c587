/* sheet_build.c - the build sheet and the tag: what is on them, in their order. */
#include "face/sheet_make.h"

#include "base/clock.h"

#include <string.h>

static bool is_answer(const bw_entry *e) {
    return e->kind == BW_KIND_FASTENER_LENGTH || e->kind == BW_KIND_FASTENER_SLOT;
}

/* Index of the entry of that number; entry_n where this build has none. */
static size_t index_of(const bw_replay *replay, int64_t number) {
    size_t low = 0;
    size_t high = replay->entry_n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if ((int64_t)replay->entry[middle].number < number) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    bool there = low < replay->entry_n && (int64_t)replay->entry[low].number == number;
    return there ? low : replay->entry_n;
}

/* What a step had before it was done anew, and each that stands on it. */
static void take_back_step(bw_making *m, size_t anew) {
    const bw_entry *e = &m->replay->entry[anew];
    bool redone[BW_PLAN_STEPS_MAX];
    size_t step = 0;
    if (!bw_plan_find_step(m->plan, bw_entry_text(e, BW_M_STEP, ""), &step)) {
        return;
    }
    bw_session_redone(m->plan, step, redone);
    for (size_t i = 0; i < anew; i++) {
        const char *id = bw_entry_text(&m->replay->entry[i], BW_M_STEP, "");
        bool falls = bw_plan_find_step(m->plan, id, &step) && redone[step];
        if (falls && m->taken_back[i] == NULL) {
            m->taken_back[i] = e;
        }
    }
}

static bool comes_from(const bw_step *step, const bw_entry *value, const char *set) {
    for (size_t i = 0; i < step->derived_n; i++) {
        const bw_derived *d = &step->derived[i];
        bool same = strcmp(d->id, bw_entry_text(value, BW_M_DERIVED, "")) == 0;
        for (size_t k = 0; same && k < d->of_n; k++) {
            if (strcmp(step->set[d->of[k]].id, set) == 0) {
                return true;
            }
        }
    }
    return false;
}

/* What was computed from a reading falls with it. */
static void take_back_values(bw_making *m, size_t reading, size_t correction) {
    const bw_entry *old = &m->replay->entry[reading];
    const bw_step *step = bw_entry_step(m, old);
    for (size_t i = reading + 1; step != NULL && i < correction; i++) {
        const bw_entry *e = &m->replay->entry[i];
        if (old->kind == BW_KIND_READING && e->kind == BW_KIND_DERIVED &&
            bw_entry_step(m, e) == step && m->taken_back[i] == NULL &&
            comes_from(step, e, bw_entry_text(old, BW_M_SET, ""))) {
            m->taken_back[i] = &m->replay->entry[correction];
        }
    }
}

/* A verdict that followed what was measured or seen falls with it. */
static void find_corrections(bw_making *m) {
    const bw_replay *replay = m->replay;
    m->taken_back = bw_make_room(m, replay->entry_n, sizeof *m->taken_back);
    for (size_t i = 0; m->taken_back != NULL && i < replay->entry_n; i++) {
        const bw_entry *e = &replay->entry[i];
        bool again = e->kind == BW_KIND_READING && bw_entry_has(e, BW_M_CORRECTS);
        if (e->kind == BW_KIND_STEP_REDONE) {
            take_back_step(m, i);
        }
        if (e->kind != BW_KIND_CORRECTION && !again) {
            continue;
        }
        size_t old = index_of(replay, bw_entry_whole(e, BW_M_CORRECTS, 0));
        if (old == replay->entry_n) {
            continue;
        }
        m->taken_back[old] = e;
        take_back_values(m, old, i);
        bool with_verdict = is_answer(&replay->entry[old]) && old + 1 < replay->entry_n &&
                            replay->entry[old + 1].kind == BW_KIND_VERDICT;
        if (with_verdict) {
            m->taken_back[old + 1] = e;
        }
    }
}

static void fact(bw_making *m, const char *name, const char *text) {
    bw_make_fact(m, BW_BLOCK_FACTS, name, text);
}

/* With what was said when it was closed, if anything was. */
static const char *outcome_text(bw_making *m, const char *outcome) {
    const char *text = "";
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        text = e->kind == BW_KIND_BUILD_CLOSED ? bw_entry_text(e, BW_M_TEXT, "") : text;
    }
    return bw_make_said(m, "%s%s%s", outcome, text[0] != '\0' ? ": " : "", text);
}

static void tell_head(bw_making *m) {
    const bw_replay *r = m->replay;
    const bw_plan *plan = m->plan;
    bw_tally tally;
    bw_session_tally(r->session, &tally);
    (void)bw_make_section(m, NULL);
    fact(m, "Build", r->entry[0].build);
    fact(m, "Engine", plan->engine);
    fact(m, "Sequence",
         bw_make_said(m, "%s%s%s", plan->title, plan->edition[0] != '\0' ? ", edition " : "",
                      plan->edition));
    fact(m, "Figures",
         bw_make_said(m, "%s, revision %s%s", plan->document, plan->revision,
                      plan->invented ? "  (INVENTED: not for real work)" : ""));
    fact(m, "Bench", r->entry[0].bench);
    fact(m, "Begun", bw_make_said(m, "%s UTC", bw_make_when(m, &r->entry[0])));
    fact(m, "Last entry", bw_make_said(m, "%s UTC", bw_make_when(m, &r->entry[r->entry_n - 1])));
    fact(m, "Outcome", outcome_text(m, tally.outcome));
    fact(m, "Fasteners",
         bw_make_said(m,
                      "%zu pulls planned, %zu accepted, %zu by decision; %zu pulls made; "
                      "%zu readings",
                      tally.fasteners, tally.accepted, tally.overridden, tally.pulls,
                      tally.measurements));
    if (r->rehearsal) {
        (void)bw_make_block(m, BW_BLOCK_NOTICE,
                            "REHEARSAL, NOT A BUILD: the builder and the wrench were simulated.");
    }
    if (plan->invented) {
        (void)bw_make_block(m, BW_BLOCK_NOTICE,
                            "Every figure of this sequence is invented: not for real work. The "
                            "maker's manual prevails.");
    }
}

/* What is known of the wrench; nothing where nothing is. */
static void add_known(const bw_entry *e, bw_text *text) {
    if (bw_entry_has(e, BW_M_RANGE_HIGH_NM)) {
        bw_text_add(text, "; calibrated from %.0f to %.0f N·m",
                    bw_entry_number(e, BW_M_RANGE_LOW_NM, 0),
                    bw_entry_number(e, BW_M_RANGE_HIGH_NM, 0));
    }
    if (bw_entry_has(e, BW_M_UNCERTAINTY_SHARE)) {
        bw_text_add(text, "; U = %.2f %% of the torque (k = 2)",
                    100 * bw_entry_number(e, BW_M_UNCERTAINTY_SHARE, 0));
    }
    if (bw_entry_has(e, BW_M_UNCERTAINTY_DEG)) {
        bw_text_add(text, "; U = %.1f° of a turn (k = 2)",
                    bw_entry_number(e, BW_M_UNCERTAINTY_DEG, 0));
    }
}

/* Which calibration stood behind the wrench on that day, and who the wrench is. */
static void add_card(const bw_entry *e, bw_text *text) {
    static const struct {
        bw_member member;
        const char *words;
    } rows[] = {{BW_M_SERIAL_NUMBER, "serial number"},
                {BW_M_CALIBRATED, "calibrated"},
                {BW_M_CERTIFICATE, "certificate"},
                {BW_M_CALIBRATION_DUE, "due"},
                {BW_M_DEVICE_SERIAL, "itself says"}};
    char time[BW_TIME_TEXT_MAX];
    const char *due = bw_entry_text(e, BW_M_CALIBRATION_DUE, "");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const char *value = bw_entry_text(e, rows[i].member, "");
        if (value[0] != '\0') {
            bw_text_add(text, "; %s %s", rows[i].words, value);
        }
    }
    if (due[0] != '\0' && strncmp(due, bw_time_text(e->time_ms, time), strlen(due)) < 0) {
        bw_text_add(text, ", OVERDUE");
    }
    const char *unguarded = bw_entry_unguarded(e);
    if (unguarded != NULL) {
        bw_text_add(text, "; unchecked: %s", unguarded);
    }
}

static const char *people_text(bw_making *m, const bw_entry *e) {
    char line[BW_SHEET_LINE_BYTES];
    bw_text text = bw_text_on(line, sizeof line);
    if (e->kind == BW_KIND_PERSON_ON) {
        return "works from here on";
    }
    bw_text_add(&text, "wrench: %s, driver %s", bw_entry_text(e, BW_M_TOOL, ""),
                bw_entry_text(e, BW_M_DRIVER, ""));
    add_known(e, &text);
    add_card(e, &text);
    return bw_make_said(m, "%s", line);
}

static void tell_people(bw_making *m) {
    static const char *const heads[] = {"time (UTC)", "by", "", NULL};
    (void)bw_make_section(m, "People and tools");
    bw_sheet_table *table = bw_make_table(m, NULL, heads);
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        const bw_entry *e = &m->replay->entry[i];
        if (e->kind == BW_KIND_PERSON_ON || e->kind == BW_KIND_TOOL_ON) {
            bw_sheet_row *row = bw_make_row(m, table);
            row->cell[0] = bw_make_when(m, e);
            row->cell[1] = e->by;
            row->cell[2] = people_text(m, e);
        }
    }
}

/* Everyone who stands behind an entry, each once. */
static const char *names(bw_making *m) {
    char line[BW_SHEET_LINE_BYTES];
    bw_text text = bw_text_on(line, sizeof line);
    for (size_t i = 0; i < m->replay->entry_n; i++) {
        bool told = false;
        for (size_t k = 0; k < i && !told; k++) {
            told = strcmp(m->replay->entry[k].by, m->replay->entry[i].by) == 0;
        }
        if (!told) {
            bw_text_add(&text, "%s%s", text.len > 0 ? ", " : "", m->replay->entry[i].by);
        }
    }
    return bw_make_said(m, "%s", line);
}

static void tell_signatures(bw_making *m) {
    bw_make_section(m, "Signatures")->on_paper = true;
    bw_make_fact(m, BW_BLOCK_SIGN, "Built by", names(m));
    bw_make_fact(m, BW_BLOCK_SIGN, "Checked by", "");
    bw_make_fact(m, BW_BLOCK_SIGN, "Released by", "");
    bw_make_fact(m, BW_BLOCK_SIGN, "Received by", "");
    (void)bw_make_block(m, BW_BLOCK_TEXT, "One person may hold several roles, and says so here.");
}

static void begin(bw_making *m, const bw_replay *replay, const bw_sheet_proof *proof,
                  bw_arena *arena) {
    bw_make_begin(m, arena);
    m->replay = replay;
    m->plan = replay->plan;
    m->proof = proof;
    find_corrections(m);
}

static void name_sheet(bw_making *m, const char *title) {
    const bw_replay *r = m->replay;
    bw_sheet *sheet = m->sheet;
    sheet->title = title;
    sheet->about = r->entry[0].build;
    sheet->subject = m->plan->engine;
    sheet->foot = bw_make_foot(m, r->entry[0].bench);
    sheet->warning = r->rehearsal ? "REHEARSAL, NOT A BUILD" : NULL;
    sheet->made_ms = r->entry[r->entry_n - 1].time_ms;
}

bw_status bw_sheet_of_build(const bw_replay *replay, const bw_sheet_proof *proof, bw_arena *arena,
                            const bw_sheet **out, bw_err *err) {
    bw_making m;
    begin(&m, replay, proof, arena);
    if (m.sheet != NULL && m.taken_back != NULL) {
        name_sheet(&m, "Build sheet");
        tell_head(&m);
        tell_people(&m);
        bw_make_irregular(&m);
        bw_make_readings(&m);
        bw_make_fasteners(&m);
        bw_make_story(&m);
        bw_make_evidence(&m);
        tell_signatures(&m);
    }
    return bw_made(&m, out, err);
}

/* "2026-11-25, complete", "2026-11-25 to 2026-11-27, paused". */
static const char *days_text(bw_making *m, const bw_entry *first, const bw_entry *last,
                             const char *outcome) {
    enum { DAY = 10 };
    const char *from = bw_make_when(m, first);
    const char *to = bw_make_when(m, last);
    return strncmp(from, to, DAY) == 0
               ? bw_make_said(m, "%.*s, %s", DAY, from, outcome)
               : bw_make_said(m, "%.*s to %.*s, %s", DAY, from, DAY, to, outcome);
}

bw_status bw_sheet_of_tag(const bw_replay *replay, const bw_sheet_proof *proof, bw_arena *arena,
                          const bw_sheet **out, bw_err *err) {
    bw_making m;
    begin(&m, replay, proof, arena);
    if (m.sheet == NULL || m.taken_back == NULL) {
        return bw_made(&m, out, err);
    }
    const bw_entry *last = &replay->entry[replay->entry_n - 1];
    bw_tally tally;
    bw_session_tally(replay->session, &tally);
    name_sheet(&m, "Engine tag");
    m.sheet->is_tag = true;
    (void)bw_make_section(&m, NULL);
    fact(&m, "Engine", m.plan->engine);
    fact(&m, "Sequence", bw_make_said(&m, "%s, edition %s", m.plan->title, m.plan->edition));
    fact(&m, "Built", days_text(&m, &replay->entry[0], last, tally.outcome));
    fact(&m, "By", names(&m));
    fact(&m, "Fasteners",
         bw_make_said(&m, "%zu accepted, %zu by decision, of %zu", tally.accepted, tally.overridden,
                      tally.fasteners));
    if (m.plan->invented) {
        fact(&m, "Figures", "INVENTED: not for real work");
    }
    bw_make_code(&m);
    return bw_made(&m, out, err);
}
