/* check.c - boltwright check: a sequence loaded and validated with nothing attached. */
#include "command/command.h"
#include "command/progress.h"
#include "command/whole_file.h"

#include "face/plan_plot.h"
#include "face/plan_text.h"
#include "sequence/sequence.h"

#include <stdio.h>

enum { OPT_PLOT };

static int plot(const bw_plan *plan, const char *path) {
    bw_whole_file file;
    if (!bw_whole_file_begin(&file, path)) {
        return BW_EXIT_MACHINE;
    }
    bw_plan_plot(plan, file.out);
    return bw_whole_file_end(&file, true, NULL) ? BW_EXIT_YES : BW_EXIT_MACHINE;
}

static int check_one(const char *path, bool json, const char *plot_path, bw_meter *meter) {
    bw_arena *arena = bw_arena_new(0);
    bw_loaded loaded = {0};
    bw_err err = {0};
    if (arena == NULL) {
        bw_complain("no memory");
        return BW_EXIT_MACHINE;
    }
    bw_status status = bw_sequence_load(path, arena, &loaded, &err);
    bw_meter_end(meter);
    int code = BW_EXIT_YES;
    if (status == BW_E_ABSENT) {
        bw_complain("%s", err.text);
        code = BW_EXIT_USAGE;
    } else if (status != BW_OK) {
        code = bw_exit_of(status, &err);
    } else if (loaded.plan == NULL) {
        if (json) {
            bw_mistakes_print_json(loaded.mistake, loaded.mistake_n, stdout);
        } else {
            bw_mistakes_print(loaded.mistake, loaded.mistake_n, stderr);
        }
        code = BW_EXIT_NO;
    } else if (json) {
        bw_plan_print_json(loaded.plan, stdout);
    } else {
        bw_plan_print(loaded.plan, stdout);
    }
    if (code == BW_EXIT_YES && plot_path != NULL) {
        code = plot(loaded.plan, plot_path);
    }
    bw_arena_free(arena);
    return code;
}

static int check(const bw_args *args) {
    const char *plot_path = args->value[OPT_PLOT];
    int worst = BW_EXIT_YES;
    if (plot_path != NULL && args->word_n > 1) {
        bw_complain("--plot draws one sequence, not %zu", args->word_n);
        return BW_EXIT_USAGE;
    }
    bw_meter meter = bw_meter_begin_beside("sequences checked", args->word_n);
    for (size_t i = 0; i < args->word_n; i++) {
        bw_meter_at(&meter, i);
        int code = check_one(args->word[i], args->json, plot_path, &meter);
        worst = code > worst ? code : worst;
    }
    return worst;
}

static const bw_option_row options[] = {
    [OPT_PLOT] = {"--plot", "FILE", "draws each group with its order, as SVG"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_check = {
    .name = "check",
    .usage = "SEQUENCE... [--plot FILE.svg]",
    .says = "finds every mistake in a sequence; prints its plan where there is none",
    .least_words = 1,
    .most_words = BW_WORDS_MAX,
    .option = options,
    .run = check,
};
