/* http.h - the bench display's server: requests in, answers and event streams out.
 *
 * Room: face.  The only user of the HTTP library, which is loaded when the first server is made.
 * Everything runs in the caller's loop; nothing here blocks.  What is bounded: connections, the
 * bytes of a request and the time that it may take, and what waits for a stream that is not read:
 * such a stream is closed, nobody waits for it. */
#ifndef BW_FACE_DISPLAY_HTTP_H
#define BW_FACE_DISPLAY_HTTP_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <uv.h>

enum {
    BW_HTTP_BODY_MAX = 4096,
    BW_HTTP_CONNECTIONS_MAX = 256,
    BW_HTTP_QUEUE_MAX = 32, /* messages that may wait for one stream */
    BW_HTTP_REQUEST_S = 5   /* from the first byte to the last */
};

/* All texts borrowed for the call; NULL: not there. */
typedef struct bw_http_request {
    const char *method, *path; /* the path as it came: nothing in it is decoded */
    const char *host, *origin, *fetch_site, *content_type, *cookie;
    size_t host_n;   /* how many such headers there are */
    size_t length_n; /* Content-Length and Transfer-Encoding together */
    const char *body;
    size_t body_len;
} bw_http_request;

typedef struct bw_http_answer {
    unsigned status;  /* 0: go on (before the body only) */
    const char *type; /* of the body; NULL: a stream of events */
    const void *body; /* copied unless stays */
    size_t len;
    bool stays;         /* body is static */
    const char *cookie; /* Set-Cookie, or NULL; copied */
    unsigned kind;      /* of the stream: a bit, as in bw_http_publish */
} bw_http_answer;

typedef struct bw_http bw_http;
typedef struct bw_http_stream bw_http_stream;

typedef struct bw_http_setup {
    uv_loop_t *loop;
    const char *address;                   /* literal, IPv4 or IPv6 */
    unsigned port;                         /* 1 to 65535 */
    const char *certificate_pem, *key_pem; /* both or none: with TLS; borrowed for the call */
    void *ctx;
    /* Called twice: with the head alone (body NULL), where status 0 lets it go on, and whole. */
    void (*ask)(void *ctx, const bw_http_request *request, bw_http_answer *answer);
    /* A stream began: what it must know first is sent here. */
    void (*opened)(void *ctx, bw_http_stream *stream, unsigned kind);
} bw_http_setup;

/* BW_E_ABSENT where the library is not installed, BW_E_BUSY where the port is taken. */
BW_MUST_USE bw_status bw_http_new(const bw_http_setup *setup, bw_http **out, bw_err *err);

/* Stops, and sends what can be sent at once.  Its handles are closed in the loop's next round. */
void bw_http_free(bw_http *http);

/* One message (`event: ...\ndata: ...\n\n`, copied) to every stream whose kind is in kinds.
 * newest_only: it takes the place of one like it that still waits. */
void bw_http_publish(bw_http *http, unsigned kinds, const char *text, size_t len, bool newest_only);
void bw_http_send(bw_http_stream *stream, const char *text, size_t len);

size_t bw_http_streams(const bw_http *http);

#endif
