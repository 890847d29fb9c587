/* session_part.c - which part goes where, which piece of the drawer is taken, and whether fasteners
 * are new or were checked. */
#include "session/session_int.h"

#include "base/decimal.h"
#include "base/text.h"

#include <math.h>
#include <string.h>

/* ---- fasteners that may be used again after a check ---- */

static bool lacks_cycle(const bw_session *s, size_t step, const bool *named, size_t *place) {
    const bw_group *group = &s->plan->group[s->plan->step[step].group];
    for (size_t i = 0; i < group->place_n; i++) {
        bw_spot spot = {.step = step, .place = i};
        if ((named == NULL || !named[i]) && !bw_has_cycle_left(s, &spot)) {
            *place = i;
            return true;
        }
    }
    return false;
}

/* Done anew, fasteners that are used once, or were used as often as they may be, are asked about
 * too. */
bool bw_session_wants_reuse(const bw_session *s, size_t step) {
    size_t place = 0;
    const bw_step *st = &s->plan->step[step];
    if (st->kind != BW_STEP_TIGHTEN || st->goes_on || !bw_step_tightens(st) ||
        s->step[step].reuse_told) {
        return false;
    }
    const bw_group *group = &s->plan->group[st->group];
    bool used_up = s->step[step].anew && !bw_session_has_begun(s, step) &&
                   (group->new_each_time || lacks_cycle(s, step, NULL, &place));
    return group->reuse_check != NULL || used_up;
}

static const bw_option reuse_options[] = {
    {"new", "all of them are new"},
    {"replaced", "those named behind it are new, the others are good: replaced 3, 7"},
    {"checked", "each of them was checked, is good and is used again"},
};

enum { NEW, REPLACED, CHECKED };

/* How many of them there are: what is used once is new; what nothing is to be checked of is not
 * checked. */
static size_t reuse_option_n(const bw_group *group) {
    return group->reuse_check != NULL ? CHECKED + 1 : group->new_each_time ? NEW + 1 : REPLACED + 1;
}

void bw_fill_reuse(bw_prompt *out) {
    const bw_group *group = &out->plan->group[out->step->group];
    memcpy(out->option, reuse_options, sizeof reuse_options);
    out->option_n = reuse_option_n(group);
    out->group = group;
    out->reuse = group->reuse_check != NULL ? group->reuse_check
                 : group->new_each_time     ? "none: they are used once"
                                            : "not after so many cycles as some of them have";
}

static void tell_reuse(bw_session *s, size_t step, size_t place, bw_reuse reuse) {
    int *cycles = &s->cycles[s->plan->step[step].group][place];
    s->step[step].progress[place].reuse = reuse;
    s->step[step].fastener[place].cycles_before = *cycles;
    *cycles = reuse == BW_REUSE_CHECKED ? *cycles : 0;
}

/* Those that are replaced have an entry each; the one behind them is about the rest. */
bool bw_apply_reuse(bw_session *s, const bw_entry *e, size_t step) {
    size_t place_n = s->plan->group[s->plan->step[step].group].place_n;
    if (e->value[BW_M_FASTENER].type != BW_VALUE_NONE) {
        int64_t place = bw_entry_whole(e, BW_M_FASTENER, 0);
        if (place < 1 || (uint64_t)place > place_n) {
            return false;
        }
        tell_reuse(s, step, (size_t)place - 1, BW_REUSE_REPLACED);
        return true;
    }
    bool is_new = strcmp(bw_entry_text(e, BW_M_TEXT, ""), "new") == 0;
    for (size_t i = 0; i < place_n; i++) {
        if (s->step[step].progress[i].reuse != BW_REUSE_REPLACED) {
            tell_reuse(s, step, i, is_new ? BW_REUSE_NEW : BW_REUSE_CHECKED);
        }
    }
    s->step[step].reuse_told = true;
    bw_session_went_on(s);
    s->last_reading_entry = e->number;
    s->last_reading_step = step;
    return true;
}

void bw_keep_replaced(bw_session *s, const bw_spot *spot) {
    size_t group = s->plan->step[spot->step].group;
    for (size_t i = spot->step + 1; i-- > 0;) {
        if (s->plan->step[i].group == group && s->step[i].reuse_told) {
            s->step[i].progress[spot->place].reuse = BW_REUSE_REPLACED;
            return;
        }
    }
}

void bw_tell_reuse_anew(bw_session *s, size_t step) {
    const bw_step *st = &s->plan->step[step];
    size_t place_n = st->kind == BW_STEP_TIGHTEN ? s->plan->group[st->group].place_n : 0;
    for (size_t i = 0; i < place_n; i++) {
        s->step[step].progress[i].reuse = BW_REUSE_NOT_TOLD;
    }
    s->step[step].reuse_told = false;
}

void bw_take_back_reuse(bw_session *s, size_t step) {
    const bw_group *group = &s->plan->group[s->plan->step[step].group];
    for (size_t i = 0; i < group->place_n && s->step[step].reuse_told; i++) {
        s->cycles[s->plan->step[step].group][i] = s->step[step].fastener[i].cycles_before;
    }
    bw_tell_reuse_anew(s, step);
}

enum { NAMED_MAX = 64 }; /* an entry each, in one go */

/* Which are named, by label or place number, with commas between; false, and said, where one is
 * none of the group, or none is named. */
static bool find_named(const bw_group *group, const char *names, bool *named, bw_actions *out) {
    char line[BW_PLAN_TEXT_MAX];
    (void)bw_text_copy(line, sizeof line, names);
    char *list = line;
    size_t n = 0;
    for (char *name = bw_next_piece(&list); name != NULL; name = bw_next_piece(&list), n++) {
        size_t place = 0;
        if (name[0] == '\0') {
            n = 0;
            break;
        }
        if (!bw_group_find_place(group, name, &place)) {
            bw_text text = bw_on_say(out, BW_TONE_BAD);
            bw_text_add(&text,
                        "\"%s\" is none of the %s: write labels or place numbers, with "
                        "commas between",
                        name, group->say);
            return false;
        }
        named[place] = true;
    }
    if (n == 0 || n > NAMED_MAX) {
        bw_say(
            out, BW_TONE_BAD,
            n > 0
                ? "Name 64 at most. Where all of them are new: new"
                : "Write behind the word which ones are new, by label or place number, with commas "
                  "between: replaced 3, 7. Where all are: new");
    }
    return n > 0 && n <= NAMED_MAX;
}

/* No other answer makes a fastener last longer than it may. */
static bool may_be_used(const bw_session *s, const bool *named, bw_actions *out) {
    const bw_group *group = &s->plan->group[bw_session_active_step(s)->group];
    size_t place = 0;
    if (!lacks_cycle(s, s->active, named, &place)) {
        return true;
    }
    bw_text text = bw_on_say(out, BW_TONE_BAD);
    bw_text_add(&text, "Not used again: ");
    bw_name_place(group, place, &text);
    bw_text_add(&text,
                " has been tightened %d of %d times, and more are to come. Put in a new one: "
                "replaced %s; or: new",
                s->cycles[bw_session_active_step(s)->group][place], group->cycles,
                group->place[place].label);
    return false;
}

static void add_replaced(bw_session *s, const bw_event *ev, const bool *named, bw_actions *out) {
    const bw_group *group = &s->plan->group[bw_session_active_step(s)->group];
    bw_text text = bw_on_say(out, BW_TONE_PLAIN);
    size_t n = 0;
    for (size_t i = 0; i < group->place_n; i++) {
        if (named[i]) {
            bw_entry *e = bw_make_at_step(s, ev, out, BW_KIND_ANSWERED);
            bw_entry_set_text(e, BW_M_TEXT, "replaced");
            bw_entry_set_text(e, BW_M_GROUP, group->name);
            bw_entry_set_whole(e, BW_M_FASTENER, (int64_t)i + 1);
            bw_entry_set_text(e, BW_M_LABEL, group->place[i].label);
            bw_text_add(&text, "%s%s", n++ > 0 ? ", " : "", group->place[i].label);
        }
    }
    bw_text_add(&text, " %s new; the others are used again.", n > 1 ? "are" : "is");
}

/* What the record says of those that no entry of their own is about. */
static const char *rest_word(const bw_group *group, size_t word) {
    if (word == NEW) {
        return reuse_options[NEW].word;
    }
    return group->reuse_check != NULL ? reuse_options[CHECKED].word : "used again";
}

void bw_take_reuse(bw_session *s, const bw_event *ev, bw_actions *out) {
    const bw_group *group = &s->plan->group[bw_session_active_step(s)->group];
    bool named[BW_ORDER_MAX] = {false};
    size_t option_n = reuse_option_n(group);
    size_t len = strcspn(ev->text, " ");
    size_t word = option_n;
    for (size_t i = 0; i < option_n; i++) {
        bool same = strlen(reuse_options[i].word) == len &&
                    strncmp(reuse_options[i].word, ev->text, len) == 0;
        word = same ? i : word;
    }
    if (word == option_n || (ev->text[len] != '\0' && word != REPLACED)) {
        bw_say_options(reuse_options, option_n, out);
        return;
    }
    if ((word == REPLACED && !find_named(group, ev->text + len, named, out)) ||
        (word != NEW && !may_be_used(s, named, out))) {
        return;
    }
    if (word == REPLACED) {
        add_replaced(s, ev, named, out);
    }
    bw_entry *e = bw_make_at_step(s, ev, out, BW_KIND_ANSWERED);
    bw_entry_set_text(e, BW_M_TEXT, rest_word(group, word));
    bw_entry_set_text(e, BW_M_TYPED, ev->text);
}

/* ---- fit ---- */

bool bw_session_next_fit(const bw_session *s, size_t step, size_t *to) {
    for (size_t i = 0; i < s->plan->step[step].to_n; i++) {
        if (s->step[step].fitted[i].entry == 0) {
            *to = i;
            return true;
        }
    }
    return false;
}

const char *bw_session_mark_for(const bw_session *s, size_t step, size_t to) {
    const bw_step *st = &s->plan->step[step];
    if (st->has_as) {
        return s->step[st->as].skipped ? NULL : s->step[st->as].fitted[to].mark;
    }
    return st->mark != NULL ? st->mark[to] : NULL;
}

void bw_fill_fit(const bw_session *s, bw_prompt *out) {
    size_t step = (size_t)(out->step - s->plan->step);
    if (bw_session_next_fit(s, step, &out->to)) {
        out->mark = bw_session_mark_for(s, step, out->to);
    }
}

static bool find_to(const bw_step *step, const char *label, size_t *out) {
    for (size_t i = 0; i < step->to_n; i++) {
        if (strcmp(step->to[i], label) == 0) {
            *out = i;
            return true;
        }
    }
    return false;
}

bool bw_apply_fitted(bw_session *s, const bw_entry *e) {
    size_t step = 0;
    size_t to = 0;
    if (!bw_session_entry_step(s, e, &step) || s->plan->step[step].kind != BW_STEP_FIT ||
        e->value[BW_M_AT].type == BW_VALUE_NONE) {
        return true; /* a part that the builder told of unasked */
    }
    if (!find_to(&s->plan->step[step], bw_entry_text(e, BW_M_AT, ""), &to)) {
        return false;
    }
    bw_fitted *fitted = &s->step[step].fitted[to];
    fitted->entry = e->number;
    (void)bw_text_copy(fitted->mark, sizeof fitted->mark, bw_entry_text(e, BW_M_SERIAL_NUMBER, ""));
    bw_session_went_on(s);
    s->last_reading_entry = e->number;
    s->last_reading_step = step;
    bw_session_settle(s, step);
    return true;
}

uint64_t bw_take_back_fit(bw_session *s, size_t step, uint64_t entry) {
    uint64_t newest = 0;
    for (size_t i = 0; i < s->plan->step[step].to_n; i++) {
        bw_fitted *fitted = &s->step[step].fitted[i];
        if (fitted->entry == entry) {
            *fitted = (bw_fitted){0};
        }
        newest = fitted->entry > newest ? fitted->entry : newest;
    }
    bw_session_settle(s, step);
    return newest;
}

/* It is another place's, or nobody's. */
static void say_wrong_part(const bw_session *s, size_t to, const char *mark, bw_actions *out) {
    const bw_step *step = bw_session_active_step(s);
    bw_text text = bw_on_say(out, BW_TONE_BAD);
    bw_text_add(&text, "%s belongs to %s, not %s", bw_session_mark_for(s, s->active, to),
                step->to[to], mark);
    for (size_t i = 0; i < step->to_n; i++) {
        const char *other = bw_session_mark_for(s, s->active, i);
        if (i != to && other != NULL && strcmp(other, mark) == 0) {
            bw_text_add(&text, ", which belongs to %s: are they swapped?", step->to[i]);
            return;
        }
    }
    bw_text_add(&text, ". Look at it again, or: later");
}

/* "B 17 batch 2231" */
static const char *split_batch(char *line) {
    static const char word[] = " batch ";
    char *at = strstr(line, word);
    if (at == NULL) {
        return NULL;
    }
    *at = '\0';
    return at + strlen(word);
}

void bw_take_fit(bw_session *s, const bw_event *ev, bw_actions *out) {
    const bw_step *step = bw_session_active_step(s);
    char line[BW_PLAN_TEXT_MAX];
    size_t to = 0;
    if (!bw_session_next_fit(s, s->active, &to)) {
        return;
    }
    (void)bw_text_copy(line, sizeof line, ev->text);
    const char *batch = split_batch(line);
    const char *wanted = bw_session_mark_for(s, s->active, to);
    if (line[0] == '\0' || strlen(line) > BW_PLAN_ID_MAX) {
        bw_say(
            out, BW_TONE_BAD,
            "Type the mark or number that stands on the part, 48 bytes at most; its batch behind "
            "it, as in: B17 batch 2231");
    } else if (wanted != NULL && strcmp(wanted, line) != 0) {
        say_wrong_part(s, to, line, out);
        bw_entry_set_text(bw_make_at_step(s, ev, out, BW_KIND_NOTE), BW_M_TEXT,
                          bw_make_text(out, out->say));
    } else {
        bw_entry *e = bw_make_at_step(s, ev, out, BW_KIND_PART_FITTED);
        bw_entry_set_text(e, BW_M_PART, step->fits);
        bw_entry_set_text(e, BW_M_AT, step->to[to]);
        bw_entry_set_text(e, BW_M_SERIAL_NUMBER, bw_make_text(out, line));
        bw_entry_set_text(e, BW_M_BATCH, batch == NULL ? NULL : bw_make_text(out, batch));
    }
}

/* ---- a piece out of the drawer ---- */

double bw_session_stock_wanted(const bw_session *s, const bw_step *step) {
    return s->step[step->stock_step].derived[step->stock_value].value;
}

const char *bw_session_from_stock(const bw_session *s, const bw_step *step) {
    double wanted = bw_session_stock_wanted(s, step);
    size_t best = 0;
    double least = INFINITY;
    for (size_t i = 0; i < step->stock_n; i++) {
        double off = bw_round_decimals(
            fabs(bw_to_base(step->stock[i].value, step->stock[i].unit) - wanted), 7);
        if (off < least) {
            least = off;
            best = i;
        }
    }
    return least <= bw_round_decimals(step->stock_within, 7) ? step->part[best] : NULL;
}

bool bw_stock_has_one(const bw_session *s, bw_actions *out) {
    const bw_step *step = bw_session_active_step(s);
    if (step->kind != BW_STEP_CHOOSE || step->stock_n == 0 ||
        bw_session_from_stock(s, step) != NULL) {
        return true;
    }
    bw_text text = bw_on_say(out, BW_TONE_BAD);
    bw_text_add(&text,
                "No size in the drawer comes within %.3f mm of %.3f mm. Get one and put it "
                "into the sequence, or: later",
                step->stock_within, bw_session_stock_wanted(s, step));
    return false;
}
