/* tool_calibrate.c - boltwright tool calibrate: leads through the readings, computes, writes the
 * sheet. */
#include "command/tool.h"
#include "command/whole_file.h"

#include "base/decimal.h"
#include "base/text.h"
#include "device/calibration.h"
#include "trade/weight.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { POINTS = 3, SHEET_MAX = 16 << 10, LINE_BYTES = 200 };
enum { PATIENCE_MS = 120000, STEADY_MS = 1500, LEAST_SAMPLES = 5 };

typedef struct job {
    const bw_args *args;
    const bw_tool *tool;
    const bw_tool_kind *kind;
    double reference_share;
    bool weights; /* a line is a mass in kg on an arm */
    bw_dead_weight weight;
    double latitude_deg, height_m;
    bool live; /* what the tool shows comes from device, which is open while it is asked */
    bw_device *device;
    bw_calibration_spans spans;
    char date[BW_DATE_MAX], due[BW_DATE_MAX];
    bw_calibration_point point[POINTS];
    bw_calibration_result result[POINTS];
    double deviation; /* the greatest of all points, as the next */
    double interval;
    bool within;
} job;

/* ---- options ---- */

static bool read_share(const char *text, double *out) {
    bw_decimal value = {.value = 1};
    if (text != NULL && (bw_decimal_parse(text, strlen(text), &value, NULL) != BW_OK ||
                         value.value <= 0 || value.value > 10)) {
        bw_complain("--reference is the reference's expanded uncertainty (k = 2) in per cent, 0 to "
                    "10, as in 1");
        return false;
    }
    *out = value.value / 100;
    return true;
}

/* Air and steel as mass certificates have them (OIML D 28 by way of standards tables). */
static bool read_weights(const char *text, job *j) {
    double number[3] = {0};
    bw_err err = {0};
    if (text == NULL) {
        return true;
    }
    j->weights = true;
    j->weight = (bw_dead_weight){.air_kg_per_m3 = 1.2, .weight_kg_per_m3 = 8000};
    if (!bw_numbers_read(text, number, 3) ||
        bw_gravity(BW_GRAVITY_WGS84, number[1], number[2], &j->weight.gravity_m_per_s2, &err) !=
            BW_OK) {
        bw_complain("--weights is ARM,LATITUDE,HEIGHT in mm, degrees and m, as in 1000,54.5,12%s%s",
                    err.text[0] != '\0' ? ": " : "", err.text);
        return false;
    }
    j->weight.lever_mm = number[0];
    j->latitude_deg = number[1];
    j->height_m = number[2];
    return true;
}

static bool read_spans(const char *text, bw_calibration_spans *out) {
    double number[4] = {0};
    if (text != NULL && !bw_numbers_read(text, number, 4)) {
        bw_complain("--spans is four numbers in the tool's unit, 0 where not measured: taken off "
                    "and put on, drive turned, other adapter, hand 10 mm further");
        return false;
    }
    *out = (bw_calibration_spans){number[0], number[1], number[2], number[3]};
    return true;
}

/* A year later; the 29th of February becomes the 28th. */
static void year_later(const char *date, char out[BW_DATE_MAX]) {
    int year = 0;
    for (size_t i = 0; i < 4; i++) {
        year = year * 10 + (date[i] - '0');
    }
    bool leap = strcmp(date + 4, "-02-29") == 0;
    bw_text text = bw_text_on(out, BW_DATE_MAX);
    bw_text_add(&text, "%04d%s", (year + 1) % 10000, leap ? "-02-28" : date + 4);
}

static bool read_dates(const bw_args *args, job *j) {
    const char *date = args->value[OPT_DATE];
    const char *due = args->value[OPT_DUE];
    bw_today(j->date);
    if ((date != NULL && !bw_date_good(date)) || (due != NULL && !bw_date_good(due))) {
        bw_complain("a day is written as 2026-11-25");
        return false;
    }
    if (date != NULL) {
        (void)bw_text_copy(j->date, sizeof j->date, date);
    }
    year_later(j->date, j->due);
    if (due != NULL) {
        (void)bw_text_copy(j->due, sizeof j->due, due);
    }
    return true;
}

/* ---- readings ---- */

/* "REFERENCE" or "TOOL REFERENCE". */
static bool read_numbers(const char *line, double target, double *tool, double *reference,
                         bool *two) {
    double number[2];
    size_t n = 0;
    const char *at = line + strspn(line, " \t");
    while (*at != '\0' && *at != '\n' && *at != '\r') {
        size_t len = strcspn(at, " \t\r\n");
        bw_decimal value;
        if (n == 2 || bw_decimal_parse(at, len, &value, NULL) != BW_OK) {
            return false;
        }
        number[n++] = value.value;
        at += len;
        at += strspn(at, " \t");
    }
    *two = n == 2;
    *tool = *two ? number[0] : target;
    *reference = n > 0 ? number[n - 1] : 0;
    return n > 0 && *reference > 0;
}

/* The reference in the tool's unit: what was read, or what a mass on the arm gives. */
static bool reference_of(const job *j, double *reference, bw_err *err) {
    if (!j->weights) {
        return true;
    }
    bw_dead_weight weight = j->weight;
    double torque_Nm = 0;
    weight.mass_kg = *reference;
    if (bw_dead_weight_torque(&weight, &torque_Nm, err) != BW_OK) {
        return false;
    }
    *reference = bw_from_base(torque_Nm, j->tool->unit);
    return true;
}

static void prompt(const job *j, size_t point, size_t reading, const char *what) {
    char target[64];
    bw_quantity q = {j->point[point].target, j->tool->unit, -1};
    (void)fprintf(stderr, "%s, reading %zu of %zu: %s ", bw_quantity_text(q, target, sizeof target),
                  reading + 1, j->kind->readings, what);
}

/* What the wrench showed, for whoever watches both. */
static double tell_shown(const job *j, double shown_Nm) {
    char shown[64];
    bw_quantity q = {bw_from_base(shown_Nm, j->tool->unit), j->tool->unit, 4};
    (void)fprintf(stderr, "the tool shows %s; ", bw_quantity_text(q, shown, sizeof shown));
    return q.value;
}

/* A pull up to the target and back to rest: the tool's peak.  False, and told, where none comes. */
static bool hear_pull(const job *j, size_t point, size_t reading, double *tool) {
    bw_err err = {0};
    double peak_Nm = 0;
    double least_Nm = bw_to_base(j->point[point].target, j->tool->unit) / 2;
    bw_status rc = bw_tool_catch_up(j->device, &err);
    if (rc == BW_OK) {
        prompt(j, point, reading, "pull there, and let go ...\n");
        rc = bw_tool_peak(j->device, least_Nm, PATIENCE_MS, &peak_Nm, &err);
    }
    if (rc != BW_OK) {
        bw_complain("%s; nothing is recorded", err.text);
        return false;
    }
    *tool = tell_shown(j, peak_Nm);
    return true;
}

/* A weight hangs: the mean of what the tool shows for a while. */
static bool hear_weight(const job *j, double *tool) {
    bw_err err = {0};
    bw_heard heard = {0};
    bw_status rc = bw_tool_catch_up(j->device, &err);
    rc = rc == BW_OK ? bw_tool_hear(j->device, STEADY_MS, &heard, &err) : rc;
    if (rc == BW_OK && heard.n < LEAST_SAMPLES) {
        rc = bw_fail(&err, BW_E_STATE, "the wrench sent %zu samples; at least %d are needed",
                     heard.n, LEAST_SAMPLES);
    }
    if (rc != BW_OK) {
        bw_complain("%s; nothing is recorded", err.text);
        return false;
    }
    *tool = tell_shown(j, fabs(heard.sum_Nm / (double)heard.n));
    (void)fputc('\n', stderr);
    return true;
}

static void ask_line(const job *j, size_t point, size_t reading) {
    static const char *const words[2][2] = {
        {"the reference, or tool and reference?", "the tool, and the mass in kg?"},
        {"the reference?", "hang the weight, wait until it is at rest; its mass in kg?"}};
    prompt(j, point, reading, words[j->live][j->weights]);
}

static bool ask_reading(job *j, size_t point, size_t reading) {
    char line[LINE_BYTES];
    bw_err err = {0};
    bw_calibration_point *p = &j->point[point];
    double shown = p->target;
    if (j->live && !j->weights && !hear_pull(j, point, reading, &shown)) {
        return false;
    }
    for (;;) {
        ask_line(j, point, reading);
        if (fgets(line, sizeof line, stdin) == NULL) {
            bw_complain("the readings are not complete; nothing is recorded");
            return false;
        }
        double tool = 0;
        double reference = 0;
        bool two = false;
        if (read_numbers(line, shown, &tool, &reference, &two) && !(two && j->live) &&
            reference_of(j, &reference, &err)) {
            if (j->live && j->weights && !hear_weight(j, &tool)) {
                return false;
            }
            p->tool[reading] = tool;
            p->reference[reading] = reference;
            p->n = reading + 1;
            return true;
        }
        bw_complain("%s in %s %s needed, above 0%s%s",
                    j->live ? "one number" : "one or two numbers, the last",
                    j->weights ? "kg" : bw_unit_of(j->tool->unit)->name, j->live ? "is" : "are",
                    err.text[0] != '\0' ? ": " : "", err.text);
    }
}

/* The lowest of the range, three fifths, and the highest (from memory of ISO 6789-1). */
static bool ask_all(job *j) {
    const bw_tool *t = j->tool;
    double low = t->range_low > 0 ? t->range_low : t->range_high * 0.2;
    const double targets[POINTS] = {low, t->range_high * 0.6, t->range_high};
    for (size_t i = 0; i < POINTS; i++) {
        j->point[i] = (bw_calibration_point){.target = targets[i]};
        for (size_t r = 0; r < j->kind->readings; r++) {
            if (!ask_reading(j, i, r)) {
                return false;
            }
        }
    }
    return true;
}

/* The tool's own part of each reading, where it is to come from the tool. */
static bool open_tool(job *j) {
    bw_err err = {0};
    if (j->args->value[OPT_LIVE] == NULL) {
        return true;
    }
    if (strcmp(j->tool->type, "indicating") != 0 || j->tool->wrench[0] == '\0') {
        bw_complain("%s", j->tool->wrench[0] == '\0'
                              ? "--live: the register does not say how the tool is reached: tool "
                                "add NAME --wrench SPEC"
                              : "--live: only an indicating tool shows what it measures");
        return false;
    }
    j->live = true;
    if (bw_tool_open(j->tool, &j->device, &err) != BW_OK) {
        bw_complain("%s", err.text);
        return false;
    }
    return true;
}

static bool ask_live(job *j) {
    bool done = open_tool(j) && ask_all(j);
    bw_device_free(j->device);
    j->device = NULL;
    return done;
}

static bw_status compute(job *j, bw_err *err) {
    j->within = true;
    for (size_t i = 0; i < POINTS; i++) {
        bw_status rc = bw_calibrate_point(&j->point[i], j->tool->resolution, j->reference_share,
                                          &j->spans, &j->result[i], err);
        if (rc != BW_OK) {
            return rc;
        }
        double target_Nm = bw_to_base(j->point[i].target, j->tool->unit);
        double permitted = target_Nm <= 10 ? j->kind->permitted_small : j->kind->permitted_large;
        j->deviation = fmax(j->deviation, fabs(j->result[i].deviation));
        j->interval = fmax(j->interval, j->result[i].interval);
        j->within = j->within && fabs(j->result[i].deviation) <= permitted;
    }
    return BW_OK;
}

/* ---- the sheet ---- */

static const char *percent(double share, char *out, size_t size) {
    return bw_decimal_format(share * 100, 2, out, size);
}

static void sheet_head(const job *j, bw_text *s) {
    const bw_tool *t = j->tool;
    char text[2][40];
    bw_text_add(s, "Calibration of %s on %s, due again %s\n", t->name, j->date, j->due);
    bw_text_add(s, "%s%s%s%s%s%s%s, range %s..%s %s\n", t->maker,
                t->maker[0] != '\0' && t->model[0] != '\0' ? " " : "", t->model,
                t->serial[0] != '\0' ? ", serial number " : "", t->serial,
                t->maker[0] != '\0' || t->model[0] != '\0' || t->serial[0] != '\0' ? ", " : "",
                j->kind->says, bw_number_text(t->range_low, text[0], sizeof text[0]),
                bw_number_text(t->range_high, text[1], sizeof text[1]), bw_unit_of(t->unit)->name);
    if (j->weights) {
        bw_text_add(s, "Against weights on an arm of %s mm; g = %s m/s2 (WGS 84)",
                    bw_number_text(j->weight.lever_mm, text[0], sizeof text[0]),
                    bw_decimal_format(j->weight.gravity_m_per_s2, 5, text[1], sizeof text[1]));
        bw_text_add(s, " at %s degrees, %s m; air 1.2, weights 8000 kg/m3\n",
                    bw_number_text(j->latitude_deg, text[0], sizeof text[0]),
                    bw_number_text(j->height_m, text[1], sizeof text[1]));
    }
    bw_text_add(s, "What the tool showed was %s\n",
                j->live ? "read from the tool itself" : "typed");
    bw_text_add(s, "Reference: expanded uncertainty %s %% (k = 2)\n",
                percent(j->reference_share, text[0], sizeof text[0]));
}

static void sheet_point(const job *j, size_t i, bw_text *s) {
    const bw_calibration_point *p = &j->point[i];
    const bw_calibration_result *r = &j->result[i];
    char text[4][40];
    bw_text_add(s, "\n%s %s: tool/reference", bw_number_text(p->target, text[0], sizeof text[0]),
                bw_unit_of(j->tool->unit)->name);
    for (size_t k = 0; k < p->n; k++) {
        bw_text_add(s, " %s/%s", bw_number_text(p->tool[k], text[0], sizeof text[0]),
                    bw_decimal_format(p->reference[k], 4, text[1], sizeof text[1]));
    }
    bw_text_add(s,
                "\n  mean deviation %s %%, repeatability %s %%, U %s %% (k = 2), interval %s %%\n",
                percent(r->deviation, text[0], sizeof text[0]),
                percent(r->repeatability, text[1], sizeof text[1]),
                percent(r->expanded, text[2], sizeof text[2]),
                percent(r->interval, text[3], sizeof text[3]));
}

static void sheet_spans(const job *j, bw_text *s) {
    const struct {
        const char *what;
        double span;
    } rows[] = {{"taking off and putting on", j->spans.reproducibility},
                {"turning the drive", j->spans.drive},
                {"other adapters", j->spans.interface},
                {"moving the hand", j->spans.hand}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[40];
        bw_text_add(s, "%s: %s\n", rows[i].what,
                    rows[i].span > 0 ? bw_number_text(rows[i].span, text, sizeof text)
                                     : "not measured, counted as nothing");
    }
}

static void write_sheet(const job *j, bw_text *s) {
    char text[2][40];
    sheet_head(j, s);
    for (size_t i = 0; i < POINTS; i++) {
        sheet_point(j, i, s);
    }
    bw_text_add(s, "\nSpans of mean readings, in %s:\n", bw_unit_of(j->tool->unit)->name);
    sheet_spans(j, s);
    bw_text_add(s,
                "\nGreatest deviation %s %%: %s what is permitted for its type. A torque that it "
                "shows lies\nwithin %s %%; verdicts count with that.\n",
                percent(j->deviation, text[0], sizeof text[0]), j->within ? "within" : "BEYOND",
                percent(j->interval, text[1], sizeof text[1]));
    bw_text_add(s,
                "\nThis is no certificate. Test points, number of readings, permitted deviations "
                "and the way the\ncontributions add up follow ISO 6789:2017 from memory; compare "
                "with its text before you rely on it.\n");
}

static bool put_sheet(const char *path, const char *sheet) {
    bw_whole_file file;
    if (path == NULL) {
        bool good = fputs(sheet, stdout) >= 0 && fflush(stdout) == 0;
        if (!good) {
            bw_complain("the sheet could not be written");
        }
        return good;
    }
    return bw_whole_file_begin(&file, path) &&
           bw_whole_file_end(&file, fputs(sheet, file.out) >= 0, NULL);
}

/* ---- all of it ---- */

static bw_status record(const job *j, const char *sheet, bw_err *err) {
    const bw_tool *t = j->tool;
    bw_entry e = bw_entry_of(BW_KIND_TOOL_CALIBRATED);
    bw_entry_set_text(&e, BW_M_TOOL, t->name);
    bw_entry_set_text(&e, BW_M_CALIBRATED, j->date);
    bw_entry_set_text(&e, BW_M_CALIBRATION_DUE, j->due);
    bw_entry_set_text(&e, BW_M_UNIT, bw_unit_of(t->unit)->name);
    bw_entry_set_number(&e, BW_M_RANGE_LOW, j->point[0].target);
    bw_entry_set_number(&e, BW_M_RANGE_HIGH, j->point[POINTS - 1].target);
    bw_entry_set_number(&e, BW_M_DEVIATION_SHARE, j->deviation);
    bw_entry_set_number(&e, BW_M_UNCERTAINTY_SHARE, j->interval);
    bw_entry_set_text(&e, BW_M_TEXT, sheet);
    bw_entry_set_text(&e, BW_M_CERTIFICATE, j->args->value[OPT_CERTIFICATE]);
    return bw_register_write(j->args->home, &e, j->args->value[OPT_BY], err);
}

static void print_json(const job *j) {
    char text[4][40];
    (void)printf("{\"tool\":\"%s\",\"date\":\"%s\",\"due\":\"%s\",\"points\":[", j->tool->name,
                 j->date, j->due);
    for (size_t i = 0; i < POINTS; i++) {
        const bw_calibration_result *r = &j->result[i];
        (void)printf("%s{\"target\":%s,\"deviation_share\":%s,\"repeatability_share\":%s,"
                     "\"uncertainty_share\":%s}",
                     i > 0 ? "," : "", bw_number_text(j->point[i].target, text[0], sizeof text[0]),
                     bw_number_text(r->deviation, text[1], sizeof text[1]),
                     bw_number_text(r->repeatability, text[2], sizeof text[2]),
                     bw_number_text(r->expanded, text[3], sizeof text[3]));
    }
    (void)printf("],\"deviation_share\":%s,\"interval_share\":%s,\"within\":%s}\n",
                 bw_number_text(j->deviation, text[0], sizeof text[0]),
                 bw_number_text(j->interval, text[1], sizeof text[1]),
                 j->within ? "true" : "false");
}

int bw_tool_calibrate(const bw_args *args, const bw_tool *tool) {
    job j = {.args = args, .tool = tool, .kind = bw_tool_kind_find(tool->type)};
    bw_err err = {0};
    if (j.kind == NULL || tool->retired[0] != '\0') {
        bw_complain("%s", j.kind == NULL ? "gauges are calibrated elsewhere: enter them anew with "
                                           "what the certificate says"
                                         : "this tool is retired");
        return BW_EXIT_USAGE;
    }
    if (!read_share(args->value[OPT_REFERENCE], &j.reference_share) ||
        !read_weights(args->value[OPT_WEIGHTS], &j) ||
        !read_spans(args->value[OPT_SPANS], &j.spans) || !read_dates(args, &j) || !ask_live(&j)) {
        return BW_EXIT_USAGE;
    }
    static const size_t size = SHEET_MAX;
    char *text = malloc(size);
    if (text == NULL) {
        bw_complain("no memory");
        return BW_EXIT_MACHINE;
    }
    bw_status rc = compute(&j, &err);
    if (rc == BW_OK) {
        bw_text sheet = bw_text_on(text, size);
        write_sheet(&j, &sheet);
        rc = record(&j, text, &err);
    }
    int code = bw_exit_of(rc, &err);
    if (code == BW_EXIT_YES && args->json) {
        print_json(&j);
    }
    if (code == BW_EXIT_YES && (!args->json || args->value[OPT_OUT] != NULL)) {
        code = put_sheet(args->value[OPT_OUT], text) ? BW_EXIT_YES : BW_EXIT_MACHINE;
    }
    free(text);
    return code == BW_EXIT_YES && !j.within ? BW_EXIT_NO : code;
}
