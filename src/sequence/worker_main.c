/* worker_main.c - the sequence worker: the wall goes up, then one text is run.
 *
 * What comes in are the frames of wire.h; what goes out is data.  The process ends after one run.
 */
#include "sequence/lua_sandbox.h"
#include "sequence/sequence.h"
#include "sequence/wire.h"

#include "base/text.h"
#include "wall/worker.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { EXIT_DONE = 0, EXIT_HOST_GONE = 1, EXIT_NO_MEMORY = 2, EXIT_BAD_FRAME = 3 };

typedef struct worker {
    uint8_t *buffer; /* the text that is run */
    uint8_t *module; /* the module that was last asked for */
    bw_lua lua;
} worker;

enum { BUFFER_BYTES = BW_SEQUENCE_BYTES_MAX + 512 };

static bool ask_module(void *ctx, const char *name, const char **text, size_t *len,
                       const char **why) {
    worker *w = ctx;
    uint8_t type = 0;
    if (bw_frame_write(BW_FRAME_NEED, name, strlen(name), NULL) != BW_OK ||
        bw_frame_read(w->module, BUFFER_BYTES - 1, &type, len, NULL) != BW_OK) {
        _exit(EXIT_HOST_GONE);
    }
    w->module[*len] = '\0';
    *text = (const char *)w->module;
    *why = *text;
    return type == BW_FRAME_MODULE;
}

static void stop(void *ctx, bw_sequence_limit limit, bw_spot spot) {
    (void)ctx;
    uint8_t body[7] = {(uint8_t)limit,
                       (uint8_t)spot.source,
                       (uint8_t)(spot.source >> 8),
                       (uint8_t)spot.line,
                       (uint8_t)(spot.line >> 8),
                       (uint8_t)(spot.line >> 16),
                       (uint8_t)(spot.line >> 24)};
    bw_status rc = bw_frame_write(BW_FRAME_LIMIT, body, sizeof body, NULL);
    _exit(rc == BW_OK ? EXIT_DONE : EXIT_HOST_GONE);
}

/* The name in front of a sequence's text; *text and *len what is behind it. */
static bool split_name(const uint8_t *data, size_t n, char name[BW_SHORT_NAME_MAX + 1],
                       const char **text, size_t *len) {
    size_t name_len = n > 0 ? data[0] : 0;
    if (n == 0 || name_len > BW_SHORT_NAME_MAX || name_len + 1 > n) {
        return false;
    }
    memcpy(name, data + 1, name_len);
    name[name_len] = '\0';
    *text = (const char *)data + 1 + name_len;
    *len = n - 1 - name_len;
    return true;
}

static int run(worker *w, uint8_t type, size_t len) {
    bw_lua_host host = {.ctx = w, .module = ask_module, .stop = stop};
    char name[BW_SHORT_NAME_MAX + 1] = "";
    const char *text = (const char *)w->buffer;
    if (type == BW_FRAME_RUN && !split_name(w->buffer, len, name, &text, &len)) {
        return EXIT_BAD_FRAME;
    }
    if (!bw_lua_open(&w->lua, host)) {
        return EXIT_NO_MEMORY;
    }
    if (type == BW_FRAME_RUN) {
        bw_lua_run(&w->lua, name, text, len);
    } else {
        bw_lua_calc(&w->lua, text, len);
    }
    bw_status rc = bw_frame_write(BW_FRAME_DONE, w->lua.out, w->lua.out_len, NULL);
    bw_lua_close(&w->lua);
    return rc == BW_OK ? EXIT_DONE : EXIT_HOST_GONE;
}

static int serve(worker *w) {
    bw_err err = {.code = BW_OK, .text = ""};
    bw_status walled = bw_wall_lock(&err);
    for (;;) {
        uint8_t type = 0;
        size_t len = 0;
        if (bw_frame_read(w->buffer, BUFFER_BYTES, &type, &len, NULL) != BW_OK) {
            return EXIT_HOST_GONE;
        }
        if (walled != BW_OK) {
            walled = bw_frame_write(BW_FRAME_UNWALLED, err.text, strlen(err.text), NULL);
            return walled == BW_OK ? EXIT_DONE : EXIT_HOST_GONE;
        }
        if (type == BW_FRAME_RUN || type == BW_FRAME_CALC) {
            return run(w, type, len);
        }
        if (type != BW_FRAME_HELLO) {
            return EXIT_BAD_FRAME;
        }
        if (bw_frame_write(BW_FRAME_READY, NULL, 0, NULL) != BW_OK) {
            return EXIT_HOST_GONE;
        }
    }
}

int bw_sequence_worker_main(void) {
    worker *w = calloc(1, sizeof *w);
    if (w == NULL) {
        return EXIT_NO_MEMORY;
    }
    w->buffer = malloc(BUFFER_BYTES);
    w->module = malloc(BUFFER_BYTES);
    int code = w->buffer == NULL || w->module == NULL ? EXIT_NO_MEMORY : serve(w);
    free(w->buffer);
    free(w->module);
    free(w);
    return code;
}
