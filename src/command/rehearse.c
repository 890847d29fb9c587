/* rehearse.c - boltwright rehearse: the whole sequence with a simulated builder and wrench.
 *
 * Everything else is what run does: the same driver, judge, session and record.  Every entry is
 * marked, and the id can't become a real build. */
#include "command/bench.h"
#include "command/progress.h"
#include "command/stand_in.h"

#include "base/clock.h"
#include "base/decimal.h"
#include "base/text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
    OPT_SEED,
    OPT_FAULT,
    OPT_SPEED,
    OPT_BUILD,
    OPT_WRENCH,
    OPT_DISPLAY,
    OPT_DISPLAY_NETWORK,
    OPT_DISPLAY_CERT,
    OPT_DISPLAY_KEY
};

enum { BUILD_BYTES = 80, SPEC_BYTES = 400 };

static bool read_number(const char *text, const char *option, int decimals_most, double most,
                        double *out) {
    bw_decimal number = {0};
    if (text == NULL) {
        return true;
    }
    bool good = bw_decimal_parse(text, strlen(text), &number, NULL) == BW_OK && number.value >= 0 &&
                number.value <= most && number.decimals <= decimals_most;
    if (!good) {
        bw_complain("%s is a number from 0 to %.0f%s", option, most,
                    decimals_most == 0 ? ", whole" : "");
        return false;
    }
    *out = number.value;
    return true;
}

/* "rehearsal-20261125-094548". */
static const char *usual_build(char *out) {
    char time[BW_TIME_TEXT_MAX];
    bw_text text = bw_text_on(out, BUILD_BYTES);
    (void)bw_time_text(bw_clock_wall_ms(), time);
    bw_text_add(&text, "rehearsal-%.4s%.2s%.2s-%.2s%.2s%.2s", time, time + 5, time + 8, time + 11,
                time + 14, time + 17);
    return out;
}

/* The builder's stand-in with somebody who counts the steps. */
typedef struct counted {
    bw_face face;
    bw_meter meter;
} counted;

static void prompt_counted(void *ctx, const bw_prompt *prompt) {
    counted *c = ctx;
    bw_meter_next(&c->meter, "steps rehearsed", prompt->step_n);
    bw_meter_at(&c->meter, prompt->step_number > 0 ? prompt->step_number - 1 : prompt->step_n);
    c->face.prompt(c->face.ctx, prompt);
}

static void recorded_counted(void *ctx, const bw_entry *entry) {
    counted *c = ctx;
    c->face.recorded(c->face.ctx, entry);
}

static int rehearse_with(const bw_args *args, bw_stand_in *stand_in) {
    char build[BUILD_BYTES];
    char spec[SPEC_BYTES];
    bw_text text = bw_text_on(spec, sizeof spec);
    counted c = {.face = bw_stand_in_face(stand_in),
                 .meter = bw_meter_begin_beside("steps rehearsed", 0)};
    bw_face face = {.ctx = &c, .prompt = prompt_counted, .recorded = recorded_counted};
    bw_text_add(&text, "%s,driver=%s", bw_stand_in_port(stand_in), bw_stand_in_driver(stand_in));
    const char *id = args->value[OPT_BUILD];
    bw_bench_setup setup = {.home = args->home,
                            .sequence = args->word[0],
                            .build = id != NULL ? id : usual_build(build),
                            .wrench = spec,
                            .by = "rehearsal",
                            .rehearsal = true,
                            .json = args->json,
                            .display = {.where = args->value[OPT_DISPLAY],
                                        .network = args->value[OPT_DISPLAY_NETWORK] != NULL,
                                        .certificate = args->value[OPT_DISPLAY_CERT],
                                        .key = args->value[OPT_DISPLAY_KEY]},
                            .extra = &face,
                            .check = bw_stand_in_check,
                            .ready = bw_stand_in_ready,
                            .ctx = stand_in};
    int code = bw_bench_run(&setup);
    bw_meter_end(&c.meter);
    return code;
}

/* "sim" or nothing: the simulated wrench. */
static bool read_wrench(const char *text, bool *firmware) {
    *firmware = text != NULL && strcmp(text, "firmware") == 0;
    if (text == NULL || *firmware || strcmp(text, "sim") == 0) {
        return true;
    }
    bw_complain("--wrench is sim or firmware in a rehearsal, not %s", text);
    return false;
}

static int rehearse(const bw_args *args) {
    double seed = 1;
    double speed = 1;
    bw_fault_list faults = {0};
    bw_stand_in *stand_in = NULL;
    bw_err err = {0};
    const char *list = args->value[OPT_FAULT];
    bool firmware = false;
    if (!read_number(args->value[OPT_SEED], "--seed", 0, 1e15, &seed) ||
        !read_number(args->value[OPT_SPEED], "--speed", 3, 1000, &speed) ||
        !read_wrench(args->value[OPT_WRENCH], &firmware) ||
        (args->value[OPT_BUILD] != NULL && !bw_build_id_ok(args->value[OPT_BUILD]))) {
        return BW_EXIT_USAGE;
    }
    if (list != NULL && bw_fault_parse(list, &faults, &err) != BW_OK) {
        bw_complain("--fault: %s", err.text);
        return BW_EXIT_USAGE;
    }
    bw_status status = bw_stand_in_new((uint64_t)seed, speed, &faults, firmware,
                                       args->json ? NULL : stdout, &stand_in, &err);
    if (status != BW_OK) {
        return bw_exit_of(status, &err);
    }
    int code = rehearse_with(args, stand_in);
    bw_stand_in_free(stand_in);
    return code;
}

static const bw_option_row options[] = {
    [OPT_SEED] = {"--seed", "N", "another hand, other parts (1)"},
    [OPT_FAULT] = {"--fault", "LIST", "what goes wrong: dry:head:7,missed:main:4,unplug:head:2@2"},
    [OPT_SPEED] = {"--speed", "X", "times as fast as a hand; 0: as fast as it goes (1)"},
    [OPT_BUILD] = {"--build", "ID", "which rehearsal: begins it, or goes on with it"},
    [OPT_WRENCH] = {"--wrench", "NAME",
                    "sim, or firmware: the open adapter's own, simulated (sim)"},
    [OPT_DISPLAY] = {"--display", "ADDR:PORT", "shows it on the bench display"},
    [OPT_DISPLAY_NETWORK] = {"--display-network", NULL,
                             "opens it to the shop's network: https, each screen paired by a code"},
    [OPT_DISPLAY_CERT] = {"--display-cert", "FILE", "the certificate for that, PEM (its own)"},
    [OPT_DISPLAY_KEY] = {"--display-key", "FILE", "the key of that certificate, PEM"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_rehearse = {
    .name = "rehearse",
    .usage = "SEQUENCE [--seed N] [--fault LIST] [--speed X] [--build ID] [--wrench NAME] "
             "[--display ADDR:PORT] [--display-network [--display-cert FILE --display-key FILE]]",
    .says = "goes through a sequence with a simulated builder and wrench",
    .more =
        "The same driver, judge and record as in a build, through a pseudo-terminal. Marked as a "
        "rehearsal in every entry; it can never pass for a build.\n\n"
        "Faults of the hand: short, over, rehit, missed, wrong, spike, overcrept; of the fastener: "
        "dry, crossed, bottomed, gasket, yielding, stripped, seized, relaxed, weak_lock; of the "
        "wrench: unplug, battery, noise, lost, peak.\n\n"
        "Group and place stand behind a colon, the stage behind an @ (1 where none is given). What "
        "is wrong with a fastener is so in every stage, until it is loosened and seen to.",
    .least_words = 1,
    .most_words = 1,
    .option = options,
    .run = rehearse,
};
