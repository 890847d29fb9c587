/* display.c - see display.h.  What the turn tells its faces becomes messages to the streams; what
 * a page posts becomes the line that answers the prompt. */
#include "face/display/display.h"

#include "base/decimal.h"
#include "base/text.h"
#include "face/display/gate.h"
#include "face/display/history.h"
#include "face/display/http.h"
#include "face/display/pages.h"
#include "face/display/pair.h"
#include "face/display/view.h"
#include "face/figures.h"
#include "face/members.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>

/* Kinds of streams: who may answer is told the nonce. */
enum { NOT_PAIRED = 0, MAY_ANSWER = 1, MAY_WATCH = 2, ANYONE = MAY_ANSWER | MAY_WATCH };

enum {
    NONCE_BYTES = 16,
    NONCE_HEX = 2 * NONCE_BYTES,
    LIVE_EVERY_MS = 16,
    LIVE_BYTES = 200,
    ECHO_BYTES = 1024,
    SAID_BYTES = 2400,
    COOKIE_NAME_BYTES = 32,
    COOKIE_BYTES = 160,
    UNPAIRED = 401 /* a status */
};

struct bw_display {
    bw_display_setup setup;
    bw_turn *turn;
    bw_http *http;
    bw_gate gate;
    bw_display_network network; /* tell NULL: this machine only; of the texts none is kept */
    bw_pair pair;
    char cookie_name[COOKIE_NAME_BYTES], cookie[COOKIE_BYTES];
    bw_history history;
    char nonce[NONCE_HEX + 1];
    bool spent; /* the prompt is answered */
    char step[BW_PLAN_ID_MAX + 1];
    bw_state state;
    json_t *view;   /* the newest prompt and job; owned */
    size_t prompts; /* so many were shown */
    char said[SAID_BYTES];
    bw_tone tone;
    bool said_new;           /* since the newest prompt */
    bw_dimension echo_of;    /* what is read now */
    bw_unit echo_unit;       /* what a bare number means */
    double least, most;      /* plausible, in the base unit */
    char echoed[ECHO_BYTES]; /* what is answered */
    uv_timer_t *live_timer;
    int64_t live_sent_ms;
    bool pulling, live_held; /* one waits for its turn */
    bw_live live;
};

/* ---- messages ---- */

static void send_event(bw_display *d, unsigned kinds, const char *name, json_t *data,
                       bw_http_stream *only) {
    char *json = data != NULL ? json_dumps(data, JSON_COMPACT) : NULL;
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
static json_t *state_json(const bw_display *d, unsigned kind) {
    json_t *state = json_copy(d->view);
    if (state == NULL) {
        return NULL;
    }
    bw_set_whole(state, "prompts", d->prompts);
    bw_set_flag(state, "may_answer", kind == MAY_ANSWER);
    bw_set_flag(state, "pulling", d->pulling);
    bw_set_flag(state, "resumed", d->prompts == 1 && d->setup.replay->entry_n > 0);
    if (kind == MAY_ANSWER && !d->spent) {
        bw_set_text(state, "nonce", d->nonce);
    }
    if (d->said[0] != '\0') {
        (void)json_object_set_new(state, "said", said_json(d));
    }
    (void)json_object_set_new(state, "history", bw_history_lines(&d->history));
    (void)json_object_set(state, "verdict", d->history.verdict);
    (void)json_object_set(state, "accepted", d->history.accepted);
    return state;
}

static void send_state(bw_display *d, unsigned kind, bw_http_stream *only) {
    json_t *state = state_json(d, kind);
    send_event(d, kind, "state", state, only);
    json_decref(state);
}

/* ---- the face ---- */

static void new_nonce(bw_display *d) {
    uint8_t bytes[NONCE_BYTES];
    bool drawn = getrandom(bytes, sizeof bytes, 0) == (ssize_t)sizeof bytes;
    d->spent = !drawn; /* without one nothing can be answered from here */
    bw_hex(bytes, sizeof bytes, d->nonce);
}

/* What a number that is typed now would mean. */
static void keep_echo(bw_display *d, const bw_prompt *p) {
    d->echo_of = BW_DIM_COUNT;
    if (p->state == BW_STATE_READING && p->set != NULL) {
        d->echo_unit = p->set->unit;
        d->least = p->set->least;
        d->most = p->set->most;
        d->echo_of = bw_unit_of(d->echo_unit)->dimension;
    } else if (p->state == BW_STATE_LENGTH) {
        d->echo_unit = p->length_unit;
        d->least = 0;
        d->most = INFINITY;
        d->echo_of = bw_unit_of(d->echo_unit)->dimension;
    }
}

static void on_prompt(void *ctx, const bw_prompt *p) {
    bw_display *d = ctx;
    json_decref(d->view);
    d->view = bw_view_prompt(p, d->setup.session);
    (void)json_object_set_new(d->view, "job", bw_view_job(&d->setup, p));
    d->state = p->state;
    d->pulling = false;
    d->live_held = false;
    d->prompts++;
    (void)bw_text_copy(d->step, sizeof d->step, p->step != NULL ? p->step->id : "");
    keep_echo(d, p);
    new_nonce(d);
    if (!d->said_new) {
        d->said[0] = '\0';
    }
    d->said_new = false;
    send_state(d, MAY_ANSWER, NULL);
    send_state(d, MAY_WATCH, NULL);
}

static void send_live(bw_display *d) {
    char bytes[LIVE_BYTES];
    char torque[BW_FIGURE_MAX];
    char turn[BW_FIGURE_MAX];
    bw_text text = bw_text_on(bytes, sizeof bytes);
    d->live_held = false;
    d->live_sent_ms = (int64_t)uv_now(bw_turn_loop(d->turn));
    bw_text_add(&text, "event: live\ndata: {\"torque_Nm\":%s,\"turn_deg\":%s,\"word\":%d}\n\n",
                bw_decimal_format(d->live.torque_Nm, 2, torque, sizeof torque),
                d->live.has_turn ? bw_decimal_format(d->live.turn_deg, 1, turn, sizeof turn)
                                 : "null",
                (int)d->live.word);
    bw_http_publish(d->http, ANYONE, bytes, text.len, true);
}

static void on_live_timer(uv_timer_t *timer) {
    bw_display *d = timer->data;
    if (d->live_held) {
        send_live(d);
    }
}

/* At most one every LIVE_EVERY_MS, but a new word goes out at once. */
static void on_live(void *ctx, const bw_prompt *p, const bw_live *live) {
    bw_display *d = ctx;
    if (p->state != BW_STATE_PULLING || d->http == NULL) {
        return;
    }
    if (!d->pulling) {
        bw_history_pull(&d->history);
        d->pulling = true;
        d->spent = true; /* the hand is busy: nothing is asked */
    }
    bool changed = live->word != d->live.word;
    d->live = *live;
    bw_history_sample(&d->history, live);
    int64_t wait_ms = d->live_sent_ms + LIVE_EVERY_MS - (int64_t)uv_now(bw_turn_loop(d->turn));
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
    send_event(d, ANYONE, "say", data, NULL);
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

static void answer_text(bw_http_answer *answer, unsigned status, const char *type,
                        const char *text) {
    *answer = (bw_http_answer){.status = status, .type = type, .body = text, .len = strlen(text)};
}

static const char type_json[] = "application/json";

static void refuse(bw_http_answer *answer, unsigned status) {
    static const struct {
        unsigned status;
        const char *text;
    } texts[] = {
        {400, "{\"error\":\"the request is not as this page makes it\"}"},
        {UNPAIRED, "{\"error\":\"this screen is not paired: load the page anew\"}"},
        {403, "{\"error\":\"not from this page\"}"},
        {404, "{\"error\":\"there is no such thing here\"}"},
        {405, "{\"error\":\"not in this way\"}"},
        {409, "{\"error\":\"the bench has moved on; look what it asks now\"}"},
        {415, "{\"error\":\"JSON only\"}"},
        {421, "{\"error\":\"this is not what the bench is called\"}"},
    };
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        if (texts[i].status == status) {
            answer_text(answer, status, type_json, texts[i].text);
        }
    }
    answer->stays = true;
}

/* An object of exactly these texts; NULL otherwise.  The caller drops it. */
static json_t *read_object(const bw_http_request *r, const char *const *name, size_t n) {
    json_t *object = json_loadb(r->body, r->body_len, JSON_REJECT_DUPLICATES, NULL);
    bool good = json_is_object(object) && json_object_size(object) == n;
    for (size_t i = 0; i < n && good; i++) {
        good = json_is_string(json_object_get(object, name[i]));
    }
    if (!good) {
        json_decref(object);
        object = NULL;
    }
    return object;
}

static const char *text_of(const json_t *object, const char *name) {
    return json_string_value(json_object_get(object, name));
}

static unsigned take_answer(bw_display *d, const json_t *object) {
    const char *line = text_of(object, "line");
    size_t len = json_string_length(json_object_get(object, "line"));
    bw_err err = {0};
    if (len != strlen(line) || len >= BW_PLAN_TEXT_MAX || !bw_text_printable(line, len, false)) {
        return 400;
    }
    if (d->spent || !bw_same_secret(text_of(object, "nonce"), d->nonce) ||
        strcmp(d->step, text_of(object, "step")) != 0) {
        return 409;
    }
    if (bw_turn_answer(d->turn, line, &err) != BW_OK) {
        return 409;
    }
    d->spent = true;
    return 200;
}

static void post_answer(bw_display *d, const bw_http_request *r, bw_http_answer *answer) {
    static const char *const names[] = {"line", "nonce", "step"};
    json_t *object = read_object(r, names, sizeof names / sizeof names[0]);
    unsigned status = object != NULL ? take_answer(d, object) : 400;
    json_decref(object);
    if (status == 200) {
        answer_text(answer, status, type_json, "{\"taken\":true}");
    } else {
        refuse(answer, status);
    }
}

/* What a number that is being typed would be taken for. */
static json_t *echo(const bw_display *d, const char *typed) {
    bw_quantity q = {0};
    bw_err err = {0};
    json_t *out = json_object();
    bw_status status = d->echo_of == BW_DIM_COUNT
                           ? bw_fail(&err, BW_E_DATA, "no number is asked for")
                           : bw_quantity_parse(typed, strlen(typed), d->echo_of, d->echo_unit, &q,
                                               &err);
    if (status != BW_OK) {
        bw_set_text(out, "error", err.text);
        return out;
    }
    double value = bw_to_base(q.value, q.unit);
    bw_view_figure(out, "as_typed", q);
    bw_set_flag(out, "plausible", value >= d->least && value <= d->most);
    return out;
}

static void post_echo(bw_display *d, const bw_http_request *r, bw_http_answer *answer) {
    static const char *const names[] = {"text"};
    json_t *object = read_object(r, names, sizeof names / sizeof names[0]);
    json_t *out = object != NULL ? echo(d, text_of(object, "text")) : NULL;
    char *json = out != NULL ? json_dumps(out, JSON_COMPACT) : NULL;
    if (json != NULL && bw_text_copy(d->echoed, sizeof d->echoed, json)) {
        answer_text(answer, 200, type_json, d->echoed);
    } else {
        refuse(answer, 400);
    }
    free(json);
    json_decref(out);
    json_decref(object);
}

/* ---- pairing ---- */

static void answer_pairing(bw_display *d, bw_pair_result result, bw_http_answer *answer) {
    static const struct {
        unsigned status;
        const char *text;
    } texts[] = {
        [BW_PAIR_OK] = {200, "{}"},
        [BW_PAIR_MALFORMED] = {400, "{\"error\":\"a code has six digits\"}"},
        [BW_PAIR_WRONG] = {403, "{\"error\":\"that is not the code at the bench\"}"},
        [BW_PAIR_OVER] = {403, "{\"error\":\"there is no code now: have a new one shown\"}"},
        [BW_PAIR_SHUT] = {429, "{\"error\":\"too many wrong codes: try again later\"}"},
        [BW_PAIR_OTHER] = {409, "{\"error\":\"the code that stands at the bench is for another "
                                "kind of screen: wait two minutes\"}"},
        [BW_PAIR_FULL] = {409, "{\"error\":\"the bench has as many screens as it takes\"}"},
    };
    answer_text(answer, texts[result].status, type_json, texts[result].text);
    answer->stays = true;
    if (result == BW_PAIR_SHUT) {
        d->network.tell(d->network.ctx,
                        "wrong codes were typed on a screen: none is taken for now");
    }
}

static const char *kind_words(unsigned kind) {
    return kind == MAY_ANSWER ? "may answer" : "only looks on";
}

static void post_pair_ask(bw_display *d, const bw_http_request *r, bw_http_answer *answer) {
    static const char *const names[] = {"screen"};
    json_t *object = read_object(r, names, sizeof names / sizeof names[0]);
    const char *screen = object != NULL ? text_of(object, "screen") : "";
    unsigned kind = strcmp(screen, "answer") == 0  ? MAY_ANSWER
                    : strcmp(screen, "watch") == 0 ? MAY_WATCH
                                                   : 0;
    uint64_t random = 0;
    bool show = false;
    json_decref(object);
    if (kind == 0 || getrandom(&random, sizeof random, 0) != (ssize_t)sizeof random) {
        refuse(answer, 400);
        return;
    }
    int64_t now_ms = (int64_t)uv_now(bw_turn_loop(d->turn));
    bw_pair_result result = bw_pair_ask(&d->pair, kind, now_ms, random, &show);
    if (show) {
        char line[ECHO_BYTES];
        bw_text text = bw_text_on(line, sizeof line);
        bw_text_add(&text, "code to pair a screen that %s: %.3s %s (one screen, two minutes)",
                    kind_words(kind), d->pair.code, d->pair.code + 3);
        d->network.tell(d->network.ctx, line);
    }
    answer_pairing(d, result, answer);
}

static void give_cookie(bw_display *d, const char *token, bw_http_answer *answer) {
    char line[ECHO_BYTES];
    bw_text cookie = bw_text_on(d->cookie, sizeof d->cookie);
    bw_text_add(&cookie, "%s=%s; Path=/; Secure; HttpOnly; SameSite=Strict", d->cookie_name, token);
    answer->cookie = d->cookie;
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add(&text, "a screen that %s is paired", kind_words(bw_pair_kind(&d->pair, token)));
    d->network.tell(d->network.ctx, line);
}

static void post_pair_enter(bw_display *d, const bw_http_request *r, bw_http_answer *answer) {
    static const char *const names[] = {"code"};
    uint8_t random[BW_PAIR_TOKEN_BYTES];
    char before[BW_PAIR_TOKEN_MAX];
    char token[BW_PAIR_TOKEN_MAX];
    json_t *object = read_object(r, names, sizeof names / sizeof names[0]);
    if (object == NULL || getrandom(random, sizeof random, 0) != (ssize_t)sizeof random) {
        json_decref(object);
        refuse(answer, 400);
        return;
    }
    bool known = bw_pair_cookie(r->cookie, d->cookie_name, before);
    bw_pair_result result = bw_pair_enter(&d->pair, text_of(object, "code"), known ? before : NULL,
                                          (int64_t)uv_now(bw_turn_loop(d->turn)), random, token);
    json_decref(object);
    answer_pairing(d, result, answer);
    if (result == BW_PAIR_OK) {
        give_cookie(d, token, answer);
    }
}

/* ---- routes ---- */

static const struct {
    const char *path;
    void (*post)(bw_display *d, const bw_http_request *r, bw_http_answer *answer);
    unsigned kind; /* of the stream */
    unsigned for_kinds;
} routes[] = {
    {"/answer", post_answer, 0, MAY_ANSWER},     {"/echo", post_echo, 0, MAY_ANSWER},
    {"/events", NULL, MAY_ANSWER, MAY_ANSWER},   {"/watch/events", NULL, MAY_WATCH, ANYONE},
    {"/pair/ask", post_pair_ask, 0, NOT_PAIRED}, {"/pair/enter", post_pair_enter, 0, NOT_PAIRED},
};

enum { ROUTES = sizeof routes / sizeof routes[0] };

static size_t route_of(const bw_display *d, const char *path) {
    size_t i = 0;
    while (i < ROUTES && strcmp(routes[i].path, path) != 0) {
        i++;
    }
    bool there = i < ROUTES && (routes[i].for_kinds != NOT_PAIRED || d->network.tell != NULL);
    return there ? i : ROUTES;
}

static void answer_page(const char *path, unsigned kind, bw_http_answer *answer) {
    bool front = strcmp(path, "/") == 0 || strcmp(path, "/watch") == 0;
    unsigned needs = strcmp(path, "/") == 0 ? MAY_ANSWER : ANYONE;
    bool may = (kind & needs) != 0;
    bw_page page;
    if (!bw_page_at(front && !may ? "/pair.html" : path, &page)) {
        refuse(answer, may ? 404 : UNPAIRED);
    } else if (!page.open && !may) {
        refuse(answer, UNPAIRED);
    } else {
        *answer = (bw_http_answer){
            .status = 200, .type = page.type, .body = page.data, .len = page.len, .stays = true};
    }
}

/* Whoever is on this machine may all. */
static unsigned kind_of(const bw_display *d, const bw_http_request *r) {
    char token[BW_PAIR_TOKEN_MAX];
    if (d->network.tell == NULL) {
        return ANYONE;
    }
    bool has = bw_pair_cookie(r->cookie, d->cookie_name, token);
    return has ? bw_pair_kind(&d->pair, token) : 0;
}

static void on_ask(void *ctx, const bw_http_request *r, bw_http_answer *answer) {
    bw_display *d = ctx;
    size_t route = route_of(d, r->path);
    bool posts = route < ROUTES && routes[route].post != NULL;
    unsigned kind = kind_of(d, r);
    unsigned status = bw_gate_check(&d->gate, r, posts);
    if (status == 0 && route < ROUTES && routes[route].for_kinds != NOT_PAIRED &&
        (routes[route].for_kinds & kind) == 0) {
        status = UNPAIRED;
    }
    if (status != 0) {
        refuse(answer, status);
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
    d->spent = true;
    bw_history_init(&d->history, setup->plan);
    for (size_t i = 0; i < setup->replay->entry_n; i++) {
        bw_history_entry(&d->history, &setup->replay->entry[i]);
    }
    *out = d;
    return BW_OK;
}

static void open_to(bw_display *d, const bw_display_where *where, const bw_display_network *network,
                    bw_http_setup *setup) {
    /* A cookie is the same at every port: the name tells two benches on one machine apart. */
    bw_text name = bw_text_on(d->cookie_name, sizeof d->cookie_name);
    bw_text_add(&name, "__Host-bench-%u", where->port);
    d->network = (bw_display_network){.ctx = network->ctx, .tell = network->tell};
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
    send_event(d, ANYONE, "end", end, NULL);
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
