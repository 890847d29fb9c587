/* sheet_text.c - see sheet_text.h. */
#include "face/sheet_text.h"

#include "base/text.h"

#include <ctype.h>
#include <string.h>

enum { COLUMNS = 100, GAP = 2, NOTE_INDENT = 8, WORD_MOST = 32, NAME_COLUMNS = 11 };

static void spaces(FILE *out, size_t n) {
    (void)fprintf(out, "%*s", (int)n, "");
}

/* ---- lines of a text that is broken at spaces ---- */

/* Bytes of the first `columns` characters. */
static size_t bytes_of(const char *text, size_t columns) {
    size_t at = 0;
    while (text[at] != '\0' && columns > 0) {
        at++;
        while (((unsigned char)text[at] & 0xC0) == 0x80) {
            at++;
        }
        columns--;
    }
    return at;
}

/* The next line of a text: its bytes; *text is left at what follows.  Never empty but for an empty
 * line. */
static size_t next_line(const char **text, size_t columns) {
    const char *start = *text;
    size_t whole = strcspn(start, "\n");
    size_t fits = bytes_of(start, columns);
    if (whole <= fits) {
        *text = start + whole + (start[whole] == '\n' ? 1 : 0);
        return whole;
    }
    size_t len = fits;
    while (len > 0 && start[len] != ' ') {
        len--;
    }
    len = len > 0 ? len : fits;
    *text = start + len + strspn(start + len, " ");
    return len;
}

static void paragraph(FILE *out, size_t indent, const char *text) {
    for (const char *at = text; *at != '\0';) {
        const char *line = at;
        size_t len = next_line(&at, COLUMNS - indent);
        spaces(out, indent);
        (void)fprintf(out, "%.*s\n", (int)len, line);
    }
}

static size_t width_of(const char *text) {
    size_t widest = 0;
    for (const char *at = text; at != NULL && *at != '\0';) {
        char line[COLUMNS * 4 + 1];
        size_t len = strcspn(at, "\n");
        (void)snprintf(line, sizeof line, "%.*s", (int)len, at);
        size_t width = bw_text_columns(line);
        widest = width > widest ? width : widest;
        at += len + (at[len] == '\n' ? 1 : 0);
    }
    return widest;
}

/* ---- tables ---- */

typedef struct widths {
    size_t gap;
    size_t column[BW_SHEET_COLUMNS_MAX];
} widths;

static size_t longest_word(const char *text) {
    size_t longest = 0;
    for (const char *at = text; at != NULL && *at != '\0';) {
        char word[COLUMNS * 4 + 1];
        size_t len = strcspn(at, " \n");
        (void)snprintf(word, sizeof word, "%.*s", (int)len, at);
        size_t width = bw_text_columns(word);
        longest = width > longest ? width : longest;
        at += len + (at[len] != '\0' ? 1 : 0);
    }
    return longest;
}

static void grow(size_t *most, size_t value) {
    *most = value > *most ? value : *most;
}

/* Takes a column off the one that has most to give: down to its longest word first. */
static bool give_way(widths *w, const size_t *least, size_t n) {
    size_t most = 0;
    for (size_t i = 1; i < n; i++) {
        size_t has = w->column[i] > least[i] ? w->column[i] - least[i] : 0;
        size_t most_has = w->column[most] > least[most] ? w->column[most] - least[most] : 0;
        most = has > most_has ? i : most;
    }
    bool gives = w->column[most] > least[most];
    w->column[most] -= gives ? 1 : 0;
    return gives;
}

static void widest_gives(widths *w, size_t n) {
    size_t widest = 0;
    for (size_t i = 1; i < n; i++) {
        widest = w->column[i] > w->column[widest] ? i : widest;
    }
    w->column[widest]--;
}

/* As wide as the widest cell, as far as the page allows. */
static widths widths_for(const bw_sheet_table *table) {
    widths w = {.gap = GAP};
    size_t least[BW_SHEET_COLUMNS_MAX] = {0};
    size_t total = 0;
    for (size_t i = 0; i < table->column_n; i++) {
        grow(&w.column[i], width_of(table->column[i].head));
        grow(&least[i], longest_word(table->column[i].head));
        for (const bw_sheet_row *row = table->row; row != NULL; row = row->next) {
            grow(&w.column[i], width_of(row->cell[i]));
            grow(&least[i], longest_word(row->cell[i]));
        }
        least[i] = least[i] < WORD_MOST ? least[i] : WORD_MOST;
        total += w.column[i];
    }
    while (total + w.gap * table->column_n > COLUMNS) {
        if (give_way(&w, least, table->column_n)) {
            total--;
        } else if (w.gap > 1) {
            w.gap--;
        } else {
            widest_gives(&w, table->column_n);
            total--;
        }
    }
    return w;
}

static bool prints_line(const bw_sheet_table *table, const widths *w, const char **cell,
                        FILE *out) {
    size_t due = w->gap;
    bool more = false;
    for (size_t i = 0; i < table->column_n; i++) {
        const char *line = cell[i];
        size_t len = line != NULL && *line != '\0' ? next_line(&cell[i], w->column[i]) : 0;
        char text[COLUMNS * 4 + 1];
        (void)snprintf(text, sizeof text, "%.*s", (int)len, len > 0 ? line : "");
        size_t width = bw_text_columns(text);
        size_t rest = w->column[i] > width ? w->column[i] - width : 0;
        if (width > 0) {
            spaces(out, due + (table->column[i].right ? rest : 0));
            (void)fputs(text, out);
            due = w->gap + (table->column[i].right ? 0 : rest);
        } else {
            due += w->column[i] + w->gap;
        }
        more = more || (cell[i] != NULL && *cell[i] != '\0');
    }
    (void)fputc('\n', out);
    return more;
}

static void cells(const bw_sheet_table *table, const widths *w, const char *const *given,
                  FILE *out) {
    const char *cell[BW_SHEET_COLUMNS_MAX];
    memcpy(cell, given, sizeof cell);
    while (prints_line(table, w, cell, out)) {
    }
}

static void print_table(const bw_sheet_table *table, FILE *out) {
    widths w = widths_for(table);
    const char *head[BW_SHEET_COLUMNS_MAX] = {0};
    for (size_t i = 0; i < table->column_n; i++) {
        head[i] = table->column[i].head;
    }
    if (table->title != NULL) {
        (void)fputc('\n', out);
        paragraph(out, 0, table->title);
    }
    if (table->under != NULL) {
        paragraph(out, GAP, table->under);
    }
    cells(table, &w, head, out);
    for (const bw_sheet_row *row = table->row; row != NULL; row = row->next) {
        cells(table, &w, row->cell, out);
        if (row->note != NULL) {
            paragraph(out, NOTE_INDENT, row->note);
        }
    }
}

/* ---- blocks ---- */

static void print_facts(const bw_sheet_fact *fact, FILE *out) {
    for (; fact != NULL; fact = fact->next) {
        size_t width = bw_text_columns(fact->name);
        size_t rest = width < NAME_COLUMNS ? NAME_COLUMNS - width : 1;
        const char *at = fact->text;
        size_t len = next_line(&at, COLUMNS - NAME_COLUMNS);
        (void)fprintf(out, "%s%*s%.*s\n", fact->name, (int)rest, "", (int)len, fact->text);
        paragraph(out, NAME_COLUMNS, at);
    }
}

static void print_block(const bw_sheet_block *block, FILE *out) {
    switch (block->kind) {
    case BW_BLOCK_HEADING:
        (void)fputc('\n', out);
        paragraph(out, 0, block->text);
        break;
    case BW_BLOCK_TEXT:
    case BW_BLOCK_NOTICE:
        paragraph(out, 0, block->text);
        break;
    case BW_BLOCK_FACTS:
        print_facts(block->fact, out);
        break;
    case BW_BLOCK_TABLE:
        print_table(block->table, out);
        break;
    case BW_BLOCK_VERBATIM:
        (void)fprintf(
            out, "\n%s%s\n", block->text,
            block->text[0] != '\0' && block->text[strlen(block->text) - 1] == '\n' ? "" : "\n");
        break;
    case BW_BLOCK_MAP:
    case BW_BLOCK_PLOTS:
    case BW_BLOCK_CODE:
    case BW_BLOCK_SIGN:
        break;
    }
}

static void print_title(const bw_sheet *sheet, FILE *out) {
    for (const char *at = sheet->title; *at != '\0'; at++) {
        (void)fputc(toupper((unsigned char)*at), out);
    }
    (void)fprintf(out, "%s%s\n", sheet->warning != NULL ? "  -  " : "",
                  sheet->warning != NULL ? sheet->warning : "");
}

static void print_heading(const char *title, FILE *out) {
    (void)fputc('\n', out);
    paragraph(out, 0, title);
    for (size_t i = 0; i < bw_text_columns(title) && i < COLUMNS; i++) {
        (void)fputc('-', out);
    }
    (void)fputc('\n', out);
}

void bw_sheet_print(const bw_sheet *sheet, FILE *out) {
    print_title(sheet, out);
    for (const bw_sheet_section *s = sheet->section; s != NULL; s = s->next) {
        if (s->on_paper) {
            continue;
        }
        if (s->title != NULL) {
            print_heading(s->title, out);
        }
        for (const bw_sheet_block *b = s->block; b != NULL; b = b->next) {
            print_block(b, out);
        }
    }
    if (sheet->warning != NULL) {
        (void)fprintf(out, "\n%s\n", sheet->warning);
    }
}
