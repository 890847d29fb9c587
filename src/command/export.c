/* export.c - boltwright export: every entry of a build, for other programs. */
#include "command/command.h"

#include "face/export.h"
#include "record/store.h"

#include <stdio.h>
#include <string.h>

enum { OPT_FORMAT };

typedef struct counter {
    bool csv;
    size_t n;
} counter;

static bool take(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    counter *c = ctx;
    if (c->csv) {
        if (c->n == 0) {
            bw_export_csv_heading(stdout);
        }
        bw_export_csv(entry, stdout);
    } else {
        bw_export_json(entry->number, json, len, stdout);
    }
    c->n++;
    return ferror(stdout) == 0;
}

static int export(const bw_args *args) {
    const char *format = args->value[OPT_FORMAT];
    counter c = {.csv = format != NULL && strcmp(format, "csv") == 0};
    if (format != NULL && !c.csv && strcmp(format, "jsonl") != 0) {
        bw_complain("--format is csv or jsonl");
        return BW_EXIT_USAGE;
    }
    bw_store *store = NULL;
    bw_err err = {0};
    bw_status status = bw_store_open(args->home, BW_STORE_READ, &store, &err);
    if (status == BW_OK) {
        status = bw_store_each(store, args->word[0], take, &c, &err);
    }
    bw_store_close(store);
    if (status != BW_OK) {
        return bw_exit_of(status, &err);
    }
    if (c.n == 0) {
        bw_complain("the record has no build %s", args->word[0]);
        return BW_EXIT_USAGE;
    }
    return BW_EXIT_YES;
}

static const bw_option_row options[] = {
    [OPT_FORMAT] = {"--format", "csv or jsonl", "jsonl where none is given"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_export = {
    .name = "export",
    .usage = "BUILD [--format csv or jsonl]",
    .says = "prints every entry of a build, for other programs",
    .least_words = 1,
    .most_words = 1,
    .option = options,
    .run = export,
};
