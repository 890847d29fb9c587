/* register.c - see register.h. */
#include "command/register.h"

#include "base/clock.h"
#include "base/decimal.h"
#include "base/text.h"
#include "command/devices.h"
#include "command/own_key.h"
#include "command/own_record.h"

#include <stdlib.h>
#include <string.h>

/* ---- reading ---- */

static void take_word(char *out, const bw_entry *e, bw_member member) {
    (void)bw_text_copy(out, BW_TOOL_WORD_MAX, bw_entry_text(e, member, ""));
}

static void take_date(char *out, const bw_entry *e, bw_member member) {
    (void)bw_text_copy(out, BW_DATE_MAX, bw_entry_text(e, member, ""));
}

static void apply_added(bw_tool *t, const bw_entry *e) {
    const char *unit = bw_entry_text(e, BW_M_UNIT, "");
    const bw_tool before = *t;
    *t = (bw_tool){.unit = BW_UNIT_NM};
    (void)bw_text_copy(t->name, sizeof t->name, before.name);
    (void)bw_unit_find(unit, strlen(unit), &t->unit);
    take_word(t->type, e, BW_M_TOOL_TYPE);
    take_word(t->maker, e, BW_M_MAKER);
    take_word(t->model, e, BW_M_MODEL);
    take_word(t->serial, e, BW_M_SERIAL_NUMBER);
    (void)bw_text_copy(t->wrench, sizeof t->wrench, bw_entry_text(e, BW_M_WRENCH, ""));
    t->range_low = bw_entry_number(e, BW_M_RANGE_LOW, 0);
    t->range_high = bw_entry_number(e, BW_M_RANGE_HIGH, 0);
    t->resolution = bw_entry_number(e, BW_M_RESOLUTION, 0);
    t->factor = bw_entry_number(e, BW_M_FACTOR, 1);
    t->windup_deg_per_Nm = bw_entry_number(e, BW_M_WINDUP, 0);
    (void)bw_text_copy(t->direction, sizeof t->direction, bw_entry_text(e, BW_M_DIRECTION, "both"));
    if (t->unit == before.unit && before.calibrated[0] != '\0') {
        /* entered anew: a calibration belongs to the tool, not to its line in the register */
        (void)bw_text_copy(t->calibrated, sizeof t->calibrated, before.calibrated);
        (void)bw_text_copy(t->due, sizeof t->due, before.due);
        (void)bw_text_copy(t->certificate, sizeof t->certificate, before.certificate);
        t->calibrated_low = before.calibrated_low;
        t->calibrated_high = before.calibrated_high;
        t->deviation_share = before.deviation_share;
        t->uncertainty_share = before.uncertainty_share;
    }
}

static void apply_calibrated(bw_tool *t, const bw_entry *e) {
    take_date(t->calibrated, e, BW_M_CALIBRATED);
    take_date(t->due, e, BW_M_CALIBRATION_DUE);
    take_word(t->certificate, e, BW_M_CERTIFICATE);
    t->calibrated_low = bw_entry_number(e, BW_M_RANGE_LOW, 0);
    t->calibrated_high = bw_entry_number(e, BW_M_RANGE_HIGH, 0);
    t->deviation_share = bw_entry_number(e, BW_M_DEVIATION_SHARE, 0);
    t->uncertainty_share = bw_entry_number(e, BW_M_UNCERTAINTY_SHARE, 0);
}

static void apply_retired(bw_tool *t, const bw_entry *e) {
    take_word(t->retired, e, BW_M_REASON);
}

static void apply_checked(bw_tool *t, const bw_entry *e) {
    char time[BW_TIME_TEXT_MAX];
    take_word(t->check, e, BW_M_VERDICT);
    (void)bw_time_text(e->time_ms, time);
    time[BW_DATE_MAX - 1] = '\0';
    (void)bw_text_copy(t->checked, sizeof t->checked, time);
}

static bw_tool *tool_of(bw_register *reg, const char *name) {
    for (size_t i = 0; i < reg->n; i++) {
        if (strcmp(reg->tool[i].name, name) == 0) {
            return &reg->tool[i];
        }
    }
    if (reg->n == BW_TOOLS_MAX) {
        return NULL;
    }
    bw_tool *fresh = &reg->tool[reg->n++];
    *fresh = (bw_tool){.unit = BW_UNIT_NM, .factor = 1};
    (void)bw_text_copy(fresh->name, sizeof fresh->name, name);
    return fresh;
}

static bool take_entry(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    static const struct {
        bw_kind kind;
        void (*apply)(bw_tool *t, const bw_entry *e);
    } rows[] = {{BW_KIND_TOOL_ADDED, apply_added},
                {BW_KIND_TOOL_CALIBRATED, apply_calibrated},
                {BW_KIND_TOOL_RETIRED, apply_retired},
                {BW_KIND_TOOL_CHECKED, apply_checked}};
    (void)json;
    (void)len;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_tool *tool = rows[i].kind == entry->kind
                            ? tool_of(ctx, bw_entry_text(entry, BW_M_TOOL, ""))
                            : NULL;
        if (tool != NULL) {
            rows[i].apply(tool, entry);
        }
    }
    return true;
}

bw_status bw_register_read(const char *home, bw_register **out, bw_err *err) {
    bw_register *reg = calloc(1, sizeof *reg);
    bw_store *store = NULL;
    if (reg == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory");
    }
    bw_status rc = bw_store_open(home, BW_STORE_READ, &store, err);
    if (rc == BW_OK) {
        rc = bw_store_each(store, BW_BUILD_NONE, take_entry, reg, err);
    }
    bw_store_close(store);
    if (rc != BW_OK && rc != BW_E_ABSENT) {
        free(reg);
        return rc;
    }
    *out = reg;
    return BW_OK;
}

const bw_tool *bw_register_find(const bw_register *reg, const char *name) {
    for (size_t i = 0; i < reg->n; i++) {
        if (strcmp(reg->tool[i].name, name) == 0) {
            return &reg->tool[i];
        }
    }
    return NULL;
}

bool bw_tool_name_good(const char *name) {
    static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";
    static const char all[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._-";
    size_t len = strlen(name);
    return len >= 1 && len < BW_TOOL_WORD_MAX && strchr(letters, name[0]) != NULL &&
           strspn(name, all) == len;
}

/* ---- writing ---- */

static const char *login_name(void) {
    const char *const names[] = {getenv("LOGNAME"), getenv("USER")};
    for (size_t i = 0; i < 2; i++) {
        if (names[i] != NULL && names[i][0] != '\0') {
            return names[i];
        }
    }
    return "builder";
}

/* A clock that was set back is told first: entries keep their order. */
static bw_status append(bw_store *store, const bw_key *key, bw_entry *entry, bw_err *err) {
    bw_entry list[2];
    size_t n = 0;
    int64_t now_ms = bw_clock_wall_ms();
    int64_t newest_ms = bw_store_newest_ms(store);
    if (newest_ms > now_ms) {
        list[0] = bw_entry_of(BW_KIND_CLOCK_STEP);
        bw_entry_set_number(&list[0], BW_M_BY_S, (double)(now_ms - newest_ms) / 1000);
        n++;
    }
    list[n++] = *entry;
    for (size_t i = 0; i < n; i++) {
        list[i].time_ms = now_ms;
        list[i].build = BW_BUILD_NONE;
        list[i].bench = bw_key_bench(key);
        list[i].by = entry->by;
    }
    bw_status rc = bw_store_append(store, list, n, NULL, 0, err);
    return rc == BW_OK ? bw_store_checkpoint(store, key, err) : rc;
}

bw_status bw_register_write(const char *home, bw_entry *entry, const char *by, bw_err *err) {
    bw_store *store = NULL;
    bw_key *key = NULL;
    entry->by = by != NULL ? by : login_name();
    bw_status rc = bw_own_record_open(home, BW_STORE_WRITE, &store, err);
    if (rc == BW_OK) {
        rc = bw_own_key_open(home, store, entry->by, &key, err);
    }
    if (rc == BW_OK) {
        rc = append(store, key, entry, err);
    }
    bw_key_free(key);
    bw_store_close(store);
    return rc;
}

/* ---- days ---- */

void bw_today(char out[BW_DATE_MAX]) {
    char time[BW_TIME_TEXT_MAX];
    (void)bw_time_text(bw_clock_wall_ms(), time);
    memcpy(out, time, BW_DATE_MAX - 1);
    out[BW_DATE_MAX - 1] = '\0';
}

bool bw_date_good(const char *text) {
    char time[BW_TIME_TEXT_MAX];
    int64_t ms = 0;
    bw_text whole = bw_text_on(time, sizeof time);
    bw_text_add(&whole, "%sT00:00:00.000Z", text);
    return strlen(text) == BW_DATE_MAX - 1 && bw_time_parse(time, &ms, NULL) == BW_OK;
}

/* ---- as --wrench ---- */

static void add_known(bw_text *text, const char *key, double value) {
    char number[40];
    bw_text_add(text, ",%s=%s", key, bw_decimal_format(value, 4, number, sizeof number));
}

static void warn(const bw_tool *t, char *out) {
    char today[BW_DATE_MAX];
    bw_text text = bw_text_on(out, BW_ERR_TEXT_MAX);
    bw_today(today);
    if (t->calibrated[0] == '\0') {
        bw_text_add(&text, "the tool %s was never calibrated, as far as the register knows",
                    t->name);
    } else if (strcmp(t->due, today) < 0) {
        bw_text_add(&text, "the calibration of the tool %s was due on %s", t->name, t->due);
    }
}

/* True where the text begins with KEY= or has it behind a comma. */
static bool names_key(const char *text, const char *key) {
    for (const char *at = text; (at = strstr(at, key)) != NULL; at++) {
        if ((at == text || at[-1] == ',') && at[strlen(key)] == '=') {
            return true;
        }
    }
    return false;
}

/* Range and uncertainty are those at the fastener: samples are, too. */
static bw_status expand(const bw_tool *t, const char *rest, char *out, bw_err *err) {
    char reached[BW_SPEC_MAX];
    bw_status rc = bw_devices_expand(t->wrench, reached, err);
    if (rc != BW_OK) {
        return rc;
    }
    bw_text text = bw_text_on(out, BW_SPEC_MAX);
    bw_text_add(&text, "%s%s,tool=%s", reached, rest, t->name);
    if (t->calibrated_high > 0 && !names_key(rest, "range") && !names_key(t->wrench, "range")) {
        char low[40];
        char high[40];
        bw_text_add(&text, ",range=%s..%s",
                    bw_decimal_format(bw_to_base(t->calibrated_low, t->unit) * t->factor, 4, low,
                                      sizeof low),
                    bw_decimal_format(bw_to_base(t->calibrated_high, t->unit) * t->factor, 4, high,
                                      sizeof high));
    }
    if (t->uncertainty_share > 0 && !names_key(rest, "uncertainty")) {
        add_known(&text, "uncertainty", t->uncertainty_share * 100);
    }
    if (t->factor != 1 && !names_key(rest, "factor")) {
        add_known(&text, "factor", t->factor);
    }
    if (t->windup_deg_per_Nm > 0 && !names_key(rest, "windup") && !names_key(t->wrench, "windup")) {
        add_known(&text, "windup", t->windup_deg_per_Nm);
    }
    return text.cut ? bw_fail(err, BW_E_ARG, "the settings of the tool %s are too long", t->name)
                    : BW_OK;
}

bw_status bw_wrench_spec(const char *home, const char *wrench, char *out, char *warning,
                         bw_err *err) {
    bw_register *reg = NULL;
    bw_status rc = bw_register_read(home, &reg, err);
    if (rc == BW_OK && reg != NULL) {
        rc = bw_register_wrench(reg, wrench, out, warning, err);
    }
    free(reg);
    return rc;
}

const bw_tool *bw_register_tool(const bw_register *reg, const char *wrench) {
    char name[BW_TOOL_WORD_MAX];
    size_t len = strcspn(wrench, ",");
    if (len >= sizeof name) {
        return NULL;
    }
    memcpy(name, wrench, len);
    name[len] = '\0';
    return bw_register_find(reg, name);
}

bw_status bw_register_wrench(const bw_register *reg, const char *wrench, char *out, char *warning,
                             bw_err *err) {
    const bw_tool *t = bw_register_tool(reg, wrench);
    warning[0] = '\0';
    if (t == NULL) {
        bw_text text = bw_text_on(warning, BW_ERR_TEXT_MAX);
        if (reg->n > 0) { /* a shop that keeps no register is not told of it */
            bw_text_add(&text, "the wrench %s is not in the register of tools", wrench);
        }
        return bw_devices_expand(wrench, out, err);
    }
    if (t->retired[0] != '\0') {
        return bw_fail(err, BW_E_ARG, "the tool %s is retired: %s", t->name, t->retired);
    }
    if (t->wrench[0] == '\0') {
        return bw_fail(err, BW_E_ARG,
                       "the register does not say how the tool %s is reached: tool add %s "
                       "--wrench SPEC",
                       t->name, t->name);
    }
    warn(t, warning);
    return expand(t, wrench + strcspn(wrench, ","), out, err);
}
