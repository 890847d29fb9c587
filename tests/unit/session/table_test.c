/* table_test.c - every state and every event, cell by cell; then every word in every state. */
#include "cmocka_all.h"

#include "bench.h"

#include <stdio.h>
#include <string.h>

/* ---- into each state ---- */

static void to_value(bench *b) {
    bench_at(b, BEARINGS);
    bench_type(b, "50.090");
    bench_type(b, "50.090");
    bench_type(b, "50.000");
    bench_type(b, "50.000");
}

/* By a good pull at that step of the other plan, then that line. */
static void into_kinds(bench *b, bw_state state) {
    static const struct {
        bw_state state;
        size_t step, stage;
        const char *line;
    } rows[] = {{BW_STATE_LENGTH, STUDS, 1, NULL}, {BW_STATE_SLOT, CASTLE, 0, NULL},
                {BW_STATE_ASK, SLEEVE, 0, NULL},   {BW_STATE_POSITION, SLEEVE, 0, "yes"},
                {BW_STATE_WITNESS, HOOK, 0, NULL}, {BW_STATE_FIT, HOOK, 0, "B. Ek"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (rows[i].state == state) {
            bench_kinds_at(b, rows[i].step, rows[i].stage, 0);
            bench_good_pull(b);
            if (rows[i].line != NULL) {
                bench_type(b, rows[i].line);
            }
        }
    }
}

/* Brings a new bench into the state.  SECOND_PERSON and REASON are those of a value. */
static void into(bench *b, bw_state state) {
    switch (state) {
    case BW_STATE_NEW:
        bench_open(b);
        break;
    case BW_STATE_CONFIRM:
        bench_at(b, CLEAN);
        break;
    case BW_STATE_NOTE:
        bench_at(b, BLOCK);
        break;
    case BW_STATE_READING:
        bench_at(b, BEARINGS);
        bench_type(b, "50.050");
        break;
    case BW_STATE_VALUE:
        to_value(b);
        break;
    case BW_STATE_PULL:
        bench_at(b, CAPS);
        bench_good_pull(b);
        break;
    case BW_STATE_PULLING:
        bench_at(b, CAPS);
        bench_good_pull(b);
        bench_begin(b);
        break;
    case BW_STATE_NO_TOOL:
        bench_at(b, CAPS);
        bench_good_pull(b);
        bench_event(b, BW_EVENT_TOOL_LOST);
        break;
    case BW_STATE_LENGTH:
    case BW_STATE_SLOT:
    case BW_STATE_ASK:
    case BW_STATE_POSITION:
    case BW_STATE_WITNESS:
    case BW_STATE_FIT:
        into_kinds(b, state);
        break;
    case BW_STATE_VERDICT:
        bench_at(b, CAPS);
        bench_good_pull(b);
        bench_pull(b, 40, 30);
        break;
    case BW_STATE_SECOND_PERSON:
        to_value(b);
        bench_type(b, "override");
        break;
    case BW_STATE_REASON:
        to_value(b);
        bench_type(b, "override");
        bench_type(b, "B. Ek");
        break;
    case BW_STATE_CLOSE:
        bench_at(b, STEPS);
        break;
    case BW_STATE_CLOSED:
        bench_at(b, STEPS);
        bench_type(b, "close");
        break;
    case BW_STATE_COUNT:
        fail();
    }
    assert_int_equal(bench_state(b), state);
}

/* ---- the table ---- */

typedef struct cell {
    const char *kinds; /* recorded, in this order; NULL: the event is ignored */
    bw_state then;
    const char *says; /* a part of it; "" nothing */
    char ends;        /* 'p' pause, 'c' closed */
} cell;

#define IGNORED                                                                                    \
    { .kinds = NULL }

/* What a wrench and a clock do is recorded the same way wherever a build is open. */
#define TOOLS(with, without)                                                                       \
    [BW_EVENT_TOOL_ON] = {"tool_on", with, "", 0},                                                 \
    [BW_EVENT_TOOL_LOST] = {"tool_lost", without, "The cable was pulled out.", 0},                 \
    [BW_EVENT_TOOL_BACK] = {"tool_back", with, "The wrench is back.", 0}

#define ASIDE(then)                                                                                \
    { "pull", then, "while none was asked for", 0 }
#define STEPPED(then)                                                                              \
    { "clock_step", then, "", 0 }
#define PAUSED(then)                                                                               \
    { "paused", then, "Paused.", 'p' }
#define AGAIN(then)                                                                                \
    { "interrupted resumed", then, "Going on: ", 0 }

static const cell table[BW_STATE_COUNT][BW_EVENT_COUNT] =
    {
        [BW_STATE_NEW] =
            {
                [BW_EVENT_OPEN] = {"build_opened sequence_adopted module_adopted person_on",
                                   BW_STATE_CONFIRM, "", 0},
                [BW_EVENT_ANSWER] = IGNORED,
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = IGNORED,
                [BW_EVENT_TOOL_ON] = IGNORED,
                [BW_EVENT_TOOL_LOST] = IGNORED,
                [BW_EVENT_TOOL_BACK] = IGNORED,
                [BW_EVENT_CLOCK_STEP] = IGNORED,
                [BW_EVENT_PAUSE] = IGNORED,
            },
        [BW_STATE_CONFIRM] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_CONFIRM),
                [BW_EVENT_ANSWER] = {"confirmed", BW_STATE_READING, "", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_CONFIRM),
                TOOLS(BW_STATE_CONFIRM, BW_STATE_CONFIRM),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_CONFIRM),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_CONFIRM),
            },
        [BW_STATE_NOTE] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_NOTE),
                [BW_EVENT_ANSWER] = {"note", BW_STATE_CONFIRM, "", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_NOTE),
                TOOLS(BW_STATE_NOTE, BW_STATE_NOTE),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_NOTE),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_NOTE),
            },
        [BW_STATE_READING] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_READING),
                [BW_EVENT_ANSWER] = {"", BW_STATE_READING, "a number such as", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_READING),
                TOOLS(BW_STATE_READING, BW_STATE_READING),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_READING),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_READING),
            },
        [BW_STATE_VALUE] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_VALUE),
                [BW_EVENT_ANSWER] = {"", BW_STATE_VALUE, "one of: again, override", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_VALUE),
                TOOLS(BW_STATE_VALUE, BW_STATE_VALUE),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_VALUE),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_VALUE),
            },
        [BW_STATE_PULL] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_NO_TOOL),
                [BW_EVENT_ANSWER] = {"", BW_STATE_PULL, "The wrench answers here", 0},
                [BW_EVENT_PULL_BEGUN] = {"pull_begun", BW_STATE_PULLING, "", 0},
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_PULL),
                TOOLS(BW_STATE_PULL, BW_STATE_NO_TOOL),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_PULL),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_PULL),
            },
        [BW_STATE_PULLING] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_NO_TOOL),
                [BW_EVENT_ANSWER] = {"", BW_STATE_PULLING, "The wrench answers here", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = {"pull verdict", BW_STATE_PULL, "pass, 30.0", 0},
                TOOLS(BW_STATE_PULLING, BW_STATE_PULLING),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_PULLING),
                /* Nobody will see the end of that pull. */
                [BW_EVENT_PAUSE] = {"interrupted paused", BW_STATE_PULL, "Paused.", 'p'},
            },
        [BW_STATE_NO_TOOL] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_NO_TOOL),
                [BW_EVENT_ANSWER] = {"", BW_STATE_NO_TOOL, "still gone", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_NO_TOOL),
                TOOLS(BW_STATE_PULL, BW_STATE_NO_TOOL),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_NO_TOOL),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_NO_TOOL),
            },
        [BW_STATE_LENGTH] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_LENGTH),
                [BW_EVENT_ANSWER] = {"", BW_STATE_LENGTH, "a number such as", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_LENGTH),
                TOOLS(BW_STATE_LENGTH, BW_STATE_LENGTH),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_LENGTH),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_LENGTH),
            },
        [BW_STATE_SLOT] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_SLOT),
                [BW_EVENT_ANSWER] = {"fastener_slot verdict", BW_STATE_PULL,
                                     "a slot meets the hole", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_SLOT),
                TOOLS(BW_STATE_SLOT, BW_STATE_SLOT),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_SLOT),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_SLOT),
            },
        [BW_STATE_ASK] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_ASK),
                [BW_EVENT_ANSWER] = {"answered", BW_STATE_POSITION, "", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_ASK),
                TOOLS(BW_STATE_ASK, BW_STATE_ASK),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_ASK),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_ASK),
            },
        [BW_STATE_POSITION] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_POSITION),
                [BW_EVENT_ANSWER] = {"position", BW_STATE_CONFIRM, "", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_POSITION),
                TOOLS(BW_STATE_POSITION, BW_STATE_POSITION),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_POSITION),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_POSITION),
            },
        [BW_STATE_FIT] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_FIT),
                [BW_EVENT_ANSWER] = {"note", BW_STATE_FIT, "C1 belongs to 1, not yes", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_FIT),
                TOOLS(BW_STATE_FIT, BW_STATE_FIT),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_FIT),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_FIT),
            },
        [BW_STATE_WITNESS] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_WITNESS),
                [BW_EVENT_ANSWER] = {"", BW_STATE_WITNESS, "The name or initials", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_WITNESS),
                TOOLS(BW_STATE_WITNESS, BW_STATE_WITNESS),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_WITNESS),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_WITNESS),
            },
        [BW_STATE_VERDICT] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_VERDICT),
                [BW_EVENT_ANSWER] = {"", BW_STATE_VERDICT,
                                     "one of: loosen, replace, another, override", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_VERDICT),
                TOOLS(BW_STATE_VERDICT, BW_STATE_VERDICT),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_VERDICT),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_VERDICT),
            },
        /* The draft of an override outlives what wrench and clock do, and nothing else. */
        [BW_STATE_SECOND_PERSON] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_VALUE),
                [BW_EVENT_ANSWER] = {"", BW_STATE_REASON, "", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_SECOND_PERSON),
                TOOLS(BW_STATE_SECOND_PERSON, BW_STATE_SECOND_PERSON),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_SECOND_PERSON),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_VALUE),
            },
        [BW_STATE_REASON] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_VALUE),
                [BW_EVENT_ANSWER] = {"decision", BW_STATE_PULL, "Overridden", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_REASON),
                TOOLS(BW_STATE_REASON, BW_STATE_REASON),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_REASON),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_VALUE),
            },
        [BW_STATE_CLOSE] =
            {
                [BW_EVENT_OPEN] = AGAIN(BW_STATE_CLOSE),
                [BW_EVENT_ANSWER] = {"", BW_STATE_CLOSE, "closing is for good", 0},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = ASIDE(BW_STATE_CLOSE),
                TOOLS(BW_STATE_CLOSE, BW_STATE_CLOSE),
                [BW_EVENT_CLOCK_STEP] = STEPPED(BW_STATE_CLOSE),
                [BW_EVENT_PAUSE] = PAUSED(BW_STATE_CLOSE),
            },
        [BW_STATE_CLOSED] =
            {
                [BW_EVENT_OPEN] = {"", BW_STATE_CLOSED, "This build is closed", 'c'},
                [BW_EVENT_ANSWER] = {"", BW_STATE_CLOSED, "This build is closed", 'c'},
                [BW_EVENT_PULL_BEGUN] = IGNORED,
                [BW_EVENT_PULL_ENDED] = IGNORED,
                [BW_EVENT_TOOL_ON] = IGNORED,
                [BW_EVENT_TOOL_LOST] = IGNORED,
                [BW_EVENT_TOOL_BACK] = IGNORED,
                [BW_EVENT_CLOCK_STEP] = IGNORED,
                [BW_EVENT_PAUSE] = IGNORED,
            },
};

static bool as_written(const bench *b, const cell *want, bw_state was) {
    bool ignored = want->kinds == NULL;
    const char *says = ignored ? "" : want->says;
    bool said = says[0] == '\0' ? bench_said(b)[0] == '\0' : strstr(bench_said(b), says) != NULL;
    return said && strcmp(bench_kinds(b), ignored ? "" : want->kinds) == 0 &&
           bench_state(b) == (ignored ? was : want->then) &&
           b->actions->pause == (want->ends == 'p') && b->actions->closed == (want->ends == 'c');
}

static void test_every_cell(void **state) {
    (void)state;
    for (int s = 0; s < BW_STATE_COUNT; s++) {
        for (int e = 0; e < BW_EVENT_COUNT; e++) {
            const cell *want = &table[s][e];
            bench b;
            into(&b, (bw_state)s);
            bench_event(&b, (bw_event_kind)e);
            if (!as_written(&b, want, (bw_state)s)) {
                fail_msg("%s in %s: [%s], then %s, pause %d, closed %d, said: %s",
                         bw_event_name((bw_event_kind)e), bw_state_name((bw_state)s),
                         bench_kinds(&b), bw_state_name(bench_state(&b)), b.actions->pause,
                         b.actions->closed, bench_said(&b));
            }
            assert_int_equal(bw_session_handles((bw_state)s, (bw_event_kind)e),
                             want->kinds != NULL);
            bench_close(&b);
        }
    }
}

/* Only what a wrench or a clock does is ever ignored once a build is open; a person is answered. */
static void test_people_are_answered(void **state) {
    (void)state;
    for (int s = BW_STATE_CONFIRM; s < BW_STATE_COUNT; s++) {
        assert_true(bw_session_handles((bw_state)s, BW_EVENT_OPEN));
        assert_true(bw_session_handles((bw_state)s, BW_EVENT_ANSWER));
    }
}

/* ---- words ---- */

/* Kinds that a word records in a state; "" nothing, but something is said.  In states that take
 * free text most words are that text. */
typedef struct word_row {
    const char *line;
    const char *kinds[BW_STATE_COUNT];
} word_row;

#define SAME(what)                                                                                 \
    {                                                                                              \
        [BW_STATE_CONFIRM] = what, [BW_STATE_NOTE] = what, [BW_STATE_READING] = what,              \
        [BW_STATE_VALUE] = what, [BW_STATE_PULL] = what, [BW_STATE_PULLING] = what,                \
        [BW_STATE_NO_TOOL] = what, [BW_STATE_LENGTH] = what, [BW_STATE_SLOT] = what,               \
        [BW_STATE_VERDICT] = what, [BW_STATE_SECOND_PERSON] = what, [BW_STATE_REASON] = what,      \
        [BW_STATE_ASK] = what, [BW_STATE_POSITION] = what, [BW_STATE_WITNESS] = what,              \
        [BW_STATE_FIT] = what, [BW_STATE_CLOSE] = what                                             \
    }

/* A note takes anything as its text.  No name and no reason begins with such a word: it is asked
 * for again. */
#define COMMAND(what)                                                                              \
    {                                                                                              \
        [BW_STATE_CONFIRM] = what, [BW_STATE_NOTE] = "note", [BW_STATE_READING] = what,            \
        [BW_STATE_VALUE] = what, [BW_STATE_PULL] = what, [BW_STATE_PULLING] = what,                \
        [BW_STATE_NO_TOOL] = what, [BW_STATE_LENGTH] = what, [BW_STATE_SLOT] = what,               \
        [BW_STATE_VERDICT] = what, [BW_STATE_SECOND_PERSON] = "", [BW_STATE_REASON] = "",          \
        [BW_STATE_ASK] = what, [BW_STATE_POSITION] = what, [BW_STATE_WITNESS] = what,              \
        [BW_STATE_FIT] = what, [BW_STATE_CLOSE] = what                                             \
    }

static const word_row words[] = {
    {"help", SAME("")},
    {"note left thread chased", COMMAND("note")},
    {"person C. Berg", COMMAND("person_on")},
    {"reject block cracked", COMMAND("build_closed")},
    {"part head bolts, batch HB-204, quantity 10", COMMAND("part_fitted")},
    {"checkpoint the customer takes the sheet along", COMMAND("checkpoint_asked")},
    {"part", COMMAND("")},
    {"file", COMMAND("")},
    {"file caps.jpg", COMMAND("")}, /* the turn could not read it */
    {"checkpoint", COMMAND("")},
    {"redo clean", COMMAND("")},
    {"note", COMMAND("")},
    {"decide", COMMAND("")},
    {"person", COMMAND("")},
    {"reject", COMMAND("")},
};

static void check_word(const char *line, bw_state s, const char *kinds) {
    bench b;
    into(&b, s);
    bench_type(&b, line);
    bool person = s == BW_STATE_SECOND_PERSON;
    bool answered = bench_kinds(&b)[0] != '\0' || bench_said(&b)[0] != '\0' ||
                    (person && bench_state(&b) == BW_STATE_REASON);
    if (strcmp(bench_kinds(&b), kinds) != 0 || !answered) {
        fail_msg("`%s` in %s: [%s], then %s, said: %s", line, bw_state_name(s), bench_kinds(&b),
                 bw_state_name(bench_state(&b)), bench_said(&b));
    }
    bench_close(&b);
}

static void test_every_word_in_every_state(void **state) {
    (void)state;
    for (size_t w = 0; w < sizeof words / sizeof words[0]; w++) {
        for (int s = BW_STATE_CONFIRM; s < BW_STATE_CLOSED; s++) {
            check_word(words[w].line, (bw_state)s, words[w].kinds[s]);
        }
    }
}

/* `pause` is a pause everywhere. */
static void test_pause_word(void **state) {
    (void)state;
    for (int s = BW_STATE_CONFIRM; s < BW_STATE_CLOSED; s++) {
        bench b;
        into(&b, (bw_state)s);
        bench_type(&b, "  pause ");
        const cell *want = &table[s][BW_EVENT_PAUSE];
        assert_true(as_written(&b, want, (bw_state)s));
        bench_close(&b);
    }
}

/* `later` puts off the step in hand; not while a pull is on or a verdict waits, which would stay
 * open behind another step's prompt. */
/* Where nothing else could be done meanwhile, nothing is left for later. */
static void test_later_word(void **state) {
    (void)state;
    static const char *const kinds[BW_STATE_COUNT] = {
        [BW_STATE_CONFIRM] = "put_off",
        [BW_STATE_NOTE] = "put_off",
        [BW_STATE_READING] = "",
        [BW_STATE_VALUE] = "",
        [BW_STATE_PULL] = "",
        [BW_STATE_PULLING] = "",
        [BW_STATE_NO_TOOL] = "",
        [BW_STATE_VERDICT] = "",
        [BW_STATE_SECOND_PERSON] = "",
        [BW_STATE_REASON] = "",
        [BW_STATE_CLOSE] = "",
        [BW_STATE_LENGTH] = "",
        [BW_STATE_SLOT] = "",
        [BW_STATE_ASK] = "put_off",
        [BW_STATE_POSITION] = "put_off",
        [BW_STATE_WITNESS] = "put_off",
        [BW_STATE_FIT] = "",
    };
    static const char *const with_reason[BW_STATE_COUNT] = {
        [BW_STATE_CONFIRM] = "put_off", [BW_STATE_NOTE] = "note",   [BW_STATE_READING] = "",
        [BW_STATE_VALUE] = "",          [BW_STATE_PULL] = "",       [BW_STATE_PULLING] = "",
        [BW_STATE_NO_TOOL] = "",        [BW_STATE_VERDICT] = "",    [BW_STATE_SECOND_PERSON] = "",
        [BW_STATE_REASON] = "",         [BW_STATE_CLOSE] = "",      [BW_STATE_LENGTH] = "",
        [BW_STATE_SLOT] = "",           [BW_STATE_ASK] = "put_off", [BW_STATE_POSITION] = "put_off",
        [BW_STATE_WITNESS] = "put_off", [BW_STATE_FIT] = "",
    };
    for (int s = BW_STATE_CONFIRM; s < BW_STATE_CLOSED; s++) {
        check_word("later", (bw_state)s, kinds[s]);
        check_word("later shells of the 1990 type", (bw_state)s, with_reason[s]);
    }
}

/* `back` and `wrong` where there is something to go back to, and where not. */
static void test_back_and_wrong_words(void **state) {
    (void)state;
    static const char *const back[BW_STATE_COUNT] = {
        [BW_STATE_CONFIRM] = "correction",
        [BW_STATE_NOTE] = "correction",
        [BW_STATE_READING] = "correction",
        [BW_STATE_VALUE] = "correction",
        [BW_STATE_PULL] = "",
        [BW_STATE_PULLING] = "",
        [BW_STATE_NO_TOOL] = "",
        [BW_STATE_LENGTH] = "",
        [BW_STATE_SLOT] = "",
        [BW_STATE_ASK] = "",
        [BW_STATE_POSITION] = "correction",
        [BW_STATE_WITNESS] = "",
        [BW_STATE_FIT] = "",
        [BW_STATE_VERDICT] = "",
        [BW_STATE_SECOND_PERSON] = "",
        [BW_STATE_REASON] = "",
        [BW_STATE_CLOSE] = "correction",
    };
    static const char *const wrong[BW_STATE_COUNT] = {
        [BW_STATE_CONFIRM] = "",
        [BW_STATE_NOTE] = "note",
        [BW_STATE_READING] = "",
        [BW_STATE_VALUE] = "",
        [BW_STATE_PULL] = "correction",
        [BW_STATE_PULLING] = "",
        [BW_STATE_NO_TOOL] = "correction",
        [BW_STATE_LENGTH] = "",
        [BW_STATE_SLOT] = "",
        [BW_STATE_ASK] = "",
        [BW_STATE_POSITION] = "",
        [BW_STATE_WITNESS] = "",
        [BW_STATE_FIT] = "",
        [BW_STATE_VERDICT] = "correction",
        [BW_STATE_SECOND_PERSON] = "",
        [BW_STATE_REASON] = "",
        [BW_STATE_CLOSE] = "",
    };
    for (int s = BW_STATE_CONFIRM; s < BW_STATE_CLOSED; s++) {
        check_word("back", (bw_state)s, back[s]);
        check_word("wrong 1 left", (bw_state)s, wrong[s]);
    }
}

/* ---- names ---- */

static void test_names(void **state) {
    (void)state;
    for (int s = 0; s < BW_STATE_COUNT; s++) {
        assert_non_null(bw_state_name((bw_state)s));
        for (int t = 0; t < s; t++) {
            assert_string_not_equal(bw_state_name((bw_state)s), bw_state_name((bw_state)t));
        }
    }
    assert_null(bw_state_name(BW_STATE_COUNT));
    for (int e = 0; e < BW_EVENT_COUNT; e++) {
        assert_non_null(bw_event_name((bw_event_kind)e));
        for (int t = 0; t < e; t++) {
            assert_string_not_equal(bw_event_name((bw_event_kind)e),
                                    bw_event_name((bw_event_kind)t));
        }
    }
    assert_null(bw_event_name(BW_EVENT_COUNT));
    static const char *const is_word[] = {"pause",  "help",      "later",     "later on", "note x",
                                          "person", "reject it", "back",      "wrong 5",  " pause",
                                          "decide", "\tback ",   "pause\r\n", "note\t"};
    static const char *const is_none[] = {"",      "yes",   "paus",     "pauses", "notes",
                                          "Pause", "50.02", "override", "cancel", " "};
    for (size_t i = 0; i < sizeof is_word / sizeof is_word[0]; i++) {
        assert_true(bw_session_is_word(is_word[i]));
    }
    for (size_t i = 0; i < sizeof is_none / sizeof is_none[0]; i++) {
        assert_false(bw_session_is_word(is_none[i]));
        assert_false(bw_is_bench_word(is_none[i]));
    }
    /* What a sequence may not have for an answer. */
    for (size_t i = 0; bw_session_word_at(i) != NULL; i++) {
        char line[40];
        (void)snprintf(line, sizeof line, "%s it", bw_session_word_at(i));
        assert_true(bw_is_bench_word(line) && bw_is_bench_word(bw_session_word_at(i)));
    }
}

/* Whether a line is wanted agrees with the table: there a plain answer does more than complain. */
static void test_wants_line(void **state) {
    (void)state;
    static const bool wants[BW_STATE_COUNT] = {
        [BW_STATE_CONFIRM] = true, [BW_STATE_NOTE] = true,    [BW_STATE_READING] = true,
        [BW_STATE_VALUE] = true,   [BW_STATE_VERDICT] = true, [BW_STATE_SECOND_PERSON] = true,
        [BW_STATE_REASON] = true,  [BW_STATE_CLOSE] = true,   [BW_STATE_LENGTH] = true,
        [BW_STATE_SLOT] = true,    [BW_STATE_ASK] = true,     [BW_STATE_POSITION] = true,
        [BW_STATE_WITNESS] = true, [BW_STATE_FIT] = true,
    };
    for (int s = 0; s < BW_STATE_COUNT; s++) {
        assert_int_equal(bw_state_wants_line((bw_state)s), wants[s]);
    }
    assert_false(bw_state_wants_line(BW_STATE_COUNT));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_cell),
        cmocka_unit_test(test_people_are_answered),
        cmocka_unit_test(test_every_word_in_every_state),
        cmocka_unit_test(test_pause_word),
        cmocka_unit_test(test_later_word),
        cmocka_unit_test(test_back_and_wrong_words),
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_wants_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
