/* http_request.c - see http_int.h: requests in, answers out. */
#include "face/display/http_int.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

typedef struct request {
    char body[BW_HTTP_BODY_MAX + 1];
    size_t len;
    bool too_long, answered;
} request;

static enum MHD_Result read_header(void *ctx, enum MHD_ValueKind kind, const char *name,
                                   const char *value) {
    bw_http_request *r = ctx;
    const struct {
        const char *name;
        const char **text;
        size_t *n;
    } rows[] = {{"Host", &r->host, &r->host_n},
                {"Origin", &r->origin, NULL},
                {"Sec-Fetch-Site", &r->fetch_site, NULL},
                {"Content-Type", &r->content_type, NULL},
                {"Cookie", &r->cookie, NULL},
                {"Content-Length", NULL, &r->length_n},
                {"Transfer-Encoding", NULL, &r->length_n}};
    (void)kind;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (strcasecmp(rows[i].name, name) == 0) {
            if (rows[i].text != NULL) {
                *rows[i].text = value;
            }
            if (rows[i].n != NULL) {
                ++*rows[i].n;
            }
        }
    }
    return MHD_YES;
}

static void add_headers(const bw_http *http, struct MHD_Response *response,
                        const bw_http_answer *answer) {
    const char *const rows[][2] = {
        {"Content-Security-Policy",
         "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src "
         "'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"},
        {"X-Content-Type-Options", "nosniff"},
        {"X-Frame-Options", "DENY"},
        {"Cross-Origin-Opener-Policy", "same-origin"},
        {"Cross-Origin-Resource-Policy", "same-origin"},
        {"Referrer-Policy", "no-referrer"},
        {"Cache-Control", "no-store"},
        {"Content-Type", answer->type != NULL ? answer->type : "text/event-stream"},
        {"Set-Cookie", answer->cookie},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (rows[i][1] != NULL) {
            (void)http->call.MHD_add_response_header(response, rows[i][0], rows[i][1]);
        }
    }
}

static enum MHD_Result send_answer(bw_http *http, struct MHD_Connection *connection,
                                   const bw_http_answer *answer) {
    struct MHD_Response *response = NULL;
    if (answer->type == NULL) {
        bw_http_peer *p = bw_http_peer_of(http, connection);
        if (p != NULL) {
            p->streams = true;
        }
        response = bw_http_stream_new(http, connection, answer->kind);
    } else {
        union {
            const void *in;
            void *out; /* the library writes nothing there */
        } body = {.in = answer->body};
        response = http->call.MHD_create_response_from_buffer(
            answer->len, body.out, answer->stays ? MHD_RESPMEM_PERSISTENT : MHD_RESPMEM_MUST_COPY);
    }
    if (response == NULL) {
        return MHD_NO;
    }
    add_headers(http, response, answer);
    enum MHD_Result done = http->call.MHD_queue_response(connection, answer->status, response);
    http->call.MHD_destroy_response(response);
    return done;
}

static enum MHD_Result ask(bw_http *http, struct MHD_Connection *connection, const char *method,
                           const char *path, request *r, bool whole) {
    bw_http_request head = {.method = method, .path = path};
    bw_http_answer answer = {0};
    (void)http->call.MHD_get_connection_values(connection, MHD_HEADER_KIND, read_header, &head);
    if (whole) {
        r->body[r->len] = '\0';
        head.body = r->body;
        head.body_len = r->len;
    }
    if (whole && r->too_long) {
        answer = (bw_http_answer){.status = 413, .type = "text/plain", .body = "", .stays = true};
    } else {
        http->setup.ask(http->setup.ctx, &head, &answer);
    }
    if (answer.status == 0) {
        return MHD_YES;
    }
    r->answered = true;
    return send_answer(http, connection, &answer);
}

enum MHD_Result bw_http_on_request(void *ctx, struct MHD_Connection *connection, const char *url,
                                   const char *method, const char *version, const char *data,
                                   size_t *size, void **state) {
    bw_http *http = ctx;
    request *r = *state;
    (void)version;
    if (r == NULL) {
        r = calloc(1, sizeof *r);
        *state = r;
        return r == NULL ? MHD_NO : ask(http, connection, method, url, r, false);
    }
    if (*size > 0) {
        bool fits = *size <= BW_HTTP_BODY_MAX - r->len;
        if (fits) {
            memcpy(r->body + r->len, data, *size);
            r->len += *size;
        }
        r->too_long = r->too_long || !fits;
        *size = 0;
        return MHD_YES;
    }
    return r->answered ? MHD_YES : ask(http, connection, method, url, r, true);
}

void bw_http_on_completed(void *ctx, struct MHD_Connection *connection, void **state,
                          enum MHD_RequestTerminationCode code) {
    bw_http *http = ctx;
    bw_http_peer *p = bw_http_peer_of(http, connection);
    (void)code;
    if (p != NULL) {
        p->since_ms = (int64_t)uv_now(http->setup.loop);
        p->streams = false;
    }
    free(*state);
    *state = NULL;
}
