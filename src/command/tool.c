/* tool.c - boltwright tool: the register of wrenches, adapters and gauges. */
#include "command/tool.h"
#include "command/which.h"

#include "base/nearest.h"

#include "base/decimal.h"
#include "base/text.h"
#include "device/calibration.h"
#include "trade/weight.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool bw_numbers_read(const char *text, double *out, size_t n) {
    for (size_t i = 0; i < n; i++) {
        size_t len = strcspn(text, ",");
        bw_decimal value;
        if (bw_decimal_parse(text, len, &value, NULL) != BW_OK ||
            (text[len] == ',') != (i + 1 < n)) {
            return false;
        }
        out[i] = value.value;
        text += len + 1;
    }
    return true;
}

/* ---- add ---- */

/* "20..200 N.m": the unit is the tool's from then on. */
static bool read_range(const char *text, double *low, double *high, bw_unit *unit) {
    const char *dots = strstr(text, "..");
    bw_quantity from;
    bw_quantity to;
    if (dots == NULL ||
        bw_quantity_parse(dots + 2, strlen(dots + 2), BW_DIM_COUNT, BW_UNIT_COUNT, &to, NULL) !=
            BW_OK ||
        bw_quantity_parse(text, (size_t)(dots - text), bw_unit_of(to.unit)->dimension, to.unit,
                          &from, NULL) != BW_OK ||
        from.unit != to.unit || from.value < 0 || from.value >= to.value) {
        return false;
    }
    *low = from.value;
    *high = to.value;
    *unit = to.unit;
    return true;
}

static bool type_good(const char *type) {
    return strcmp(type, "gauge") == 0 || bw_tool_kind_find(type) != NULL;
}

static bool take_range(const bw_args *args, bw_entry *e) {
    const char *type = args->value[OPT_TYPE] != NULL ? args->value[OPT_TYPE] : "indicating";
    double low = 0;
    double high = 0;
    bw_unit unit = BW_UNIT_NM;
    if (!type_good(type)) {
        bw_complain("--type is indicating, setting, ungraduated or gauge");
        return false;
    }
    if (args->value[OPT_RANGE] == NULL || !read_range(args->value[OPT_RANGE], &low, &high, &unit)) {
        bw_complain("--range is needed, with its unit, as in \"20..200 N.m\" or \"0..25 mm\"");
        return false;
    }
    if (strcmp(type, "gauge") != 0 && bw_unit_of(unit)->dimension != BW_DIM_TORQUE) {
        bw_complain("a tool of type %s has its range in a unit of torque; else --type gauge", type);
        return false;
    }
    bw_entry_set_text(e, BW_M_TOOL_TYPE, type);
    bw_entry_set_text(e, BW_M_UNIT, bw_unit_of(unit)->name);
    bw_entry_set_number(e, BW_M_RANGE_LOW, low);
    bw_entry_set_number(e, BW_M_RANGE_HIGH, high);
    return true;
}

/* --adapter LEVER,EXTENSION[,DEGREES] in mm: what the fastener gets for 1 N.m at the drive. */
static bool take_adapter(const char *text, bw_entry *e) {
    double number[3] = {0};
    double factor = 1;
    bw_err err = {0};
    if (text == NULL) {
        return true;
    }
    bool read = bw_numbers_read(text, number, 3) || bw_numbers_read(text, number, 2);
    const bw_adapter adapter = {number[0], number[1], number[2]};
    if (!read || bw_adapter_torque(&adapter, 1, &factor, &err) != BW_OK) {
        bw_complain("--adapter is LEVER,EXTENSION or LEVER,EXTENSION,DEGREES in mm, as in "
                    "400,50%s%s",
                    err.text[0] != '\0' ? ": " : "", err.text);
        return false;
    }
    bw_entry_set_number(e, BW_M_FACTOR, factor);
    return true;
}

static bool take_resolution(const char *text, bw_entry *e) {
    bw_decimal value;
    if (text == NULL) {
        return true;
    }
    if (bw_decimal_parse(text, strlen(text), &value, NULL) != BW_OK || value.value <= 0) {
        bw_complain("--resolution is the smallest step in the tool's unit, as in 0.1");
        return false;
    }
    bw_entry_set_number(e, BW_M_RESOLUTION, value.value);
    return true;
}

static bool take_direction(const char *text, bw_entry *e) {
    static const char *const words[] = {"both", "tighten", "loosen"};
    for (size_t i = 0; text != NULL && i < sizeof words / sizeof words[0]; i++) {
        if (strcmp(words[i], text) == 0) {
            bw_entry_set_text(e, BW_M_DIRECTION, text);
            return true;
        }
    }
    if (text != NULL) {
        bw_complain("--direction is both, tighten or loosen");
    }
    return text == NULL;
}

static bool take_windup(const char *text, bw_entry *e) {
    bw_decimal value;
    if (text == NULL) {
        return true;
    }
    if (bw_decimal_parse(text, strlen(text), &value, NULL) != BW_OK || value.value <= 0 ||
        value.value > 1) {
        bw_complain("--windup is by how many degrees the tool itself twists for 1 N.m, as in 0.05");
        return false;
    }
    bw_entry_set_number(e, BW_M_WINDUP, value.value);
    return true;
}

static int add(const bw_args *args, const bw_tool *tool) {
    (void)tool; /* one that is there already is entered anew */
    bw_entry e = bw_entry_of(BW_KIND_TOOL_ADDED);
    bw_err err = {0};
    if (!bw_tool_name_good(args->word[1])) {
        bw_complain("a tool's name is 1 to 63 letters, digits, points, dashes or underlines and "
                    "begins with a letter, as in wrench-2");
        return BW_EXIT_USAGE;
    }
    bw_entry_set_text(&e, BW_M_TOOL, args->word[1]);
    if (!take_range(args, &e) || !take_resolution(args->value[OPT_RESOLUTION], &e) ||
        !take_adapter(args->value[OPT_ADAPTER], &e) ||
        !take_direction(args->value[OPT_DIRECTION], &e) ||
        !take_windup(args->value[OPT_WINDUP], &e)) {
        return BW_EXIT_USAGE;
    }
    bw_entry_set_text(&e, BW_M_MAKER, args->value[OPT_MAKER]);
    bw_entry_set_text(&e, BW_M_MODEL, args->value[OPT_MODEL]);
    bw_entry_set_text(&e, BW_M_SERIAL_NUMBER, args->value[OPT_SERIAL]);
    bw_entry_set_text(&e, BW_M_WRENCH, args->value[OPT_WRENCH]);
    return bw_exit_of(bw_register_write(args->home, &e, args->value[OPT_BY], &err), &err);
}

/* ---- retire ---- */

static int retire(const bw_args *args, const bw_tool *tool) {
    bw_entry e = bw_entry_of(BW_KIND_TOOL_RETIRED);
    bw_err err = {0};
    if (args->value[OPT_REASON] == NULL || tool->retired[0] != '\0') {
        bw_complain("%s", tool->retired[0] != '\0' ? "this tool is retired already"
                                                   : "retire needs --reason TEXT");
        return BW_EXIT_USAGE;
    }
    bw_entry_set_text(&e, BW_M_TOOL, tool->name);
    bw_entry_set_text(&e, BW_M_REASON, args->value[OPT_REASON]);
    return bw_exit_of(bw_register_write(args->home, &e, args->value[OPT_BY], &err), &err);
}

/* ---- list and show ---- */

static const char *state_of(const bw_tool *t) {
    char today[BW_DATE_MAX];
    bw_today(today);
    if (t->retired[0] != '\0') {
        return "retired";
    }
    if (t->calibrated[0] == '\0') {
        return "never_calibrated";
    }
    return strcmp(t->due, today) < 0 ? "overdue" : "calibrated";
}

static void set_word(json_t *object, const char *key, const char *word) {
    (void)json_object_set_new(object, key, word[0] != '\0' ? json_string(word) : json_null());
}

static void print_json(const bw_tool *t) {
    json_t *o = json_pack("{s:s,s:s,s:s,s:f,s:f,s:f,s:f,s:f}", "tool", t->name, "state",
                          state_of(t), "unit", bw_unit_of(t->unit)->name, "range_low", t->range_low,
                          "range_high", t->range_high, "resolution", t->resolution, "factor",
                          t->factor, "windup_deg_per_Nm", t->windup_deg_per_Nm);
    const struct {
        const char *key;
        const char *word;
    } words[] = {{"type", t->type},
                 {"maker", t->maker},
                 {"model", t->model},
                 {"serial_number", t->serial},
                 {"wrench", t->wrench},
                 {"calibrated", t->calibrated},
                 {"due", t->due},
                 {"certificate", t->certificate},
                 {"checked", t->checked},
                 {"check", t->check},
                 {"direction", t->direction}};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        set_word(o, words[i].key, words[i].word);
    }
    if (t->calibrated[0] != '\0') {
        (void)json_object_set_new(o, "deviation_share", json_real(t->deviation_share));
        (void)json_object_set_new(o, "uncertainty_share", json_real(t->uncertainty_share));
    }
    char *text = json_dumps(o, JSON_COMPACT | JSON_SORT_KEYS | JSON_REAL_PRECISION(15));
    (void)printf("%s\n", text != NULL ? text : "");
    free(text);
    json_decref(o);
}

static const char *number_text(double value, char *out, size_t size) {
    return bw_number_text(value, out, size);
}

static void print_line(const bw_tool *t) {
    char low[40];
    char high[40];
    (void)printf(
        "%-16s %s..%s %s  %s%s%s%s%s\n", t->name, number_text(t->range_low, low, sizeof low),
        number_text(t->range_high, high, sizeof high), bw_unit_of(t->unit)->symbol, t->maker,
        t->maker[0] != '\0' ? " " : "", t->model, t->serial[0] != '\0' ? " no. " : "", t->serial);
    (void)printf("%-16s %s%s%s\n", "", state_of(t), t->due[0] != '\0' ? ", due " : "", t->due);
}

static int list(const bw_args *args, const bw_register *reg) {
    for (size_t i = 0; i < reg->n; i++) {
        if (args->json) {
            print_json(&reg->tool[i]);
        } else {
            print_line(&reg->tool[i]);
        }
    }
    if (reg->n == 0 && !args->json) {
        (void)printf("no tools; tool add NAME enters one\n");
    }
    return BW_EXIT_YES;
}

/* What to set, or to pull to, so that the fastener gets this torque. */
static int print_setting(const bw_args *args, const bw_tool *t) {
    const char *text = args->value[OPT_SETTING];
    bw_quantity q;
    bw_err err = {0};
    char shown[64];
    char target[64];
    if (bw_quantity_parse(text, strlen(text), BW_DIM_TORQUE, t->unit, &q, &err) != BW_OK) {
        bw_complain("--setting: %s", err.text);
        return BW_EXIT_USAGE;
    }
    bw_quantity setting = {q.value / t->factor, q.unit, q.decimals >= 0 ? q.decimals + 1 : -1};
    if (args->json) {
        (void)printf("{\"tool\":\"%s\",\"target_Nm\":%s,\"setting_Nm\":%s}\n", t->name,
                     bw_number_text(bw_to_base(q.value, q.unit), target, sizeof target),
                     bw_number_text(bw_to_base(setting.value, q.unit), shown, sizeof shown));
    } else {
        (void)printf("for %s at the fastener the square drive must give %s\n",
                     bw_quantity_text(q, target, sizeof target),
                     bw_quantity_text(setting, shown, sizeof shown));
    }
    return BW_EXIT_YES;
}

static void print_more(const bw_tool *t) {
    char text[2][40];
    (void)printf("%-16s type %s, resolution %s, %s\n", "", t->type,
                 number_text(t->resolution, text[0], sizeof text[0]),
                 strcmp(t->direction, "both") == 0 ? "either way" : t->direction);
    if (t->windup_deg_per_Nm > 0) {
        (void)printf("%-16s twists by %s degrees for 1 N.m\n", "",
                     number_text(t->windup_deg_per_Nm, text[0], sizeof text[0]));
    }
    if (t->wrench[0] != '\0') {
        (void)printf("%-16s --wrench %s is %s\n", "", t->name, t->wrench);
    }
    if (t->factor != 1) {
        (void)printf("%-16s 1 at the square drive is %s at the fastener\n", "",
                     bw_decimal_format(t->factor, 4, text[0], sizeof text[0]));
    }
    if (t->calibrated[0] != '\0') {
        (void)printf("%-16s calibrated %s%s%s: deviates by %s %% at most; a torque it shows lies "
                     "within %s %% (k = 2)\n",
                     "", t->calibrated, t->certificate[0] != '\0' ? ", no. " : "", t->certificate,
                     bw_decimal_format(t->deviation_share * 100, 2, text[0], sizeof text[0]),
                     bw_decimal_format(t->uncertainty_share * 100, 2, text[1], sizeof text[1]));
    }
    if (t->checked[0] != '\0') {
        (void)printf("%-16s last checked %s: %s\n", "", t->checked, t->check);
    }
    if (t->retired[0] != '\0') {
        (void)printf("%-16s retired: %s\n", "", t->retired);
    }
}

static int show(const bw_args *args, const bw_tool *tool) {
    if (args->value[OPT_SETTING] != NULL) {
        return print_setting(args, tool);
    }
    if (args->value[OPT_USED] != NULL) {
        return bw_tool_used(args, tool);
    }
    if (args->json) {
        print_json(tool);
        return BW_EXIT_YES;
    }
    print_line(tool);
    print_more(tool);
    return BW_EXIT_YES;
}

/* ---- the table ---- */

static int no_such_tool(const bw_args *args, const bw_register *reg) {
    if (args->word_n != 2) {
        bw_complain("tool %s needs the tool's name", args->word[0]);
        return BW_EXIT_USAGE;
    }
    bw_nearest nearest = bw_nearest_to(args->word[1]);
    for (size_t i = 0; i < reg->n; i++) {
        bw_nearest_offer(&nearest, reg->tool[i].name, strlen(reg->tool[i].name));
    }
    if (nearest.best != NULL) {
        bw_complain("the register has no tool %s; did you mean %s?", args->word[1], nearest.best);
    } else {
        bw_complain("the register has no tool %s; %s", args->word[1],
                    reg->n > 0 ? "tool list shows what it has"
                               : "it is empty: tool add enters one");
    }
    return BW_EXIT_USAGE;
}

static int run_on(const bw_args *args, const bw_register *reg) {
    static const struct {
        const char *word;
        int (*run)(const bw_args *args, const bw_tool *tool);
        bool fresh; /* the tool need not be there */
    } rows[] = {{"add", add, true},
                {"show", show, false},
                {"calibrate", bw_tool_calibrate, false},
                {"check", bw_tool_check, false},
                {"retire", retire, false}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (strcmp(rows[i].word, args->word[0]) != 0) {
            continue;
        }
        const bw_tool *tool = args->word_n == 2 ? bw_register_find(reg, args->word[1]) : NULL;
        if (args->word_n != 2 || (tool == NULL && !rows[i].fresh)) {
            return no_such_tool(args, reg);
        }
        return rows[i].run(args, tool);
    }
    static const char *const words[] = {"add", "list", "show", "calibrate", "check", "retire"};
    bw_complain_no_word("tool", args->word[0], words, sizeof words / sizeof words[0]);
    return BW_EXIT_USAGE;
}

static int run_tool(const bw_args *args) {
    bw_register *reg = NULL;
    bw_err err = {0};
    bw_status rc = bw_register_read(args->home, &reg, &err);
    if (rc != BW_OK) {
        return bw_exit_of(rc, &err);
    }
    int code = strcmp(args->word[0], "list") == 0 && args->word_n == 1 ? list(args, reg)
                                                                       : run_on(args, reg);
    free(reg);
    return code;
}

static const bw_option_row options[] = {
    [OPT_TYPE] = {"--type", "TYPE", "add: indicating, setting, ungraduated or gauge"},
    [OPT_RANGE] = {"--range", "RANGE", "add: with its unit, as in \"20..200 N.m\""},
    [OPT_RESOLUTION] = {"--resolution", "X", "add: smallest step, in that unit"},
    [OPT_MAKER] = {"--maker", "TEXT", "add: who made it"},
    [OPT_MODEL] = {"--model", "TEXT", "add: what the maker calls it"},
    [OPT_SERIAL] = {"--serial", "TEXT", "add: its serial number"},
    [OPT_WRENCH] = {"--wrench", "SPEC", "add: how it is reached; run --wrench NAME then"},
    [OPT_ADAPTER] = {"--adapter", "L,E[,A]", "add: lever, extension (mm), angle (0: straight on)"},
    [OPT_BY] = {"--by", "NAME", "who does it"},
    [OPT_DATE] = {"--date", "DAY", "calibrate: when, as 2026-11-25; today unless given"},
    [OPT_DUE] = {"--due", "DAY", "calibrate: when again; a year later unless given"},
    [OPT_CERTIFICATE] = {"--certificate", "NO", "calibrate: number of the sheet"},
    [OPT_REFERENCE] = {"--reference", "PERCENT", "calibrate: the reference's U (k = 2); 1"},
    [OPT_WEIGHTS] = {"--weights", "ARM,LAT,H",
                     "calibrate: kg on an arm (mm), latitude, height (m)"},
    [OPT_SPANS] = {"--spans", "R,D,I,H", "calibrate: spans of means, in the unit; see docs"},
    [OPT_REASON] = {"--reason", "TEXT", "retire: why"},
    [OPT_EXPECT] = {"--expect", "TORQUE", "check: what hangs on it; 0 unless given"},
    [OPT_LIMIT] = {"--limit", "X", "check: how far off it may be, in the unit"},
    [OPT_SETTING] = {"--setting", "TORQUE", "show: what to set for it with extension or crowfoot"},
    [OPT_USED] = {"--used", NULL, "show: every build and fastener that it touched"},
    [OPT_SINCE] = {"--since", "DAY", "show --used: from this day on"},
    [OPT_ZERO] = {"--zero", NULL, "check: has the wrench take its zero first"},
    [OPT_SHUNT] = {"--shunt", NULL, "check: has it try its shunt first, and tells what it says"},
    [OPT_OUT] = {"-o", "FILE", "calibrate: the sheet goes there; else to the screen"},
    [OPT_LIVE] = {"--live", NULL, "calibrate: what the tool shows comes from the tool itself"},
    [OPT_DIRECTION] = {"--direction", "WAY", "add: both, tighten or loosen; both unless given"},
    [OPT_WINDUP] = {"--windup", "X", "add: degrees that it twists itself for 1 N.m"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_tool = {
    .name = "tool",
    .usage = "add NAME | list | show NAME | calibrate NAME | check NAME | retire NAME",
    .says = "the register of wrenches and gauges: range, resolution, calibrations, checks",
    .more =
        "add enters a tool, or enters it anew. calibrate asks for readings at three torques,\n"
        "one line each: what the reference shows, or what the tool and the reference show;\n"
        "with --live the tool's own part comes from the tool, and only the reference is typed.\n"
        "check compares the tool with nothing, or with a hanging weight, before a shift.\n"
        "What rests on memory of a standard and not on its text says so; a sheet of\n"
        "calibrate is no certificate.",
    .least_words = 1,
    .most_words = 2,
    .option = options,
    .run = run_tool,
};
