/* session_free.c - pulls that no step asked for: all there is without a sequence, and named later.
 */
#include "session/session_int.h"

#include "base/decimal.h"
#include "base/text.h"

#include <string.h>

bool bw_session_is_free(const bw_session *session) {
    return session->plan->group_n == 0;
}

bool bw_session_takes_torque(const bw_session *session, const char *line) {
    bw_state state = bw_session_state(session);
    const char first = line[strspn(line, " \t")];
    if (bw_session_is_word(line)) {
        return false;
    }
    bool free = bw_session_is_free(session) &&
                (state == BW_STATE_CONFIRM || state == BW_STATE_CLOSE);
    return state == BW_STATE_PULL ||
           (free && first != '\0' && strchr("+-.,0123456789", first) != NULL);
}

void bw_keep_aside(bw_session *s, const bw_entry *pull) {
    s->aside[s->aside_n++ % BW_ASIDE_MAX] = pull->number;
}

static bool is_aside(const bw_session *s, uint64_t entry) {
    size_t n = s->aside_n < BW_ASIDE_MAX ? s->aside_n : BW_ASIDE_MAX;
    for (size_t i = 0; i < n; i++) {
        if (s->aside[i] == entry) {
            return true;
        }
    }
    return false;
}

/* Digits alone; 0: none. */
static uint64_t number_of(const char *text, size_t len) {
    uint64_t number = 0;
    if (len == 0 || len > 15 || strspn(text, "0123456789") < len) {
        return 0;
    }
    for (size_t i = 0; i < len; i++) {
        number = number * 10 + (uint64_t)(text[i] - '0');
    }
    return number;
}

/* 0: none. */
static uint64_t newest_aside(const bw_session *s) {
    return s->aside_n == 0 ? 0 : s->aside[(s->aside_n - 1) % BW_ASIDE_MAX];
}

/* Without a number it is the newest pull that is named. */
void bw_word_name(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out) {
    size_t len = strcspn(rest, " ");
    uint64_t entry = number_of(rest, len);
    const char *name = rest + len + strspn(rest + len, " ");
    if (entry == 0) {
        entry = newest_aside(s);
        name = rest;
    }
    if (entry == 0 || name[0] == '\0') {
        bw_say(
            out, BW_TONE_BAD,
            "Write behind the word what the last pull was: name left front; for another pull its "
            "number first: name 57 left front");
        return;
    }
    if (!is_aside(s, entry)) {
        bw_text text = bw_on_say(out, BW_TONE_BAD);
        bw_text_add(&text, "%.*s is no pull that came unasked: only such a pull takes a name.",
                    (int)len, rest);
        return;
    }
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_NOTE);
    bw_entry_set_text(e, BW_M_TEXT, bw_make_text(out, name));
    bw_entry_set_whole(e, BW_M_OF, (int64_t)entry);
    bw_text text = bw_on_say(out, BW_TONE_PLAIN);
    bw_text_add(&text, "Pull %llu was: %s.", (unsigned long long)entry, name);
}
