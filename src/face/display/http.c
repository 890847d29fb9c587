/* http.c - see http.h.  The library's loop is ours: its epoll handle is polled, its timeouts are a
 * timer, and a stream with nothing to send is suspended until there is something. */
#include "face/display/http.h"

#include <arpa/inet.h>
#include <dlfcn.h>
#include <microhttpd.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/socket.h>

enum {
    TICK_MS = 1000,
    REQUEST_MS = 1000 * BW_HTTP_REQUEST_S,
    BEAT_TICKS = 5, /* a departed client is noticed at a write only */
    ROUNDS_MAX = 64,
    /* A handshake that waits for its other half counts as work at once with the library: what
     * comes of it must neither hold up the loop nor fill it. */
    TLS_ROUNDS_MAX = 16,
    TLS_PAUSE_MS = 10,
    TLS_PER_ADDRESS_MAX = 32,
    CONNECTION_BYTES = 16 * 1024,
    STREAM_BLOCK_BYTES = 32 * 1024
};

/* ---- the library ---- */

#define CALLS(C)                                                                                   \
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

typedef struct calls {
#define C(name) __typeof__(&(name)) name;
    CALLS(C)
#undef C
} calls;

typedef struct message {
    size_t refs;
    bool newest_only;
    size_t len;
    char text[];
} message;

typedef struct node {
    struct node *before, *after;
} node;

struct bw_http_stream {
    node node; /* first, so that a node is its stream */
    bw_http *http;
    struct MHD_Connection *connection;
    unsigned kind;
    bool suspended, over;
    bool ending;                         /* what waits is sent, and no more */
    message *waiting[BW_HTTP_QUEUE_MAX]; /* a ring */
    size_t first, n;
    size_t sent; /* bytes of the first */
};

/* A connection, from its first byte on. */
typedef struct peer {
    node node;
    int fd;
    int64_t since_ms; /* of the request that is being read or waited for */
    bool streams;
} peer;

typedef struct request {
    char body[BW_HTTP_BODY_MAX + 1];
    size_t len;
    bool too_long, answered;
} request;

struct bw_http {
    bw_http_setup setup;
    calls call;
    struct MHD_Daemon *daemon;
    uv_poll_t *poll; /* the loop's until it has closed them */
    uv_timer_t *timer, *tick;
    bool tls, running, again;
    unsigned ticks;
    node streams, peers;
    size_t stream_n;
};

static bw_status load(calls *out, bw_err *err) {
    static const struct {
        const char *name;
        size_t offset;
    } rows[] = {
#define C(name) {#name, offsetof(calls, name)},
        CALLS(C)
#undef C
    };
    void *library = dlopen("libmicrohttpd.so.12", RTLD_NOW | RTLD_LOCAL);
    if (library == NULL) {
        return bw_fail(err, BW_E_ABSENT,
                       "the display needs libmicrohttpd, which can't be loaded (%s); install the "
                       "package libmicrohttpd12, or go on without --display",
                       dlerror());
    }
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        void *symbol = dlsym(library, rows[i].name);
        if (symbol == NULL) {
            return bw_fail(err, BW_E_ABSENT, "this libmicrohttpd has no %s", rows[i].name);
        }
        memcpy((char *)out + rows[i].offset, &symbol, sizeof symbol);
    }
    return BW_OK;
}

/* ---- lists ---- */

static void list_init(node *list) {
    list->before = list->after = list;
}

static void list_add(node *list, node *one) {
    one->before = list->before;
    one->after = list;
    list->before->after = one;
    list->before = one;
}

static void list_drop(node *one) {
    one->before->after = one->after;
    one->after->before = one->before;
}

/* ---- the library's turns ---- */

static void on_timer(uv_timer_t *timer);

/* Runs the library until it has nothing left to do at once, but not for ever. */
static void run_rounds(bw_http *http, int rounds) {
    if (http->running) {
        http->again = true;
        return;
    }
    http->running = true;
    MHD_UNSIGNED_LONG_LONG timeout_ms = 0;
    bool waits = false;
    for (int i = 0; i < rounds; i++) {
        http->again = false;
        (void)http->call.MHD_run(http->daemon);
        waits = http->call.MHD_get_timeout(http->daemon, &timeout_ms) == MHD_YES;
        if (!http->again && !(waits && timeout_ms == 0)) {
            break;
        }
    }
    http->running = false;
    uint64_t pause_ms = http->tls ? TLS_PAUSE_MS : 1; /* with 0 a timer may starve all else */
    if (waits) {
        (void)uv_timer_start(http->timer, on_timer, timeout_ms > 0 ? timeout_ms : pause_ms, 0);
    } else {
        (void)uv_timer_stop(http->timer);
    }
}

static void run(bw_http *http) {
    run_rounds(http, http->tls ? TLS_ROUNDS_MAX : ROUNDS_MAX);
}

static void on_timer(uv_timer_t *timer) {
    bw_http *http = timer->data;
    run_rounds(http, http->tls ? 1 : ROUNDS_MAX);
}

static void on_poll(uv_poll_t *poll, int status, int events) {
    (void)status;
    (void)events;
    run(poll->data);
}

/* ---- messages ---- */

static message *message_new(const char *text, size_t len) {
    message *m = malloc(sizeof *m + len);
    if (m != NULL) {
        *m = (message){.refs = 1, .len = len};
        memcpy(m->text, text, len);
    }
    return m;
}

static void message_drop(message *m) {
    if (--m->refs == 0) {
        free(m);
    }
}

static int fd_of(const bw_http *http, struct MHD_Connection *connection) {
    const union MHD_ConnectionInfo *info = http->call.MHD_get_connection_info(
        connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    return info != NULL ? info->connect_fd : -1;
}

/* The library closes what is shut down under it. */
static void cut(int fd) {
    if (fd >= 0) {
        (void)shutdown(fd, SHUT_RDWR);
    }
}

static void wake(bw_http_stream *s) {
    if (s->suspended) {
        s->suspended = false;
        s->http->call.MHD_resume_connection(s->connection);
    }
}

static void queue(bw_http_stream *s, message *m) {
    size_t last = (s->first + s->n + BW_HTTP_QUEUE_MAX - 1) % BW_HTTP_QUEUE_MAX;
    bool begun = s->n == 1 && s->sent > 0;
    if (m->newest_only && s->n > 0 && s->waiting[last]->newest_only && !begun) {
        message_drop(s->waiting[last]);
        s->waiting[last] = m;
    } else if (s->n == BW_HTTP_QUEUE_MAX) {
        s->over = true;
        cut(fd_of(s->http, s->connection));
        return;
    } else {
        s->waiting[(s->first + s->n++) % BW_HTTP_QUEUE_MAX] = m;
    }
    m->refs++;
    wake(s);
}

void bw_http_send(bw_http_stream *stream, const char *text, size_t len) {
    message *m = message_new(text, len);
    if (m != NULL) {
        queue(stream, m);
        message_drop(m);
    }
}

void bw_http_publish(bw_http *http, unsigned kinds, const char *text, size_t len,
                     bool newest_only) {
    message *m = message_new(text, len);
    if (m == NULL) {
        return; /* the next one says it all again */
    }
    m->newest_only = newest_only;
    for (node *l = http->streams.after; l != &http->streams; l = l->after) {
        bw_http_stream *s = (bw_http_stream *)l;
        if ((s->kind & kinds) != 0 && !s->over) {
            queue(s, m);
        }
    }
    message_drop(m);
    run(http);
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
        message *m = s->waiting[s->first];
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
    list_drop(&s->node);
    s->http->stream_n--;
    free(s);
}

static struct MHD_Response *new_stream(bw_http *http, struct MHD_Connection *connection,
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
    list_add(&http->streams, &s->node);
    http->stream_n++;
    http->setup.opened(http->setup.ctx, s, kind);
    return response;
}

/* ---- requests ---- */

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

static peer *peer_of(const bw_http *http, struct MHD_Connection *connection) {
    const union MHD_ConnectionInfo *info = http->call.MHD_get_connection_info(
        connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    return info != NULL ? info->socket_context : NULL;
}

static enum MHD_Result send_answer(bw_http *http, struct MHD_Connection *connection,
                                   const bw_http_answer *answer) {
    struct MHD_Response *response = NULL;
    if (answer->type == NULL) {
        peer *p = peer_of(http, connection);
        if (p != NULL) {
            p->streams = true;
        }
        response = new_stream(http, connection, answer->kind);
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

static enum MHD_Result on_request(void *ctx, struct MHD_Connection *connection, const char *url,
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

static void on_completed(void *ctx, struct MHD_Connection *connection, void **state,
                         enum MHD_RequestTerminationCode code) {
    bw_http *http = ctx;
    peer *p = peer_of(http, connection);
    (void)code;
    if (p != NULL) {
        p->since_ms = (int64_t)uv_now(http->setup.loop);
        p->streams = false;
    }
    free(*state);
    *state = NULL;
}

/* ---- connections ---- */

static void on_connection(void *ctx, struct MHD_Connection *connection, void **context,
                          enum MHD_ConnectionNotificationCode code) {
    bw_http *http = ctx;
    peer *p = *context;
    if (code == MHD_CONNECTION_NOTIFY_STARTED) {
        p = calloc(1, sizeof *p);
        if (p == NULL) {
            cut(fd_of(http, connection));
            return;
        }
        p->fd = fd_of(http, connection);
        p->since_ms = (int64_t)uv_now(http->setup.loop);
        list_add(&http->peers, &p->node);
        *context = p;
    } else if (p != NULL) {
        list_drop(&p->node);
        free(p);
        *context = NULL;
    }
}

/* Who takes too long is cut off; a comment finds out who is gone. */
static void on_tick(uv_timer_t *timer) {
    bw_http *http = timer->data;
    static const char beat[] = ": here\n\n";
    int64_t now_ms = (int64_t)uv_now(http->setup.loop);
    for (node *l = http->peers.after; l != &http->peers; l = l->after) {
        const peer *p = (const peer *)l;
        if (!p->streams && now_ms - p->since_ms > REQUEST_MS) {
            cut(p->fd);
        }
    }
    if (++http->ticks % BEAT_TICKS == 0) {
        bw_http_publish(http, ~0u, beat, sizeof beat - 1, true);
    } else {
        run(http);
    }
}

/* ---- life ---- */

static size_t as_it_came(void *ctx, struct MHD_Connection *connection, char *text) {
    (void)ctx;
    (void)connection;
    return strlen(text);
}

static void no_log(void *ctx, const char *format, va_list args) {
    (void)ctx;
    (void)format;
    (void)args;
}

typedef union address {
    struct sockaddr any;
    struct sockaddr_in four;
    struct sockaddr_in6 six;
} address;

static bool read_address(const bw_http_setup *setup, address *out) {
    *out = (address){0};
    if (inet_pton(AF_INET, setup->address, &out->four.sin_addr) == 1) {
        out->four.sin_family = AF_INET;
        out->four.sin_port = htons((uint16_t)setup->port);
        return true;
    }
    out->six.sin6_family = AF_INET6;
    out->six.sin6_port = htons((uint16_t)setup->port);
    return inet_pton(AF_INET6, setup->address, &out->six.sin6_addr) == 1;
}

/* The library's options are text that may be changed; it does not. */
static void *plain(const char *text) {
    union {
        const char *in;
        void *out;
    } u = {.in = text};
    return u.out;
}

static bw_status start(bw_http *http, bw_err *err) {
    address where;
    const bw_http_setup *setup = &http->setup;
    if (!read_address(setup, &where)) {
        return bw_fail(err, BW_E_ARG, "%s is no address such as 127.0.0.1", setup->address);
    }
    bool six = where.any.sa_family == AF_INET6;
    unsigned flags = MHD_USE_EPOLL | MHD_ALLOW_SUSPEND_RESUME | (six ? MHD_USE_IPv6 : 0u) |
                     (http->tls ? MHD_USE_TLS : 0u);
    struct MHD_OptionItem tls[] = {
        {MHD_OPTION_HTTPS_MEM_KEY, 0, plain(setup->key_pem)},
        {MHD_OPTION_HTTPS_MEM_CERT, 0, plain(setup->certificate_pem)},
        {MHD_OPTION_PER_IP_CONNECTION_LIMIT, TLS_PER_ADDRESS_MAX, NULL},
        {MHD_OPTION_HTTPS_PRIORITIES, 0, plain("NORMAL:-VERS-ALL:+VERS-TLS1.3:+VERS-TLS1.2")},
        {MHD_OPTION_END, 0, NULL},
    };
    struct MHD_OptionItem none[] = {{MHD_OPTION_END, 0, NULL}};
    http->daemon = http->call.MHD_start_daemon(
        flags, 0, NULL, NULL, on_request, http, MHD_OPTION_EXTERNAL_LOGGER, no_log, NULL,
        MHD_OPTION_SOCK_ADDR, &where.any, MHD_OPTION_CONNECTION_LIMIT,
        (unsigned)BW_HTTP_CONNECTIONS_MAX, MHD_OPTION_CONNECTION_MEMORY_LIMIT,
        (size_t)CONNECTION_BYTES, MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)(3 * BW_HTTP_REQUEST_S),
        MHD_OPTION_UNESCAPE_CALLBACK, as_it_came, NULL, MHD_OPTION_NOTIFY_COMPLETED, on_completed,
        http, MHD_OPTION_NOTIFY_CONNECTION, on_connection, http, MHD_OPTION_STRICT_FOR_CLIENT, 1,
        MHD_OPTION_ARRAY, http->tls ? tls : none, MHD_OPTION_END);
    return http->daemon != NULL ? BW_OK
                                : bw_fail(err, BW_E_BUSY,
                                          "the display can't be served at %s port %u: is it an "
                                          "address of this machine, and no other program's?",
                                          setup->address, setup->port);
}

static bw_status watch(bw_http *http, bw_err *err) {
    const union MHD_DaemonInfo *info = http->call.MHD_get_daemon_info(http->daemon,
                                                                      MHD_DAEMON_INFO_EPOLL_FD);
    http->poll = calloc(1, sizeof *http->poll);
    http->timer = calloc(1, sizeof *http->timer);
    http->tick = calloc(1, sizeof *http->tick);
    if (http->poll == NULL || http->timer == NULL || http->tick == NULL || info == NULL ||
        uv_poll_init(http->setup.loop, http->poll, info->epoll_fd) != 0) {
        free(http->poll);
        free(http->timer);
        free(http->tick);
        http->poll = NULL;
        return bw_fail(err, BW_E_MEM, "no memory for the display");
    }
    (void)uv_timer_init(http->setup.loop, http->timer);
    (void)uv_timer_init(http->setup.loop, http->tick);
    http->poll->data = http->timer->data = http->tick->data = http;
    (void)uv_poll_start(http->poll, UV_READABLE, on_poll);
    (void)uv_timer_start(http->tick, on_tick, TICK_MS, TICK_MS);
    run(http);
    return BW_OK;
}

bw_status bw_http_new(const bw_http_setup *setup, bw_http **out, bw_err *err) {
    bw_http *http = calloc(1, sizeof *http);
    if (http == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for the display");
    }
    http->setup = *setup;
    http->tls = setup->key_pem != NULL;
    list_init(&http->streams);
    list_init(&http->peers);
    bw_status status = load(&http->call, err);
    status = status == BW_OK ? start(http, err) : status;
    status = status == BW_OK ? watch(http, err) : status;
    if (status != BW_OK) {
        bw_http_free(http);
        return status;
    }
    *out = http;
    return BW_OK;
}

static void free_handle(uv_handle_t *handle) {
    free(handle);
}

void bw_http_free(bw_http *http) {
    if (http == NULL) {
        return;
    }
    for (node *l = http->streams.after; l != &http->streams; l = l->after) {
        bw_http_stream *s = (bw_http_stream *)l;
        s->ending = true;
        wake(s); /* the library stops no suspended connection */
    }
    if (http->poll != NULL) {
        run(http);
        uv_close((uv_handle_t *)http->poll, free_handle);
        uv_close((uv_handle_t *)http->timer, free_handle);
        uv_close((uv_handle_t *)http->tick, free_handle);
    }
    if (http->daemon != NULL) {
        http->call.MHD_stop_daemon(http->daemon);
    }
    free(http);
}
