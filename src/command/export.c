/* export.c - boltwright export: the entries of a build, or all, for other programs. */
#include "command/command.h"
#include "command/own_key.h"
#include "command/progress.h"
#include "command/which.h"

#include "face/export.h"
#include "record/bundle.h"
#include "record/store.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

enum { OPT_FORMAT, OPT_CHECKPOINT, OPT_ALL };

typedef enum format { JSON_LINES = 0, CSV, BUNDLE } format;

typedef struct counter {
    format format;
    size_t n;
    bool unknown;     /* the build, which was complained of */
    bw_status status; /* of what happened inside a callback */
    bw_err *err;
} counter;

static bool take(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    counter *c = ctx;
    if (c->format == CSV) {
        if (c->n == 0) {
            bw_export_csv_heading(stdout);
        }
        c->status = bw_export_csv(entry, json, len, stdout, c->err);
    } else {
        bw_export_json(entry->number, json, len, stdout);
    }
    c->n++;
    return c->status == BW_OK && ferror(stdout) == 0;
}

static bool read_format(const char *word, format *out) {
    static const char *const words[] = {[JSON_LINES] = "jsonl", [CSV] = "csv", [BUNDLE] = "bundle"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (word == NULL || strcmp(word, words[i]) == 0) {
            *out = (format)i;
            return true;
        }
    }
    bw_complain("--format is jsonl, csv or bundle");
    return false;
}

static bw_status write_bundle(const bw_args *args, bw_store *store, counter *c, bw_err *err) {
    char note[BW_NOTE_MAX];
    const char *path = args->value[OPT_CHECKPOINT];
    bw_status status = path == NULL ? BW_OK : bw_note_file_read(path, note, err);
    if (status == BW_OK) {
        status = bw_bundle_write(store, args->word[0], path == NULL ? NULL : note, stdout, err);
        c->unknown = status == BW_E_ABSENT;
    }
    return status;
}

static bw_status write_all(const bw_args *args, counter *c, bw_err *err) {
    bw_store *store = NULL;
    bool all = args->value[OPT_ALL] != NULL;
    bw_status status = bw_store_open(args->home, BW_STORE_READ, &store, err);
    bw_meter meter = bw_meter_begin_beside("entries read", 0);
    if (status == BW_OK) {
        bw_meter_watch(&meter, store);
    }
    if (status == BW_OK && c->format == BUNDLE) {
        status = write_bundle(args, store, c, err);
    } else if (status == BW_OK) {
        c->err = err;
        status = bw_store_each(store, all ? NULL : args->word[0], take, c, err);
        status = status == BW_OK ? c->status : status;
        c->unknown = status == BW_OK && c->n == 0 && !all;
    }
    bw_meter_end(&meter);
    if (c->unknown) {
        bw_store_watch(store, NULL, NULL);
        bw_complain_no_build(store, args->word[0]);
    }
    bw_store_close(store);
    return status;
}

static int export(const bw_args *args) {
    counter c = {0};
    bw_err err = {0};
    bool all = args->value[OPT_ALL] != NULL;
    if (!read_format(args->value[OPT_FORMAT], &c.format)) {
        return BW_EXIT_USAGE;
    }
    if (all == (args->word_n > 0) || (all && c.format == BUNDLE)) {
        bw_complain("write it so: boltwright export BUILD, or boltwright export --all%s",
                    all && c.format == BUNDLE ? "; a bundle is one build" : "");
        return BW_EXIT_USAGE;
    }
    if (args->value[OPT_CHECKPOINT] != NULL && c.format != BUNDLE) {
        bw_complain("--checkpoint goes with --format bundle");
        return BW_EXIT_USAGE;
    }
    bw_status status = write_all(args, &c, &err);
    if (c.unknown) {
        return BW_EXIT_USAGE;
    }
    if (status != BW_OK) {
        return bw_reader_left() ? BW_EXIT_MACHINE : bw_exit_of(status, &err);
    }
    if (fflush(stdout) != 0 || ferror(stdout) != 0) {
        int why = errno;
        if (!bw_reader_left()) {
            bw_complain("the output can't be written: %s", strerror(why));
        }
        return BW_EXIT_MACHINE;
    }
    return BW_EXIT_YES;
}

static const bw_option_row options[] = {
    [OPT_FORMAT] = {"--format", "FORMAT", "csv, jsonl or bundle; jsonl unless given"},
    [OPT_CHECKPOINT] = {"--checkpoint", "FILE", "in a bundle: proved to be in its past"},
    [OPT_ALL] = {"--all", NULL, "every build of the record"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_export = {
    .name = "export",
    .usage = "BUILD [--format FORMAT] [--checkpoint FILE] | --all",
    .says = "prints every entry of a build, for other programs",
    .more = "A bundle is one file with the build's entries, traces and proofs, which audit BUNDLE "
            "verifies without the record.",
    .least_words = 0,
    .most_words = 1,
    .option = options,
    .run = export,
};
