/* bench.c - see bench.h.
 *
 * Order matters: sequence and wrench are tried before the record is opened for writing, so that a
 * mistyped command writes nothing. */
#include "command/bench.h"

#include "command/register.h"
#include "command/own_key.h"
#include "command/own_record.h"
#include "command/which.h"

#include "base/text.h"
#include "face/json_face.h"
#include "face/plan_text.h"
#include "face/terminal.h"
#include "session/adopt.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

enum { ARENA_BYTES = 512 << 20, SOURCES_MAX = 64, NAME_MAX_BYTES = 64 };

typedef struct bench {
    const bw_bench_setup *setup;
    bw_arena *arena;
    bw_loaded loaded;
    bw_register *tools;
    bw_device *device;
    bw_store *store;
    bw_key *key;
    bw_replay replay;
    uint64_t size_before; /* of the record, when all was open */
    const bw_plan *plan;
    bw_session *session;
    bool adopts; /* the text of the file from here on */
    bw_turn *turn;
    bw_terminal terminal;
    bw_json_face json_face;
    bw_bench_display_ready ready;
    bw_display *display;
} bench;

static bool colour_wanted(void) {
    const char *no = getenv("NO_COLOR");
    return no == NULL || no[0] == '\0';
}

static bool cursor_moves(void) {
    const char *term = getenv("TERM");
    return term != NULL && strcmp(term, "dumb") != 0;
}

/* What stands for a sequence where there is none: nothing is asked for. */
static const char free_text[] =
    "sequence { title = \"Free recording, unscripted\", engine = \"not named\",\n"
    "           document = \"none: nothing was asked for\" }\n"
    "confirm { id = \"recorded\", say = \"Pull: each pull is recorded and not judged. All done?\" }\n";

static bw_status load_free(bench *b, bw_err *err) {
    static const bw_source source = {
        .name = "free.lua", .text = free_text, .len = sizeof free_text - 1};
    bw_status status = bw_sequence_load_sources(&source, 1, b->arena, &b->loaded, err);
    b->loaded.source = &source;
    b->loaded.source_n = 1;
    return status;
}

static int load(bench *b) {
    bw_err err = {0};
    bw_status status = b->setup->sequence == NULL
                           ? load_free(b, &err)
                           : bw_sequence_load(b->setup->sequence, b->arena, &b->loaded, &err);
    if (status == BW_E_ABSENT) {
        bw_complain("%s", err.text);
        return BW_EXIT_USAGE;
    }
    if (status != BW_OK) {
        return bw_exit_of(status, &err);
    }
    if (b->loaded.plan == NULL) {
        bw_mistakes_print(b->loaded.mistake, b->loaded.mistake_n, stderr);
        return BW_EXIT_NO;
    }
    return BW_EXIT_YES;
}

/* --wrench may name a tool of the register. */
static bw_status open_wrench(bench *b, bw_err *err) {
    char spec[BW_SPEC_MAX];
    char warning[BW_ERR_TEXT_MAX];
    if (b->setup->wrench == NULL) {
        return BW_OK;
    }
    bw_status status = bw_register_read(b->setup->home, &b->tools, err);
    if (status == BW_OK) {
        status = bw_register_wrench(b->tools, b->setup->wrench, spec, warning, err);
    }
    if (status == BW_OK && warning[0] != '\0' && b->loaded.plan->rule != BW_RULE_SIMPLE) {
        return bw_fail(err, BW_E_ARG, "%s; the sequence's rule %s takes no such tool", warning,
                       bw_rule_word(b->loaded.plan->rule));
    }
    if (status == BW_OK && warning[0] != '\0') {
        bw_complain("%s", warning);
    }
    return status == BW_OK ? bw_device_open(spec, &b->device, err) : status;
}

/* The person: as said, else who worked last, else the login name. */
static const char *person(const bench *b) {
    const char *names[] = {b->setup->by, NULL, getenv("LOGNAME"), getenv("USER"), "builder"};
    for (size_t i = b->replay.entry_n; i > 0 && names[1] == NULL; i--) {
        if (b->replay.entry[i - 1].kind == BW_KIND_PERSON_ON) {
            names[1] = bw_entry_text(&b->replay.entry[i - 1], BW_M_PERSON, NULL);
        }
    }
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const char *name = names[i];
        if (name != NULL && name[0] != '\0' && strlen(name) < NAME_MAX_BYTES) {
            return name;
        }
    }
    return "builder";
}

static bw_status open_record(bench *b, bw_err *err) {
    bw_status status = bw_own_record_open(b->setup->home, BW_STORE_WRITE, &b->store, err);
    if (status == BW_OK) {
        status = bw_own_key_open(b->setup->home, b->store, person(b), &b->key, err);
    }
    if (status == BW_OK) {
        status = bw_replay_build(b->store, b->setup->build, b->arena, &b->replay, err);
    }
    return status;
}

static bool is_changed(const bench *b) {
    bool same = b->loaded.source_n == b->replay.source_n;
    for (size_t i = 0; same && i < b->loaded.source_n; i++) {
        same = b->loaded.source[i].len == b->replay.source[i].len &&
               memcmp(b->loaded.source[i].text, b->replay.source[i].text,
                      b->loaded.source[i].len) == 0;
    }
    return !same;
}

/* A build goes on with the text that it began with, until another one is adopted. */
static int go_on(bench *b) {
    bw_err err = {0};
    bool changed = is_changed(b);
    b->plan = b->replay.plan;
    b->session = b->replay.session;
    if (changed && !b->setup->adopt) {
        bw_complain("%s differs from what build %s began with; the build goes on with the text in "
                    "its record (to take the new one: --adopt)",
                    b->loaded.source[0].name, b->setup->build);
    }
    if (!changed || !b->setup->adopt || b->session == NULL) {
        return BW_EXIT_YES;
    }
    bw_session_identity identity = {.build = b->setup->build,
                                    .bench = b->replay.entry[0].bench,
                                    .rehearsal = b->replay.rehearsal};
    bw_session *after = bw_session_new(b->loaded.plan, &identity, b->arena);
    if (after != NULL &&
        bw_adopt(b->session, after, b->replay.entry, b->replay.entry_n, &err) != BW_OK) {
        bw_complain("%s can't be adopted by build %s: %s", b->loaded.source[0].name,
                    b->setup->build, err.text);
        return BW_EXIT_NO;
    }
    b->plan = b->loaded.plan;
    b->session = after;
    b->adopts = true;
    return BW_EXIT_YES;
}

/* What is asked for fits a closed build only, and then with two persons. */
static bool may_come_back(const bench *b) {
    const bw_bench_setup *setup = b->setup;
    if (!setup->reopen && setup->retorque == NULL) {
        return true;
    }
    if (b->replay.entry_n == 0) {
        bw_complain_no_build(b->store, setup->build);
        return false;
    }
    if (b->replay.session == NULL || bw_session_state(b->replay.session) != BW_STATE_CLOSED) {
        bw_complain("build %s is not closed: it goes on without --reopen or --retorque",
                    setup->build);
        return false;
    }
    if (setup->reopen && bw_same_person(person(b), setup->second)) {
        bw_complain("--with names a second person; %s is the one who works", setup->second);
        return false;
    }
    return true;
}

static int pick_plan(bench *b) {
    if (!may_come_back(b)) {
        return BW_EXIT_USAGE;
    }
    if (b->replay.entry_n == 0) {
        bw_session_identity identity = {.build = b->setup->build,
                                        .bench = bw_key_bench(b->key),
                                        .rehearsal = b->setup->rehearsal};
        b->plan = b->loaded.plan;
        b->session = bw_session_new(b->plan, &identity, b->arena);
    } else if (b->replay.rehearsal != b->setup->rehearsal) {
        bw_complain("build %s is %s; take another id", b->setup->build,
                    b->replay.rehearsal ? "a rehearsal and can't become a build"
                                        : "a real build and can't be rehearsed");
        return BW_EXIT_USAGE;
    } else {
        int code = go_on(b);
        if (code != BW_EXIT_YES) {
            return code;
        }
    }
    if (b->session == NULL) {
        bw_complain("no memory for build %s", b->setup->build);
        return BW_EXIT_MACHINE;
    }
    return BW_EXIT_YES;
}

static size_t terminal_columns(void) {
    struct winsize size = {0};
    return ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 ? size.ws_col : 0;
}

static bw_face own_face(bench *b) {
    if (b->setup->json) {
        b->json_face = (bw_json_face){.out = stdout};
        return bw_json_face_of(&b->json_face);
    }
    bool terminal = isatty(STDOUT_FILENO) == 1 && !b->setup->plain;
    b->terminal = (bw_terminal){.out = stdout,
                                .is_terminal = terminal,
                                .columns = terminal ? terminal_columns : NULL,
                                .redraws = terminal && cursor_moves() && !b->setup->rehearsal,
                                .colour = terminal && cursor_moves() && colour_wanted(),
                                .rehearsal = b->setup->rehearsal};
    bw_terminal_heading(&b->terminal, b->plan, b->setup->build);
    return bw_terminal_face(&b->terminal);
}

/* What stands in the record of each build is what the register had on that day. */
static bw_tool_card card_of(const bench *b) {
    const bw_tool *t = b->tools != NULL && b->setup->wrench != NULL
                           ? bw_register_tool(b->tools, b->setup->wrench)
                           : NULL;
    if (t == NULL) {
        return (bw_tool_card){0};
    }
    return (bw_tool_card){.serial_number = t->serial,
                          .calibrated = t->calibrated,
                          .calibration_due = t->due,
                          .certificate = t->certificate};
}

static bw_status add_display(bench *b, bw_turn_setup *turn, bw_err *err) {
    const bw_display_setup setup = {.build = b->setup->build,
                                    .rehearsal = b->setup->rehearsal,
                                    .session = b->session,
                                    .plan = b->plan,
                                    .replay = &b->replay,
                                    .store = b->store};
    bw_status status = bw_display_new(&setup, &b->display, err);
    if (status == BW_OK) {
        turn->face[turn->face_n++] = bw_display_face(b->display);
        turn->outlives_input = true;
    }
    return status;
}

static bw_status make_turn(bench *b, bw_err *err) {
    bool input = b->setup->reads_input;
    bw_turn_setup setup = {.session = b->session,
                           .store = b->store,
                           .key = b->key,
                           .device = b->device,
                           .card = card_of(b),
                           .face = {own_face(b)},
                           .face_n = 1,
                           .input_fd = input ? STDIN_FILENO : -1,
                           .input_is_terminal = input && isatty(STDIN_FILENO) == 1,
                           .last_time_ms = b->replay.last_time_ms};
    if (b->setup->extra != NULL) {
        setup.face[setup.face_n++] = *b->setup->extra;
    }
    bw_status status = b->setup->display.where != NULL ? add_display(b, &setup, err) : BW_OK;
    if (status == BW_OK) {
        status = bw_turn_new(&setup, &b->turn, err);
    }
    if (status == BW_OK && b->display != NULL) {
        status = bw_bench_display_serve(&b->setup->display, b->setup->home, &b->ready, b->display,
                                        b->turn, err);
    }
    if (status == BW_OK && b->setup->ready != NULL) {
        status = b->setup->ready(b->setup->ctx, b->turn, &b->replay, b->plan, err);
    }
    return status;
}

static bw_status go(bench *b, bw_err *err) {
    b->size_before = bw_store_size(b->store);
    const char *name[SOURCES_MAX];
    const char *text[SOURCES_MAX];
    size_t n = b->loaded.source_n < SOURCES_MAX ? b->loaded.source_n : SOURCES_MAX;
    for (size_t i = 0; i < n; i++) {
        name[i] = b->loaded.source[i].name;
        text[i] = b->loaded.source[i].text;
    }
    bw_event open = {.kind = BW_EVENT_OPEN,
                     .text = person(b),
                     .program = BW_PROGRAM,
                     .reopen = b->setup->reopen,
                     .second = b->setup->second,
                     .retorque = b->setup->retorque,
                     .why = b->setup->why,
                     .adopts = b->adopts,
                     .source_n = n,
                     .source_name = name,
                     .source_text = text};
    bw_status status = bw_turn_open(b->turn, &open, err);
    return status == BW_OK ? bw_turn_run(b->turn, err) : status;
}

static void print_end_json(const bench *b, const bw_tally *t) {
    (void)printf("{\"build\":\"%s\",\"outcome\":\"%s\",\"fasteners\":%zu,\"pulls\":%zu,"
                 "\"measurements\":%zu,\"accepted\":%zu,\"overridden\":%zu,\"entries\":%" PRIu64
                 ",\"rehearsal\":%s}\n",
                 b->setup->build, t->outcome, t->fasteners, t->pulls, t->measurements, t->accepted,
                 t->overridden, bw_store_size(b->store), b->setup->rehearsal ? "true" : "false");
}

static void print_end(const bench *b, const bw_tally *t) {
    (void)printf("\nBuild %s: %s. %zu of %zu fastener stages accepted, %zu by decision; %zu pulls, "
                 "%zu readings; the record has %" PRIu64 " entries.%s\n",
                 b->setup->build, t->outcome, t->accepted, t->fasteners, t->overridden, t->pulls,
                 t->measurements, bw_store_size(b->store),
                 b->setup->rehearsal ? " A rehearsal." : "");
}

static int end(const bench *b) {
    bool answered = b->setup->retorque == NULL || bw_store_size(b->store) > b->size_before;
    bw_tally tally;
    bw_session_tally(b->session, &tally);
    if (b->setup->json) {
        print_end_json(b, &tally);
    } else {
        print_end(b, &tally);
    }
    return strcmp(tally.outcome, "rejected") == 0 || !answered ? BW_EXIT_NO : BW_EXIT_YES;
}

static void end_display(bench *b, bw_status status) {
    bw_tally tally;
    bw_session_tally(b->session, &tally);
    bw_display_end(b->display, status == BW_OK ? tally.outcome : NULL);
}

static int run_all(bench *b) {
    bw_err err = {0};
    int code = load(b);
    if (code != BW_EXIT_YES) {
        return code;
    }
    bw_status status = bw_bench_display_read(&b->setup->display, &b->ready, &err);
    if (status == BW_OK) {
        status = b->setup->check == NULL ? BW_OK
                                         : b->setup->check(b->setup->ctx, b->loaded.plan, &err);
    }
    if (status == BW_OK) {
        status = open_wrench(b, &err);
        status = status == BW_E_DATA ? BW_E_ARG : status; /* a SPEC that was written wrongly */
    }
    if (status == BW_OK) {
        status = open_record(b, &err);
    }
    if (status != BW_OK) {
        return bw_exit_of(status, &err);
    }
    code = pick_plan(b);
    if (code != BW_EXIT_YES) {
        return code;
    }
    status = make_turn(b, &err);
    if (status == BW_OK) {
        status = go(b, &err);
    }
    end_display(b, status);
    return status == BW_OK ? end(b) : bw_exit_of(status, &err);
}

int bw_bench_run(const bw_bench_setup *setup) {
    bench b = {.setup = setup, .arena = bw_arena_new(ARENA_BYTES)};
    if (b.arena == NULL) {
        bw_complain("no memory");
        return BW_EXIT_MACHINE;
    }
    int code = run_all(&b);
    bw_display_free(b.display);
    bw_turn_free(b.turn);
    bw_device_free(b.device);
    free(b.tools);
    bw_key_free(b.key);
    bw_store_close(b.store);
    bw_arena_free(b.arena);
    return code;
}
