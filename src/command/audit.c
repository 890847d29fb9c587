/* audit.c - boltwright audit: the record proved, or what is wrong with it named. */
#include "command/command.h"

#include "base/text.h"
#include "record/audit.h"
#include "session/rejudge.h"

#include <inttypes.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OPT_BUILD, OPT_REJUDGE, OPT_PUBLIC_KEY };

enum { PATH_BYTES = 4200, KEY_TEXT_MAX = 4096 };

static const char *const signature_words[] = {
    [BW_SIGNATURE_NONE] = "none", [BW_SIGNATURE_GOOD] = "good", [BW_SIGNATURE_BAD] = "bad"};

static bw_status read_public_key(const char *path, bw_verifier *out, bw_err *err) {
    char text[KEY_TEXT_MAX];
    FILE *in = fopen(path, "r");
    if (in == NULL) {
        return bw_fail(err, BW_E_ARG, "the public key file %s can't be read", path);
    }
    size_t n = fread(text, 1, sizeof text - 1, in);
    (void)fclose(in);
    text[n] = '\0';
    bw_status status = bw_verifier_parse(text, out, err);
    if (status != BW_OK) {
        (void)bw_fail_in(err, status, path);
        err->code = BW_E_ARG;
        return BW_E_ARG;
    }
    return BW_OK;
}

/* The bench's own key, where none from outside is given: shows that the record fits the key that
 * lies beside it, which is less than that it fits the key one knows from elsewhere. */
static bw_status own_key(const char *home, bw_verifier *out, bool *known, bw_err *err) {
    char path[PATH_BYTES];
    char line[BW_VERIFIER_MAX];
    bw_text text = bw_text_on(path, sizeof path);
    bw_key *key = NULL;
    bw_text_add(&text, "%s/key", home);
    bw_status status = bw_key_read(path, &key, err);
    if (status == BW_E_ABSENT) {
        *known = false;
        return BW_OK;
    }
    if (status == BW_OK) {
        status = bw_key_verifier(key, line, err);
    }
    bw_key_free(key);
    *known = status == BW_OK;
    return status == BW_OK ? bw_verifier_parse(line, out, err) : status;
}

static void print_json(const bw_audit *a) {
    char root[BW_HASH_HEX];
    json_t *findings = json_array();
    bw_hex(a->root.byte, BW_HASH_BYTES, root);
    for (size_t i = 0; i < a->finding_n; i++) {
        json_t *one = json_object();
        (void)json_object_set_new(one, "entry", json_integer((json_int_t)a->finding[i].entry));
        (void)json_object_set_new(one, "message", json_string(a->finding[i].text));
        (void)json_array_append_new(findings, one);
    }
    json_t *all = json_object();
    (void)json_object_set_new(all, "entries", json_integer((json_int_t)a->entries));
    (void)json_object_set_new(all, "root", json_string(root));
    (void)json_object_set_new(all, "checkpoints", json_integer((json_int_t)a->checkpoints));
    (void)json_object_set_new(all, "signatures", json_string(signature_words[a->signatures]));
    (void)json_object_set_new(all, "rejudged", json_integer((json_int_t)a->rejudged));
    (void)json_object_set_new(all, "findings", findings);
    (void)json_dumpf(all, stdout, JSON_COMPACT);
    (void)printf("\n");
    json_decref(all);
}

static void print_text(const bw_audit *a, bool from_outside) {
    char root[BW_HASH_HEX];
    bw_hex(a->root.byte, BW_HASH_BYTES, root);
    for (size_t i = 0; i < a->finding_n; i++) {
        if (a->finding[i].entry > 0) {
            (void)printf("entry %" PRIu64 ": %s\n", a->finding[i].entry, a->finding[i].text);
        } else {
            (void)printf("record: %s\n", a->finding[i].text);
        }
    }
    (void)printf("%" PRIu64 " entries, root %s\n%" PRIu64 " checkpoints, signatures %s%s\n",
                 a->entries, root, a->checkpoints, signature_words[a->signatures],
                 from_outside ? ""
                              : " (by the key beside the record; --public-key takes one from "
                                "outside)");
    if (a->rejudged > 0) {
        (void)printf("%" PRIu64 " verdicts and values computed again\n", a->rejudged);
    }
    if (a->finding_n > 0) {
        (void)printf("NO: %zu findings.\n", a->finding_n);
        return;
    }
    (void)printf("YES: the record is intact as far as it goes. Whether a newer copy exists can't "
                 "be told without a checkpoint from outside.\n");
}

/* An entry that can't be decoded comes under every id and is nobody's. */
static bool found(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    bool *there = ctx;
    (void)json;
    (void)len;
    *there = entry->kind_name[0] != '\0';
    return !*there;
}

/* A record that can't be read to its end is the audit's business, not this question's. */
static bool has_build(bw_store *store, const char *build) {
    bool there = false;
    return build == NULL || bw_store_each(store, build, found, &there, NULL) != BW_OK || there;
}

static int run(const bw_args *args, bw_store *store, const bw_verifier *verifier, bw_arena *arena) {
    bw_audit result;
    bw_err err = {0};
    bw_rejudger *rejudger = args->value[OPT_REJUDGE] != NULL ? bw_rejudger_new() : NULL;
    if (args->value[OPT_REJUDGE] != NULL && rejudger == NULL) {
        bw_complain("no memory");
        return BW_EXIT_MACHINE;
    }
    if (!has_build(store, args->value[OPT_BUILD])) {
        bw_complain("the record has no build %s", args->value[OPT_BUILD]);
        bw_rejudger_free(rejudger);
        return BW_EXIT_USAGE;
    }
    bw_status status = bw_audit_run(store, verifier, args->value[OPT_BUILD],
                                    rejudger != NULL ? bw_rejudge_entry : NULL, rejudger, arena,
                                    &result, &err);
    bw_rejudger_free(rejudger);
    if (status != BW_OK) {
        return bw_exit_of(status, &err);
    }
    if (args->json) {
        print_json(&result);
    } else {
        print_text(&result, args->value[OPT_PUBLIC_KEY] != NULL);
    }
    return result.finding_n == 0 ? BW_EXIT_YES : BW_EXIT_NO;
}

static int audit(const bw_args *args) {
    bw_verifier verifier;
    bool known = true;
    bw_err err = {0};
    const char *path = args->value[OPT_PUBLIC_KEY];
    bw_status status = path != NULL ? read_public_key(path, &verifier, &err)
                                    : own_key(args->home, &verifier, &known, &err);
    if (status != BW_OK) {
        return bw_exit_of(status, &err);
    }
    bw_store *store = NULL;
    status = bw_store_open(args->home, BW_STORE_READ, &store, &err);
    if (status != BW_OK) {
        return bw_exit_of(status, &err);
    }
    bw_arena *arena = bw_arena_new(0);
    int code = BW_EXIT_MACHINE;
    if (arena == NULL) {
        bw_complain("no memory");
    } else {
        code = run(args, store, known ? &verifier : NULL, arena);
    }
    bw_arena_free(arena);
    bw_store_close(store);
    return code;
}

static const bw_option_row options[] = {
    [OPT_BUILD] = {"--build", "ID", "judge again this build only"},
    [OPT_REJUDGE] = {"--rejudge", NULL, "compute every verdict and value again"},
    [OPT_PUBLIC_KEY] = {"--public-key", "FILE", "the bench's public key, from outside"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_audit = {
    .name = "audit",
    .usage = "[--build ID] [--rejudge] [--public-key FILE]",
    .says = "proves the record, or names what is wrong with it",
    .least_words = 0,
    .most_words = 0,
    .option = options,
    .run = audit,
};
