/* load.c - the host's side: files in, a worker asked, a plan or mistakes out.  See sequence.h.
 *
 * The worker runs the text and asks for modules by name; this side alone opens files, and only
 * plain ones beside the sequence or in a lib folder next to it. */
#include "sequence/load.h"

#include "base/clock.h"
#include "base/text.h"
#include "sequence/mistakes.h"
#include "sequence/reader.h"
#include "sequence/sequence.h"
#include "sequence/source.h"

#include <string.h>

enum {
    HELLO_MS = 10000,        /* a cold start from a slow disk */
    MEMORY_SLACK = 32 << 20, /* the answer, the frames, the C library's own */
    CPU_S = 5
};

typedef struct load {
    bw_arena *arena;
    bw_sources sources;
} load;

bw_status bw_sequence_worker(bw_worker **out, bw_err *err) {
    bw_worker_limits limits = {.memory_bytes = BW_RUN_MEMORY_BYTES + MEMORY_SLACK, .cpu_s = CPU_S};
    bw_worker *worker = NULL;
    bw_status rc = bw_worker_new("sequence", limits, &worker, err);
    if (rc != BW_OK) {
        return rc;
    }
    bw_frame reply = {0, NULL, 0};
    rc = bw_worker_ask(worker, BW_FRAME_HELLO, NULL, 0, HELLO_MS, &reply, err);
    if (rc == BW_OK && reply.type != BW_FRAME_READY) {
        rc = bw_fail(err, BW_E_STATE, "sequences cannot be run safely on this machine: %.*s",
                     (int)(reply.len < 200 ? reply.len : 200), (const char *)reply.data);
    }
    if (rc != BW_OK) {
        bw_worker_free(worker);
        return rc;
    }
    *out = worker;
    return BW_OK;
}

/* ---- mistakes that end a run ---- */

static bw_status one_mistake(load *l, bw_spot spot, const char *text, bw_loaded *out, bw_err *err) {
    bw_mistakes *mistakes = bw_arena_alloc(l->arena, 1, sizeof *mistakes);
    if (mistakes == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory for a sequence");
    }
    bw_mistakes_init(mistakes, l->arena, l->sources.name, l->sources.n);
    bw_mistake_add(mistakes, spot, "%s", text);
    out->plan = NULL;
    return bw_mistakes_take(mistakes, &out->mistake, &out->mistake_n, err);
}

const char *bw_sequence_limit_text(const bw_frame *frame, bw_spot *spot) {
    static const char *const texts[] = {
        [BW_LIMIT_TIME] = "the sequence ran for more than a second and was stopped here: is there "
                          "a loop without an end?",
        [BW_LIMIT_MEMORY] = "the sequence needed more than 64 MiB of memory and was stopped here",
        [BW_LIMIT_OUTPUT] = "the sequence declares more than 4 MiB and was stopped here"};
    *spot = (bw_spot){0, 1};
    bool sound = frame->len == 7 && frame->data[0] >= BW_LIMIT_TIME &&
                 frame->data[0] <= BW_LIMIT_OUTPUT;
    if (!sound) {
        return "the worker's answer is not well-formed";
    }
    const uint8_t *d = frame->data;
    uint32_t line = (uint32_t)d[3] | (uint32_t)d[4] << 8 | (uint32_t)d[5] << 16 |
                    (uint32_t)d[6] << 24;
    spot->source = (unsigned)d[1] | (unsigned)d[2] << 8;
    spot->line = line <= 1u << 30 ? line : 1;
    return texts[d[0]];
}

/* The worker did not answer: what the author is told.  NULL where it was not the sequence. */
const char *bw_sequence_end_text(bw_status rc, const bw_worker *worker, char *out, size_t size) {
    bw_text text = bw_text_on(out, size);
    switch (rc) {
    case BW_E_TIMEOUT:
        bw_text_add(&text, "the sequence ran for more than a second and was stopped: "
                           "something in it goes on without an end");
        return out;
    case BW_E_LIMIT:
        bw_text_add(&text, "the sequence declares more than fits");
        return out;
    case BW_E_IO:
        bw_text_add(&text, "the sequence broke its worker, which %s", bw_worker_end(worker));
        return out;
    default:
        return NULL;
    }
}

/* ---- the conversation ---- */

static bw_status answer_need(load *l, bw_worker *worker, int left_ms, bw_frame *reply,
                             bw_err *err) {
    char name[BW_MODULE_NAME_MAX + 1] = "";
    char why[200] = "its name is not allowed";
    const bw_source *module = NULL;
    bw_status rc = BW_E_ABSENT;
    if (bw_module_name_valid((const char *)reply->data, reply->len)) {
        memcpy(name, reply->data, reply->len);
        name[reply->len] = '\0';
        rc = bw_sources_add_module(&l->sources, name, &module, why, sizeof why);
    }
    if (rc == BW_E_MEM) {
        return bw_fail(err, BW_E_MEM, "out of memory for a module");
    }
    return rc == BW_OK
               ? bw_worker_ask(worker, BW_FRAME_MODULE, module->text, module->len, left_ms, reply,
                               err)
               : bw_worker_ask(worker, BW_FRAME_NO_MODULE, why, strlen(why), left_ms, reply, err);
}

static bw_status converse(load *l, bw_worker *worker, const uint8_t *data, size_t len,
                          bw_frame *reply, bw_err *err) {
    int64_t deadline_ns = bw_clock_mono_ns() + (int64_t)BW_RUN_KILL_MS * 1000000;
    bw_status rc = bw_worker_ask(worker, BW_FRAME_RUN, data, len, BW_RUN_KILL_MS, reply, err);
    while (rc == BW_OK && reply->type == BW_FRAME_NEED) {
        int64_t left_ms = (deadline_ns - bw_clock_mono_ns()) / 1000000;
        rc = answer_need(l, worker, left_ms > 0 ? (int)left_ms : 0, reply, err);
    }
    return rc;
}

/* What a finished conversation means for the author. */
static bw_status understand(load *l, const bw_frame *reply, bw_loaded *out, bw_err *err) {
    static const bw_spot top = {0, 1};
    bw_spot spot = top;
    if (reply->type == BW_FRAME_LIMIT) {
        const char *text = bw_sequence_limit_text(reply, &spot);
        return one_mistake(l, spot, text, out, err);
    }
    bw_err why = {.code = BW_E_DATA, .text = "the worker's answer is not well-formed"};
    bw_status rc = BW_E_DATA;
    if (reply->type == BW_FRAME_DONE) {
        rc = bw_reader_plan(reply->data, reply->len, l->sources.name, l->sources.n, l->sources.list,
                            l->arena, out, &why);
    }
    if (rc == BW_E_DATA || rc == BW_E_LIMIT) {
        return one_mistake(l, top, why.text, out, err);
    }
    return rc == BW_OK ? BW_OK : bw_fail(err, rc, "%s", why.text);
}

/* The sequence's short name and text, as BW_FRAME_RUN has them. */
static uint8_t *run_body(load *l, size_t *len) {
    const bw_source *source = &l->sources.list[0];
    char name[BW_SHORT_NAME_MAX + 1];
    bw_source_short_name(source->name, name, sizeof name);
    size_t name_len = strlen(name);
    uint8_t *body = bw_arena_alloc(l->arena, 1 + name_len + source->len, 1);
    if (body != NULL) {
        body[0] = (uint8_t)name_len;
        memcpy(body + 1, name, name_len);
        memcpy(body + 1 + name_len, source->text, source->len);
        *len = 1 + name_len + source->len;
    }
    return body;
}

static bw_status run(load *l, bw_loaded *out, bw_err *err) {
    size_t len = 0;
    uint8_t *body = run_body(l, &len);
    if (body == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory for a sequence");
    }
    bw_worker *worker = NULL;
    bw_status rc = bw_sequence_worker(&worker, err);
    if (rc != BW_OK) {
        return rc;
    }
    bw_frame reply = {0, NULL, 0};
    rc = converse(l, worker, body, len, &reply, err);
    char end[200];
    const char *text = rc == BW_OK ? NULL : bw_sequence_end_text(rc, worker, end, sizeof end);
    if (rc == BW_OK) {
        rc = understand(l, &reply, out, err);
    } else if (text != NULL) {
        rc = one_mistake(l, (bw_spot){0, 1}, text, out, err);
    }
    bw_worker_free(worker);
    return rc;
}

static bw_status run_sources(load *l, bw_loaded *out, bw_err *err) {
    bw_loaded loaded = {0};
    bw_status rc = run(l, &loaded, err);
    if (rc == BW_OK) {
        loaded.source = l->sources.list;
        loaded.source_n = l->sources.n;
        *out = loaded;
    }
    return rc;
}

bw_status bw_sequence_load(const char *path, bw_arena *arena, bw_loaded *out, bw_err *err) {
    load *l = bw_arena_alloc(arena, 1, sizeof *l);
    if (l == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory for a sequence");
    }
    l->arena = arena;
    bw_status rc = bw_sources_open(&l->sources, arena, path, err);
    return rc == BW_OK ? run_sources(l, out, err) : rc;
}

bw_status bw_sequence_load_sources(const bw_source *source, size_t source_n, bw_arena *arena,
                                   bw_loaded *out, bw_err *err) {
    load *l = bw_arena_alloc(arena, 1, sizeof *l);
    if (l == NULL) {
        return bw_fail(err, BW_E_MEM, "out of memory for a sequence");
    }
    l->arena = arena;
    bw_status rc = bw_sources_keep(&l->sources, arena, source, source_n, err);
    return rc == BW_OK ? run_sources(l, out, err) : rc;
}
