/* tool_check.c - boltwright tool check: a wrench against nothing or a hanging weight, before a
 * shift. */
#include "command/tool.h"

#include "base/decimal.h"
#include "base/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LISTEN_MS = 1500, WISH_MS = 2500, LEAST_SAMPLES = 5 };

/* Asks, once the wrench has had a moment to say who it is, and waits for what it says. */
static bw_status ask(bw_device *device, bw_wish_kind kind, bw_err *err) {
    const bw_wish wish = {.size = sizeof wish, .kind = (uint32_t)kind};
    bw_heard aside = {0};
    const bw_device_sink sink = bw_tool_sink(&aside);
    bw_status rc = bw_tool_hear(device, LISTEN_MS, &aside, err);
    rc = rc == BW_OK ? bw_device_wish(device, &wish, &sink, err) : rc;
    return rc == BW_OK ? bw_tool_hear(device, WISH_MS, &aside, err) : rc;
}

/* The mean of what the wrench shows for a second and a half. */
static bw_status hear(const bw_args *args, const bw_tool *tool, bw_heard *out, bw_err *err) {
    bw_device *device = NULL;
    bw_status rc = bw_tool_open(tool, &device, err);
    if (rc == BW_OK && args->value[OPT_ZERO] != NULL) {
        rc = ask(device, BW_WISH_ZERO, err);
    }
    if (rc == BW_OK && args->value[OPT_SHUNT] != NULL) {
        rc = ask(device, BW_WISH_SHUNT, err);
    }
    rc = rc == BW_OK ? bw_tool_hear(device, LISTEN_MS, out, err) : rc;
    bw_device_free(device);
    if (rc == BW_OK && out->n < LEAST_SAMPLES) {
        rc = bw_fail(err, BW_E_STATE, "the wrench sent %zu samples; at least %d are needed", out->n,
                     LEAST_SAMPLES);
    }
    return rc;
}

/* Without a way to the tool, what it shows is typed. */
static bool read_typed(const bw_tool *tool, double *out_Nm) {
    char line[200];
    bw_decimal value;
    (void)fprintf(stderr, "what does %s show, in %s? ", tool->name, bw_unit_of(tool->unit)->name);
    if (fgets(line, sizeof line, stdin) == NULL) {
        line[0] = '\0';
    }
    if (bw_decimal_parse(line, strcspn(line, "\r\n"), &value, NULL) != BW_OK) {
        bw_complain("a number is needed, as in 0.1");
        return false;
    }
    *out_Nm = bw_to_base(value.value, tool->unit);
    return true;
}

static bool read_limits(const bw_args *args, const bw_tool *tool, double *expect, double *limit) {
    bw_quantity q = {0, tool->unit, -1};
    bw_decimal value;
    const char *expected = args->value[OPT_EXPECT];
    const char *text = args->value[OPT_LIMIT];
    bw_err err = {0};
    if (expected != NULL && bw_quantity_parse(expected, strlen(expected), BW_DIM_TORQUE, tool->unit,
                                              &q, &err) != BW_OK) {
        bw_complain("--expect: %s", err.text);
        return false;
    }
    if (text == NULL || bw_decimal_parse(text, strlen(text), &value, NULL) != BW_OK ||
        value.value <= 0) {
        bw_complain("check needs --limit X: how far off it may be, in %s",
                    bw_unit_of(tool->unit)->name);
        return false;
    }
    *expect = bw_from_base(bw_to_base(q.value, q.unit), tool->unit);
    *limit = value.value;
    return true;
}

static bw_entry entry_of(const bw_tool *tool, double value, double expect, double limit,
                         const char *verdict, size_t samples) {
    bw_entry e = bw_entry_of(BW_KIND_TOOL_CHECKED);
    bw_entry_set_text(&e, BW_M_TOOL, tool->name);
    bw_entry_set_number(&e, BW_M_VALUE, value);
    bw_entry_set_text(&e, BW_M_UNIT, bw_unit_of(tool->unit)->name);
    bw_entry_set_number(&e, BW_M_LOW, expect - limit);
    bw_entry_set_number(&e, BW_M_HIGH, expect + limit);
    bw_entry_set_text(&e, BW_M_VERDICT, verdict);
    if (samples > 0) {
        bw_entry_set_whole(&e, BW_M_SAMPLES, (int64_t)samples);
    } else {
        bw_entry_set_text(&e, BW_M_TEXT, "typed");
    }
    return e;
}

static const char *verdict_of(double value, double expect, double limit) {
    return value < expect - limit ? "low" : value > expect + limit ? "high" : "pass";
}

int bw_tool_check(const bw_args *args, const bw_tool *tool) {
    double expect = 0;
    double limit = 0;
    double shown_Nm = 0;
    bw_heard h = {0};
    bw_err err = {0};
    bw_status rc = BW_OK;
    if (bw_unit_of(tool->unit)->dimension != BW_DIM_TORQUE) {
        bw_complain("a gauge is checked by hand: note it in the build");
        return BW_EXIT_USAGE;
    }
    if (!read_limits(args, tool, &expect, &limit)) {
        return BW_EXIT_USAGE;
    }
    if (tool->wrench[0] == '\0') {
        if (!read_typed(tool, &shown_Nm)) {
            return BW_EXIT_USAGE;
        }
    } else {
        rc = hear(args, tool, &h, &err);
        shown_Nm = h.n > 0 ? h.sum_Nm / (double)h.n : 0;
    }
    double value = bw_from_base(shown_Nm, tool->unit);
    const char *verdict = verdict_of(value, expect, limit);
    if (rc == BW_OK) {
        bw_entry e = entry_of(tool, value, expect, limit, verdict, h.n);
        rc = bw_register_write(args->home, &e, args->value[OPT_BY], &err);
    }
    if (rc != BW_OK) {
        return bw_exit_of(rc, &err);
    }
    char text[40];
    (void)bw_number_text(value, text, sizeof text);
    if (args->json) {
        (void)printf("{\"tool\":\"%s\",\"value\":%s,\"unit\":\"%s\",\"verdict\":\"%s\"}\n",
                     tool->name, text, bw_unit_of(tool->unit)->name, verdict);
    } else {
        (void)printf("%s shows %s %s: %s\n", tool->name, text, bw_unit_of(tool->unit)->symbol,
                     verdict);
    }
    return strcmp(verdict, "pass") == 0 ? BW_EXIT_YES : BW_EXIT_NO;
}
