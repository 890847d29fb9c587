/* terminal.c - see terminal.h. */
#include "face/terminal.h"

#include "face/ask.h"
#include "face/bolt_map.h"
#include "face/figures.h"
#include "face/point_map.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

enum { PROMPT_BYTES = 8192, LIVE_EVERY = 5, BAR = 24, WIDTH = 80, WIDTH_LEAST = 30 };

/* The hand eases off below this share of the highest torque. */
static const double released_share = 0.8;

typedef struct paint {
    const char *on, *off;
} paint;

static paint tone_paint(const bw_terminal *t, bw_tone tone) {
    static const paint paints[] = {
        [BW_TONE_PLAIN] = {"", ""},
        [BW_TONE_GOOD] = {"\x1b[1;32m", "\x1b[0m"},
        [BW_TONE_BAD] = {"\x1b[1;31m", "\x1b[0m"},
    };
    return t->colour ? paints[tone] : paints[BW_TONE_PLAIN];
}

/* A window may have another width each time. */
static void measure(bw_terminal *t) {
    t->width = t->columns != NULL ? t->columns() : t->width;
}

static void end_live(bw_terminal *t) {
    if (t->live_open) {
        (void)fputs("\n", t->out);
        t->live_open = false;
    }
    t->live_word = BW_LIVE_FREE;
    t->live_most = 0;
    t->live_most_Nm = 0;
    t->live_rest = 0;
    t->live_columns = 0;
}

/* How many bytes of the first `len` fit into `width` columns, broken at a space. */
static size_t line_break(const char *text, size_t len, size_t width) {
    size_t columns = 0;
    size_t space = 0;
    for (size_t i = 0; i < len; i++) {
        bool begins = ((unsigned char)text[i] & 0xC0) != 0x80;
        if (begins && columns == width) {
            return space > 0 ? space : i;
        }
        columns += begins ? 1 : 0;
        space = text[i] == ' ' && i > 0 && text[i - 1] != ' ' ? i : space;
    }
    return len;
}

/* One line, wrapped at words; what goes over is indented by `indent`. */
static void print_line(const bw_terminal *t, const char *text, size_t len, int indent) {
    FILE *out = t->out;
    size_t full = t->width >= WIDTH_LEAST ? t->width : WIDTH;
    size_t width = full;
    while (len > 0) {
        size_t n = line_break(text, len, width);
        (void)fprintf(out, "%.*s", (int)n, text);
        n += n < len && text[n] == ' ' ? 1 : 0;
        text += n;
        len -= n;
        if (len > 0) {
            (void)fprintf(out, "\n%*s", indent, "");
            width = full - (size_t)indent;
        }
    }
}

/* All lines of a text; a last one without newline stays open. */
static void print_wrapped(const bw_terminal *t, const char *text, int indent) {
    while (*text != '\0') {
        size_t len = strcspn(text, "\n");
        print_line(t, text, len, indent);
        text += len;
        if (*text == '\n') {
            (void)fputc('\n', t->out);
            text++;
        }
    }
}

static void print_said(const bw_terminal *t, bw_tone tone, const char *text) {
    static const char *const marks[] = {
        [BW_TONE_PLAIN] = "  ", [BW_TONE_GOOD] = "  + ", [BW_TONE_BAD] = "  ! "};
    paint p = tone_paint(t, tone);
    char bytes[BW_SAY_MAX + 8];
    while (*text != '\0') {
        size_t len = strcspn(text, "\n");
        bw_text line = bw_text_on(bytes, sizeof bytes);
        bw_text_add(&line, "%s%.*s", marks[tone], (int)len, text);
        (void)fputs(p.on, t->out);
        print_line(t, bytes, line.len, 4);
        (void)fprintf(t->out, "%s\n", p.off);
        text += len + (text[len] == '\n' ? 1 : 0);
    }
}

/* Kept for the prompt that clears the screen: each sentence with its tone before it. */
static void keep_said(bw_terminal *t, bw_tone tone, const char *text) {
    bw_text said = {.data = t->said, .size = sizeof t->said, .len = strlen(t->said)};
    bw_text_add(&said, "%c%s\f", (char)('0' + (int)tone), text);
}

static void say_again(bw_terminal *t) {
    char text[BW_TERMINAL_SAID_MAX];
    const char *at = t->said;
    while (*at != '\0') {
        size_t len = strcspn(at, "\f");
        bw_text one = bw_text_on(text, sizeof text);
        bw_text_add(&one, "%.*s", (int)(len - 1), at + 1);
        print_said(t, (bw_tone)(at[0] - '0'), text);
        at += len + (at[len] == '\f' ? 1 : 0);
    }
}

static void say(void *ctx, bw_tone tone, const char *text) {
    bw_terminal *t = ctx;
    end_live(t);
    measure(t);
    print_said(t, tone, text);
    if (t->redraws) {
        keep_said(t, tone, text);
    }
    (void)fflush(t->out);
}

/* ---- what each state asks ---- */

static void ask_confirm(const bw_prompt *p, bw_text *text) {
    bool caution = p->step->kind == BW_STEP_CAUTION;
    bw_text_add(text, "%s%s\n", caution ? "  CAUTION  " : "  ", p->step->say);
    if (p->step->why != NULL) {
        bw_text_add(text, "  Why: %s\n", p->step->why);
    }
    if (p->step->buries != NULL) {
        bw_text_add(text, "  After this you can no longer reach: %s\n", p->step->buries);
    }
    if (p->chosen != NULL) {
        bw_text_add(text, "  Take: %s\n", p->chosen);
    }
    bw_text_add(text, "%s", caution ? "  Read? [yes] " : "  Done? [yes] ");
}

static void ask_question(const bw_prompt *p, bw_text *text) {
    bw_text_add(text, "  %s\n", p->step->say);
    if (p->step->why != NULL) {
        bw_text_add(text, "  Why: %s\n", p->step->why);
    }
    if (p->reuse != NULL) {
        bw_text_add(text, "  To be used again only after a check: %s\n  The %zu %s are:\n",
                    p->reuse, p->group->place_n, p->group->say);
        for (size_t i = 0; i < p->option_n; i++) {
            bw_text_add(text, "    %-9s %s\n", p->option[i].word, p->option[i].says);
        }
    }
    bw_text_add(text, "  Which? [");
    for (size_t i = 0; i < p->option_n; i++) {
        bw_text_add(text, "%s%s", i > 0 ? ", " : "", p->option[i].word);
    }
    bw_text_add(text, "] ");
}

static void ask_fit(const bw_prompt *p, bw_text *text) {
    bw_text_add(text, "  %s\n", p->step->say);
    if (p->step->why != NULL && p->to == 0) {
        bw_text_add(text, "  Why: %s\n", p->step->why);
    }
    bw_text_add(text, "  %s to %s%s%s. What stands on it? [%zu of %zu] ", p->step->fits,
                p->step->to[p->to], p->mark != NULL ? ", marked " : "",
                p->mark != NULL ? p->mark : "", p->to + 1, p->step->to_n);
}

static void ask_position(const bw_prompt *p, bw_text *text) {
    bw_text_add(text, "  Before \"%s\", turn it so that it stands: %s\n  Does it? [yes] ",
                p->step->say, p->step->position);
}

static void ask_note(const bw_prompt *p, bw_text *text) {
    bw_text_add(text, "  %s\n  Write it down: ", p->step->say);
}

static void add_gauge(const bw_prompt *p, bw_text *text) {
    if (p->step->gauge != NULL) {
        bw_text_add(text, "  With: %s\n", p->step->gauge);
    }
    if (p->step->why != NULL) {
        bw_text_add(text, "  Why: %s\n", p->step->why);
    }
}

static void ask_reading(const bw_prompt *p, bw_text *text) {
    if (p->reading_number == 1) {
        add_gauge(p, text);
    }
    if (p->at == 0 && p->repeat <= 1) {
        size_t set = (size_t)(p->set - p->step->set);
        bw_point_map map = bw_point_map_of(p->step, set);
        bw_point_map_add(text, &map, set, p->at, 2);
    }
    bw_text_add(text, "  %s, %s  [%zu of %zu, in %s", p->set->say, p->set->at[p->at],
                p->reading_number, p->reading_n, bw_unit_of(p->set->unit)->symbol);
    if (p->repeats > 1) {
        bw_text_add(text, "; time %zu of %zu", p->repeat, p->repeats);
    }
    for (size_t i = 0; i + 1 < p->repeat; i++) {
        bw_text_add(text, "%s", i > 0 ? ", " : ": ");
        bw_value_add(text, p->before[i], p->set->unit, p->set->decimals);
    }
    bw_text_add(text, "] ");
}

static void add_options(const bw_prompt *p, bw_text *text) {
    for (size_t i = 0; i < p->option_n; i++) {
        bw_text_add(text, "    %zu %-9s %s\n", i + 1, p->option[i].word, p->option[i].says);
    }
    bw_text_add(text, "  Which? ");
}

static void ask_value(const bw_prompt *p, bw_text *text) {
    const bw_derived *d = p->derived;
    if (p->derived_err.code != BW_OK) {
        bw_text_add(text, "  %s can't be worked out: %s.\n", d->say, p->derived_err.text);
        add_options(p, text);
        return;
    }
    bw_text_add(text, "  %s is ", d->say);
    bw_value_beside_add(text, p->derived_value, d->low, d->high, d->unit, d->decimals);
    bw_text_add(text, "; limits: ");
    bw_value_limits_add(text, d->low, d->high, d->unit, d->decimals);
    bw_text_add(text, "\n");
    const char *remedy = p->derived_value < d->low ? d->when_low : d->when_high;
    if (remedy != NULL) {
        bw_text_add(text, "  %s\n", remedy);
    }
    add_options(p, text);
}

static void add_fastener(const bw_prompt *p, bw_text *text) {
    bw_text_add(text, "  ");
    bw_place_add(text, p->group, p->place);
    bw_text_add(text, "      %zu of %zu in the order      stage %zu of %zu\n", p->turn_of + 1,
                p->group->place_n, p->stage_index + 1, p->step->stage_n);
}

static void add_source(const bw_prompt *p, bw_text *text) {
    char source[BW_SOURCE_TEXT_MAX];
    bw_text_add(text, "  Figures: %s\n", bw_source_text(p->plan, p->stage, source, sizeof source));
}

static void ask_witness(const bw_prompt *p, bw_text *text) {
    bw_ask_class_add(p->group, text);
    bw_text_add(text, "  All %zu %s are tight. Who else has looked at them? ", p->group->place_n,
                p->group->say);
}

static void ask_pull(const bw_prompt *p, bw_text *text) {
    bw_bolt_map(text, p->group, p->progress, p->stage_index, p->place, 4);
    add_fastener(p, text);
    bw_ask_class_add(p->group, text);
    bw_ask_task_add(p, text);
    add_source(p, text);
    bw_ask_hand_add(p, text);
    bw_text_add(text, "  Lubricant: %s\n", p->group->lubricant);
    if (p->group->washers != NULL) {
        bw_text_add(text, "  Washers: %s\n", p->group->washers);
    }
    bw_ask_notes_add(p, text);
    bw_text_add(text, "  Pull%s.\n",
                p->standing.pulls > 0 ? " (or, where no pull will come: decide)" : "");
}

static void add_length(const bw_prompt *p, double length_mm, bw_text *text) {
    bw_value_add(text, length_mm, p->length_unit, p->length_unit == BW_UNIT_IN ? 4 : 3);
}

static void ask_length(const bw_prompt *p, bw_text *text) {
    add_fastener(p, text);
    if (p->tightened) {
        bw_text_add(text, "  It was ");
        add_length(p, p->free_mm, text);
        bw_text_add(text, " long, free; it must grow by ");
        add_length(p, p->aim.target_mm, text);
        bw_text_add(text, ".\n  Its length now, in %s (or: loosen, replace): ",
                    bw_unit_of(p->length_unit)->symbol);
    } else {
        bw_text_add(text, "  Measure it before its first pull.\n  Its free length, in %s: ",
                    bw_unit_of(p->length_unit)->symbol);
    }
}

static void ask_slot(const bw_prompt *p, bw_text *text) {
    add_fastener(p, text);
    bw_text_add(text, "  Does a slot meet the hole? [yes or no; or: loosen, replace] ");
}

static void ask_no_tool(const bw_prompt *p, bw_text *text) {
    add_fastener(p, text);
    bw_text_add(text,
                "  %s It goes on here once the wrench is there (or: pause; with another "
                "one: --wrench).\n",
                p->tool_text);
}

static void ask_verdict(const bw_prompt *p, bw_text *text) {
    add_fastener(p, text);
    bw_ask_cycles_add(p, text);
    add_options(p, text);
}

static void ask_second_person(const bw_prompt *p, bw_text *text) {
    (void)p;
    bw_text_add(text, "  Who else stands for it? ");
}

static void ask_reason(const bw_prompt *p, bw_text *text) {
    (void)p;
    bw_text_add(text, "  Why is it accepted as it is? ");
}

static void ask_close(const bw_prompt *p, bw_text *text) {
    bw_text_add(text, "\nAll %zu steps are done.\n  Close the build? [close] ", p->step_n);
}

static void (*const asks[BW_STATE_COUNT])(const bw_prompt *p, bw_text *text) = {
    [BW_STATE_CONFIRM] = ask_confirm, [BW_STATE_NOTE] = ask_note,
    [BW_STATE_READING] = ask_reading, [BW_STATE_VALUE] = ask_value,
    [BW_STATE_PULL] = ask_pull,       [BW_STATE_NO_TOOL] = ask_no_tool,
    [BW_STATE_VERDICT] = ask_verdict, [BW_STATE_SECOND_PERSON] = ask_second_person,
    [BW_STATE_REASON] = ask_reason,   [BW_STATE_CLOSE] = ask_close,
    [BW_STATE_LENGTH] = ask_length,   [BW_STATE_SLOT] = ask_slot,
    [BW_STATE_ASK] = ask_question,    [BW_STATE_POSITION] = ask_position,
    [BW_STATE_WITNESS] = ask_witness, [BW_STATE_FIT] = ask_fit,
};

static void add_heading(bw_terminal *t, const bw_prompt *p, bw_text *text) {
    if (p->step == NULL || t->headed_step == p->step_number) {
        return;
    }
    t->headed_step = p->step_number;
    bool long_step = p->step->kind == BW_STEP_MEASURE || p->step->kind == BW_STEP_TIGHTEN;
    bw_text_add(text, "\nStep %zu of %zu%s%s%s\n", p->step_number, p->step_n,
                t->rehearsal ? " (rehearsal)" : "", long_step ? ": " : "",
                long_step ? p->step->say : "");
    if (p->step->kind == BW_STEP_TIGHTEN && p->step->why != NULL) {
        bw_text_add(text, "  Why: %s\n", p->step->why);
    }
    if (long_step && p->step->buries != NULL) {
        bw_text_add(text, "  After this you can no longer reach: %s\n", p->step->buries);
    }
}

/* From the top: what was said, and what the step is about, though it was printed before. */
static void begin_screen(bw_terminal *t, const bw_prompt *p, bw_text *text) {
    bool first = t->headed_step == 0; /* under the opening lines */
    (void)fputs(first ? "" : "\x1b[H\x1b[J", t->out);
    if (!first) {
        say_again(t);
    }
    t->said[0] = '\0';
    t->headed_step = 0;
    add_heading(t, p, text);
    if (p->state == BW_STATE_READING && p->reading_number > 1) {
        add_gauge(p, text);
    }
}

static void prompt(void *ctx, const bw_prompt *p) {
    bw_terminal *t = ctx;
    char bytes[PROMPT_BYTES];
    bw_text text = bw_text_on(bytes, sizeof bytes);
    if (asks[p->state] == NULL) {
        return;
    }
    end_live(t);
    measure(t);
    if (t->redraws) {
        begin_screen(t, p, &text);
    } else {
        add_heading(t, p, &text);
    }
    bw_ask_bans_add(p, &text);
    bw_ask_clock_add(p, &text);
    asks[p->state](p, &text);
    print_wrapped(t, text.data, 4);
    if (!t->is_terminal && !t->rehearsal && text.len > 0 && text.data[text.len - 1] != '\n') {
        (void)fputs("\n", t->out);
    }
    (void)fflush(t->out);
}

/* ---- while pulling ---- */

static void add_bar(bw_text *text, double at, double target) {
    double share = target > 0 ? at / target : 0.0;
    int full = (int)(share * BAR);
    for (int i = 0; i < BAR + 4; i++) {
        bw_text_add(text, "%s", i == BAR ? "|" : i < full ? "#" : ".");
    }
}

static void print_live(bw_terminal *t, const bw_prompt *p, const bw_live *live_, bool changed) {
    char bytes[256];
    bool turn = bw_ask_follows_turn(&p->aim);
    double target = bw_ask_follows_to(&p->aim);
    bw_text text = bw_text_on(bytes, sizeof bytes);
    measure(t);
    bw_text_add(&text, "  ");
    if (t->is_terminal && (t->width == 0 || t->width >= WIDTH - 20) && isfinite(target)) {
        add_bar(&text, turn ? live_->turn_deg : live_->torque_Nm, target);
        bw_text_add(&text, "  ");
    }
    bw_torque_add(&text, live_->torque_Nm, p->plan->torque_unit);
    if (p->aim.kind != BW_STAGE_TORQUE && live_->has_turn) {
        bw_text_add(&text, "  %.0f°", live_->turn_deg);
    }
    paint paint_ = tone_paint(t, live_->word == BW_LIVE_OVER   ? BW_TONE_BAD
                                 : live_->word == BW_LIVE_STOP ? BW_TONE_GOOD
                                                               : BW_TONE_PLAIN);
    bw_text_add(&text, "  %s", bw_ask_live_word(live_->word));
    size_t columns = bw_text_columns(text.data);
    size_t over = t->live_columns > columns ? t->live_columns - columns : 0;
    if (t->is_terminal) { /* blanks over what is longer there: any terminal can that */
        (void)fprintf(t->out, "\r%s%s%s%*s%s", paint_.on, text.data, paint_.off, (int)over, "",
                      changed && live_->word >= BW_LIVE_STOP ? "\a" : "");
        t->live_columns = columns;
    } else {
        (void)fprintf(t->out, "%s%s%s\n", paint_.on, text.data, paint_.off);
    }
    (void)fflush(t->out);
}

static void live(void *ctx, const bw_prompt *p, const bw_live *live_) {
    bw_terminal *t = ctx;
    if (p->state != BW_STATE_PULLING || p->stage == NULL) {
        return;
    }
    double at = bw_ask_follows_turn(&p->aim) ? live_->turn_deg : live_->torque_Nm;
    bool changed = live_->word > t->live_word;
    bool released = live_->torque_Nm < released_share * t->live_most_Nm;
    bool further = at > t->live_most && !released;
    t->live_most_Nm = fmax(t->live_most_Nm, live_->torque_Nm);
    t->live_most = fmax(t->live_most, at);
    if (!changed && !(further && t->is_terminal)) {
        return;
    }
    if (!changed && live_->word < BW_LIVE_STOP && t->live_rest > 0) {
        t->live_rest--;
        return;
    }
    print_live(t, p, live_, changed);
    t->live_open = t->is_terminal;
    t->live_word = live_->word;
    t->live_rest = LIVE_EVERY;
}

bw_face bw_terminal_face(bw_terminal *terminal) {
    return (bw_face){.ctx = terminal, .prompt = prompt, .live = live, .say = say};
}

void bw_terminal_heading(bw_terminal *terminal, const bw_plan *plan, const char *build) {
    measure(terminal);
    char bytes[PROMPT_BYTES];
    bw_text text = bw_text_on(bytes, sizeof bytes);
    if (terminal->rehearsal) {
        bw_text_add(&text, "REHEARSAL: simulated builder and wrench; not a build.\n");
    }
    char source[BW_SOURCE_TEXT_MAX];
    bw_text_add(&text, "%s, build %s\n", plan->title, build);
    if (plan->edition[0] != '\0') {
        bw_text_add(&text, "Sequence edition %s; ", plan->edition);
    }
    bw_text_add(&text, "figures from: %s\n", bw_source_text(plan, NULL, source, sizeof source));
    if (plan->invented) {
        bw_text_add(&text,
                    "ALL FIGURES ARE INVENTED. Real work needs the maker's manual; local codes "
                    "and licensed practice go first.\n");
    }
    bw_text_add(&text,
                "Wear eye protection. Type help at any prompt for what else can be typed.\n");
    print_wrapped(terminal, bytes, 4);
    (void)fflush(terminal->out);
}
