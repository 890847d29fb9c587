/* display.c - see display.h.  What the turn tells its faces becomes messages to the streams; what
 * a page posts becomes the line that answers the prompt. */
#include "face/display/display.h"

#include "base/decimal.h"
#include "base/text.h"
#include "face/display/asked.h"
#include "face/display/gate.h"
#include "face/display/history.h"
#include "face/display/http.h"
#include "face/display/pages.h"
#include "face/display/pairing.h"
#include "face/display/reply.h"
#include "face/display/view.h"
#include "face/figures.h"
#include "face/members.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    LIVE_EVERY_MS = 16,
    LIVE_AHEAD_MS = 64,
    LIVE_BYTES = 200,
    SAID_BYTES = 2 * BW_SAY_MAX,
    REAL_DIGITS = 7
};

struct bw_display {
    bw_display_setup setup;
    bw_turn *turn;
    bw_http *http;
    bw_gate gate;
    bw_pairing pairing;
    bw_asked asked;
    bw_history history;
    json_t *view;   /* the newest prompt and job; owned */
    size_t prompts; /* so many were shown */
    char said[SAID_BYTES];
    bw_tone tone;
    bool said_new; /* since the newest prompt */
    uv_timer_t *live_timer;
    int64_t live_due_ms;     /* the next one goes out at once from then on */
    bool pulling, live_held; /* one waits for its turn */
    bw_live live;
};

static int64_t now_ms(const bw_display *d) {
    return (int64_t)uv_now(bw_turn_loop(d->turn));
}

/* ---- messages ---- */

static void send_event(bw_display *d, unsigned kinds, const char *name, json_t *data,
                       bw_http_stream *only) {
    char *json = data != NULL ? json_dumps(data, JSON_COMPACT | JSON_REAL_PRECISION(REAL_DIGITS))
                              : NULL;
    size_t room = json != NULL ? strlen(json) + strlen(name) + 24 : 0;
    char *message = json != NULL ? malloc(room) : NULL;
    if (message != NULL) {
        int len = snprintf(message, room, "event: %s\ndata: %s\n\n", name, json);
        if (only != NULL) {
            bw_http_send(only, message, (size_t)len);
        } else if (d->http != NULL) {
            bw_http_publish(d->http, kinds, message, (size_t)len, false);
        }
    }
    free(message);
    free(json);
}

static json_t *said_json(const bw_display *d) {
    static const char *const tones[] = {
        [BW_TONE_PLAIN] = "plain", [BW_TONE_GOOD] = "good", [BW_TONE_BAD] = "bad"};
    json_t *said = json_object();
    bw_set_text(said, "tone", tones[d->tone]);
    bw_set_text(said, "text", d->said);
    return said;
}

/* The whole state as one kind of viewer may know it.  Borrowed parts are added each time. */
static json_t *state_json(bw_display *d, unsigned kind) {
    json_t *state = json_copy(d->view);
    if (state == NULL) {
        return NULL;
    }
    bw_set_whole(state, "prompts", d->prompts);
    bw_set_flag(state, "may_answer", kind == BW_SCREEN_ANSWERS);
    bw_set_flag(state, "pulling", d->pulling);
    bw_set_flag(state, "resumed", d->prompts == 1 && d->setup.replay->entry_n > 0);
    if (kind == BW_SCREEN_ANSWERS && !d->asked.spent) {
        bw_set_text(state, "nonce", d->asked.nonce);
    }
    if (d->said[0] != '\0') {
        (void)json_object_set_new(state, "said", said_json(d));
    }
    (void)json_object_set_new(state, "history", bw_history_lines(&d->history));
    json_t *verdict = bw_history_verdict(&d->history);
    if (verdict != NULL) {
        (void)json_object_set_new(state, "verdict", verdict);
    }
    (void)json_object_set(state, "accepted", d->history.accepted);
    return state;
}

static void send_state(bw_display *d, unsigned kind, bw_http_stream *only) {
    json_t *state = state_json(d, kind);
    send_event(d, kind, "state", state, only);
    json_decref(state);
}

/* ---- the face ---- */

static void on_prompt(void *ctx, const bw_prompt *p) {
    bw_display *d = ctx;
    json_decref(d->view);
    d->view = bw_view_prompt(p, d->setup.session);
    (void)json_object_set_new(d->view, "job", bw_view_job(&d->setup, p));
    d->pulling = false;
    d->live_held = false;
    d->prompts++;
    bw_asked_prompt(&d->asked, p);
    if (!d->said_new) {
        d->said[0] = '\0';
    }
    d->said_new = false;
    send_state(d, BW_SCREEN_ANSWERS, NULL);
    send_state(d, BW_SCREEN_WATCHES, NULL);
}

static void send_live(bw_display *d) {
    char bytes[LIVE_BYTES];
    char torque[BW_FIGURE_MAX];
    char turn[BW_FIGURE_MAX];
    bw_text text = bw_text_on(bytes, sizeof bytes);
    d->live_held = false;
    int64_t least_ms = now_ms(d) - LIVE_AHEAD_MS;
    d->live_due_ms = (d->live_due_ms > least_ms ? d->live_due_ms : least_ms) + LIVE_EVERY_MS;
    bw_text_add(&text, "event: live\ndata: {\"torque_Nm\":%s,\"turn_deg\":%s,\"word\":%d}\n\n",
                bw_decimal_format(d->live.torque_Nm, 2, torque, sizeof torque),
                d->live.has_turn ? bw_decimal_format(d->live.turn_deg, 1, turn, sizeof turn)
                                 : "null",
                (int)d->live.word);
    bw_http_publish(d->http, BW_SCREEN_ANY, bytes, text.len, true);
}

static void on_live_timer(uv_timer_t *timer) {
    bw_display *d = timer->data;
    if (d->live_held) {
        send_live(d);
    }
}

/* One every LIVE_EVERY_MS at most, on the whole: a few may follow faster, for on a busy machine the
 * one before may be what was late.  A new word goes out at once. */
static void on_live(void *ctx, const bw_prompt *p, const bw_live *live) {
    bw_display *d = ctx;
    if (p->state != BW_STATE_PULLING || d->http == NULL) {
        return;
    }
    if (!d->pulling) {
        d->pulling = true;
        d->asked.spent = true; /* the hand is busy: nothing is asked */
    }
    bool changed = live->word != d->live.word;
    d->live = *live;
    int64_t wait_ms = d->live_due_ms - now_ms(d);
    if (changed || wait_ms <= 0) {
        send_live(d);
    } else if (!d->live_held) {
        d->live_held = true;
        (void)uv_timer_start(d->live_timer, on_live_timer, (uint64_t)wait_ms, 0);
    }
}

static void on_say(void *ctx, bw_tone tone, const char *text) {
    bw_display *d = ctx;
    size_t len = d->said_new ? strlen(d->said) : 0;
    bw_text said = {.data = d->said, .size = sizeof d->said, .len = len};
    bw_text_add(&said, "%s%s", len > 0 ? "\n" : "", text);
    d->tone = d->said_new && d->tone > tone ? d->tone : tone;
    d->said_new = true;
    json_t *data = said_json(d);
    send_event(d, BW_SCREEN_ANY, "say", data, NULL);
    json_decref(data);
}

static void on_recorded(void *ctx, const bw_entry *entry) {
    bw_display *d = ctx;
    bw_history_entry(&d->history, entry);
}

bw_face bw_display_face(bw_display *display) {
    return (bw_face){.ctx = display,
                     .prompt = on_prompt,
                     .live = on_live,
                     .say = on_say,
                     .recorded = on_recorded};
}

/* ---- requests ---- */

static void post_answer(bw_display *d, const bw_http_request *r, bw_http_answer *answer) {
    bw_asked_answer(&d->asked, d->turn, r, answer);
}

static void post_echo(bw_display *d, const bw_http_request *r, bw_http_answer *answer) {
    bw_asked_echo(&d->asked, r, answer);
}

static void post_pair_ask(bw_display *d, const bw_http_request *r, bw_http_answer *answer) {
    bw_pairing_ask(&d->pairing, r, now_ms(d), answer);
}

static void post_pair_enter(bw_display *d, const bw_http_request *r, bw_http_answer *answer) {
    bw_pairing_enter(&d->pairing, r, now_ms(d), answer);
}

static const struct {
    const char *path;
    void (*post)(bw_display *d, const bw_http_request *r, bw_http_answer *answer);
    unsigned kind; /* of the stream */
    unsigned for_kinds;
} routes[] = {
    {"/answer", post_answer, 0, BW_SCREEN_ANSWERS},
    {"/echo", post_echo, 0, BW_SCREEN_ANSWERS},
    {"/events", NULL, BW_SCREEN_ANSWERS, BW_SCREEN_ANSWERS},
    {"/watch/events", NULL, BW_SCREEN_WATCHES, BW_SCREEN_ANY},
    {"/pair/ask", post_pair_ask, 0, BW_SCREEN_UNPAIRED},
    {"/pair/enter", post_pair_enter, 0, BW_SCREEN_UNPAIRED},
};

enum { ROUTES = sizeof routes / sizeof routes[0] };

static size_t route_of(const bw_display *d, const char *path) {
    size_t i = 0;
    while (i < ROUTES && strcmp(routes[i].path, path) != 0) {
        i++;
    }
    bool there = i < ROUTES &&
                 (routes[i].for_kinds != BW_SCREEN_UNPAIRED || d->pairing.tell != NULL);
    return there ? i : ROUTES;
}

static void answer_page(const char *path, unsigned kind, bw_http_answer *answer) {
    bool front = strcmp(path, "/") == 0 || strcmp(path, "/watch") == 0;
    unsigned needs = strcmp(path, "/") == 0 ? BW_SCREEN_ANSWERS : BW_SCREEN_ANY;
    bool may = (kind & needs) != 0;
    bw_page page;
    if (!bw_page_at(front && !may ? "/pair.html" : path, &page)) {
        bw_reply_refuse(answer, may ? 404 : BW_REPLY_UNPAIRED);
    } else if (!page.open && !may) {
        bw_reply_refuse(answer, BW_REPLY_UNPAIRED);
    } else {
        *answer = (bw_http_answer){
            .status = 200, .type = page.type, .body = page.data, .len = page.len, .stays = true};
    }
}

static void on_ask(void *ctx, const bw_http_request *r, bw_http_answer *answer) {
    bw_display *d = ctx;
    size_t route = route_of(d, r->path);
    bool posts = route < ROUTES && routes[route].post != NULL;
    unsigned kind = bw_pairing_kind(&d->pairing, r);
    unsigned status = bw_gate_check(&d->gate, r, posts);
    if (status == 0 && route < ROUTES && routes[route].for_kinds != BW_SCREEN_UNPAIRED &&
        (routes[route].for_kinds & kind) == 0) {
        status = BW_REPLY_UNPAIRED;
    }
    if (status != 0) {
        bw_reply_refuse(answer, status);
    } else if (r->body == NULL) {
        return; /* the head is in order: go on */
    } else if (posts) {
        routes[route].post(d, r, answer);
    } else if (route < ROUTES) {
        *answer = (bw_http_answer){.status = 200, .kind = routes[route].kind};
    } else {
        answer_page(r->path, kind, answer);
    }
}

static void on_opened(void *ctx, bw_http_stream *stream, unsigned kind) {
    bw_display *d = ctx;
    send_state(d, kind, stream);
}

/* ---- life ---- */

bw_status bw_display_new(const bw_display_setup *setup, bw_display **out, bw_err *err) {
    bw_display *d = calloc(1, sizeof *d);
    if (d == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for the display");
    }
    d->setup = *setup;
    d->asked.spent = true;
    bw_history_init(&d->history, setup->plan, setup->store);
    for (size_t i = 0; i < setup->replay->entry_n; i++) {
        bw_history_entry(&d->history, &setup->replay->entry[i]);
    }
    *out = d;
    return BW_OK;
}

static void open_to(bw_display *d, const bw_display_where *where, const bw_display_network *network,
                    bw_http_setup *setup) {
    bw_pairing_open(&d->pairing, network, where->port);
    setup->certificate_pem = network->certificate_pem;
    setup->key_pem = network->key_pem;
    if (network->host[0] != '\0') {
        bw_gate_name(&d->gate, network->host, where->port);
    }
}

bw_status bw_display_serve(bw_display *d, bw_turn *turn, const bw_display_where *where,
                           const bw_display_network *network, bw_err *err) {
    bw_http_setup setup = {.loop = bw_turn_loop(turn),
                           .address = where->address,
                           .port = where->port,
                           .ctx = d,
                           .ask = on_ask,
                           .opened = on_opened};
    d->turn = turn;
    d->gate = bw_gate_for(where->address, where->port, network != NULL);
    if (network != NULL) {
        open_to(d, where, network, &setup);
    }
    d->live_timer = calloc(1, sizeof *d->live_timer);
    if (d->live_timer == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for the display");
    }
    (void)uv_timer_init(bw_turn_loop(turn), d->live_timer);
    d->live_timer->data = d;
    return bw_http_new(&setup, &d->http, err);
}

static void free_handle(uv_handle_t *handle) {
    free(handle);
}

void bw_display_end(bw_display *d, const char *outcome) {
    if (d == NULL || d->http == NULL) {
        return;
    }
    json_t *end = json_object();
    bw_set_text(end, "outcome", outcome != NULL ? outcome : "failed");
    (void)json_object_set_new(end, "said", said_json(d));
    (void)json_object_set_new(end, "dues", bw_view_dues(d->setup.plan, d->setup.session));
    send_event(d, BW_SCREEN_ANY, "end", end, NULL);
    json_decref(end);
}

void bw_display_free(bw_display *d) {
    if (d == NULL) {
        return;
    }
    bw_http_free(d->http);
    if (d->live_timer != NULL) {
        uv_close((uv_handle_t *)d->live_timer, free_handle);
    }
    bw_history_free(&d->history);
    json_decref(d->view);
    free(d);
}
