/* sheet_blank.c - the sheet to go on by hand while there is no power: a joint a page, with a box
 * for each stage; the readings; a line to tick for all else.  And the sheet of a calibration. */
#include "face/sheet_make.h"

#include <string.h>

enum { STAGE_COLUMNS_MAX = 6 /* of a table: a hand has to write in them */ };

static void tell_head(bw_making *m) {
    const bw_plan *plan = m->plan;
    (void)bw_make_section(m, NULL);
    bw_make_fact(m, BW_BLOCK_FACTS, "Engine", plan->engine);
    bw_make_fact(m, BW_BLOCK_FACTS, "Sequence",
                 bw_make_said(m, "%s, edition %s", plan->title, plan->edition));
    bw_make_fact(m, BW_BLOCK_FACTS, "Figures",
                 bw_make_said(m, "%s, revision %s", plan->document, plan->revision));
    bw_make_fact(m, BW_BLOCK_FACTS, "Build", "____________________");
    bw_make_fact(m, BW_BLOCK_FACTS, "Day", "____________________");
    if (plan->invented) {
        (void)bw_make_block(m, BW_BLOCK_NOTICE,
                            "Every figure of this sequence is INVENTED: not for real work. The "
                            "maker's manual prevails.");
    }
    (void)bw_make_block(m, BW_BLOCK_TEXT,
                        "To be filled in by hand while there is no power. What stands here is no "
                        "record: enter it afterwards as notes, with the hour at which it was "
                        "done; where a torque was not seen by the program, the fastener is "
                        "tightened again in its order.");
}

/* ---- what is ticked ---- */

static void tell_ticks(bw_making *m) {
    static const char *const heads[] = {">step", "what", "done", "by", "hour", NULL};
    bw_sheet_table *table = NULL;
    for (size_t i = 0; i < m->plan->step_n; i++) {
        const bw_step *step = &m->plan->step[i];
        if (step->kind == BW_STEP_MEASURE || step->kind == BW_STEP_TIGHTEN) {
            continue;
        }
        if (table == NULL) {
            (void)bw_make_section(m, "Cautions, confirmations, questions");
            table = bw_make_table(m, NULL, heads);
            table->boxes = true;
        }
        bw_sheet_row *row = bw_make_row(m, table);
        row->cell[0] = bw_make_said(m, "%zu", i + 1);
        row->cell[1] = step->say;
        row->strong = step->kind == BW_STEP_CAUTION ? 2 : 0;
    }
}

/* ---- what is measured ---- */

/* A line for each time that a point is read. */
static void tell_readings(bw_making *m, const bw_step *step) {
    static const char *const heads[] = {"what", "where", "unit", "reading", "by", NULL};
    bw_sheet_table *table = bw_make_table(m, step->say, heads);
    table->boxes = true;
    table->under = step->gauge != NULL ? bw_make_said(m, "with %s", step->gauge) : NULL;
    for (size_t i = 0; i < step->set_n; i++) {
        size_t repeats = bw_set_repeats(&step->set[i]);
        for (size_t k = 0; k < step->set[i].at_n * repeats; k++) {
            bw_sheet_row *row = bw_make_row(m, table);
            row->cell[0] = step->set[i].say;
            row->cell[1] = step->set[i].at[k / repeats];
            row->cell[2] = bw_unit_of(step->set[i].unit)->symbol;
        }
    }
    for (size_t i = 0; i < step->derived_n; i++) {
        bw_sheet_row *row = bw_make_row(m, table);
        row->cell[0] = step->derived[i].say;
        row->cell[1] = bw_make_limits(m, &step->derived[i]);
        row->cell[2] = bw_unit_of(step->derived[i].unit)->symbol;
        row->strong = 1;
    }
}

static void tell_measurements(bw_making *m) {
    bool begun = false;
    for (size_t i = 0; i < m->plan->step_n; i++) {
        if (m->plan->step[i].kind == BW_STEP_MEASURE) {
            if (!begun) {
                begun = true;
                bw_make_section(m, "Measurements")->own_page = true;
            }
            tell_readings(m, &m->plan->step[i]);
        }
    }
}

/* ---- what is tightened: a joint a page ---- */

/* A table with boxes for these stages. */
static void tell_stages(bw_making *m, const bw_step *step, size_t first, size_t behind) {
    const bw_group *group = &m->plan->group[step->group];
    const size_t *order = bw_step_order(m->plan, step);
    bool all = first == 0 && behind == step->stage_n;
    bw_sheet_table *table = bw_make_table(
        m,
        all ? "In working order"
            : bw_make_said(m, "In working order, stages %zu to %zu", first + 1, behind),
        NULL);
    table->boxes = true;
    bw_make_column(table, "in order", true);
    bw_make_column(table, "place", true);
    bw_make_column(table, "label", false);
    for (size_t i = first; i < behind; i++) {
        bw_make_column(table, bw_make_said(m, "stage %zu", i + 1), false);
    }
    bw_make_column(table, "by", false);
    bw_make_column(table, "hour", false);
    for (size_t i = 0; i < group->place_n; i++) {
        bw_sheet_row *row = bw_make_row(m, table);
        row->cell[0] = bw_make_said(m, "%zu", i + 1);
        row->cell[1] = bw_make_said(m, "%zu", order[i] + 1);
        row->cell[2] = group->place[order[i]].label;
    }
}

static void tell_joint(bw_making *m, const bw_step *step) {
    size_t tables = (step->stage_n + STAGE_COLUMNS_MAX - 1) / STAGE_COLUMNS_MAX;
    bw_make_section(m, step->say)->own_page = true;
    bw_make_group_facts(m, step);
    for (size_t i = 0; i < step->stage_n; i++) {
        (void)bw_make_block(m, BW_BLOCK_TEXT, bw_make_target(m, step, i));
    }
    (void)bw_make_map(m, step, step->stage_n);
    for (size_t i = 0; i < tables; i++) {
        tell_stages(m, step, step->stage_n * i / tables, step->stage_n * (i + 1) / tables);
    }
}

bw_status bw_sheet_of_plan(const bw_plan *plan, bw_arena *arena, const bw_sheet **out,
                           bw_err *err) {
    static const bw_sheet_proof none = {0};
    bw_making m;
    bw_make_begin(&m, arena);
    m.plan = plan;
    m.proof = &none;
    if (m.sheet == NULL) {
        return bw_made(&m, out, err);
    }
    m.sheet->title = "Sheet to fill in";
    m.sheet->about = plan->title;
    m.sheet->subject = bw_make_said(&m, "edition %s", plan->edition);
    m.sheet->foot = "written by hand: no record";
    tell_head(&m);
    tell_ticks(&m);
    tell_measurements(&m);
    for (size_t i = 0; i < plan->step_n; i++) {
        if (plan->step[i].kind == BW_STEP_TIGHTEN) {
            tell_joint(&m, &plan->step[i]);
        }
    }
    return bw_made(&m, out, err);
}

/* ---- a calibration ---- */

bw_status bw_sheet_of_calibration(const bw_entry *calibrated, const bw_sheet_proof *proof,
                                  bw_arena *arena, const bw_sheet **out, bw_err *err) {
    bw_making m;
    const bw_entry *e = calibrated;
    bw_make_begin(&m, arena);
    m.proof = proof;
    if (m.sheet == NULL) {
        return bw_made(&m, out, err);
    }
    m.sheet->title = "Calibration sheet";
    m.sheet->about = bw_entry_text(e, BW_M_TOOL, "");
    m.sheet->subject = bw_make_said(&m, "%s", bw_entry_text(e, BW_M_CALIBRATED, ""));
    m.sheet->foot = bw_make_foot(&m, e->bench);
    m.sheet->made_ms = e->time_ms;
    (void)bw_make_section(&m, NULL);
    bw_make_fact(&m, BW_BLOCK_FACTS, "Tool", m.sheet->about);
    bw_make_fact(&m, BW_BLOCK_FACTS, "Calibrated", m.sheet->subject);
    bw_make_fact(&m, BW_BLOCK_FACTS, "Due again", bw_entry_text(e, BW_M_CALIBRATION_DUE, ""));
    bw_make_fact(&m, BW_BLOCK_FACTS, "Number", bw_entry_text(e, BW_M_CERTIFICATE, "none"));
    bw_make_fact(&m, BW_BLOCK_FACTS, "By", e->by);
    bw_make_fact(&m, BW_BLOCK_FACTS, "Recorded",
                 bw_make_said(&m, "%s UTC, entry %llu of %s", bw_make_when(&m, e),
                              (unsigned long long)e->number, e->bench));
    (void)bw_make_section(&m, "Readings and result");
    const char *text = bw_entry_text(e, BW_M_TEXT, "");
    const char *copy = bw_arena_copy(arena, text, strlen(text));
    (void)bw_make_block(&m, BW_BLOCK_VERBATIM, copy != NULL ? copy : text);
    bw_make_section(&m, "Signatures")->on_paper = true;
    bw_make_fact(&m, BW_BLOCK_SIGN, "Calibrated by", e->by);
    bw_make_fact(&m, BW_BLOCK_SIGN, "Checked by", "");
    bw_make_evidence(&m);
    return bw_made(&m, out, err);
}
