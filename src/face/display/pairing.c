/* pairing.c - see pairing.h. */
#include "face/display/pairing.h"

#include "base/text.h"
#include "face/display/reply.h"

#include <string.h>
#include <sys/random.h>

enum { LINE_BYTES = 160 };

void bw_pairing_open(bw_pairing *p, const bw_display_network *network, unsigned port) {
    /* A cookie is the same at every port: the name tells two benches on one machine apart. */
    bw_text name = bw_text_on(p->name, sizeof p->name);
    bw_text_add(&name, "__Host-bench-%u", port);
    p->ctx = network->ctx;
    p->tell = network->tell;
}

unsigned bw_pairing_kind(const bw_pairing *p, const bw_http_request *r) {
    char token[BW_PAIR_TOKEN_MAX];
    if (p->tell == NULL) {
        return BW_SCREEN_ANY; /* whoever is on this machine */
    }
    bool has = bw_pair_cookie(r->cookie, p->name, token);
    return has ? bw_pair_kind(&p->pair, token) : BW_SCREEN_UNPAIRED;
}

static void answer_result(bw_pairing *p, bw_pair_result result, bw_http_answer *answer) {
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
    bw_reply_json(answer, texts[result].status, texts[result].text);
    answer->stays = true;
    if (result == BW_PAIR_SHUT) {
        p->tell(p->ctx, "wrong codes were typed on a screen: none is taken for now");
    }
}

static const char *kind_words(unsigned kind) {
    return kind == BW_SCREEN_ANSWERS ? "may answer" : "only looks on";
}

void bw_pairing_ask(bw_pairing *p, const bw_http_request *r, int64_t now_ms,
                    bw_http_answer *answer) {
    static const char *const names[] = {"screen"};
    json_t *object = bw_reply_read(r, names, sizeof names / sizeof names[0]);
    const char *screen = object != NULL ? bw_reply_text(object, "screen") : "";
    unsigned kind = strcmp(screen, "answer") == 0  ? BW_SCREEN_ANSWERS
                    : strcmp(screen, "watch") == 0 ? BW_SCREEN_WATCHES
                                                   : 0;
    uint64_t random = 0;
    bool show = false;
    json_decref(object);
    if (kind == 0 || getrandom(&random, sizeof random, 0) != (ssize_t)sizeof random) {
        bw_reply_refuse(answer, 400);
        return;
    }
    bw_pair_result result = bw_pair_ask(&p->pair, kind, now_ms, random, &show);
    if (show) {
        char line[LINE_BYTES];
        bw_text text = bw_text_on(line, sizeof line);
        bw_text_add(&text, "code to pair a screen that %s: %.3s %s (one screen, two minutes)",
                    kind_words(kind), p->pair.code, p->pair.code + 3);
        p->tell(p->ctx, line);
    }
    answer_result(p, result, answer);
}

static void give_cookie(bw_pairing *p, const char *token, bw_http_answer *answer) {
    char line[LINE_BYTES];
    bw_text cookie = bw_text_on(p->cookie, sizeof p->cookie);
    bw_text_add(&cookie, "%s=%s; Path=/; Secure; HttpOnly; SameSite=Strict", p->name, token);
    answer->cookie = p->cookie;
    bw_text text = bw_text_on(line, sizeof line);
    bw_text_add(&text, "a screen that %s is paired", kind_words(bw_pair_kind(&p->pair, token)));
    p->tell(p->ctx, line);
}

void bw_pairing_enter(bw_pairing *p, const bw_http_request *r, int64_t now_ms,
                      bw_http_answer *answer) {
    static const char *const names[] = {"code"};
    uint8_t random[BW_PAIR_TOKEN_BYTES];
    char before[BW_PAIR_TOKEN_MAX];
    char token[BW_PAIR_TOKEN_MAX];
    json_t *object = bw_reply_read(r, names, sizeof names / sizeof names[0]);
    if (object == NULL || getrandom(random, sizeof random, 0) != (ssize_t)sizeof random) {
        json_decref(object);
        bw_reply_refuse(answer, 400);
        return;
    }
    bool known = bw_pair_cookie(r->cookie, p->name, before);
    bw_pair_result result = bw_pair_enter(&p->pair, bw_reply_text(object, "code"),
                                          known ? before : NULL, now_ms, random, token);
    json_decref(object);
    answer_result(p, result, answer);
    if (result == BW_PAIR_OK) {
        give_cookie(p, token, answer);
    }
}
