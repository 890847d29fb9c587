/* session_word.c - the words that can be typed at any prompt. */
#include "session/session_int.h"

#include "base/text.h"

#include <string.h>

static bool free_text(bw_state state) {
    return state == BW_STATE_NOTE || state == BW_STATE_SECOND_PERSON || state == BW_STATE_REASON;
}

static void word_pause(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out) {
    (void)rest;
    bw_decide_pause(s, ev, out);
}

static void word_help(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out) {
    (void)ev;
    (void)rest;
    bw_say_help(s, out);
}

/* What is half done would stay open behind the prompt of another step. */
static void word_later(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out) {
    if (s->pulling || s->undecided || s->waits || s->draft.on || s->draft.decides) {
        bw_say(out, BW_TONE_BAD,
               s->pulling ? "A pull is on: let it end first."
                          : "This must be decided first; or: pause");
        return;
    }
    if (!bw_session_other_step(s)) {
        bw_say(out, BW_TONE_BAD, "Nothing else can be done before this; or: pause");
        return;
    }
    bw_entry *e = bw_make_at_step(s, ev, out, BW_KIND_PUT_OFF);
    bw_entry_set_text(e, BW_M_REASON, rest[0] != '\0' ? rest : NULL);
    bw_say(out, BW_TONE_PLAIN,
           "Left for later. What must come after it stays shut until it is done.");
}

static void word_note(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out) {
    if (rest[0] == '\0') {
        bw_say(out, BW_TONE_BAD, "Write the note behind the word: note left thread chased again");
        return;
    }
    bw_entry_set_text(bw_make_at_step(s, ev, out, BW_KIND_NOTE), BW_M_TEXT, rest);
    bw_say(out, BW_TONE_PLAIN, "Noted.");
}

static void word_person(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out) {
    if (rest[0] == '\0' || strlen(rest) >= BW_PERSON_MAX) {
        bw_say(out, BW_TONE_BAD, "Write the name behind the word: person A. Lund");
        return;
    }
    bw_text text = bw_on_say(out, BW_TONE_PLAIN);
    bw_text_add(&text, "Handed over from %s to %s.", s->by, rest);
    bw_make_person(s, ev, out, rest);
}

static void word_reject(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out) {
    if (rest[0] == '\0') {
        bw_say(out, BW_TONE_BAD,
               "Rejecting ends the build. Write why behind the word: reject block cracked");
        return;
    }
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_BUILD_CLOSED);
    bw_entry_set_text(e, BW_M_OUTCOME, "rejected");
    bw_entry_set_text(e, BW_M_TEXT, rest);
    bw_say(out, BW_TONE_BAD, "The build is closed as rejected.");
    out->closed = true;
}

/* The last reading, what was measured or seen at a fastener, or the last confirmation was given by
 * mistake. */
static void word_back(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out) {
    bool answered = s->answered.entry != 0;
    bool reading = !answered && s->last_reading_entry != 0;
    size_t step = answered  ? s->answered.spot.step
                  : reading ? s->last_reading_step
                            : s->confirmed_step;
    uint64_t entry = answered  ? s->answered.entry
                     : reading ? s->last_reading_entry
                               : s->confirmed_entry;
    if (entry == 0) {
        bw_say(
            out, BW_TONE_BAD,
            "There is no reading to go back to, and no confirmation: work has gone on since. To do a "
            "step anew: redo STEP WHY");
        return;
    }
    bool confirmed = !answered && !reading;
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_CORRECTION);
    bw_entry_set_text(e, BW_M_STEP, s->plan->step[step].id);
    bw_entry_set_whole(e, BW_M_CORRECTS, (int64_t)entry);
    bw_entry_set_text(e, BW_M_REASON,
                      rest[0] != '\0' ? rest
                      : confirmed     ? "confirmed by mistake"
                                      : "to be read again");
    if (confirmed) {
        bw_say(out, BW_TONE_PLAIN,
               "The last confirmation is taken back; the old one stays in the record.");
    } else {
        bw_say_read_again(s, step, entry, out);
    }
}

bool bw_session_may_go_back(const bw_session *s) {
    return s->answered.entry != 0 || s->last_reading_entry != 0 || s->confirmed_entry != 0;
}

/* The last accepted pull was on another fastener than the one that was asked for. */
static void word_wrong(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out) {
    size_t place = 0;
    bool same = s->spot.step == s->accepted.step && s->spot.place == s->accepted.place;
    if (s->pulling || s->waits || (s->undecided && same)) {
        bw_say(out, BW_TONE_BAD,
               s->pulling ? "A pull is on: let it end first."
                          : "This must be decided first; or: pause");
        return;
    }
    if (s->accepted_entry == 0) {
        bw_say(out, BW_TONE_BAD, "No pull was accepted just now, so none can have been wrong.");
        return;
    }
    const bw_step *step = &s->plan->step[s->accepted.step];
    const bw_group *group = &s->plan->group[step->group];
    if (!bw_group_find_place(group, rest, &place) || place == s->accepted.place) {
        bw_say(
            out, BW_TONE_BAD,
            "Write behind the word which fastener it was instead, by label or place number: wrong 5");
        return;
    }
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_CORRECTION);
    bw_entry_set_text(e, BW_M_STEP, step->id);
    bw_entry_set_whole(e, BW_M_CORRECTS, (int64_t)s->accepted_entry);
    bw_entry_set_text(e, BW_M_LABEL, group->place[place].label);
    bw_entry_set_text(e, BW_M_REASON, "pulled out of order, as the builder says");
    bw_say_wrong(s, place, out);
}

static void word_decide(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out) {
    (void)ev;
    (void)rest;
    if (!bw_session_may_decide(s)) {
        bw_say(out, BW_TONE_BAD,
               "Nothing is to be decided: that is for a fastener whose last pull was not enough.");
        return;
    }
    s->draft = (bw_draft){.decides = true};
}

static const struct {
    const char *word;
    bool takes_text;
    bool in_note;      /* also where a note is wanted, but there as a bare word only */
    bool in_free_text; /* also where free text is wanted, but there as a bare word only */
    bool needs_step;
    bw_word *run;
} words[] = {
    {"pause", false, true, true, false, word_pause},
    {"help", false, true, true, false, word_help},
    {"later", true, true, true, true, word_later},
    {"note", true, false, false, false, word_note},
    {"person", true, false, false, false, word_person},
    {"reject", true, false, false, false, word_reject},
    {"back", true, true, false, false, word_back},
    {"wrong", true, false, false, false, word_wrong},
    {"decide", false, false, false, true, word_decide},
    {"name", true, false, false, false, bw_word_name},
    {"part", true, false, false, false, bw_word_part},
    {"file", true, false, false, false, bw_word_file},
    {"redo", true, false, false, false, bw_word_redo},
    {"checkpoint", true, false, false, false, bw_word_checkpoint},
};

char *bw_next_piece(char **list) {
    char *piece = *list;
    if (piece == NULL) {
        return NULL;
    }
    char *comma = strchr(piece, ',');
    *list = comma != NULL ? comma + 1 : NULL;
    char *end = comma != NULL ? comma : piece + strlen(piece);
    piece += strspn(piece, " ");
    while (end > piece && end[-1] == ' ') {
        end--;
    }
    *end = '\0';
    return piece;
}

/* An answer without the spaces around it; refuses what could not stand in a record. */
bool bw_tidy_line(const char *line, char *out, size_t size) {
    size_t len = strlen(line);
    while (len > 0 && strchr(" \t\r\n", line[len - 1]) != NULL) {
        len--;
    }
    while (len > 0 && strchr(" \t", line[0]) != NULL) {
        line++;
        len--;
    }
    if (len >= size || !bw_text_printable(line, len, false)) {
        return false;
    }
    memcpy(out, line, len);
    out[len] = '\0';
    return true;
}

const char *bw_session_word_at(size_t index) {
    return index < sizeof words / sizeof words[0] ? words[index].word : NULL;
}

bool bw_session_is_word(const char *line) {
    line += strspn(line, " \t");
    size_t len = strcspn(line, " \t\r\n");
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (strlen(words[i].word) == len && strncmp(words[i].word, line, len) == 0) {
            return true;
        }
    }
    return false;
}

bool bw_session_ends_work(const char *line) {
    char text[BW_PLAN_TEXT_MAX];
    if (!bw_tidy_line(line, text, sizeof text)) {
        return false;
    }
    size_t len = strcspn(text, " ");
    bool more = text[len] != '\0';
    return more ? strncmp(text, "reject ", strlen("reject ")) == 0 : strcmp(text, "pause") == 0;
}

bool bw_try_words(bw_session *s, const bw_event *ev, bw_actions *out) {
    bw_state state = bw_session_state(s);
    size_t len = strcspn(ev->text, " ");
    const char *rest = ev->text + len + strspn(ev->text + len, " ");
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        bool match = strlen(words[i].word) == len && strncmp(words[i].word, ev->text, len) == 0;
        bool whole = rest[0] == '\0' || (words[i].takes_text && !free_text(state));
        bool fits = state == BW_STATE_NOTE ? words[i].in_note : words[i].in_free_text;
        bool here = (!free_text(state) || fits) &&
                    (!words[i].needs_step || bw_session_active_step(s) != NULL);
        if (match && whole && here) {
            words[i].run(s, ev, rest, out);
            return true;
        }
    }
    return false;
}
