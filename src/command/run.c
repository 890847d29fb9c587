/* run.c - boltwright run: a build at the bench, begun or gone on with. */
#include "command/bench.h"

#include <string.h>

enum { OPT_BUILD, OPT_WRENCH, OPT_BY, OPT_DISPLAY };

static bool name_ok(const char *name) {
    size_t len = strlen(name);
    return len >= 1 && len < 64 && name[0] != ' ' && name[len - 1] != ' ';
}

static int run(const bw_args *args) {
    const char *build = args->value[OPT_BUILD];
    if (build == NULL) {
        bw_complain("run needs --build ID: the same id goes on with the same build");
        return BW_EXIT_USAGE;
    }
    if (!bw_build_id_ok(build)) {
        return BW_EXIT_USAGE;
    }
    if (args->value[OPT_BY] != NULL && !name_ok(args->value[OPT_BY])) {
        bw_complain(
            "--by is a name or initials: 1 to 63 bytes, not beginning or ending in a space");
        return BW_EXIT_USAGE;
    }
    bw_bench_setup setup = {.home = args->home,
                            .sequence = args->word[0],
                            .build = build,
                            .wrench = args->value[OPT_WRENCH],
                            .by = args->value[OPT_BY],
                            .json = args->json,
                            .display = args->value[OPT_DISPLAY],
                            .reads_input = true};
    return bw_bench_run(&setup);
}

static const bw_option_row options[] = {
    [OPT_BUILD] = {"--build", "ID", "which build: begins it, or goes on where it stopped"},
    [OPT_WRENCH] = {"--wrench", "SPEC", "PORT[,driver=NAME][,uncertainty=1.5][,KEY=VALUE...]"},
    [OPT_BY] = {"--by", "NAME", "who works: a name or initials"},
    [OPT_DISPLAY] = {"--display", "ADDR:PORT", "serves the bench display, as at 127.0.0.1:8080"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_run = {
    .name = "run",
    .usage = "SEQUENCE --build ID [--wrench SPEC] [--by NAME] [--display ADDR:PORT]",
    .says = "does a build at the bench, or goes on with it",
    .more =
        "Every prompt is answered by a plain line on standard input, so that a script can do a\n"
        "whole build; lines wait until a prompt wants them. Ctrl-C pauses; nothing confirmed is\n"
        "lost, and the same command goes on.",
    .least_words = 1,
    .most_words = 1,
    .option = options,
    .run = run,
};
