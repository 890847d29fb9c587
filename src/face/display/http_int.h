/* http_int.h - what the three files of the display's server share: http.c runs the library,
 * http_request.c answers, http_stream.c keeps what waits for those who listen.
 *
 * Room: face, these three files. */
#ifndef BW_FACE_DISPLAY_HTTP_INT_H
#define BW_FACE_DISPLAY_HTTP_INT_H

#include "face/display/http.h"

#include <microhttpd.h>

#define BW_HTTP_CALLS(C)                                                                           \
    C(MHD_start_daemon)                                                                            \
    C(MHD_stop_daemon)                                                                             \
    C(MHD_get_daemon_info)                                                                         \
    C(MHD_run)                                                                                     \
    C(MHD_get_timeout)                                                                             \
    C(MHD_suspend_connection)                                                                      \
    C(MHD_resume_connection)                                                                       \
    C(MHD_get_connection_info)                                                                     \
    C(MHD_get_connection_values)                                                                   \
    C(MHD_create_response_from_buffer)                                                             \
    C(MHD_create_response_from_callback)                                                           \
    C(MHD_add_response_header)                                                                     \
    C(MHD_queue_response)                                                                          \
    C(MHD_destroy_response)

typedef struct bw_http_calls {
#define C(name) __typeof__(&(name)) name;
    BW_HTTP_CALLS(C)
#undef C
} bw_http_calls;

typedef struct bw_http_message {
    size_t refs;
    bool newest_only;
    size_t len;
    char text[];
} bw_http_message;

typedef struct bw_http_node {
    struct bw_http_node *before, *after;
} bw_http_node;

struct bw_http_stream {
    bw_http_node node; /* first, so that a node is its stream */
    bw_http *http;
    struct MHD_Connection *connection;
    unsigned kind;
    bool suspended, over;
    bool ending;                                 /* what waits is sent, and no more */
    bw_http_message *waiting[BW_HTTP_QUEUE_MAX]; /* a ring */
    size_t first, n;
    size_t sent; /* bytes of the first */
};

/* A connection, from its first byte on. */
typedef struct bw_http_peer {
    bw_http_node node;
    int fd;
    int64_t since_ms; /* of the request that is being read or waited for */
    bool streams;
} bw_http_peer;

struct bw_http {
    bw_http_setup setup;
    bw_http_calls call;
    struct MHD_Daemon *daemon;
    uv_poll_t *poll; /* the loop's until it has closed them */
    uv_timer_t *timer, *tick;
    bool tls, running, again;
    unsigned ticks;
    bw_http_node streams, peers;
    size_t stream_n;
};

/* Lets the library do what there is to do. */
void bw_http_run(bw_http *http);

/* What it knows of a connection: its socket (-1: none), its peer (NULL: none). */
int bw_http_fd(const bw_http *http, struct MHD_Connection *connection);
bw_http_peer *bw_http_peer_of(const bw_http *http, struct MHD_Connection *connection);

/* The library closes what is shut down under it. */
void bw_http_cut(int fd);

void bw_http_list_add(bw_http_node *list, bw_http_node *one);
void bw_http_list_drop(bw_http_node *one);

/* A stream, listed, with what it must know first waiting in it; NULL where memory is out. */
struct MHD_Response *bw_http_stream_new(bw_http *http, struct MHD_Connection *connection,
                                        unsigned kind);

/* What waits is sent, and no more. */
void bw_http_stream_end(bw_http_stream *stream);

/* For the library: a request comes in parts; it is over. */
enum MHD_Result bw_http_on_request(void *ctx, struct MHD_Connection *connection, const char *url,
                                   const char *method, const char *version, const char *data,
                                   size_t *size, void **state);
void bw_http_on_completed(void *ctx, struct MHD_Connection *connection, void **state,
                          enum MHD_RequestTerminationCode code);

#endif
