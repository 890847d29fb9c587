/* sheet.c - boltwright sheet: the build sheet. */
#include "command/command.h"

#include "base/text.h"
#include "face/sheet_text.h"
#include "record/bench_key.h"
#include "session/replay.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { OPT_OUT };

enum { PATH_BYTES = 4200, ARENA_BYTES = 512 << 20 };

static bool ends_in(const char *text, const char *end) {
    size_t a = strlen(text);
    size_t b = strlen(end);
    return a >= b && strcmp(text + a - b, end) == 0;
}

/* The public key is a help on the sheet; without it the sheet is still one. */
static const char *verifier_line(const char *home, char *line) {
    bw_verifier verifier;
    bool known = bw_bench_key_public(home, &verifier, NULL) == BW_OK &&
                 bw_verifier_line(&verifier, line, NULL) == BW_OK;
    return known ? line : NULL;
}

/* Whole under its name or not there at all. */
static int print_to_file(const bw_replay *replay, const char *note, const char *verifier,
                         const char *path) {
    char part[PATH_BYTES];
    bw_text text = bw_text_on(part, sizeof part);
    bw_text_add(&text, "%s.part", path);
    FILE *out = text.cut ? NULL : fopen(part, "w");
    if (out == NULL) {
        bw_complain("%s can't be written: %s", path, strerror(errno));
        return BW_EXIT_MACHINE;
    }
    bw_sheet_print(replay, note, verifier, out);
    bool good = fflush(out) == 0 && fsync(fileno(out)) == 0;
    good = fclose(out) == 0 && good && rename(part, path) == 0;
    if (!good) {
        bw_complain("%s can't be written: %s", path, strerror(errno));
        (void)remove(part);
        return BW_EXIT_MACHINE;
    }
    return BW_EXIT_YES;
}

static int print(const bw_args *args, bw_store *store, bw_arena *arena) {
    bw_replay replay;
    const char *note = NULL;
    char line[BW_VERIFIER_MAX];
    bw_err err = {0};
    bw_status status = bw_replay_build(store, args->word[0], arena, &replay, &err);
    if (status == BW_OK) {
        status = bw_store_newest_checkpoint(store, arena, &note, &err);
    }
    if (status != BW_OK) {
        return bw_exit_of(status, &err);
    }
    if (replay.plan == NULL) {
        bw_complain("the record has no build %s", args->word[0]);
        return BW_EXIT_USAGE;
    }
    const char *verifier = verifier_line(args->home, line);
    if (args->value[OPT_OUT] != NULL) {
        return print_to_file(&replay, note, verifier, args->value[OPT_OUT]);
    }
    bw_sheet_print(&replay, note, verifier, stdout);
    return BW_EXIT_YES;
}

static int sheet(const bw_args *args) {
    const char *out = args->value[OPT_OUT];
    if (out != NULL && !ends_in(out, ".txt")) {
        bw_complain("the sheet is written as text: give a name that ends in .txt");
        return BW_EXIT_USAGE;
    }
    bw_store *store = NULL;
    bw_err err = {0};
    bw_status status = bw_store_open(args->home, BW_STORE_READ, &store, &err);
    if (status != BW_OK) {
        return bw_exit_of(status, &err);
    }
    bw_arena *arena = bw_arena_new(ARENA_BYTES);
    int code = BW_EXIT_MACHINE;
    if (arena == NULL) {
        bw_complain("no memory");
    } else {
        code = print(args, store, arena);
    }
    bw_arena_free(arena);
    bw_store_close(store);
    return code;
}

static const bw_option_row options[] = {
    [OPT_OUT] = {"-o", "FILE.txt", "write it there instead of standard output"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_sheet = {
    .name = "sheet",
    .usage = "BUILD [-o FILE.txt]",
    .says = "prints the build sheet",
    .least_words = 1,
    .most_words = 1,
    .option = options,
    .run = sheet,
};
