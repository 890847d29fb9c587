/* http_stream.c - see http_int.h: streams of events, and the messages that wait for them.  A
 * stream with nothing to send is suspended until there is something. */
#include "face/display/http_int.h"

#include <stdlib.h>
#include <string.h>

enum { STREAM_BLOCK_BYTES = 32 * 1024 };

static bw_http_message *message_new(const char *text, size_t len) {
    bw_http_message *m = malloc(sizeof *m + len);
    if (m != NULL) {
        *m = (bw_http_message){.refs = 1, .len = len};
        memcpy(m->text, text, len);
    }
    return m;
}

static void message_drop(bw_http_message *m) {
    if (--m->refs == 0) {
        free(m);
    }
}

static void wake(bw_http_stream *s) {
    if (s->suspended) {
        s->suspended = false;
        s->http->call.MHD_resume_connection(s->connection);
    }
}

static void queue(bw_http_stream *s, bw_http_message *m) {
    size_t last = (s->first + s->n + BW_HTTP_QUEUE_MAX - 1) % BW_HTTP_QUEUE_MAX;
    bool begun = s->n == 1 && s->sent > 0;
    if (m->newest_only && s->n > 0 && s->waiting[last]->newest_only && !begun) {
        message_drop(s->waiting[last]);
        s->waiting[last] = m;
    } else if (s->n == BW_HTTP_QUEUE_MAX) {
        s->over = true;
        bw_http_cut(bw_http_fd(s->http, s->connection));
        return;
    } else {
        s->waiting[(s->first + s->n++) % BW_HTTP_QUEUE_MAX] = m;
    }
    m->refs++;
    wake(s);
}

/* To one stream (only), or to all of these kinds. */
static void spread(bw_http *http, const bw_http_stream *only, unsigned kinds, bw_http_message *m) {
    for (bw_http_node *l = http->streams.after; l != &http->streams; l = l->after) {
        bw_http_stream *s = (bw_http_stream *)l;
        bool wanted = only != NULL ? s == only : (s->kind & kinds) != 0;
        if (wanted && !s->over) {
            queue(s, m);
        }
    }
    message_drop(m);
}

void bw_http_send(bw_http_stream *stream, const char *text, size_t len) {
    bw_http_message *m = message_new(text, len);
    if (m != NULL) {
        spread(stream->http, stream, 0, m);
    }
}

void bw_http_publish(bw_http *http, unsigned kinds, const char *text, size_t len,
                     bool newest_only) {
    bw_http_message *m = message_new(text, len);
    if (m == NULL) {
        return; /* the next one says it all again */
    }
    m->newest_only = newest_only;
    spread(http, NULL, kinds, m);
    bw_http_run(http);
}

size_t bw_http_streams(const bw_http *http) {
    return http->stream_n;
}

/* ---- streams ---- */

static ssize_t read_stream(void *ctx, uint64_t position, char *out, size_t room) {
    bw_http_stream *s = ctx;
    size_t written = 0;
    (void)position;
    if (s->over) {
        return MHD_CONTENT_READER_END_OF_STREAM;
    }
    while (s->n > 0 && written < room) {
        bw_http_message *m = s->waiting[s->first];
        size_t left = m->len - s->sent;
        size_t n = left < room - written ? left : room - written;
        memcpy(out + written, m->text + s->sent, n);
        written += n;
        s->sent += n;
        if (s->sent == m->len) {
            s->first = (s->first + 1) % BW_HTTP_QUEUE_MAX;
            s->n--;
            s->sent = 0;
            message_drop(m);
        }
    }
    if (written == 0 && s->ending) {
        return MHD_CONTENT_READER_END_OF_STREAM;
    }
    if (written == 0) {
        s->suspended = true;
        s->http->call.MHD_suspend_connection(s->connection);
    }
    return (ssize_t)written;
}

static void free_stream(void *ctx) {
    bw_http_stream *s = ctx;
    for (; s->n > 0; s->n--) {
        message_drop(s->waiting[s->first]);
        s->first = (s->first + 1) % BW_HTTP_QUEUE_MAX;
    }
    bw_http_list_drop(&s->node);
    s->http->stream_n--;
    free(s);
}

struct MHD_Response *bw_http_stream_new(bw_http *http, struct MHD_Connection *connection,
                                        unsigned kind) {
    bw_http_stream *s = calloc(1, sizeof *s);
    if (s == NULL) {
        return NULL;
    }
    s->http = http;
    s->connection = connection;
    s->kind = kind;
    struct MHD_Response *response = http->call.MHD_create_response_from_callback(
        MHD_SIZE_UNKNOWN, STREAM_BLOCK_BYTES, read_stream, s, free_stream);
    if (response == NULL) {
        free(s);
        return NULL;
    }
    bw_http_list_add(&http->streams, &s->node);
    http->stream_n++;
    http->setup.opened(http->setup.ctx, s, kind);
    return response;
}

void bw_http_stream_end(bw_http_stream *s) {
    s->ending = true;
    wake(s); /* the library stops no suspended connection */
}
