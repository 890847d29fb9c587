/* sheet.c - boltwright sheet: the build sheet, the tag, the empty sheet, a calibration's sheet. */
#include "command/command.h"
#include "command/progress.h"
#include "command/which.h"
#include "command/whole_file.h"

#include "base/text.h"
#include "face/draw.h"
#include "face/plan_text.h"
#include "face/sheet.h"
#include "face/sheet_text.h"
#include "record/bench_key.h"
#include "sequence/sequence.h"
#include "session/replay.h"

#include <stdio.h>
#include <string.h>

enum { OPT_OUT, OPT_PAPER, OPT_TAG, OPT_BLANK, OPT_CALIBRATION };

enum { ARENA_BYTES = 512 << 20, TRACE_BYTES = 256 << 20 };

static bool ends_in(const char *text, const char *end) {
    size_t a = strlen(text);
    size_t b = strlen(end);
    return a >= b && strcmp(text + a - b, end) == 0;
}

/* ---- what it is printed with ---- */

/* Traces come one at a time, each in memory of its own. */
typedef struct traces {
    bw_store *store;
    bw_arena *arena;
    bw_meter *meter;
    uint64_t n;
} traces;

static const char *trace_text(void *ctx, const char *hash, size_t *len) {
    traces *t = ctx;
    const void *data = NULL;
    bw_meter_at(t->meter, t->n++);
    bw_arena_free(t->arena);
    t->arena = bw_arena_new(TRACE_BYTES);
    bool there = t->arena != NULL &&
                 bw_store_blob(t->store, hash, t->arena, &data, len, NULL) == BW_OK;
    return there ? data : NULL;
}

/* The key that the sheet's checkpoint is signed by is a help on it; without it the sheet is still
 * one. */
static void find_key(const char *home, bw_store *store, char *line, char *pem,
                     bw_sheet_proof *proof) {
    bw_verifier verifier;
    bw_err err = {0};
    bw_status status = bw_bench_key_signer(home, store, proof->checkpoint, &verifier, &err);
    if (status == BW_OK) {
        status = bw_verifier_line(&verifier, line, &err);
    }
    if (status == BW_OK) {
        status = bw_verifier_pem(&verifier, pem, &err);
    }
    if (status == BW_OK) {
        proof->verifier = line;
        proof->pem = pem;
    } else if (status != BW_E_ABSENT) {
        bw_complain("the sheet shows no public key: %s", err.text);
    }
}

/* ---- where it goes ---- */

typedef enum form { FORM_TEXT = 0, FORM_PDF, FORM_SVG } form;

typedef struct target {
    const char *path; /* NULL: standard output */
    form form;
    bw_paper paper;
} target;

static bool read_target(const bw_args *args, target *out) {
    static const char *const ends[] = {
        [FORM_TEXT] = ".txt", [FORM_PDF] = ".pdf", [FORM_SVG] = ".svg"};
    const char *paper = args->value[OPT_PAPER];
    bool known = args->value[OPT_OUT] == NULL;
    *out = (target){.path = args->value[OPT_OUT]};
    for (size_t i = 0; !known && i < sizeof ends / sizeof ends[0]; i++) {
        known = ends_in(out->path, ends[i]);
        out->form = (form)i;
    }
    if (!known) {
        bw_complain("the sheet is written as PDF, SVG or text: give a name that ends in .pdf, "
                    ".svg or .txt");
        return false;
    }
    while (paper != NULL && bw_paper_word(out->paper) != NULL &&
           strcmp(paper, bw_paper_word(out->paper)) != 0) {
        out->paper++;
    }
    if (bw_paper_word(out->paper) == NULL) {
        bw_complain("--paper is a4 or letter");
        return false;
    }
    return true;
}

static void drawn(void *ctx, size_t page, size_t pages) {
    bw_meter_next(ctx, "pages drawn", pages);
    bw_meter_at(ctx, page);
}

static bw_status write_sheet(const bw_sheet *sheet, const target *to, FILE *out, bw_meter *meter,
                             bw_err *err) {
    if (to->form == FORM_TEXT) {
        bw_sheet_print(sheet, out);
        return BW_OK;
    }
    bw_draw_job job = {.sheet = sheet,
                       .paper = to->paper,
                       .svg = to->form == FORM_SVG,
                       .out = out,
                       .told = drawn,
                       .told_ctx = meter};
    bw_status status = bw_draw(&job, err);
    bw_meter_end(meter);
    if (status == BW_OK && job.missing > 0) {
        bw_complain("%zu characters are in no font of this machine and are drawn as boxes: "
                    "install a font that has them",
                    job.missing);
    }
    return status;
}

static int write_file(const bw_sheet *sheet, const target *to, bw_meter *meter) {
    bw_whole_file file;
    bw_err err = {0};
    if (!bw_whole_file_begin(&file, to->path)) {
        return BW_EXIT_MACHINE;
    }
    bw_status status = write_sheet(sheet, to, file.out, meter, &err);
    bool good = bw_whole_file_end(&file, status == BW_OK, status != BW_OK ? err.text : NULL);
    return good ? BW_EXIT_YES : BW_EXIT_MACHINE;
}

static int deliver(const bw_sheet *sheet, const target *to, bw_meter *meter) {
    if (to->path != NULL) {
        return write_file(sheet, to, meter);
    }
    bw_meter_end(meter);
    bw_sheet_print(sheet, stdout);
    return BW_EXIT_YES;
}

/* ---- what it is about ---- */

/* A sheet in the making: what it is made from, and what it is printed with. */
typedef struct job {
    const bw_args *args;
    target to;
    bw_arena *arena;
    bw_store *store; /* NULL: for the empty sheet */
    bw_sheet_proof proof;
    traces traces;
    bw_meter meter;
    char line[BW_VERIFIER_MAX], pem[BW_VERIFIER_MAX];
} job;

static int make_of_build(job *j, const bw_sheet **out) {
    const char *build = j->args->word[0];
    bool tag = j->args->value[OPT_TAG] != NULL;
    bw_replay replay;
    bw_err err = {0};
    bw_status status = bw_replay_build(j->store, build, j->arena, &replay, &err);
    bw_meter_end(&j->meter);
    bw_store_watch(j->store, NULL, NULL);
    if (status == BW_OK && replay.plan == NULL) {
        bw_complain_no_build(j->store, build);
        return BW_EXIT_USAGE;
    }
    if (j->to.form != FORM_TEXT) {
        bw_meter_next(&j->meter, "curves drawn", 0);
        j->traces.meter = &j->meter;
        j->traces.store = j->store;
        j->proof.trace = trace_text;
        j->proof.ctx = &j->traces;
    }
    if (status == BW_OK) {
        status = tag ? bw_sheet_of_tag(&replay, &j->proof, j->arena, out, &err)
                     : bw_sheet_of_build(&replay, &j->proof, j->arena, out, &err);
    }
    bw_arena_free(j->traces.arena);
    return bw_exit_of(status, &err);
}

/* The newest calibration of a tool. */
typedef struct search {
    const char *tool;
    bw_arena *arena;
    bw_entry found;
    bw_status status;
} search;

static bool look_at(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    search *s = ctx;
    if (entry->kind == BW_KIND_TOOL_CALIBRATED &&
        strcmp(bw_entry_text(entry, BW_M_TOOL, ""), s->tool) == 0) {
        const char *copy = bw_arena_copy(s->arena, json, len);
        s->status = copy != NULL ? bw_entry_decode(copy, len, s->arena, &s->found, NULL) : BW_E_MEM;
        s->found.number = entry->number;
    }
    return s->status == BW_OK;
}

static int make_of_calibration(job *j, const bw_sheet **out) {
    search s = {.tool = j->args->word[0], .arena = j->arena, .status = BW_OK};
    bw_err err = {0};
    bw_status status = bw_store_each(j->store, NULL, look_at, &s, &err);
    bw_meter_end(&j->meter);
    if (status == BW_OK && s.status == BW_OK && s.found.number == 0) {
        bw_complain("the record has no calibration of a tool %s; tool calibrate makes one", s.tool);
        return BW_EXIT_USAGE;
    }
    if (status == BW_OK) {
        status = s.status;
    }
    if (status == BW_OK) {
        status = bw_sheet_of_calibration(&s.found, &j->proof, j->arena, out, &err);
    }
    return bw_exit_of(status, &err);
}

static int make_blank(job *j, const bw_sheet **out) {
    bw_loaded loaded = {0};
    bw_err err = {0};
    bw_status status = bw_sequence_load(j->args->word[0], j->arena, &loaded, &err);
    if (status == BW_E_ABSENT) {
        bw_complain("%s", err.text);
        return BW_EXIT_USAGE;
    }
    if (status == BW_OK && loaded.plan == NULL) {
        bw_mistakes_print(loaded.mistake, loaded.mistake_n, stderr);
        return BW_EXIT_NO;
    }
    if (status == BW_OK) {
        status = bw_sheet_of_plan(loaded.plan, j->arena, out, &err);
    }
    return bw_exit_of(status, &err);
}

static int make_from_record(job *j, const bw_sheet **out) {
    bw_err err = {0};
    bw_status status = bw_store_open(j->args->home, BW_STORE_READ, &j->store, &err);
    if (status == BW_OK) {
        status = bw_store_newest_checkpoint(j->store, j->arena, &j->proof.checkpoint, &err);
    }
    if (status != BW_OK) {
        return bw_exit_of(status, &err);
    }
    bw_meter_watch(&j->meter, j->store);
    find_key(j->args->home, j->store, j->line, j->pem, &j->proof);
    return j->args->value[OPT_CALIBRATION] != NULL ? make_of_calibration(j, out)
                                                   : make_of_build(j, out);
}

static bool options_fit(const bw_args *args) {
    static const size_t kinds[] = {OPT_BLANK, OPT_TAG, OPT_CALIBRATION};
    size_t given = 0;
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        given += args->value[kinds[i]] != NULL ? 1 : 0;
    }
    if (given > 1) {
        bw_complain("--blank, --tag and --calibration are three different sheets: give one");
        return false;
    }
    if (args->value[OPT_TAG] != NULL && args->value[OPT_PAPER] != NULL) {
        bw_complain("a tag is 100 by 62 mm: it takes no --paper");
        return false;
    }
    return true;
}

static int sheet(const bw_args *args) {
    job j = {.args = args, .meter = bw_meter_begin("entries read", 0)};
    const bw_sheet *made = NULL;
    if (!options_fit(args) || !read_target(args, &j.to)) {
        return BW_EXIT_USAGE;
    }
    j.arena = bw_arena_new(ARENA_BYTES);
    if (j.arena == NULL) {
        bw_complain("no memory");
        return BW_EXIT_MACHINE;
    }
    int code = args->value[OPT_BLANK] != NULL ? make_blank(&j, &made) : make_from_record(&j, &made);
    if (code == BW_EXIT_YES) {
        code = deliver(made, &j.to, &j.meter);
    }
    bw_meter_end(&j.meter);
    bw_arena_free(j.arena);
    bw_store_close(j.store);
    return code;
}

static const bw_option_row options[] = {
    [OPT_OUT] = {"-o", "FILE", "write it there: .pdf, .svg or .txt; else as text to the screen"},
    [OPT_PAPER] = {"--paper", "SIZE", "a4 or letter; a4 unless given"},
    [OPT_TAG] = {"--tag", NULL, "a small label for the engine instead"},
    [OPT_BLANK] = {"--blank", NULL, "an empty sheet of a SEQUENCE, to go on by hand"},
    [OPT_CALIBRATION] = {"--calibration", NULL, "the sheet of a TOOL's newest calibration"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_sheet = {
    .name = "sheet",
    .usage = "BUILD [--tag] | --blank SEQUENCE | --calibration TOOL  [-o FILE] [--paper SIZE]",
    .says = "prints the build sheet, on paper or as text",
    .least_words = 1,
    .most_words = 1,
    .option = options,
    .run = sheet,
};
