/* sheet_make.c - see sheet_make.h. */
#include "face/sheet_make.h"

#include "base/clock.h"
#include "face/figures.h"

#include <stdarg.h>
#include <string.h>

void bw_make_begin(bw_making *m, bw_arena *arena) {
    *m = (bw_making){.arena = arena};
    m->sheet = bw_make_room(m, 1, sizeof *m->sheet);
}

bw_status bw_made(const bw_making *m, const bw_sheet **out, bw_err *err) {
    if (m->failed || m->sheet == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for the sheet");
    }
    *out = m->sheet;
    return BW_OK;
}

void *bw_make_room(bw_making *m, size_t n, size_t size) {
    void *room = bw_arena_alloc(m->arena, n, size);
    m->failed = m->failed || room == NULL;
    return room;
}

const char *bw_make_said(bw_making *m, const char *format, ...) {
    char line[BW_SHEET_LINE_BYTES];
    bw_text text = bw_text_on(line, sizeof line);
    va_list args;
    va_start(args, format);
    bw_text_add_v(&text, format, args);
    va_end(args);
    const char *copy = bw_arena_copy(m->arena, line, text.len);
    m->failed = m->failed || copy == NULL;
    return copy != NULL ? copy : "";
}

const char *bw_make_below(bw_making *m, const char *lines, const char *line) {
    if (lines == NULL || line[0] == '\0') {
        return line[0] == '\0' ? lines : line;
    }
    size_t above = strlen(lines);
    size_t below = strlen(line);
    char *all = bw_make_room(m, above + below + 2, 1);
    if (all == NULL) {
        return lines;
    }
    memcpy(all, lines, above);
    all[above] = '\n';
    memcpy(all + above + 1, line, below);
    return all;
}

bw_sheet_section *bw_make_section(bw_making *m, const char *title) {
    bw_sheet_section *section = bw_make_room(m, 1, sizeof *section);
    if (section == NULL || m->sheet == NULL) {
        return &m->spare_section;
    }
    section->title = title;
    if (m->sheet->last == NULL) {
        m->sheet->section = section;
    } else {
        m->sheet->last->next = section;
    }
    m->sheet->last = section;
    return section;
}

bw_sheet_block *bw_make_block(bw_making *m, bw_block_kind kind, const char *text) {
    bw_sheet_block *block = bw_make_room(m, 1, sizeof *block);
    if (block == NULL || m->sheet == NULL || m->sheet->last == NULL) {
        return &m->spare_block;
    }
    block->kind = kind;
    block->text = text;
    bw_sheet_section *section = m->sheet->last;
    if (section->last == NULL) {
        section->block = block;
    } else {
        section->last->next = block;
    }
    section->last = block;
    return block;
}

void bw_make_fact(bw_making *m, bw_block_kind kind, const char *name, const char *text) {
    bw_sheet_block *block = m->sheet != NULL && m->sheet->last != NULL ? m->sheet->last->last
                                                                       : NULL;
    bw_sheet_fact *fact = bw_make_room(m, 1, sizeof *fact);
    if (fact == NULL) {
        return;
    }
    *fact = (bw_sheet_fact){.name = name, .text = text};
    if (block == NULL || block->kind != kind) {
        block = bw_make_block(m, kind, NULL);
    }
    bw_sheet_fact **end = &block->fact;
    while (*end != NULL) {
        end = &(*end)->next;
    }
    *end = fact;
}

void bw_make_column(bw_sheet_table *table, const char *head, bool right) {
    if (table->column_n < BW_SHEET_COLUMNS_MAX) {
        table->column[table->column_n++] = (bw_sheet_column){.head = head, .right = right};
    }
}

bw_sheet_table *bw_make_table(bw_making *m, const char *title, const char *const *heads) {
    bw_sheet_table *table = bw_make_room(m, 1, sizeof *table);
    if (table == NULL) {
        return &m->spare_table;
    }
    table->title = title;
    for (size_t i = 0; heads != NULL && heads[i] != NULL; i++) {
        bool right = heads[i][0] == '>';
        bw_make_column(table, heads[i] + (right ? 1 : 0), right);
    }
    bw_make_block(m, BW_BLOCK_TABLE, NULL)->table = table;
    return table;
}

bw_sheet_row *bw_make_row(bw_making *m, bw_sheet_table *table) {
    bw_sheet_row *row = bw_make_room(m, 1, sizeof *row);
    if (row == NULL) {
        return &m->spare_row;
    }
    if (table->last == NULL) {
        table->row = row;
    } else {
        table->last->next = row;
    }
    table->last = row;
    return row;
}

const char *bw_entry_when(const bw_entry *e, char *out) {
    enum { DAY = 10, SECOND = 19 };
    (void)bw_time_text(e->time_ms, out);
    out[DAY] = ' ';
    out[SECOND] = '\0';
    return out;
}

const char *bw_make_when(bw_making *m, const bw_entry *e) {
    char when[BW_TIME_TEXT_MAX];
    return bw_make_said(m, "%s", bw_entry_when(e, when));
}

const char *bw_make_pull_typed(bw_making *m, const bw_entry *e) {
    uint64_t number = e->kind == BW_KIND_PULL ? e->number : (uint64_t)bw_entry_whole(e, BW_M_OF, 0);
    const char *port = "";
    for (size_t i = 0; i < m->replay->entry_n && m->replay->entry[i].number <= number; i++) {
        const bw_entry *other = &m->replay->entry[i];
        port = other->kind == BW_KIND_TOOL_ON ? bw_entry_text(other, BW_M_PORT, "") : port;
        if (other->number == number && bw_entry_has(other, BW_M_TYPED)) {
            return bw_make_said(m, "%s: %s",
                                strcmp(port, "keys") == 0 ? "typed, by it or by a hand"
                                                          : "typed by hand",
                                bw_entry_text(other, BW_M_TYPED, ""));
        }
    }
    return NULL;
}

const char *bw_make_typed(bw_making *m, const bw_entry *e) {
    const char *typed = bw_entry_text(e, BW_M_TYPED, "");
    const char *at = bw_entry_has(e, BW_M_TEMPERATURE_DEGC) ? strstr(typed, " at ") : NULL;
    size_t len = at != NULL ? (size_t)(at - typed) : strlen(typed);
    bool bare = strcspn(typed, "abcdefghijklmnopqrstuvwxyz\"µ") >= len;
    const char *unit = bw_entry_text(e, BW_M_UNIT, "");
    bw_unit known = BW_UNIT_MM;
    if (bw_unit_find(unit, strlen(unit), &known)) {
        unit = bw_unit_of(known)->symbol;
    }
    return bare && unit[0] != '\0'
               ? bw_make_said(m, "%.*s %s%s", (int)len, typed, unit, typed + len)
               : typed;
}

const char *bw_make_torque(bw_making *m, double torque_Nm) {
    char figure[BW_FIGURE_MAX];
    bw_text text = bw_text_on(figure, sizeof figure);
    bw_torque_add(&text, torque_Nm, m->plan->torque_unit);
    return bw_make_said(m, "%s", figure);
}

bool bw_entry_has(const bw_entry *e, bw_member member) {
    return e->value[member].type != BW_VALUE_NONE;
}

const bw_step *bw_entry_step(const bw_making *m, const bw_entry *e) {
    size_t step = 0;
    bool known = bw_plan_find_step(m->plan, bw_entry_text(e, BW_M_STEP, ""), &step);
    return known ? &m->plan->step[step] : NULL;
}

bool bw_entry_at_step(const bw_entry *e, const bw_step *step) {
    return strcmp(bw_entry_text(e, BW_M_STEP, ""), step->id) == 0;
}

const char *bw_entry_unguarded(const bw_entry *tool_on) {
    const char *port = bw_entry_text(tool_on, BW_M_PORT, "");
    return strcmp(port, "hand") == 0                       ? "typed by hand"
           : strcmp(port, "keys") == 0                     ? "typed, by it or by a hand"
           : bw_entry_flag(tool_on, BW_M_UNCHECKED, false) ? "no checksum guards what it sends"
                                                           : NULL;
}
