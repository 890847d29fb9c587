/* test_buried.c - what a step buries is over before it, whatever the builder chooses and answers.
 *
 * The proof is held against small sequences that chance makes, each gone through in every order and
 * with every answer by a builder who knows nothing of how the checker reasons. */
#include "kit.h"

#include "base/text.h"

#include <stdio.h>
#include <string.h>

#include "cmocka_all.h"

#define JETS          "confirm{id = 'jets', say = 's'}\n"
#define COVER(rest)   "confirm{id = 'cover', say = 's', " rest "}\n"
#define BURIES(steps) "buries = {say = 'the jets', steps = " steps "}"
#define ASK           "ask{id = 'q', say = 's', answers = {'x', 'y'}}\n"
#define WHEN(answer)  "after = 'q', when = {step = 'q', answer = '" answer "'}"

static void test_form(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_HEAD JETS COVER("buries = 5"), 3,
         "`buries` of confirm needs what is buried in quotes, or that and the steps in braces: {say "
         "= \"the oil jets\", steps = {\"jets-in\"}}; not the bare number 5"},
        {KIT_HEAD JETS COVER("buries = ''"), 3, "`buries` of confirm is empty"},
        {KIT_HEAD JETS COVER("after = 'jets', buries = {steps = 'jets'}"), 3,
         "`buries` lacks `say`"},
        {KIT_HEAD JETS COVER("buries = {say = 's'}"), 3, "`buries` lacks `steps`"},
        {KIT_HEAD JETS COVER("after = 'jets', buries = {'jets', say = 's', steps = 'jets'}"), 3,
         "`buries` holds the text \"jets\" without a name; it takes: say steps"},
        {KIT_HEAD JETS COVER("after = 'jets', buries = {say = 's', step = 'jets', steps = {}}"), 3,
         "`buries` has no field `step`; did you mean `steps`?"},
        {KIT_HEAD JETS COVER(BURIES("{'jets', 5}")), 3, "`steps[2]` of `buries` needs a text"},
        {KIT_HEAD JETS COVER(BURIES("'jet'")), 3,
         "`buries` names \"jet\", which is no step; did you mean \"jets\"?"},
        {KIT_HEAD JETS COVER(BURIES("'nothing-near'")), 3, "\"nothing-near\", which is no step"},
        {KIT_HEAD JETS "note{id = 'n', say = 's', buries = 'x'}", 3, "note has no field `buries`"},
    };
    KIT_CHECK(rows);
}

static void test_before(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_HEAD JETS COVER(BURIES("'jets'")), 3,
         "\"cover\" buries \"jets\", but nothing puts \"jets\" before it: add after = \"jets\""},
        {KIT_HEAD COVER(BURIES("'jets'")) JETS, 2,
         "nothing puts \"jets\" before it: write it above this step and add after = \"jets\""},
        {KIT_HEAD COVER(BURIES("'cover'")), 2, "`buries` of \"cover\" names the step itself"},
        {KIT_HEAD COVER(BURIES("'jets'")) "confirm{id = 'jets', say = 's', after = 'cover'}", 2,
         "\"cover\" buries \"jets\", which is done only after it: do that before, or take it out"},
        /* two that bury each other: one of them is wrong */
        {KIT_HEAD "confirm{id = 'jets', say = 's', buries = {say = 's', steps = 'cover'}}\n" COVER(
             "after = 'jets', " BURIES("'jets'")),
         2, "\"jets\" buries \"cover\", which is done only after it"},
        /* a branch that is left out waits for nothing */
        {KIT_HEAD ASK JETS
         "confirm{id = 'm', say = 's', after = {'q', 'jets'}, when = {step = 'q', "
         "answer = 'x'}}\n" COVER("after = 'm', " BURIES("'jets'")),
         5, "nothing puts \"jets\" before it where a step between them is left out: add after"},
    };
    KIT_CHECK(rows);
}

static void test_sound(void **state) {
    (void)state;
    static const char *const texts[] = {
        KIT_HEAD JETS COVER("after = 'jets', " BURIES("'jets'")),
        KIT_HEAD JETS COVER("after = 'jets', " BURIES("{'jets', 'jets'}")),
        KIT_HEAD JETS COVER("after = 'jets', " BURIES("{}")),
        KIT_HEAD JETS
        "note{id = 'n', say = 's', after = 'jets'}\n" COVER("after = 'n', " BURIES("'jets'")),
        /* left out itself, or in place of the other */
        KIT_HEAD ASK "confirm{id = 'jets', say = 's', " WHEN(
            "x") "}\n"
                 "confirm{id = 'cover', say = 's', after = 'jets', " BURIES("'jets'") "}",
        KIT_HEAD ASK
        "confirm{id = 'jets', say = 's', " WHEN("x") "}\n" COVER(WHEN("y") ", " BURIES("'jets'")),
        /* the same branch */
        KIT_HEAD ASK JETS "confirm{id = 'm', say = 's', after = {'q', 'jets'}, when = {step = 'q', "
                          "answer = 'x'}}\n" COVER("after = {'q', 'm'}, when = {step = 'q', answer "
                                                   "= 'x'}, " BURIES("'jets'")),
        /* a branch for each answer */
        KIT_HEAD ASK JETS "confirm{id = 'm', say = 's', after = {'q', 'jets'}, when = {step = 'q', "
                          "answer = 'x'}}\n"
                          "confirm{id = 'n', say = 's', after = {'q', 'jets'}, when = {step = 'q', "
                          "answer = 'y'}}\n" COVER("after = {'m', 'n'}, " BURIES("'jets'")),
    };
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        kit_run run = kit_load(texts[i]);
        kit_assert_plan(&run);
        kit_assert_sound(run.loaded.plan);
        kit_end(&run);
    }
    kit_run run = kit_load(texts[0]);
    const bw_step *cover = &run.loaded.plan->step[1];
    assert_string_equal(cover->buries, "the jets");
    assert_true(cover->buried_n == 1 && cover->buried[0] == 0);
    kit_end(&run);
}

#define TIGHT(id, rest) "tighten{id = '" id "', say = 's', group = 'g', " rest "}\n"
#define STAGE           "stages = {torque{Nm(60), within = percent(5)}}"
#define CHECK_STAGE     "stages = {check{low = Nm(40), high = Nm(80), most_turn = deg(5)}}"
#define FIT(id, rest)   "fit{id = '" id "', say = 's', part = 'cap', to = {'1'}" rest "}\n"

static void test_never_touched_again(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_HEAD KIT_GROUP TIGHT("t", STAGE) COVER("after = 't', " BURIES("'t'"))
             TIGHT("u", "after = 'cover', " CHECK_STAGE),
         5,
         "\"u\" has the fasteners of \"t\" in hand, which \"cover\" buries: do it before, with after "
         "= \"u\" in \"cover\""},
        {KIT_HEAD KIT_GROUP TIGHT("t", STAGE) TIGHT("u", "after = 't', " CHECK_STAGE)
             COVER("after = 't', " BURIES("'t'")),
         4, "\"u\" has the fasteners of \"t\" in hand, which \"cover\" buries"},
        {KIT_HEAD FIT("f", "") COVER("after = 'f', " BURIES("'f'"))
             FIT("h", ", after = 'cover', as = 'f'"),
         4, "\"h\" has the parts of \"f\" in hand, which \"cover\" buries"},
    };
    KIT_CHECK(rows);
    static const char *const texts[] = {
        KIT_HEAD KIT_GROUP TIGHT("t", STAGE) TIGHT("u", "after = 't', " CHECK_STAGE)
            COVER("after = 'u', " BURIES("'t'")),
        KIT_HEAD KIT_GROUP TIGHT("t", STAGE)
            TIGHT("cover", "after = 't', " BURIES("'t'") ", " CHECK_STAGE),
        KIT_HEAD KIT_GROUP ASK TIGHT("t", STAGE)
            TIGHT("u", "after = {'q', 't'}, when = {step = 'q', answer = 'x'}, " CHECK_STAGE)
                COVER("after = {'q', 't'}, when = {step = 'q', answer = 'y'}, " BURIES("'t'")),
    };
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        kit_run run = kit_load(texts[i]);
        kit_assert_plan(&run);
        kit_end(&run);
    }
}

/* What a step needs of another one must have been found, not left out. */
static void test_needed_and_left_out(void **state) {
    (void)state;
#define LEFT   ASK "ask{id = 'r', say = 's', answers = {'1', '2'}, " WHEN("x") "}\n"
#define CHOOSE "row = 'r', parts = {'red', 'blue'}}\n"
    static const kit_row rows[] = {
        {KIT_HEAD LEFT "choose{id = 'c', say = 's', after = 'r', " CHOOSE, 4,
         "`row` names \"r\", which may be left out where this step is not: give this step the same"},
        {KIT_HEAD ASK "confirm{id = 'm', say = 's', " WHEN(
             "x") "}\n"
                  "wait{id = 'w', say = 's', after = 'm', since = 'm', least = h(1)}",
         4, "`since` names \"m\", which may be left out"},
        {KIT_HEAD ASK "fit{id = 'f', say = 's', part = 'cap', to = {'1'}, " WHEN("x") "}\n" FIT(
             "h", ", after = 'f', as = 'f'"),
         4, "`as` names \"f\", which may be left out"},
        {KIT_HEAD KIT_GROUP ASK TIGHT("t", WHEN("x") ", " STAGE)
             TIGHT("u", "after = 't', continues = 't', " STAGE),
         5, "`continues` names \"t\", which may be left out"},
        {KIT_HEAD KIT_GROUP ASK TIGHT("t", "after = 'q', " STAGE)
             TIGHT("u", "after = {'q', 't'}, when = {step = 'q', answer = 'x'}, " STAGE)
                 TIGHT("v", WHEN("y") ", " STAGE),
         6, "nothing says that \"t\" is done before \"v\""},
    };
    KIT_CHECK(rows);
    kit_run run = kit_load(
        KIT_HEAD LEFT
        "choose{id = 'c', say = 's', after = {'q', 'r'}, when = {step = 'q', answer = "
        "'x'}, " CHOOSE);
    kit_assert_plan(&run);
    kit_end(&run);
}

/* ---- every way through ---- */

enum { STEPS = 8, WAYS = 1 << (2 * STEPS), PLANS = 120 };

typedef struct small {
    bool asks[STEPS];       /* with two answers */
    unsigned after[STEPS];  /* bits */
    int when[STEPS];        /* -1: always */
    unsigned answer[STEPS]; /* with which it is done */
} small;

typedef struct builder {
    small plan;
    bool seen[WAYS];         /* done, answers */
    bool open[STEPS][STEPS]; /* [c][b]: c could be done while b was not over */
} builder;

static bool is_left_out(const small *p, int step, unsigned done, unsigned answers) {
    for (; p->when[step] >= 0; step = p->when[step]) {
        int q = p->when[step];
        if ((done >> q & 1) != 0) {
            return (answers >> q & 1) != p->answer[step];
        }
    }
    return false;
}

static void go_on(builder *b, unsigned done, unsigned answers);

static void do_step(builder *b, int step, unsigned done, unsigned answers) {
    go_on(b, done | 1U << step, answers);
    if (b->plan.asks[step]) {
        go_on(b, done | 1U << step, answers | 1U << step);
    }
}

/* Does each step that is open, one after the other, and all that follows from each. */
static void go_on(builder *b, unsigned done, unsigned answers) {
    size_t way = done << STEPS | answers;
    if (b->seen[way]) {
        return;
    }
    b->seen[way] = true;
    unsigned over = done;
    for (int i = 0; i < STEPS; i++) {
        over |= is_left_out(&b->plan, i, done, answers) ? 1U << i : 0;
    }
    for (int i = 0; i < STEPS; i++) {
        if ((over >> i & 1) != 0 || (b->plan.after[i] & ~over) != 0) {
            continue;
        }
        for (int k = 0; k < STEPS; k++) {
            b->open[i][k] = b->open[i][k] || (over >> k & 1) == 0;
        }
        do_step(b, i, done, answers);
    }
}

static unsigned draw(uint64_t *seed, unsigned below) {
    *seed = *seed * 6364136223846793005U + 1442695040888963407U;
    return (unsigned)(*seed >> 33) % below;
}

static small make_small(uint64_t *seed) {
    small p = {.when = {-1}};
    for (int i = 0; i < STEPS; i++) {
        p.asks[i] = draw(seed, 3) == 0;
        p.when[i] = -1;
        int q = i > 0 ? (int)draw(seed, (unsigned)i) : 0;
        if (i > 0 && p.asks[q] && draw(seed, 3) > 0) {
            p.when[i] = q;
            p.answer[i] = draw(seed, 2);
            p.after[i] |= 1U << q;
        }
        for (int k = 0; k < i; k++) {
            p.after[i] |= draw(seed, 3) == 0 ? 1U << k : 0;
        }
    }
    return p;
}

static void write_small(const small *p, bw_text *out) {
    bw_text_add(out, KIT_HEAD);
    for (int i = 0; i < STEPS; i++) {
        bw_text_add(out, "%s{id = 's%d', say = 's', after = {", p->asks[i] ? "ask" : "confirm", i);
        for (int k = 0; k < i; k++) {
            if ((p->after[i] >> k & 1) != 0) {
                bw_text_add(out, "'s%d', ", k);
            }
        }
        bw_text_add(out, "}");
        if (p->when[i] >= 0) {
            bw_text_add(out, ", when = {step = 's%d', answer = '%s'}", p->when[i],
                        p->answer[i] == 1 ? "y" : "x");
        }
        if (p->asks[i]) {
            bw_text_add(out, ", answers = {'x', 'y'}");
        } else {
            bw_text_add(out, ", buries = {say = 'b', steps = {");
            for (int k = 0; k < i; k++) {
                bw_text_add(out, "'s%d', ", k);
            }
            bw_text_add(out, "}}");
        }
        bw_text_add(out, "}\n");
    }
}

static bool is_refused(const bw_loaded *loaded, int step, int buried) {
    char part[48];
    bw_text text = bw_text_on(part, sizeof part);
    bw_text_add(&text, "\"s%d\" buries \"s%d\", ", step, buried);
    for (size_t i = 0; i < loaded->mistake_n; i++) {
        if (strstr(loaded->mistake[i].text, part) != NULL) {
            return true;
        }
    }
    return false;
}

/* Whatever the builder could do while it was not over is refused, always.  The other way round the
 * checker may ask for an `after` that is not needed, which does no harm; it seldom does. */
static void test_against_every_way_through(void **state) {
    (void)state;
    static builder b;
    uint64_t seed = 6;
    int refused = 0;
    int in_vain = 0;
    int proved = 0;
    for (int n = 0; n < PLANS; n++) {
        b = (builder){.plan = make_small(&seed)};
        go_on(&b, 0, 0);
        char written[4096];
        bw_text text = bw_text_on(written, sizeof written);
        write_small(&b.plan, &text);
        kit_run run = kit_load(written);
        for (int c = 0; c < STEPS; c++) {
            for (int k = 0; k < c && !b.plan.asks[c]; k++) {
                bool refuses = is_refused(&run.loaded, c, k);
                if (b.open[c][k] && !refuses) {
                    fail_msg("s%d could be done before s%d:\n%s", c, k, written);
                }
                refused += b.open[c][k] ? 1 : 0;
                in_vain += refuses && !b.open[c][k] ? 1 : 0;
                proved += refuses ? 0 : 1;
            }
        }
        kit_end(&run);
    }
    assert_true(refused > PLANS && proved > PLANS);
    print_message("%d refused, %d proved, %d refused in vain\n", refused, proved, in_vain);
    assert_true(in_vain * 50 < proved);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_form),
    cmocka_unit_test(test_before),
    cmocka_unit_test(test_sound),
    cmocka_unit_test(test_never_touched_again),
    cmocka_unit_test(test_needed_and_left_out),
    cmocka_unit_test(test_against_every_way_through),
};

KIT_MAIN(tests)
