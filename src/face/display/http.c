/* http.c - see http.h.  The library's loop is ours: its epoll handle is polled, its timeouts are a
 * timer, and a stream with nothing to send is suspended until there is something. */
#include "face/display/http_int.h"

#include <arpa/inet.h>
#include <dlfcn.h>
#include <stdlib.h>
#include <string.h>
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
    CONNECTION_BYTES = 16 * 1024
};

/* ---- the library ---- */

static bw_status load(bw_http_calls *out, bw_err *err) {
    static const struct {
        const char *name;
        size_t offset;
    } rows[] = {
#define C(name) {#name, offsetof(bw_http_calls, name)},
        BW_HTTP_CALLS(C)
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

void bw_http_run(bw_http *http) {
    run_rounds(http, http->tls ? TLS_ROUNDS_MAX : ROUNDS_MAX);
}

static void on_timer(uv_timer_t *timer) {
    bw_http *http = timer->data;
    run_rounds(http, http->tls ? 1 : ROUNDS_MAX);
}

static void on_poll(uv_poll_t *poll, int status, int events) {
    (void)status;
    (void)events;
    bw_http_run(poll->data);
}

/* ---- connections ---- */

static void list_init(bw_http_node *list) {
    list->before = list->after = list;
}

void bw_http_list_add(bw_http_node *list, bw_http_node *one) {
    one->before = list->before;
    one->after = list;
    list->before->after = one;
    list->before = one;
}

void bw_http_list_drop(bw_http_node *one) {
    one->before->after = one->after;
    one->after->before = one->before;
}

int bw_http_fd(const bw_http *http, struct MHD_Connection *connection) {
    const union MHD_ConnectionInfo *info = http->call.MHD_get_connection_info(
        connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    return info != NULL ? info->connect_fd : -1;
}

/* The library closes what is shut down under it. */
void bw_http_cut(int fd) {
    if (fd >= 0) {
        (void)shutdown(fd, SHUT_RDWR);
    }
}

bw_http_peer *bw_http_peer_of(const bw_http *http, struct MHD_Connection *connection) {
    const union MHD_ConnectionInfo *info = http->call.MHD_get_connection_info(
        connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    return info != NULL ? info->socket_context : NULL;
}

static void on_connection(void *ctx, struct MHD_Connection *connection, void **context,
                          enum MHD_ConnectionNotificationCode code) {
    bw_http *http = ctx;
    bw_http_peer *p = *context;
    if (code == MHD_CONNECTION_NOTIFY_STARTED) {
        p = calloc(1, sizeof *p);
        if (p == NULL) {
            bw_http_cut(bw_http_fd(http, connection));
            return;
        }
        p->fd = bw_http_fd(http, connection);
        p->since_ms = (int64_t)uv_now(http->setup.loop);
        bw_http_list_add(&http->peers, &p->node);
        *context = p;
    } else if (p != NULL) {
        bw_http_list_drop(&p->node);
        free(p);
        *context = NULL;
    }
}

/* Who takes too long is cut off; a comment finds out who is gone. */
static void on_tick(uv_timer_t *timer) {
    bw_http *http = timer->data;
    static const char beat[] = ": here\n\n";
    int64_t now_ms = (int64_t)uv_now(http->setup.loop);
    for (bw_http_node *l = http->peers.after; l != &http->peers; l = l->after) {
        const bw_http_peer *p = (const bw_http_peer *)l;
        if (!p->streams && now_ms - p->since_ms > REQUEST_MS) {
            bw_http_cut(p->fd);
        }
    }
    if (++http->ticks % BEAT_TICKS == 0) {
        bw_http_publish(http, ~0u, beat, sizeof beat - 1, true);
    } else {
        bw_http_run(http);
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
        flags, 0, NULL, NULL, bw_http_on_request, http, MHD_OPTION_EXTERNAL_LOGGER, no_log, NULL,
        MHD_OPTION_SOCK_ADDR, &where.any, MHD_OPTION_CONNECTION_LIMIT,
        (unsigned)BW_HTTP_CONNECTIONS_MAX, MHD_OPTION_CONNECTION_MEMORY_LIMIT,
        (size_t)CONNECTION_BYTES, MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)(3 * BW_HTTP_REQUEST_S),
        MHD_OPTION_UNESCAPE_CALLBACK, as_it_came, NULL, MHD_OPTION_NOTIFY_COMPLETED,
        bw_http_on_completed, http, MHD_OPTION_NOTIFY_CONNECTION, on_connection, http,
        MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_ARRAY, http->tls ? tls : none, MHD_OPTION_END);
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
    bw_http_run(http);
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
    for (bw_http_node *l = http->streams.after; l != &http->streams; l = l->after) {
        bw_http_stream_end((bw_http_stream *)l);
    }
    if (http->poll != NULL) {
        bw_http_run(http);
        uv_close((uv_handle_t *)http->poll, free_handle);
        uv_close((uv_handle_t *)http->timer, free_handle);
        uv_close((uv_handle_t *)http->tick, free_handle);
    }
    if (http->daemon != NULL) {
        http->call.MHD_stop_daemon(http->daemon);
    }
    free(http);
}
