/* audit.c - boltwright audit: the record proved, or what is wrong with it named. */
#include "command/command.h"
#include "command/progress.h"
#include "command/which.h"
#include "command/own_key.h"
#include "command/own_record.h"

#include "base/text.h"
#include "record/audit.h"
#include "record/bundle.h"
#include "session/rejudge.h"

#include <errno.h>
#include <inttypes.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { OPT_BUILD, OPT_REJUDGE, OPT_PUBLIC_KEY, OPT_CHECKPOINT };

enum { PATH_BYTES = 4200, KEYS_MAX = 16, OUTSIDE_MAX = 3 };

static const char *const signature_words[] = {
    [BW_SIGNATURE_NONE] = "none", [BW_SIGNATURE_GOOD] = "good", [BW_SIGNATURE_BAD] = "bad"};

/* What the record is held against. */
typedef struct basis {
    bw_verifier verifier[KEYS_MAX];
    bw_outside outside[OUTSIDE_MAX];
    bw_audit_setup setup;
    bool given_key;        /* from outside, not from beside the record */
    bool given_checkpoint; /* the same */
} basis;

/* The bench's own key, where none from outside is given: shows that the record fits the key that
 * lies beside it, which is less than that it fits the key one knows from elsewhere. */
static bw_status find_keys(const bw_args *args, basis *b, bw_err *err) {
    const char *path = args->value[OPT_PUBLIC_KEY];
    b->given_key = path != NULL;
    if (path != NULL) {
        return bw_public_keys_read(path, b->verifier, KEYS_MAX, &b->setup.verifier_n, err);
    }
    if (args->word_n > 0) {
        return BW_OK; /* a bundle comes from elsewhere */
    }
    bw_status status = bw_bench_key_public(args->home, &b->verifier[0], err);
    b->setup.verifier_n = status == BW_OK ? 1 : 0;
    return status == BW_E_ABSENT ? BW_OK : status;
}

static bw_status add_outside(basis *b, const char *path, const char *from, bw_err *err) {
    char note[BW_NOTE_MAX];
    bw_outside *to = &b->outside[b->setup.outside_n];
    bw_signature signature = BW_SIGNATURE_NONE;
    bw_status status = bw_note_file_read(path, note, err);
    if (status == BW_OK) {
        to->from = from;
        status = bw_checkpoint_read(note, strlen(note), NULL, &to->size, &to->root, &signature,
                                    err);
    }
    b->setup.outside_n += status == BW_OK ? 1 : 0;
    return status;
}

/* One that is there and can't be read must not count as none. */
static bool is_there(const char *path) {
    return path[0] != '\0' && (access(path, F_OK) == 0 || (errno != ENOENT && errno != ENOTDIR));
}

/* The one that was given, and the one that this bench remembers outside of the record. */
static bw_status find_checkpoints(const bw_args *args, basis *b, bw_err *err) {
    char seen[PATH_BYTES];
    bw_text text = bw_text_on(seen, sizeof seen);
    bw_text_add(&text, "%s/seen", args->home);
    bw_status status = BW_OK;
    b->given_checkpoint = args->value[OPT_CHECKPOINT] != NULL;
    if (b->given_checkpoint) {
        status = add_outside(b, args->value[OPT_CHECKPOINT], "that was given", err);
    }
    if (status == BW_OK && args->word_n == 0 && is_there(seen)) {
        status = add_outside(b, seen, "that this bench remembers", err);
    }
    return status;
}

static json_t *audit_json(const bw_audit *a) {
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
    (void)json_object_set_new(all, "outcome", json_string(bw_audit_word(a->outcome)));
    (void)json_object_set_new(all, "proved", json_integer((json_int_t)a->proved));
    (void)json_object_set_new(all, "findings", findings);
    return all;
}

/* Takes over all. */
static void print_json(json_t *all) {
    (void)json_dumpf(all, stdout, JSON_COMPACT);
    (void)printf("\n");
    json_decref(all);
}

static void print_findings(const bw_audit *a, const char *whole) {
    for (size_t i = 0; i < a->finding_n; i++) {
        if (a->finding[i].entry > 0) {
            (void)printf("entry %" PRIu64 ": %s\n", a->finding[i].entry, a->finding[i].text);
        } else {
            (void)printf("%s: %s\n", whole, a->finding[i].text);
        }
    }
}

/* What can't be known from the file itself is said in words. */
static void print_limits(const basis *b) {
    if (b->given_checkpoint) {
        (void)printf("It goes on from the checkpoint that was given. Whether there is a newer copy "
                     "than this one can't be told without a newer checkpoint.\n");
    } else {
        (void)printf("Whether a newer copy exists can't be told without a checkpoint from outside: "
                     "--checkpoint FILE takes one, as a build sheet carries it.\n");
    }
    if (!b->given_key && b->setup.verifier_n == 0) {
        (void)printf("No signature was tried: --public-key FILE takes the bench's public key.\n");
    } else if (!b->given_key) {
        (void)printf("Signatures were held against the key beside the record; --public-key "
                     "FILE takes one from outside, which shows more.\n");
    }
}

static void print_verdict(const bw_audit *a, const char *what) {
    switch (a->outcome) {
    case BW_AUDIT_INTACT:
        (void)printf("YES: the %s is intact as far as it goes.\n", what);
        break;
    case BW_AUDIT_DAMAGED:
        (void)printf("NO: the %s is damaged: %zu findings.\n", what, a->finding_n);
        break;
    case BW_AUDIT_INCOMPLETE:
        (void)printf("NO: the %s is incomplete: %zu findings.\n", what, a->finding_n);
        break;
    case BW_AUDIT_CANNOT_TELL:
        (void)printf("CANNOT TELL: nothing in the %s is wrong, but no signature that can be "
                     "believed, and no checkpoint from outside, covers any of it.\n",
                     what);
        break;
    }
}

static void print_text(const bw_audit *a, const basis *b) {
    char root[BW_HASH_HEX];
    bw_hex(a->root.byte, BW_HASH_BYTES, root);
    print_findings(a, "record");
    (void)printf("%" PRIu64 " entries, root %s\n%" PRIu64 " checkpoints, signatures %s; the first "
                 "%" PRIu64 " entries are proved\n",
                 a->entries, root, a->checkpoints, signature_words[a->signatures], a->proved);
    if (a->rejudged > 0) {
        (void)printf("%" PRIu64 " verdicts and values computed again\n", a->rejudged);
    }
    print_verdict(a, "record");
    print_limits(b);
}

/* Who gave a key or a checkpoint has asked whether they hold; no answer is no yes. */
static int code_of(const bw_audit *a, const basis *b) {
    bool asked = b->given_key || b->given_checkpoint;
    bool yes = a->finding_n == 0 && !(asked && a->outcome == BW_AUDIT_CANNOT_TELL);
    return yes ? BW_EXIT_YES : BW_EXIT_NO;
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

/* Each entry passes here, also where none is to be judged again. */
typedef struct watched {
    bw_rejudge *rejudge;
    void *rejudger;
    bw_meter meter;
} watched;

static const char *rejudge_watched(void *ctx, const bw_origin *origin, const bw_entry *entry,
                                   bw_arena *arena, uint64_t *rejudged) {
    watched *w = ctx;
    bw_meter_at(&w->meter, entry->number);
    return w->rejudge(w->rejudger, origin, entry, arena, rejudged);
}

static const char *what_is_done(const bw_args *args) {
    return args->value[OPT_REJUDGE] != NULL ? "entries judged again" : "entries checked";
}

/* ctx of the setup must be set to what is returned. */
static watched watch(basis *b, const char *what) {
    watched w = {
        .rejudge = b->setup.rejudge, .rejudger = b->setup.ctx, .meter = bw_meter_begin(what, 0)};
    b->setup.rejudge = rejudge_watched;
    return w;
}

static int run(const bw_args *args, bw_store *store, basis *b, bw_arena *arena) {
    bw_audit result;
    bw_err err = {0};
    const char *build = args->value[OPT_BUILD];
    watched w = watch(b, "entries read");
    bw_meter_watch(&w.meter, store);
    bool there = has_build(store, build);
    bw_store_watch(store, NULL, NULL);
    if (!there) {
        bw_meter_end(&w.meter);
        bw_complain_no_build(store, build);
        return BW_EXIT_USAGE;
    }
    b->setup.build = build;
    b->setup.ctx = &w;
    bw_meter_next(&w.meter, what_is_done(args), bw_store_size(store));
    bw_status status = bw_audit_run(store, &b->setup, arena, &result, &err);
    bw_meter_end(&w.meter);
    if (status != BW_OK) {
        return bw_exit_of(status, &err);
    }
    if (args->json) {
        print_json(audit_json(&result));
    } else {
        print_text(&result, b);
    }
    return code_of(&result, b);
}

static int audit_record(const bw_args *args, basis *b, bw_arena *arena) {
    bw_store *store = NULL;
    bw_err err = {0};
    bw_status status = bw_own_record_open(args->home, BW_STORE_READ, &store, &err);
    const char *elsewhere = status == BW_OK ? bw_store_elsewhere(store) : "";
    if (status == BW_OK && is_there(elsewhere)) {
        status = add_outside(b, elsewhere, "that is remembered outside of the home folder", &err);
    }
    int code = status == BW_OK ? run(args, store, b, arena) : bw_exit_of(status, &err);
    bw_store_close(store);
    return code;
}

static void print_bundle(const bw_bundle_audit *r, const basis *b) {
    char root[BW_HASH_HEX];
    bw_hex(r->audit.root.byte, BW_HASH_BYTES, root);
    print_findings(&r->audit, "bundle");
    (void)printf("build %s: %" PRIu64 " entries and %" PRIu64 " traces, each proved to be in a "
                 "record of %" PRIu64 " entries, root %s\n"
                 "%" PRIu64 " checkpoints, signatures %s\n%s\n",
                 r->build, r->audit.entries, r->traces, r->size, root, r->audit.checkpoints,
                 signature_words[r->audit.signatures],
                 r->closed ? "the build is closed" : "the build is not closed in it");
    if (r->audit.rejudged > 0) {
        (void)printf("%" PRIu64 " verdicts and values computed again\n", r->audit.rejudged);
    }
    print_verdict(&r->audit, "bundle");
    print_limits(b);
}

static int audit_bundle(const bw_args *args, basis *b, bw_arena *arena) {
    bw_bundle_audit result;
    bw_err err = {0};
    if (args->value[OPT_BUILD] != NULL) {
        bw_complain("--build needs the record; a bundle is one build");
        return BW_EXIT_USAGE;
    }
    if (bw_is_folder_instead(args->word[0], "a bundle")) {
        return BW_EXIT_USAGE;
    }
    FILE *in = fopen(args->word[0], "rb");
    if (in == NULL) {
        bw_complain("the bundle %s can't be read", args->word[0]);
        return BW_EXIT_USAGE;
    }
    watched w = watch(b, what_is_done(args));
    b->setup.ctx = &w;
    bw_status status = bw_bundle_check(in, &b->setup, arena, &result, &err);
    bw_meter_end(&w.meter);
    (void)fclose(in);
    if (status != BW_OK) {
        return bw_exit_of(status, &err);
    }
    if (args->json) {
        json_t *all = audit_json(&result.audit);
        (void)json_object_set_new(all, "build", json_string(result.build));
        (void)json_object_set_new(all, "size", json_integer((json_int_t)result.size));
        (void)json_object_set_new(all, "traces", json_integer((json_int_t)result.traces));
        (void)json_object_set_new(all, "closed", json_boolean(result.closed));
        print_json(all);
    } else {
        print_bundle(&result, b);
    }
    return code_of(&result.audit, b);
}

static int audit(const bw_args *args) {
    basis b = {0};
    bw_err err = {0};
    b.setup.verifier = b.verifier;
    b.setup.outside = b.outside;
    bw_status status = find_keys(args, &b, &err);
    if (status == BW_OK) {
        status = find_checkpoints(args, &b, &err);
    }
    if (status != BW_OK) {
        return bw_exit_of(status, &err);
    }
    bw_arena *arena = bw_arena_new(0);
    bw_rejudger *rejudger = bw_rejudger_new(args->value[OPT_REJUDGE] != NULL);
    if (arena == NULL || rejudger == NULL) {
        bw_complain("no memory");
        bw_rejudger_free(rejudger);
        bw_arena_free(arena);
        return BW_EXIT_MACHINE;
    }
    b.setup.rejudge = bw_rejudge_entry;
    b.setup.ctx = rejudger;
    int code = args->word_n > 0 ? audit_bundle(args, &b, arena) : audit_record(args, &b, arena);
    bw_rejudger_free(rejudger);
    bw_arena_free(arena);
    return code;
}

static const bw_option_row options[] = {
    [OPT_BUILD] = {"--build", "ID", "judge again this build only"},
    [OPT_REJUDGE] = {"--rejudge", NULL, "compute every verdict and value again"},
    [OPT_PUBLIC_KEY] = {"--public-key", "FILE", "the bench's public keys, from outside"},
    [OPT_CHECKPOINT] = {"--checkpoint", "FILE", "a checkpoint from outside: a note, or a sheet"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_audit = {
    .name = "audit",
    .usage = "[BUNDLE] [--build ID] [--rejudge] [--public-key FILE] [--checkpoint FILE]",
    .says = "proves the record, or names what is wrong with it",
    .least_words = 0,
    .more = "BUNDLE is one build in one file, as export --format bundle writes it; without it the "
            "record in the home folder is meant.",
    .most_words = 1,
    .option = options,
    .run = audit,
};
