/* test_costly.c - declarations that are quick to make and slow to check: the host's own time for a
 * stranger's sequence is bounded too.
 *
 * Both halves run here, in one process without a worker, and processor time is what counts: other
 * work of the machine makes no difference. */
#include "kit.h"

#include "sequence/lua_sandbox.h"
#include "sequence/reader.h"
#include "sequence/wire.h"
#include "wall/frame_int.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "cmocka_all.h"

/* The host has the 250 ms that it may take over the limit, the text no more than it has as a
 * worker. */
enum { HOST_MS = 250, SANITIZER_SHARE = 8 };

static int64_t processor_ms(void) {
    struct timespec now;
    assert_int_equal(clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now), 0);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static bool no_module(void *ctx, const char *name, const char **text, size_t *len,
                      const char **why) {
    (void)ctx;
    (void)name;
    *text = "";
    *len = 0;
    *why = "there are none";
    return false;
}

static void fail_stopped(void *ctx, bw_sequence_limit limit, bw_spot spot) {
    (void)ctx;
    fail_msg("limit %d in line %u", (int)limit, spot.line);
}

static void assert_within(const char *what, int64_t ms, int most_ms, const char *text) {
    if (ms > (int64_t)most_ms * (BW_WALL_SANITIZED ? SANITIZER_SHARE : 1)) {
        fail_msg("%s took %d ms: %s", what, (int)ms, text);
    }
}

/* What the worker would answer, left in *lua. */
static void run_text(bw_lua *lua, const char *text) {
    bw_lua_host host = {.ctx = NULL, .module = no_module, .stop = fail_stopped};
    assert_true(bw_lua_open(lua, host));
    lua->stop_ns = INT64_MAX;
    int64_t begin_ms = processor_ms();
    bw_lua_run(lua, "test.lua", text, strlen(text));
    assert_within("the text", processor_ms() - begin_ms, BW_RUN_STOP_MS, text);
}

static void read_answer(const kit_row *row) {
    static const char *const file[] = {"test.lua"};
    bw_lua *lua = malloc(sizeof *lua);
    assert_non_null(lua);
    run_text(lua, row->text);
    kit_run run = {.arena = bw_arena_new(0)};
    assert_non_null(run.arena);
    bw_source source = {.name = file[0], .text = row->text, .len = strlen(row->text)};
    int64_t begin_ms = processor_ms();
    bw_err err = {.code = BW_OK, .text = ""};
    if (bw_reader_plan(lua->out, lua->out_len, file, 1, &source, run.arena, &run.loaded, &err) !=
        BW_OK) {
        fail_msg("%s", err.text);
    }
    int64_t took_ms = processor_ms() - begin_ms;
    assert_within("the host", took_ms, HOST_MS, row->text);
    if (row->part == NULL) {
        kit_assert_plan(&run);
    } else {
        kit_assert_has(&run, row->line, row->part);
    }
    kit_end(&run);
    bw_lua_close(lua);
    free(lua);
}

#define NOTE "note{id = 'n', say = 's'}\n"

static void test_costly_to_check(void **state) {
    (void)state;
    static const kit_row rows[] = {
        {KIT_HEAD NOTE "for i = 1, 8e4 do local _ = unknown_word end", 3, "unknown word"},
        {KIT_HEAD "local t = {id = 'm', say = 's'} for i = 1, 1e5 do t['id' .. i] = 1 end note(t)",
         2, "note has no field `id1`"},
        {KIT_HEAD "local t = {} for i = 1, 4e5 do t[i] = 'n' end note{id = 'm', say = 's', after = "
                  "t}",
         2, "names 400000: at most 64"},
        {KIT_HEAD "local t = {} for i = 1, 64 do t[i] = ('x'):rep(40) .. i end\n"
                  "for i = 1, 1000 do note{id = ('x'):rep(44) .. i, say = 's', after = t} end",
         3, "which is no step"},
        {KIT_HEAD
         "for i = 1, 4e4 do nte{id = 'x' .. i} end note{id = 'm', say = 's', after = 'nothing'}",
         2, "unknown word `nte`"},
        {KIT_HEAD "for i = 1, 128 do group{name = 'g' .. i, say = 's', lubricant = 'oil', order = "
                  "'crosswise', places = circle{n = 512, diameter = mm(9999)}} end",
         2, "at most 2048 places"},
        {KIT_HEAD "local l = {} for i = 1, 512 do l[i] = ('x'):rep(8) .. i end\n"
                  "for i = 1, 40 do group{name = 'g' .. i, say = 's', lubricant = 'oil', places = "
                  "labels(l)} end",
         3, "at most 2048 places"},
        /* a way of its own through many places, for each step */
        {KIT_HEAD
         "group{name = 'g', say = 's', lubricant = 'oil', places = circle{n = 512, diameter "
         "= mm(9999)}}\n"
         "for i = 1, 1000 do tighten{id = 't' .. i, say = 's', group = 'g', after = i > 1 "
         "and 't' .. (i - 1) or nil, order = 'crosswise', reversed = i % 2 == 0, stages = "
         "{torque{Nm(60), within = percent(5)}}} end",
         3, "pulls, one for each place and stage: at most 65536"},
        /* questions in questions, each with as much before it as there may be */
        {KIT_HEAD "for i = 1, 1024 do local a = {} for k = 1, math.min(64, i - 1) do a[k] = 'q' .. "
                  "(i - k) end\n"
                  "ask{id = 'q' .. i, say = 's', answers = {'x', 'y'}, after = a, when = i > 1 and "
                  "{step = 'q' .. (i - 1), answer = 'x'} or nil} end",
         1, NULL},
        /* a branch for each answer, again and again */
        {KIT_HEAD
         "local l = {} for i = 1, 12 do l[i] = 'a' .. i end\n"
         "for q = 1, 5 do ask{id = 'q' .. q, say = 's', answers = l} for i = 1, 12 do "
         "note{id = 'n' .. q .. '-' .. i, say = 's', after = 'q' .. q, when = {step = 'q' .. q, "
         "answer = l[i]}} end end\n"
         "local a = {} for i = 1, 12 do for q = 1, 5 do a[#a + 1] = 'n' .. q .. '-' .. i end end\n"
         "for i = 1, 950 do note{id = 'm' .. i, say = 's', after = a} end",
         1, NULL},
        /* as much buried as can be, none of it done before */
        {KIT_HEAD
         "for i = 1, 1024 do local b = {} for k = 1, 64 do b[k] = 'c' .. (i + 41 * k) % 1024 + 1 "
         "end\n"
         "confirm{id = 'c' .. i, say = 's', buries = {say = 's', steps = b}} end",
         3, "but nothing puts"},
        /* one group that all have in hand, and none in order */
        {KIT_HEAD KIT_GROUP
         "for i = 1, 1024 do tighten{id = 't' .. i, say = 's', group = 'g', buries = {say = 's', "
         "steps = 't1'}, stages = {check{low = Nm(1), high = Nm(2), most_turn = deg(1)}}} end",
         3, "nothing says that \"t1\" is done before \"t2\""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        read_answer(&rows[i]);
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_costly_to_check),
};

int main(void) {
    return cmocka_run_group_tests(tests, NULL, NULL);
}
