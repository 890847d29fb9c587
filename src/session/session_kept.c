/* session_kept.c - what is put into the record beside the steps: parts, files, a checkpoint; and
 * what comes after a build is closed: re-opening it, what was due and is done. */
#include "session/session_int.h"

#include "base/text.h"

#include <string.h>

enum { QUANTITY_MAX = 100000 };

/* ---- parts and files ---- */

/* What stands behind the word; NULL where the piece does not begin with it. */
static const char *behind(const char *piece, const char *word) {
    size_t len = strlen(word);
    bool begins = strncmp(piece, word, len) == 0 && piece[len] == ' ';
    return begins ? piece + len + strspn(piece + len, " ") : NULL;
}

/* The number from 1 to most that text is; 0: it is none. */
size_t bw_count_of(const char *text, size_t most) {
    size_t n = 0;
    for (; *text >= '0' && *text <= '9' && n <= most; text++) {
        n = n * 10 + (size_t)(*text - '0');
    }
    return *text == '\0' && n <= most ? n : 0;
}

/* False where the piece says a quantity that is none. */
static bool take_piece(bw_actions *out, const char *piece, bw_entry *e) {
    const char *batch = behind(piece, "batch");
    const char *serial = behind(piece, "serial");
    const char *quantity = behind(piece, "quantity");
    if (quantity != NULL) {
        size_t n = bw_count_of(quantity, QUANTITY_MAX);
        bw_entry_set_whole(e, BW_M_QUANTITY, (int64_t)n);
        return n > 0;
    }
    bw_entry_set_text(e,
                      batch != NULL    ? BW_M_BATCH
                      : serial != NULL ? BW_M_SERIAL_NUMBER
                                       : BW_M_TEXT,
                      bw_make_text(out, batch != NULL    ? batch
                                        : serial != NULL ? serial
                                                         : piece));
    return piece[0] != '\0';
}

void bw_word_part(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out) {
    char line[BW_PLAN_TEXT_MAX];
    size_t made = out->entry_n;
    char *list = line;
    bool fits = bw_text_copy(line, sizeof line, rest);
    const char *part = bw_next_piece(&list);
    /* At a step that asks for parts one that it did not ask for is not its answer. */
    const bw_step *step = bw_session_active_step(s);
    bool asked = step != NULL && step->kind == BW_STEP_FIT;
    bw_entry *e = asked ? bw_make_entry(s, ev, out, BW_KIND_PART_FITTED)
                        : bw_make_at_step(s, ev, out, BW_KIND_PART_FITTED);
    fits = fits && part[0] != '\0';
    bw_entry_set_text(e, BW_M_PART, bw_make_text(out, part));
    for (char *piece = bw_next_piece(&list); fits && piece != NULL; piece = bw_next_piece(&list)) {
        fits = take_piece(out, piece, e);
    }
    if (!fits) {
        out->entry_n = made;
        bw_say(out, BW_TONE_BAD,
               "Write the part behind the word, and with commas what is known of it: part head "
               "bolts, batch HB-204, quantity 10, serial 7731, bought new");
        return;
    }
    bw_say(out, BW_TONE_PLAIN, "Entered with the build.");
}

void bw_word_file(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out) {
    if (ev->file_sha256 == NULL) {
        bw_text text = bw_on_say(out, BW_TONE_BAD);
        bw_text_add(&text,
                    "%s%sWrite the file's name behind the word, and after a comma what it "
                    "shows: file caps.jpg, the caps and their marks",
                    ev->file_fault != NULL ? ev->file_fault : "",
                    ev->file_fault != NULL ? ". " : "");
        return;
    }
    const char *comma = strchr(rest, ',');
    const char *shows = comma != NULL ? comma + 1 + strspn(comma + 1, " ") : "";
    bw_entry *e = bw_make_at_step(s, ev, out, BW_KIND_FILE_ATTACHED);
    bw_entry_set_text(e, BW_M_FILE, ev->file_name);
    bw_entry_set_text(e, BW_M_SHA256, ev->file_sha256);
    bw_entry_set_text(e, BW_M_TEXT, shows[0] != '\0' ? shows : NULL);
    bw_say(out, BW_TONE_PLAIN,
           "Its SHA-256 is in the record. The file itself is not: keep it unchanged.");
}

void bw_word_checkpoint(bw_session *s, const bw_event *ev, const char *rest, bw_actions *out) {
    if (rest[0] == '\0') {
        bw_say(out, BW_TONE_BAD,
               "Write behind the word why: checkpoint the customer takes the sheet along");
        return;
    }
    bw_entry_set_text(bw_make_entry(s, ev, out, BW_KIND_CHECKPOINT_ASKED), BW_M_REASON, rest);
    bw_say(out, BW_TONE_PLAIN, "Signed: the record up to here.");
    out->sign = true;
}

/* ---- entries to state ---- */

bool bw_apply_reopened(bw_session *s, const bw_entry *e) {
    s->reopened_entry = e->number;
    s->closed = false;
    s->tally.outcome = NULL;
    return true;
}

/* One that names no step of the plan is only kept. */
bool bw_apply_due(bw_session *s, const bw_entry *e) {
    size_t step = 0;
    if (bw_session_entry_step(s, e, &step)) {
        s->step[step].due_entry = e->number;
    }
    return true;
}

bool bw_apply_due_done(bw_session *s, const bw_entry *e) {
    uint64_t of = (uint64_t)bw_entry_whole(e, BW_M_OF, 0);
    for (size_t i = 0; i < s->plan->step_n; i++) {
        if (of != 0 && s->step[i].due_entry == of) {
            s->step[i].due_entry = 0;
            s->step[i].due_done = true;
        }
    }
    return true;
}

/* ---- a closed build ---- */

/* The step whose fasteners are due under this group's name; step_n: none. */
static size_t due_step(const bw_session *s, const char *group) {
    size_t step = 0;
    while (step < s->plan->step_n) {
        const bw_step *st = &s->plan->step[step];
        if (s->step[step].due_entry != 0 && st->kind == BW_STEP_TIGHTEN &&
            strcmp(s->plan->group[st->group].name, group) == 0) {
            return step;
        }
        step++;
    }
    return step;
}

static void add_dues(const bw_session *s, bw_text *text) {
    for (size_t i = 0; i < s->plan->step_n; i++) {
        const bw_step *step = &s->plan->step[i];
        if (s->step[i].due_entry != 0 && step->kind == BW_STEP_TIGHTEN && step->due != NULL) {
            bw_text_add(text, "\nStill due: %s (%s), %s. Once it is seen to: --retorque %s",
                        s->plan->group[step->group].say, s->plan->group[step->group].name,
                        step->due, s->plan->group[step->group].name);
        }
    }
}

static void retorque(bw_session *s, const bw_event *ev, bw_actions *out) {
    size_t step = due_step(s, ev->retorque);
    if (step == s->plan->step_n) {
        bw_text text = bw_on_say(out, BW_TONE_BAD);
        bw_text_add(&text, "Nothing is due for a group %s.", ev->retorque);
        add_dues(s, &text);
        return;
    }
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_RETORQUE_DONE);
    e->by = bw_make_text(out, ev->text);
    bw_entry_set_whole(e, BW_M_OF, (int64_t)s->step[step].due_entry);
    bw_entry_set_text(e, BW_M_TEXT, ev->why);
    bw_say(out, BW_TONE_GOOD, "It is recorded that this was seen to.");
}

static void reopen(bw_session *s, const bw_event *ev, bw_actions *out) {
    bw_entry *e = bw_make_entry(s, ev, out, BW_KIND_BUILD_REOPENED);
    e->by = bw_make_text(out, ev->text);
    bw_entry_set_whole(e, BW_M_OF, (int64_t)s->closed_entry);
    bw_entry_set_text(e, BW_M_REASON, ev->why);
    bw_entry_set_text(e, BW_M_SECOND, ev->second);
    e = bw_make_entry(s, ev, out, BW_KIND_RESUMED);
    e->by = bw_make_text(out, ev->text);
    bw_entry_set_text(e, BW_M_PROGRAM, ev->program);
    if (strcmp(ev->text, s->by) != 0) {
        bw_make_person(s, ev, out, ev->text);
    }
    bw_say(out, BW_TONE_BAD,
           "The build is open again; what it was stays in the record. Say what is done anew: redo "
           "STEP WHY, with the step's number or id. Then close it again.");
}

void bw_decide_closed(bw_session *s, const bw_event *ev, bw_actions *out) {
    if (ev->reopen) {
        reopen(s, ev, out);
        return;
    }
    out->closed = true;
    if (ev->retorque != NULL) {
        retorque(s, ev, out);
        return;
    }
    bw_text text = bw_on_say(out, BW_TONE_PLAIN);
    bw_text_add(&text, "This build is closed; its record can be read, audited and exported.");
    add_dues(s, &text);
}
