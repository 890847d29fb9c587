/* bundle_again.c - see bundle_again.h. */
#include "record/bundle_again.h"

#include "base/text.h"
#include "record/base64.h"

#include <stdlib.h>
#include <string.h>
#include <sys/types.h>

/* Entries of a build; where the file is a pipe, a few thousand pulls. */
static const size_t limit_bytes = (size_t)1 << 30;

typedef struct kept {
    struct kept *next;
    uint64_t number;       /* of an entry */
    char hex[BW_HASH_HEX]; /* of a trace */
    const void *data;      /* NULL: it is read again, from `at` */
    size_t len;
    off_t at;
} kept;

struct bw_again {
    FILE *in;
    off_t line; /* where it begins; -1: the file can't be read twice */
    bw_arena *arena;
    kept *entry, **entry_end;
    kept *trace;
};

bw_again *bw_again_new(FILE *in) {
    bw_again *again = calloc(1, sizeof *again);
    if (again != NULL) {
        again->in = in;
        again->arena = bw_arena_new(limit_bytes);
        again->entry_end = &again->entry;
    }
    if (again != NULL && again->arena == NULL) {
        free(again);
        return NULL;
    }
    return again;
}

void bw_again_free(bw_again *again) {
    if (again != NULL) {
        bw_arena_free(again->arena);
        free(again);
    }
}

size_t bw_bundle_line(FILE *in, char **text, size_t *room) {
    size_t n = 0;
    for (int c = getc_unlocked(in); c != EOF; c = getc_unlocked(in)) {
        if (n == *room) {
            size_t more = *room == 0 ? 4096 : *room * 2;
            char *moved = realloc(*text, more);
            if (moved == NULL) {
                free(*text);
                *text = NULL;
                *room = 0;
                return 0;
            }
            *text = moved;
            *room = more;
        }
        (*text)[n++] = (char)c;
        if (c == '\n' || n > BW_BUNDLE_LINE_MAX) {
            break;
        }
    }
    return n;
}

void bw_again_line(bw_again *again) {
    again->line = ftello(again->in);
}

static kept *keep(bw_again *again, const void *data, size_t len) {
    kept *one = bw_arena_alloc(again->arena, 1, sizeof *one);
    const char *copy = bw_arena_copy(again->arena, data, len);
    if (one == NULL || copy == NULL) {
        return NULL;
    }
    *one = (kept){.data = copy, .len = len};
    return one;
}

bool bw_again_entry(bw_again *again, uint64_t number, const char *json, size_t len) {
    kept *one = keep(again, json, len);
    if (one != NULL) {
        one->number = number;
        *again->entry_end = one;
        again->entry_end = &one->next;
    }
    return one != NULL;
}

bool bw_again_trace(bw_again *again, const bw_hash *name, const void *data, size_t len) {
    kept *one = again->line >= 0 ? bw_arena_alloc(again->arena, 1, sizeof *one)
                                 : keep(again, data, len);
    if (one != NULL) {
        one->at = again->line;
        bw_hex(name->byte, BW_HASH_BYTES, one->hex);
        one->next = again->trace;
        again->trace = one;
    }
    return one != NULL;
}

bool bw_hash_line(const char *hex, bw_hash *out) {
    return hex != NULL && strspn(hex, "0123456789abcdef") == BW_HASH_HEX - 1 &&
           hex[BW_HASH_HEX - 1] == '\0' && bw_unhex(hex, out->byte, BW_HASH_BYTES);
}

const char *bw_trace_line(json_t *line, bw_hash *name, uint8_t **data, size_t *len) {
    const char *text = json_string_value(json_object_get(line, "base64"));
    size_t n = json_string_length(json_object_get(line, "base64"));
    *data = NULL;
    if (text == NULL || !bw_hash_line(json_string_value(json_object_get(line, "trace")), name)) {
        return "a trace needs its hash in hex and its bytes in base64";
    }
    uint8_t *bytes = malloc(n + 1);
    if (bytes != NULL && !bw_unbase64(text, n, bytes, n + 1, len)) {
        free(bytes);
        return "the bytes of a trace are not base64";
    }
    *data = bytes;
    return NULL;
}

/* The file may have changed since: it must still be the trace of that name. */
static bw_status read_again(const bw_again *again, const kept *one, bw_arena *arena,
                            const void **data, size_t *len, bw_err *err) {
    char *text = NULL;
    size_t room = 0;
    size_t got = fseeko(again->in, one->at, SEEK_SET) == 0 ? bw_bundle_line(again->in, &text, &room)
                                                           : 0;
    json_t *line = got > 0 ? json_loadb(text, got, JSON_REJECT_DUPLICATES, NULL) : NULL;
    bw_hash name = {{0}};
    bw_hash is = {{0}};
    uint8_t *bytes = NULL;
    char hex[BW_HASH_HEX] = "";
    bool there = bw_trace_line(line, &name, &bytes, len) == NULL && bytes != NULL &&
                 bw_sha256(bytes, *len, &is) == BW_OK;
    bw_hex(is.byte, BW_HASH_BYTES, hex);
    there = there && strcmp(hex, one->hex) == 0;
    *data = there ? bw_arena_copy(arena, (const char *)bytes, *len) : NULL;
    free(bytes);
    json_decref(line);
    free(text);
    return *data != NULL ? BW_OK : bw_fail(err, BW_E_IO, "a trace can't be read a second time");
}

static bw_status read_trace(void *ctx, const char *hex, bw_arena *arena, const void **data,
                            size_t *len, bw_err *err) {
    const bw_again *again = ctx;
    for (const kept *one = again->trace; one != NULL; one = one->next) {
        if (strcmp(one->hex, hex) == 0 && one->data == NULL) {
            return read_again(again, one, arena, data, len, err);
        }
        if (strcmp(one->hex, hex) == 0) {
            *data = one->data;
            *len = one->len;
            return BW_OK;
        }
    }
    return bw_fail(err, BW_E_ABSENT, "the bundle has no trace of that name");
}

static bw_status each_kept(void *ctx, const char *build, bw_take_entry *take, void *take_ctx,
                           bw_err *err) {
    const bw_again *again = ctx;
    bool go_on = true;
    bw_status status = BW_OK;
    (void)build; /* it has no other */
    for (const kept *one = again->entry; status == BW_OK && go_on && one != NULL; one = one->next) {
        bw_entry entry;
        bw_arena *arena = bw_arena_new(0);
        status = arena == NULL ? bw_fail(err, BW_E_MEM, "no memory for a bundle")
                               : bw_entry_decode(one->data, one->len, arena, &entry, err);
        if (status == BW_OK) {
            entry.number = one->number;
            go_on = take(take_ctx, &entry, one->data, one->len);
        }
        bw_arena_free(arena);
    }
    return status;
}

typedef struct judging {
    const bw_audit_setup *setup;
    const bw_origin *origin;
    bw_findings *findings;
    uint64_t *rejudged;
} judging;

static bool judge_one(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    const judging *j = ctx;
    (void)json;
    (void)len;
    bw_findings_judge(j->findings, j->setup, j->origin, entry, j->rejudged);
    return true;
}

bw_status bw_again_judge(bw_again *again, const bw_audit_setup *setup, bw_findings *findings,
                         uint64_t *rejudged, bw_err *err) {
    const bw_origin origin = {again, read_trace, each_kept};
    judging j = {setup, &origin, findings, rejudged};
    return each_kept(again, NULL, judge_one, &j, err);
}
