/* replay.c - see replay.h. */
#include "session/replay.h"

#include <stdlib.h>
#include <string.h>

enum { SOURCES_MAX = 64 };

typedef struct reader {
    const char *build;
    bw_arena *arena;
    bw_entry *entry; /* grown by doubling; the last one is the arena's too */
    size_t n, room;
    int64_t last_time_ms;
    bw_err err;
} reader;

static bool grow(reader *r) {
    if (r->n < r->room) {
        return true;
    }
    size_t room = r->room == 0 ? 256 : 2 * r->room;
    bw_entry *more = realloc(r->entry, room * sizeof *more);
    if (more == NULL) {
        return false;
    }
    r->entry = more;
    r->room = room;
    return true;
}

/* Entries that come from the store live for the call only, so each is decoded again to stay. */
static bool take(void *ctx, const bw_entry *entry, const char *json, size_t len) {
    reader *r = ctx;
    r->last_time_ms = entry->time_ms;
    if (entry->build == NULL || strcmp(entry->build, r->build) != 0) {
        return true;
    }
    const char *copy = bw_arena_copy(r->arena, json, len);
    if (copy == NULL || !grow(r)) {
        (void)bw_fail(&r->err, BW_E_MEM, "no memory for the entries of build %s", r->build);
        return false;
    }
    bw_entry *kept = &r->entry[r->n];
    if (bw_entry_decode(copy, len, r->arena, kept, &r->err) != BW_OK) {
        return false;
    }
    kept->number = entry->number;
    r->n++;
    return true;
}

static bw_status keep(reader *r, bw_arena *arena, bw_replay *out, bw_err *err) {
    bw_entry *kept = bw_arena_alloc(arena, r->n, sizeof *kept);
    if (kept == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for the entries of build %s", r->build);
    }
    if (r->n > 0) {
        memcpy(kept, r->entry, r->n * sizeof *kept);
    }
    out->entry = kept;
    out->entry_n = r->n;
    out->last_time_ms = r->last_time_ms;
    out->rehearsal = r->n > 0 && kept[0].rehearsal;
    return BW_OK;
}

/* The newest adopted sequence, with the modules that follow it. */
static bw_status find_sources(bw_arena *arena, bw_replay *out, bw_err *err) {
    bw_source *source = bw_arena_alloc(arena, SOURCES_MAX, sizeof *source);
    if (source == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for the recorded sequence");
    }
    for (size_t i = 0; i < out->entry_n; i++) {
        const bw_entry *e = &out->entry[i];
        if (e->kind == BW_KIND_SEQUENCE_ADOPTED) {
            out->source_n = 0;
        } else if (e->kind != BW_KIND_MODULE_ADOPTED || out->source_n == 0) {
            continue;
        }
        if (out->source_n == SOURCES_MAX) {
            return bw_fail(err, BW_E_LIMIT, "the recorded sequence has too many modules");
        }
        const char *text = bw_entry_text(e, BW_M_TEXT, "");
        source[out->source_n++] = (bw_source){
            .name = bw_entry_text(e, BW_M_FILE, "sequence"), .text = text, .len = strlen(text)};
    }
    out->source = source;
    return BW_OK;
}

static bw_status fold(const char *build, bw_arena *arena, bw_replay *out, bw_err *err) {
    bw_loaded loaded = {0};
    bw_status status = bw_sequence_load_sources(out->source, out->source_n, arena, &loaded, err);
    if (status != BW_OK) {
        return bw_fail_in(err, status, "the recorded sequence");
    }
    if (loaded.plan == NULL) {
        const bw_mistake *m = &loaded.mistake[0];
        return bw_fail(err, BW_E_DATA, "the recorded sequence has mistakes: line %d: %s",
                       m->where.line, m->text);
    }
    bw_session_identity identity = {
        .build = build, .bench = out->entry[0].bench, .rehearsal = out->rehearsal};
    out->session = bw_session_new(loaded.plan, &identity, arena);
    if (out->session == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for build %s", build);
    }
    out->plan = loaded.plan;
    for (size_t i = 0; i < out->entry_n; i++) {
        bw_session_apply(out->session, &out->entry[i]);
    }
    return BW_OK;
}

bw_status bw_replay_build(bw_store *store, const char *build, bw_arena *arena, bw_replay *out,
                          bw_err *err) {
    reader r = {.build = build, .arena = arena, .last_time_ms = INT64_MIN};
    *out = (bw_replay){0};
    bw_status status = bw_store_each(store, NULL, take, &r, err);
    if (status == BW_OK && r.err.code != BW_OK) {
        status = bw_fail(err, r.err.code, "%s", r.err.text);
    }
    if (status == BW_OK) {
        status = keep(&r, arena, out, err);
    }
    free(r.entry);
    if (status == BW_OK) {
        status = find_sources(arena, out, err);
    }
    if (status == BW_OK && out->source_n > 0) {
        status = fold(build, arena, out, err);
    }
    return status;
}
