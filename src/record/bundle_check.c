/* bundle_check.c - see bundle.h.  The file may come from anywhere. */
#include "record/bundle.h"

#include "base/text.h"
#include "record/audit_int.h"
#include "record/bundle_again.h"
#include "record/proof.h"

#include <inttypes.h>
#include <jansson.h>
#include <stdlib.h>
#include <string.h>

enum { BUILD_MAX = 256 };

typedef struct checkpoint {
    const char *note; /* in the arena */
    uint64_t size;
    bw_hash root;
} checkpoint;

/* A trace that an entry names. */
typedef struct need {
    struct need *next;
    uint64_t entry;
    bw_member member;
    char hex[BW_HASH_HEX];
} need;

typedef struct reader {
    const bw_audit_setup *setup;
    bw_arena *arena;
    bw_hasher *hasher;
    bw_builds *builds;
    bw_signers signers;
    bw_findings findings;
    bw_traces traces;
    need *needs;
    bw_again *again; /* NULL: nothing is judged again */
    uint64_t rejudged;
    checkpoint newest;
    checkpoint *older; /* with a proof that holds */
    size_t older_n, older_room;
    uint64_t checkpoint_n;
    uint64_t line, entry_n, last_number;
    bool closed;
    bool ended;
    bw_err *err;
} reader;

typedef bw_status take_line(reader *r, json_t *line);

static bw_status no_memory(bw_err *err) {
    (void)bw_fail(err, BW_E_MEM, "no memory for a bundle");
    return BW_E_MEM;
}

static bw_status malformed(reader *r, const char *what) {
    bw_findings_add(&r->findings, 0, "line %" PRIu64 ": %s", r->line, what);
    return BW_OK;
}

static bool read_proof(json_t *list, bw_proof *out) {
    size_t n = json_array_size(list);
    bool fits = json_is_array(list) && n <= BW_PROOF_MAX;
    out->n = 0;
    for (size_t i = 0; fits && i < n; i++) {
        fits = bw_hash_line(json_string_value(json_array_get(list, i)), &out->hash[out->n++]);
    }
    return fits;
}

/* BW_E_DATA, with a finding, where it is none. */
static bw_status read_checkpoint(reader *r, json_t *value, checkpoint *out) {
    const char *note = json_string_value(value);
    size_t len = json_string_length(value);
    bw_signature signature = BW_SIGNATURE_NONE;
    bw_err why = {0};
    bw_status status = bw_checkpoint_read(note == NULL ? "" : note, note == NULL ? 0 : len, NULL,
                                          &out->size, &out->root, &signature, &why);
    if (status == BW_E_DATA) {
        (void)malformed(r, why.text);
        return status;
    }
    out->note = status == BW_OK ? bw_arena_copy(r->arena, note, len) : NULL;
    return out->note == NULL ? no_memory(r->err) : BW_OK;
}

static void need_trace(reader *r, const bw_entry *entry, bw_member member) {
    const char *hex = bw_entry_text(entry, member, NULL);
    need *one = hex == NULL ? NULL : bw_arena_alloc(r->arena, 1, sizeof *one);
    if (hex == NULL) {
        return;
    }
    if (one == NULL) {
        r->findings.failed = true;
        return;
    }
    *one = (need){.next = r->needs, .entry = entry->number, .member = member};
    (void)bw_text_copy(one->hex, sizeof one->hex, hex);
    r->needs = one;
}

/* The build of the bundle, or a key change of the bench. */
static bool belongs(const reader *r, const bw_entry *entry) {
    return strcmp(entry->build, r->setup->build) == 0 ||
           (strcmp(entry->build, BW_BUILD_NONE) == 0 && entry->kind == BW_KIND_KEY_CHANGED);
}

static bw_status weigh_entry(reader *r, const bw_entry *entry) {
    if (!belongs(r, entry)) {
        bw_findings_add(&r->findings, entry->number, "it must be of build %.80s, not of %.80s",
                        r->setup->build, entry->build);
    }
    bw_signers_take(&r->signers, entry, &r->findings);
    if (strcmp(entry->build, BW_BUILD_NONE) == 0) {
        return BW_OK;
    }
    if (entry->number <= r->last_number) {
        bw_findings_add(&r->findings, entry->number,
                        "the entries must stand in their order; it comes behind entry %" PRIu64,
                        r->last_number);
        return BW_OK;
    }
    r->last_number = entry->number;
    r->closed = entry->kind == BW_KIND_BUILD_CLOSED ||
                (r->closed && entry->kind != BW_KIND_BUILD_REOPENED);
    need_trace(r, entry, BW_M_TRACE);
    need_trace(r, entry, BW_M_RAW);
    return bw_builds_take(r->builds, entry, &r->findings);
}

static bw_status check_proof(reader *r, uint64_t number, const char *data, size_t len,
                             const bw_proof *proof) {
    bw_hash leaf;
    bool holds = false;
    bw_status status = bw_hasher_leaf(r->hasher, data, len, &leaf);
    if (status == BW_OK) {
        status = bw_check_inclusion(&leaf, number, r->newest.size, &r->newest.root, proof, &holds);
    }
    if (status == BW_OK && !holds) {
        bw_findings_add(&r->findings, number,
                        "its proof does not lead to the root that the checkpoint signs: the entry "
                        "is not what it was");
    }
    return status == BW_OK ? BW_OK : no_memory(r->err);
}

static bw_status take_entry(reader *r, json_t *line) {
    json_int_t number = json_integer_value(json_object_get(line, "entry"));
    json_t *value = json_object_get(line, "data");
    bw_proof proof;
    bw_entry entry;
    bw_err why = {0};
    if (number < 1 || !json_is_string(value) ||
        !read_proof(json_object_get(line, "proof"), &proof)) {
        return malformed(r, "an entry needs a number, its data, and a proof of hex hashes");
    }
    const char *data = json_string_value(value);
    size_t len = json_string_length(value);
    bw_arena *arena = bw_arena_new(0);
    bw_status status = arena == NULL ? no_memory(r->err)
                                     : check_proof(r, (uint64_t)number, data, len, &proof);
    if (status == BW_OK) {
        r->entry_n++;
        status = bw_entry_decode(data, len, arena, &entry, &why);
        entry.number = (uint64_t)number;
        if (status == BW_OK) {
            status = weigh_entry(r, &entry);
            bool judged = r->again != NULL && strcmp(entry.build, r->setup->build) == 0;
            if (judged && !bw_again_entry(r->again, entry.number, data, len)) {
                status = BW_E_MEM;
            }
        } else if (status == BW_E_DATA) {
            bw_findings_add(&r->findings, (uint64_t)number, "it is damaged: %s", why.text);
            status = BW_OK;
        }
    }
    bw_arena_free(arena);
    return status == BW_OK || status == BW_E_DATA ? status : no_memory(r->err);
}

static bw_status take_trace(reader *r, json_t *line) {
    uint8_t *data = NULL;
    size_t n = 0;
    bw_hash name;
    bw_hash is;
    const char *wrong = bw_trace_line(line, &name, &data, &n);
    if (wrong != NULL) {
        return malformed(r, wrong);
    }
    const bw_piece piece = {data, n};
    bw_status status = data == NULL ? BW_E_MEM : bw_hasher_sum(r->hasher, &piece, 1, &is);
    if (status == BW_OK && memcmp(&is, &name, sizeof is) != 0) {
        bw_findings_add(&r->findings, 0, "the trace %s has other bytes",
                        json_string_value(json_object_get(line, "trace")));
    } else if (status == BW_OK && (!bw_traces_add(&r->traces, &is) ||
                                   (r->again != NULL && !bw_again_trace(r->again, &is, data, n)))) {
        status = BW_E_MEM;
    }
    free(data);
    return status == BW_OK ? BW_OK : no_memory(r->err);
}

static bw_status keep_older(reader *r, const checkpoint *one) {
    if (r->older_n == r->older_room) {
        size_t room = r->older_room == 0 ? 8 : r->older_room * 2;
        checkpoint *moved = realloc(r->older, room * sizeof *moved);
        if (moved == NULL) {
            return no_memory(r->err);
        }
        r->older = moved;
        r->older_room = room;
    }
    r->older[r->older_n++] = *one;
    return BW_OK;
}

static bw_status take_checkpoint(reader *r, json_t *line) {
    checkpoint one = {0};
    bw_proof proof;
    bool holds = false;
    bw_status status = read_checkpoint(r, json_object_get(line, "checkpoint"), &one);
    if (status != BW_OK) {
        return status == BW_E_DATA ? BW_OK : status;
    }
    r->checkpoint_n++;
    if (!read_proof(json_object_get(line, "consistency"), &proof)) {
        return malformed(r, "a checkpoint needs a proof of hex hashes");
    }
    status = bw_check_consistency(one.size, &one.root, r->newest.size, &r->newest.root, &proof,
                                  &holds);
    if (status != BW_OK) {
        return no_memory(r->err);
    }
    if (!holds) {
        bw_findings_add(&r->findings, 0,
                        "the checkpoint over %" PRIu64 " entries is not proved consistent with "
                        "that over %" PRIu64,
                        one.size, r->newest.size);
        return BW_OK;
    }
    return keep_older(r, &one);
}

static bw_status take_end(reader *r, json_t *line) {
    json_int_t says = json_integer_value(json_object_get(line, "end"));
    r->ended = true;
    return (uint64_t)says == r->line - 1 && says > 0
               ? BW_OK
               : malformed(r, "the end must count the lines before it");
}

static take_line *taker(json_t *line) {
    static const struct {
        const char *member;
        take_line *take;
    } rows[] = {{"entry", take_entry},
                {"trace", take_trace},
                {"consistency", take_checkpoint},
                {"end", take_end}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (json_object_get(line, rows[i].member) != NULL) {
            return rows[i].take;
        }
    }
    return NULL;
}

/* The first line: whose build, under which checkpoint. */
static bw_status take_heading(reader *r, json_t *line, bw_audit_setup *setup) {
    json_t *build = json_object_get(line, "build");
    json_int_t version = json_integer_value(json_object_get(line, "boltwright_bundle"));
    if (version < 1) {
        return bw_fail(r->err, BW_E_DATA,
                       "this is no bundle: its first line has no "
                       "`boltwright_bundle`");
    }
    if (version > BW_BUNDLE_VERSION) {
        return bw_fail(r->err, BW_E_DATA, "the bundle has format %lld, this program knows %d",
                       (long long)version, BW_BUNDLE_VERSION);
    }
    size_t len = json_string_length(build);
    if (!json_is_string(build) || len == 0 || len > BUILD_MAX ||
        !bw_text_printable(json_string_value(build), len, false)) {
        return bw_fail(r->err, BW_E_DATA, "the bundle does not say which build it is of");
    }
    setup->build = bw_arena_copy(r->arena, json_string_value(build), len);
    bw_status status = setup->build == NULL
                           ? no_memory(r->err)
                           : read_checkpoint(r, json_object_get(line, "checkpoint"), &r->newest);
    r->checkpoint_n++;
    return status == BW_E_DATA
               ? bw_fail(r->err, status, "the bundle's first line has no checkpoint")
               : status;
}

static bw_status take(reader *r, const char *text, size_t len, bw_audit_setup *setup) {
    json_error_t where;
    r->line++;
    json_t *line = json_loadb(text, len, JSON_REJECT_DUPLICATES, &where);
    bw_status status = BW_OK;
    if (!json_is_object(line)) {
        status = r->line == 1 ? bw_fail(r->err, BW_E_DATA,
                                        "this is no bundle: its first line is no JSON object")
                              : malformed(r, "it is no JSON object");
    } else if (r->line == 1) {
        status = take_heading(r, line, setup);
    } else if (r->ended) {
        status = malformed(r, "nothing may stand behind the end");
    } else {
        take_line *by = taker(line);
        status = by != NULL ? by(r, line) : malformed(r, "it is nothing that a bundle has");
    }
    json_decref(line);
    return status;
}

static bw_status read_lines(reader *r, FILE *in, bw_audit_setup *setup) {
    char *text = NULL;
    size_t room = 0;
    bw_status status = BW_OK;
    while (status == BW_OK) {
        if (r->again != NULL) {
            bw_again_line(r->again);
        }
        size_t len = bw_bundle_line(in, &text, &room);
        if (len == 0) {
            break;
        }
        status = len > BW_BUNDLE_LINE_MAX
                     ? bw_fail(r->err, BW_E_DATA, "line %" PRIu64 " is too long", r->line + 1)
                     : take(r, text, len, setup);
    }
    if (status == BW_OK && ferror(in) != 0) {
        status = bw_fail(r->err, BW_E_IO, "the bundle cannot be read");
    } else if (status == BW_OK && text == NULL && feof(in) == 0) {
        status = no_memory(r->err);
    }
    free(text);
    return status == BW_OK && r->line == 0 ? bw_fail(r->err, BW_E_DATA, "the bundle is empty")
                                           : status;
}

static void check_whole(reader *r) {
    if (!r->ended) {
        bw_findings_lack(&r->findings, 0, "the bundle has no end: it was cut off");
    }
    r->findings.failed = !bw_traces_index(&r->traces) || r->findings.failed;
    for (const need *one = r->needs; one != NULL; one = one->next) {
        if (!bw_traces_have(&r->traces, one->hex)) {
            bw_findings_lack(&r->findings, one->entry, "its `%s` %.64s is not in the bundle",
                             bw_member_name(one->member), one->hex);
        }
    }
    if (r->last_number == 0) {
        bw_findings_lack(&r->findings, 0, "the bundle has no entry of build %.80s",
                         r->setup->build);
    }
}

static const checkpoint *find_checkpoint(const reader *r, uint64_t size) {
    for (size_t i = 0; i < r->older_n; i++) {
        if (r->older[i].size == size) {
            return &r->older[i];
        }
    }
    return size == r->newest.size ? &r->newest : NULL;
}

/* What is held from outside must be proved by the bundle. */
static bool check_outside(reader *r) {
    bool held = false;
    for (size_t i = 0; i < r->setup->outside_n; i++) {
        const bw_outside *outside = &r->setup->outside[i];
        const checkpoint *here = find_checkpoint(r, outside->size);
        if (here == NULL) {
            bw_findings_lack(&r->findings, 0,
                             "the bundle has no proof about the checkpoint %s over %" PRIu64
                             " entries: ask for one made by export --checkpoint",
                             outside->from, outside->size);
        } else if (memcmp(&here->root, &outside->root, sizeof here->root) != 0) {
            bw_findings_add(&r->findings, 0,
                            "the checkpoint %s over %" PRIu64 " entries has another root than that "
                            "of the bundle: these are two histories",
                            outside->from, outside->size);
        } else {
            held = true;
        }
    }
    return held;
}

static bw_status judge_note(reader *r, const checkpoint *one, bw_signature *all) {
    bw_signature signature = BW_SIGNATURE_NONE;
    bw_status status = bw_signers_judge(&r->signers, one->note, strlen(one->note), &signature,
                                        &r->findings, r->err);
    if (status == BW_OK && signature == BW_SIGNATURE_BAD) {
        bw_findings_add(&r->findings, 0,
                        "the checkpoint over %" PRIu64 " entries has a bad signature", one->size);
        *all = BW_SIGNATURE_BAD;
    } else if (status == BW_OK && signature == BW_SIGNATURE_NONE) {
        *all = *all == BW_SIGNATURE_GOOD ? BW_SIGNATURE_NONE : *all;
        if (r->setup->verifier_n > 0) {
            bw_findings_add(&r->findings, 0,
                            "the checkpoint over %" PRIu64
                            " entries is not signed by the key that was given",
                            one->size);
        }
    }
    return status;
}

static int by_size(const void *a, const void *b) {
    const checkpoint *one = a;
    const checkpoint *other = b;
    return one->size < other->size ? -1 : one->size > other->size ? 1 : 0;
}

static bw_status judge_notes(reader *r, bw_signature *all) {
    bw_status status = BW_OK;
    if (r->older_n > 0) {
        qsort(r->older, r->older_n, sizeof *r->older, by_size);
    }
    *all = BW_SIGNATURE_GOOD;
    bw_signers_settle(&r->signers);
    for (size_t i = 0; status == BW_OK && i < r->older_n; i++) {
        status = judge_note(r, &r->older[i], all);
    }
    return status == BW_OK ? judge_note(r, &r->newest, all) : status;
}

static bw_status check(reader *r, FILE *in, bw_audit_setup *setup, bw_bundle_audit *out) {
    bw_signature signatures = BW_SIGNATURE_NONE;
    bw_status status = read_lines(r, in, setup);
    if (status == BW_OK) {
        check_whole(r);
        status = judge_notes(r, &signatures);
    }
    if (status == BW_OK && r->again != NULL) {
        status = bw_again_judge(r->again, setup, &r->findings, &r->rejudged, r->err);
    }
    if (status == BW_OK && r->findings.failed) {
        status = no_memory(r->err);
    }
    if (status != BW_OK) {
        return status;
    }
    bool proved = check_outside(r) || signatures == BW_SIGNATURE_GOOD;
    *out = (bw_bundle_audit){
        .audit = {.entries = r->entry_n,
                  .root = r->newest.root,
                  .checkpoints = r->checkpoint_n,
                  .signatures = signatures,
                  .rejudged = r->rejudged,
                  .proved = proved ? r->newest.size : 0,
                  .outcome = bw_findings_outcome(&r->findings, proved ? r->newest.size : 0)},
        .size = r->newest.size,
        .build = setup->build,
        .closed = r->closed,
        .traces = r->traces.different};
    out->audit.finding_n = r->findings.n;
    out->audit.finding = r->findings.item;
    return BW_OK;
}

bw_status bw_bundle_check(FILE *in, const bw_audit_setup *setup, bw_arena *arena,
                          bw_bundle_audit *out, bw_err *err) {
    bw_err own = {0};
    bw_audit_setup inner = *setup; /* its build is what the bundle says */
    reader *r = calloc(1, sizeof *r);
    err = err == NULL ? &own : err;
    if (r == NULL) {
        return no_memory(err);
    }
    *r = (reader){.setup = &inner,
                  .again = setup->rejudge != NULL ? bw_again_new(in) : NULL,
                  .arena = arena,
                  .hasher = bw_hasher_new(),
                  .builds = bw_builds_new(),
                  .findings = {.arena = arena},
                  .err = err};
    bw_signers_begin(&r->signers, setup->verifier, setup->verifier_n);
    bw_status status = r->hasher == NULL || r->builds == NULL ||
                               (setup->rejudge != NULL && r->again == NULL)
                           ? no_memory(err)
                           : check(r, in, &inner, out);
    bw_again_free(r->again);
    bw_traces_free(&r->traces);
    bw_builds_free(r->builds);
    bw_hasher_free(r->hasher);
    free(r->older);
    free(r);
    return status;
}
