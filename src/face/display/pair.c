/* pair.c - see pair.h. */
#include "face/display/pair.h"

#include "base/text.h"

#include <inttypes.h>
#include <string.h>

enum { CODES = 1000000, MS = 1000 };

bool bw_same_secret(const char *given, const char *secret) {
    size_t len = strlen(secret);
    unsigned differ = 0;
    if (strlen(given) != len) {
        return false;
    }
    for (size_t i = 0; i < len; i++) {
        differ |= (unsigned)(given[i] ^ secret[i]);
    }
    return differ == 0;
}

static bool is_code(const char *text) {
    return strlen(text) == BW_PAIR_DIGITS && strspn(text, "0123456789") == BW_PAIR_DIGITS;
}

static bool stands(const bw_pair *pair, int64_t now_ms) {
    return pair->code[0] != '\0' && now_ms < pair->code_until_ms;
}

bw_pair_result bw_pair_ask(bw_pair *pair, unsigned kind, int64_t now_ms, uint64_t random,
                           bool *show) {
    *show = false;
    if (now_ms < pair->shut_until_ms) {
        return BW_PAIR_SHUT;
    }
    if (!stands(pair, now_ms)) {
        bw_text code = bw_text_on(pair->code, sizeof pair->code);
        bw_text_add(&code, "%06" PRIu64, random % CODES);
        pair->kind = kind;
        pair->code_until_ms = now_ms + (int64_t)BW_PAIR_CODE_S * MS;
    } else if (pair->kind != kind) {
        return BW_PAIR_OTHER;
    }
    *show = now_ms >= pair->show_from_ms;
    if (*show) {
        pair->show_from_ms = now_ms + (int64_t)BW_PAIR_SHOW_S * MS;
    }
    return BW_PAIR_OK;
}

static int64_t wait_ms(unsigned wrong) {
    int64_t wait_s = BW_PAIR_WAIT_S;
    for (unsigned i = BW_PAIR_TRIES; i < wrong && wait_s < BW_PAIR_WAIT_MAX_S; i++) {
        wait_s *= 2;
    }
    return MS * (wait_s < BW_PAIR_WAIT_MAX_S ? wait_s : BW_PAIR_WAIT_MAX_S);
}

static bw_pair_result count_wrong(bw_pair *pair, int64_t now_ms) {
    pair->wrong += pair->wrong < UINT32_MAX ? 1 : 0;
    if (pair->wrong < BW_PAIR_TRIES) {
        return BW_PAIR_WRONG;
    }
    pair->code[0] = '\0';
    pair->show_from_ms = 0;
    pair->shut_until_ms = now_ms + wait_ms(pair->wrong);
    return BW_PAIR_SHUT;
}

/* All are looked at, whichever it is; screen_n: none. */
static size_t screen_of(const bw_pair *pair, const char *token) {
    size_t found = pair->screen_n;
    for (size_t i = 0; token != NULL && i < pair->screen_n; i++) {
        found = bw_same_secret(token, pair->screen[i].token) ? i : found;
    }
    return found;
}

bw_pair_result bw_pair_enter(bw_pair *pair, const char *code, const char *before, int64_t now_ms,
                             const uint8_t *random, char *token) {
    size_t at = screen_of(pair, before);
    if (!is_code(code)) {
        return BW_PAIR_MALFORMED;
    }
    if (now_ms < pair->shut_until_ms) {
        return BW_PAIR_SHUT;
    }
    if (!stands(pair, now_ms)) {
        return BW_PAIR_OVER;
    }
    if (!bw_same_secret(code, pair->code)) {
        return count_wrong(pair, now_ms);
    }
    if (at == BW_PAIR_SCREENS_MAX) {
        return BW_PAIR_FULL;
    }
    bw_pair_screen *screen = &pair->screen[at];
    pair->screen_n += at == pair->screen_n ? 1 : 0;
    bw_hex(random, BW_PAIR_TOKEN_BYTES, screen->token);
    screen->kind = pair->kind;
    memcpy(token, screen->token, BW_PAIR_TOKEN_MAX);
    pair->code[0] = '\0';
    pair->show_from_ms = 0;
    pair->wrong = 0;
    return BW_PAIR_OK;
}

unsigned bw_pair_kind(const bw_pair *pair, const char *token) {
    size_t at = screen_of(pair, token);
    return at < pair->screen_n ? pair->screen[at].kind : 0;
}

bool bw_pair_cookie(const char *header, const char *name, char *token) {
    size_t name_len = strlen(name);
    size_t found = 0;
    for (const char *at = header; at != NULL && *at != '\0';) {
        at += strspn(at, " ");
        size_t len = strcspn(at, ";");
        if (len > name_len && strncmp(at, name, name_len) == 0 && at[name_len] == '=') {
            size_t value_len = len - name_len - 1;
            if (value_len != BW_PAIR_TOKEN_MAX - 1) {
                return false;
            }
            memcpy(token, at + name_len + 1, value_len);
            token[value_len] = '\0';
            found++;
        }
        at += len + (at[len] == ';' ? 1 : 0);
    }
    return found == 1 && strspn(token, "0123456789abcdef") == BW_PAIR_TOKEN_MAX - 1;
}
