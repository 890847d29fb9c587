/* test_wire.c - the worker's bytes read back: what is sound comes through as it was, what is not is
 * refused, and no byte can make the reader fail.
 *
 * Answers are made by the worker's own Lua side, run in this process; then they are damaged. */
#include "kit.h"

#include "sequence/lua_sandbox.h"
#include "sequence/reader.h"
#include "sequence/wire.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cmocka_all.h"

/* ---- answers from this process ---- */

static bool no_module(void *ctx, const char *name, const char **text, size_t *len,
                      const char **why) {
    (void)ctx;
    (void)name;
    *text = "";
    *len = 0;
    *why = "there are none";
    return false;
}

static void no_stop(void *ctx, bw_sequence_limit limit, bw_spot spot) {
    (void)ctx;
    (void)spot;
    fail_msg("limit %d was hit", (int)limit);
}

static uint8_t *answer_of(const char *text, size_t *len) {
    bw_lua lua;
    bw_lua_host host = {.ctx = NULL, .module = no_module, .stop = no_stop};
    assert_true(bw_lua_open(&lua, host));
    bw_lua_run(&lua, "test.lua", text, strlen(text));
    uint8_t *bytes = malloc(lua.out_len + 1);
    assert_non_null(bytes);
    memcpy(bytes, lua.out, lua.out_len);
    *len = lua.out_len;
    bw_lua_close(&lua);
    return bytes;
}

static const char *const files[] = {"test.lua"};

static bw_status read_plan(const uint8_t *bytes, size_t len, bw_loaded *out, bw_arena *arena) {
    *out = (bw_loaded){0};
    return bw_reader_plan(bytes, len, files, 1, NULL, arena, out, NULL);
}

static const char whole[] = KIT_HEAD
    "caution{id = 'c', say = 'Read.', why = 'Because.'}\n"
    "group{name = 'main', say = 's', thread = 'M11x1.25', class = '10.9', lubricant = 'oil', "
    "washers = 'w', new_each_time = true, order = 'spiral', places = grid{rows = 2, columns = 3, "
    "dx = mm(90), dy = mm(95.5), labels = {'a', 'b', 'c', 'd', 'e', 'f'}}}\n"
    "group{name = 'flange', say = 's', lubricant = 'oil', order = 'crosswise', places = "
    "circle{n = 4, diameter = mm(100)}}\n"
    "measure{id = 'm', say = 's', gauge = 'g', after = {'c'}, readings = {reading{id = 'a', say = "
    "'s', unit = 'mm', decimals = 3, at = {'x', 'y'}, plausible = {mm(1), mm(2)}}, reading{id = "
    "'b', say = 's', unit = 'thou', decimals = 1, plausible = {thou(30), thou(90)}}}, derive = "
    "{value{id = 'v', say = 's', formula = 'clearance_least', of = {'a', 'b'}, unit = 'mm', "
    "decimals = 3, low = mm(0.02), high = mm(0.9)}}}\n"
    "tighten{id = 't', say = 's', group = 'main', after = 'm', buries = 'b', stages = {torque{"
    "Nm(30), within = percent(5)}, torque{Nm(60), low = lbf_ft(43), high = Nm(63)}, angle{deg(90), "
    "within = deg(4), floor = Nm(75), ceiling = Nm(160)}}}\n"
    "tighten{id = 'f', say = 's', group = 'flange', stages = {torque_angle{snug = Nm(20), deg(90), "
    "within = percent(5)}}}\n";

static void test_whole_answer(void **state) {
    (void)state;
    size_t len = 0;
    uint8_t *bytes = answer_of(whole, &len);
    bw_arena *arena = bw_arena_new(0);
    bw_loaded loaded;
    assert_int_equal(read_plan(bytes, len, &loaded, arena), BW_OK);
    assert_non_null(loaded.plan);
    kit_assert_sound(loaded.plan);
    assert_int_equal(loaded.plan->step_n, 4);
    /* The same as through the worker. */
    kit_run run = kit_load(whole);
    kit_assert_plan(&run);
    char *here = kit_plan_text(loaded.plan);
    char *there = kit_plan_text(run.loaded.plan);
    assert_string_equal(here, there);
    free(here);
    free(there);
    kit_end(&run);
    bw_arena_free(arena);
    free(bytes);
}

/* ---- damage ---- */

static uint32_t next_random(uint32_t *seed) { /* xorshift32 */
    *seed ^= *seed << 13;
    *seed ^= *seed >> 17;
    *seed ^= *seed << 5;
    return *seed;
}

/* Reads damaged bytes; whatever comes back is one of what reader.h promises. */
static void read_damaged(const uint8_t *bytes, size_t len) {
    /* Exactly as many bytes as there are, so that a sanitizer sees a step too far. */
    uint8_t *exact = malloc(len > 0 ? len : 1);
    assert_non_null(exact);
    memcpy(exact, bytes, len);
    bw_arena *arena = bw_arena_new(0);
    bw_loaded loaded;
    bw_status rc = read_plan(exact, len, &loaded, arena);
    assert_true(rc == BW_OK || rc == BW_E_DATA || rc == BW_E_LIMIT || rc == BW_E_MEM);
    if (rc == BW_OK) {
        assert_true((loaded.plan == NULL) == (loaded.mistake_n > 0));
        for (size_t i = 0; i < loaded.mistake_n; i++) {
            assert_true(loaded.mistake[i].where.line >= 1);
        }
    }
    if (rc == BW_OK && loaded.plan != NULL) {
        kit_assert_sound(loaded.plan);
    }
    bw_arena_free(arena);
    free(exact);
}

static void test_every_cut(void **state) {
    (void)state;
    size_t len = 0;
    uint8_t *bytes = answer_of(whole, &len);
    for (size_t cut = 0; cut < len; cut++) {
        read_damaged(bytes, cut);
    }
    free(bytes);
}

static void damage(uint8_t *bytes, size_t len, uint32_t *seed) {
    static const uint8_t edges[] = {0, 1, 0x7f, 0x80, 0xff, 'N', 'T', 's', 'q', 'd', 'z', 'u'};
    size_t at = next_random(seed) % len;
    switch (next_random(seed) % 4) {
    case 0:
        bytes[at] ^= (uint8_t)(1u << (next_random(seed) % 8));
        break;
    case 1:
        bytes[at] = edges[next_random(seed) % sizeof edges];
        break;
    case 2:
        bytes[at] = (uint8_t)next_random(seed);
        break;
    default: /* one place copied to another */
        for (size_t i = 0; i < 16 && at + i < len; i++) {
            bytes[at + i] = bytes[(at * 7 + i) % len];
        }
    }
}

static void test_random_damage(void **state) {
    (void)state;
    enum { ROUNDS = 4000 };
    size_t len = 0;
    uint8_t *bytes = answer_of(whole, &len);
    uint8_t *copy = malloc(len);
    assert_non_null(copy);
    uint32_t seed = 20261125;
    for (int round = 0; round < ROUNDS; round++) {
        memcpy(copy, bytes, len);
        for (uint32_t i = 0; i <= next_random(&seed) % 3; i++) {
            damage(copy, len, &seed);
        }
        read_damaged(copy, len);
    }
    free(copy);
    free(bytes);
}

static void test_every_byte_changed(void **state) {
    (void)state;
    size_t len = 0;
    uint8_t *bytes = answer_of(KIT_HEAD KIT_GROUP KIT_TIGHTEN, &len);
    for (size_t at = 0; at < len; at++) {
        uint8_t before = bytes[at];
        for (unsigned value = 0; value < 256; value += 5) {
            bytes[at] = (uint8_t)value;
            read_damaged(bytes, len);
        }
        bytes[at] = before;
    }
    free(bytes);
}

/* ---- by hand ---- */

typedef struct bytes_row {
    const char *bytes;
    size_t len;
    bw_status rc;
} bytes_row;

#define ROW(text, rc)                                                                              \
    { text, sizeof text - 1, rc }
#define NODE "N\1x\0\0\1\0\0\0"

static void test_bytes_by_hand(void **state) {
    (void)state;
    static const bytes_row rows[] = {
        ROW("", BW_OK),
        ROW(NODE "\0\0\0\0\0\0\0\0\0", BW_OK),
        ROW(NODE "\0\0\0\0\0\0\0\0\0z", BW_E_DATA),        /* a value that is no node */
        ROW(NODE "\1\0\0\0z\0\0\0\0\0", BW_OK),            /* nil in a list */
        ROW(NODE "\2\0\0\0z\0\0\0\0\0", BW_E_DATA),        /* one value short */
        ROW(NODE "\xff\xff\xff\xff\0\0\0\0\0", BW_E_DATA), /* a list longer than all bytes */
        ROW(NODE "\0\0\0\0\1\0\0\0\1\0\0\0az\0", BW_OK),
        ROW(NODE "\0\0\0\0\1\0\0\0\xff\xff\xff\xff", BW_E_DATA),
        ROW(NODE "\0\0\0\0\2\0\0\0\1\0\0\0az\1\0\0\0bz\0", BW_OK),
        ROW(NODE "\0\0\0\0\2\0\0\0\1\0\0\0bz\1\0\0\0az\0", BW_E_DATA), /* keys out of order */
        ROW(NODE "\0\0\0\0\2\0\0\0\1\0\0\0az\1\0\0\0az\0", BW_E_DATA), /* a key twice */
        ROW(NODE "\0\0\0\0\1\0\0\0\2\0\0\0a\0z\0", BW_E_DATA),         /* NUL in a key */
        ROW(NODE "\0\0\0\0\0\0\0\0\3abc", BW_OK),
        ROW(NODE "\0\0\0\0\0\0\0\0\3ab", BW_E_DATA),
        ROW(NODE "\1\0\0\0?\0\0\0\0\0", BW_E_DATA),           /* no such tag */
        ROW(NODE "\1\0\0\0s\2\0\0\0\0\xff\0\0\0\0\0", BW_OK), /* a text may hold anything */
        ROW(NODE "\1\0\0\0d\1\2\3\4\5\6\7\xff\0\0\0\0\0", BW_OK),
        ROW(NODE "\1\0\0\0q\1\2\3\4\5\6\7\x40\1\2\0\0\1\0\0\0\0\0\0\0\0", BW_OK),
        ROW(NODE "\1\0\0\0q\1\2\3\4\5\6\7\x40\xc8\2\0\0\1\0\0\0\0\0\0\0\0", BW_E_DATA), /* unit */
        ROW(NODE "\1\0\0\0q\1\2\3\4\5\6\7\x40\1\x63\0\0\1\0\0\0\0\0\0\0\0", BW_E_DATA), /* digits */
        ROW("N\1x\0\0\xff\xff\xff\xff\0\0\0\0\0\0\0\0\0", BW_E_DATA), /* a line that is none */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_arena *arena = bw_arena_new(0);
        const bw_value *node = NULL;
        size_t n = 0;
        bw_err err = {.code = BW_OK, .text = ""};
        bw_status rc = bw_wire_read((const uint8_t *)rows[i].bytes, rows[i].len, arena, &node, &n,
                                    &err);
        if (rc != rows[i].rc) {
            fail_msg("row %zu: %s", i, bw_status_name(rc));
        }
        assert_int_equal(n, rc == BW_OK && i > 0 ? 1 : 0);
        bw_arena_free(arena);
    }
}

static void test_depth_is_bounded(void **state) {
    (void)state;
    enum { DEPTH = 100000 };
    static const char open[] = "T\1\0\0\0";
    size_t len = sizeof NODE - 1 + 4 + DEPTH * 5;
    uint8_t *bytes = malloc(len);
    assert_non_null(bytes);
    memcpy(bytes, NODE "\1\0\0\0", sizeof NODE + 3);
    for (size_t i = 0; i < DEPTH; i++) {
        memcpy(bytes + sizeof NODE + 3 + i * 5, open, 5);
    }
    read_damaged(bytes, len);
    free(bytes);
}

/* Lists that cost the host far more than they cost the worker end at the arena's limit. */
static void test_amplification_is_bounded(void **state) {
    (void)state;
    size_t n = BW_RUN_OUTPUT_BYTES - 32;
    uint8_t *bytes = calloc(1, n + 32);
    assert_non_null(bytes);
    memcpy(bytes, NODE, sizeof NODE - 1);
    for (int i = 0; i < 4; i++) {
        bytes[sizeof NODE - 1 + (size_t)i] = (uint8_t)(n >> (8 * i));
    }
    memset(bytes + sizeof NODE + 3, 'z', n);
    bw_arena *arena = bw_arena_new(0);
    const bw_value *node = NULL;
    size_t node_n = 0;
    bw_err err = {.code = BW_OK, .text = ""};
    assert_int_equal(bw_wire_read(bytes, sizeof NODE + 3 + n + 5, arena, &node, &node_n, &err),
                     BW_E_LIMIT);
    assert_string_equal(err.text, "declares more than fits into memory");
    bw_arena_free(arena);
    free(bytes);
}

/* Every kind of Lua value, there and back. */
static void test_values_come_through(void **state) {
    (void)state;
    size_t len = 0;
    uint8_t *bytes = answer_of(
        "note{true, false, 1.5, 'a\\0b', Nm(60.25), {x = 1, 2}, torque{Nm(1)}, pairs, "
        "word, math.huge, 7, [100] = 1}",
        &len);
    bw_arena *arena = bw_arena_new(0);
    const bw_value *node = NULL;
    size_t n = 0;
    assert_int_equal(bw_wire_read(bytes, len, arena, &node, &n, NULL), BW_OK);
    assert_int_equal(n, 2); /* the unknown word comes first */
    assert_string_equal(node[0].text, "unknown");
    const bw_value *v = node[1].list;
    assert_int_equal(node[1].list_n, 11);
    assert_true(v[0].kind == BW_VALUE_FLAG && v[0].flag);
    assert_true(v[1].kind == BW_VALUE_FLAG && !v[1].flag);
    assert_true(v[2].kind == BW_VALUE_NUMBER && v[2].number == 1.5);
    assert_true(v[3].kind == BW_VALUE_TEXT && v[3].len == 3);
    assert_memory_equal(v[3].text, "a\0b", 4);
    assert_true(v[4].kind == BW_VALUE_QUANTITY && v[4].quantity.value == 60.25);
    assert_int_equal(v[4].quantity.decimals, 2);
    assert_int_equal(v[4].spot.line, 1);
    assert_true(v[5].kind == BW_VALUE_TABLE && v[5].list_n == 1 && v[5].field_n == 1);
    assert_true(bw_value_field(&v[5], "x")->number == 1);
    assert_null(bw_value_field(&v[5], "y"));
    assert_true(v[6].kind == BW_VALUE_NODE);
    assert_string_equal(v[6].text, "torque");
    assert_true(v[7].kind == BW_VALUE_OTHER);
    assert_string_equal(v[7].text, "function");
    assert_int_equal(v[8].kind, BW_VALUE_REPORTED);
    assert_true(isinf(v[9].number));
    assert_true(v[10].kind == BW_VALUE_NUMBER && v[10].number == 7);
    assert_string_equal(node[1].odd, "the bare number 100");
    bw_arena_free(arena);
    free(bytes);
}

static void test_module_names(void **state) {
    (void)state;
    static const char *const good[] = {
        "a",       "a.b",     "a/b",
        "a-b_c.9", "lib/x.y", "123456789012345678901234567890123456789012345678"};
    static const char *const bad[] = {"",
                                      ".",
                                      "a.",
                                      ".a",
                                      "a..b",
                                      "a/.b",
                                      "A",
                                      "a b",
                                      "a\\b",
                                      "é",
                                      "1234567890123456789012345678901234567890123456789"};
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        assert_true(bw_module_name_valid(good[i], strlen(good[i])));
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_false(bw_module_name_valid(bad[i], strlen(bad[i])));
    }
    assert_false(bw_module_name_valid("a\0b", 3));
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_whole_answer),
    cmocka_unit_test(test_every_cut),
    cmocka_unit_test(test_random_damage),
    cmocka_unit_test(test_every_byte_changed),
    cmocka_unit_test(test_bytes_by_hand),
    cmocka_unit_test(test_depth_is_bounded),
    cmocka_unit_test(test_amplification_is_bounded),
    cmocka_unit_test(test_values_come_through),
    cmocka_unit_test(test_module_names),
};

KIT_MAIN(tests)
