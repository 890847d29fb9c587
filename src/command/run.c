/* run.c - boltwright run: a build at the bench, begun or gone on with. */
#include "command/bench.h"

#include "base/text.h"

#include <string.h>

enum {
    OPT_BUILD,
    OPT_WRENCH,
    OPT_BY,
    OPT_DISPLAY,
    OPT_DISPLAY_NETWORK,
    OPT_DISPLAY_CERT,
    OPT_DISPLAY_KEY,
    OPT_REOPEN,
    OPT_RETORQUE,
    OPT_WITH,
    OPT_WHY,
    OPT_ADOPT,
    OPT_PLAIN
};

enum { WHY_MAX = 500 };

static bool name_ok(const char *name) {
    size_t len = strlen(name);
    return len >= 1 && len < 64 && name[0] != ' ' && name[len - 1] != ' ';
}

/* What is done about a build that is closed. */
static bool afterwards_ok(const bw_args *args) {
    bool reopen = args->value[OPT_REOPEN] != NULL;
    const char *with = args->value[OPT_WITH];
    const char *why = args->value[OPT_WHY];
    if (reopen && args->value[OPT_RETORQUE] != NULL) {
        bw_complain("--reopen or --retorque, one after the other");
        return false;
    }
    if (reopen && (with == NULL || why == NULL || why[0] == '\0')) {
        bw_complain("--reopen needs a second person and a reason: --with NAME --why TEXT");
        return false;
    }
    if (reopen && !name_ok(with)) {
        bw_complain("--with is a name or initials: 1 to 63 bytes, not beginning or ending in a "
                    "space");
        return false;
    }
    if (!reopen && (with != NULL || (why != NULL && args->value[OPT_RETORQUE] == NULL))) {
        bw_complain("--with goes with --reopen, --why with --reopen or --retorque");
        return false;
    }
    if (why != NULL && (strlen(why) >= WHY_MAX || !bw_text_printable(why, strlen(why), false))) {
        bw_complain("--why is one line of text");
        return false;
    }
    return true;
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
    if (!afterwards_ok(args)) {
        return BW_EXIT_USAGE;
    }
    bw_bench_setup setup = {.home = args->home,
                            .sequence = args->word_n > 0 ? args->word[0] : NULL,
                            .build = build,
                            .wrench = args->value[OPT_WRENCH],
                            .by = args->value[OPT_BY],
                            .reopen = args->value[OPT_REOPEN] != NULL,
                            .retorque = args->value[OPT_RETORQUE],
                            .second = args->value[OPT_WITH],
                            .why = args->value[OPT_WHY],
                            .json = args->json,
                            .adopt = args->value[OPT_ADOPT] != NULL,
                            .plain = args->value[OPT_PLAIN] != NULL,
                            .display = {.where = args->value[OPT_DISPLAY],
                                        .network = args->value[OPT_DISPLAY_NETWORK] != NULL,
                                        .certificate = args->value[OPT_DISPLAY_CERT],
                                        .key = args->value[OPT_DISPLAY_KEY]},
                            .reads_input = true};
    return bw_bench_run(&setup);
}

static const bw_option_row options[] = {
    [OPT_BUILD] = {"--build", "ID", "which build: begins it, or goes on where it stopped"},
    [OPT_WRENCH] = {"--wrench", "SPEC", "PORT[,driver=NAME][,uncertainty=1.5][,KEY=VALUE...]"},
    [OPT_BY] = {"--by", "NAME", "who works: a name or initials"},
    [OPT_DISPLAY] = {"--display", "ADDR:PORT", "serves the bench display, as at 127.0.0.1:8080"},
    [OPT_DISPLAY_NETWORK] = {"--display-network", NULL,
                             "opens it to the shop's network: https, each screen paired by a code"},
    [OPT_DISPLAY_CERT] = {"--display-cert", "FILE", "the certificate for that, PEM (its own)"},
    [OPT_DISPLAY_KEY] = {"--display-key", "FILE", "the key of that certificate, PEM"},
    [OPT_REOPEN] = {"--reopen", NULL, "a closed build: work on it begins anew"},
    [OPT_RETORQUE] = {"--retorque", "GROUP", "a closed build: what was due on this group is done"},
    [OPT_WITH] = {"--with", "NAME", "--reopen: the second person who stands for it"},
    [OPT_WHY] = {"--why", "TEXT", "--reopen: the reason; --retorque: what was found"},
    [OPT_ADOPT] = {"--adopt", NULL, "goes on with the edited SEQUENCE, where done work still fits"},
    [OPT_PLAIN] = {"--plain", NULL, "no colour, nothing redrawn, on a terminal too"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_run = {
    .name = "run",
    .usage = "[SEQUENCE] --build ID [--wrench SPEC] [--by NAME] [--display ADDR:PORT] "
             "[--display-network [--display-cert FILE --display-key FILE]] [--plain] [--adopt] "
             "[--reopen --with NAME --why TEXT | "
             "--retorque GROUP [--why TEXT]]",
    .says = "does a build at the bench, or goes on with it",
    .more =
        "Every prompt is answered by a plain line on standard input, so that a script can do a\n"
        "whole build; lines wait until a prompt wants them. Ctrl-C pauses; nothing confirmed is\n"
        "lost, and the same command goes on.",
    .least_words = 0,
    .most_words = 1,
    .option = options,
    .run = run,
};
