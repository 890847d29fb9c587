/* export.c - see export.h. */
#include "face/export.h"

#include "base/clock.h"
#include "base/decimal.h"

#include <inttypes.h>
#include <string.h>

void bw_export_json(uint64_t number, const char *json, size_t len, FILE *out) {
    (void)fprintf(out, "{\"number\":%" PRIu64 ",\"entry\":", number);
    (void)fwrite(json, 1, len, out);
    (void)fputs("}\n", out);
}

/* NULL, a text that is not there: an empty field. */
static void field(const char *text, FILE *out) {
    if (text == NULL) {
        return;
    }
    bool formula = strchr("=+-@\t\r", text[0]) != NULL && text[0] != '\0';
    bool quote = formula || strpbrk(text, "\",\r\n") != NULL;
    if (!quote) {
        (void)fputs(text, out);
        return;
    }
    (void)fputs(formula ? "\"'" : "\"", out);
    for (; *text != '\0'; text++) {
        if (*text == '"') {
            (void)fputc('"', out);
        }
        (void)fputc(*text, out);
    }
    (void)fputc('"', out);
}

void bw_export_csv_heading(FILE *out) {
    (void)fputs("number,kind,time,build,by,bench,rehearsal", out);
    for (int i = 0; i < BW_M_COUNT; i++) {
        (void)fprintf(out, ",%s", bw_member_name((bw_member)i));
    }
    (void)fputs(",more\r\n", out);
}

/* Numbers are no formulas: their sign stays bare. */
static void value(const bw_value *v, FILE *out) {
    char number[40];
    switch (v->type) {
    case BW_VALUE_NONE:
        break;
    case BW_VALUE_TEXT:
    case BW_VALUE_WORDS:
        field(v->as.text, out);
        break;
    case BW_VALUE_NUMBER:
        (void)fputs(bw_number_text(v->as.number, number, sizeof number), out);
        break;
    case BW_VALUE_WHOLE:
        (void)fprintf(out, "%" PRId64, v->as.whole);
        break;
    case BW_VALUE_FLAG:
        (void)fputs(v->as.flag ? "true" : "false", out);
        break;
    }
}

/* What a newer program wrote. */
static bw_status more(const char *json, size_t len, FILE *out, bw_err *err) {
    bw_arena *arena = bw_arena_new(0);
    const char *text = NULL;
    bw_status status = arena == NULL ? bw_fail(err, BW_E_MEM, "no memory to export an entry")
                                     : bw_entry_more(json, len, arena, &text, err);
    if (status == BW_OK) {
        field(text, out);
    }
    bw_arena_free(arena);
    return status;
}

bw_status bw_export_csv(const bw_entry *entry, const char *json, size_t len, FILE *out,
                        bw_err *err) {
    char time[BW_TIME_TEXT_MAX];
    bw_status status = BW_OK;
    (void)fprintf(out, "%" PRIu64 ",", entry->number);
    field(entry->kind_name, out);
    (void)fprintf(out, ",%s,", bw_time_text(entry->time_ms, time));
    field(entry->build, out);
    (void)fputc(',', out);
    field(entry->by, out);
    (void)fputc(',', out);
    field(entry->bench, out);
    (void)fputs(entry->rehearsal ? ",true" : ",", out);
    for (int i = 0; i < BW_M_COUNT; i++) {
        (void)fputc(',', out);
        value(&entry->value[i], out);
    }
    (void)fputc(',', out);
    if (entry->has_more) {
        status = more(json, len, out, err);
    }
    (void)fputs("\r\n", out);
    return status;
}
