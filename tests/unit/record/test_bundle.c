/* test_bundle.c - a bundle proves one build; whatever is changed in it is named. */
#include "cmocka_all.h"
#include "record_help.h"

#include "base/text.h"
#include "record/bundle.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BUNDLE_MAX = 1 << 18 };

static char bundle[BUNDLE_MAX];
static size_t bundle_len;
static bw_verifier verifier;
static char note_at_4[BW_NOTE_MAX];
static char newest[BW_NOTE_MAX];
static const char trace[] = "0.00,0.0,0\n0.10,30.5,12\n0.20,60.1,20\n";

static void sign(bw_store *store, const bw_key *key, char *note) {
    bw_arena *arena = bw_arena_new(0);
    const char *text = NULL;
    assert_int_equal(bw_store_checkpoint(store, key, NULL), BW_OK);
    assert_int_equal(bw_store_newest_checkpoint(store, arena, &text, NULL), BW_OK);
    (void)bw_text_copy(note, BW_NOTE_MAX, text);
    bw_arena_free(arena);
}

static void append_pull(bw_store *store, const char *build, int64_t at) {
    char hex[BW_HASH_HEX];
    bw_hash hash;
    const bw_blob blob = {trace, strlen(trace)};
    bw_entry pull = full_entry(BW_KIND_PULL, build, at, false);
    assert_int_equal(bw_sha256(trace, strlen(trace), &hash), BW_OK);
    bw_hex(hash.byte, BW_HASH_BYTES, hex);
    bw_entry_set_text(&pull, BW_M_TRACE, hex);
    bw_entry_set_text(&pull, BW_M_RAW, hex);
    assert_int_equal(bw_store_append(store, &pull, 1, &blob, 1, NULL), BW_OK);
}

/* Two builds through each other, checkpoints over 4, 9 and 11 entries; build A ends at 9. */
static void make_record(void) {
    bw_store *store = open_store(home, BW_STORE_WRITE);
    bw_key *key = open_key(home);
    char line[BW_VERIFIER_MAX];
    append_opened(store, "A", 1);
    append_opened(store, "B", 2);
    append_entry(store, note_entry("A", 3, "of \"A\" µ"));
    append_entry(store, note_entry("B", 4, "secret of B"));
    sign(store, key, note_at_4);
    append_pull(store, "A", 5);
    append_entry(store, note_entry("B", 6, "secret of B"));
    append_entry(store, note_entry("A", 7, "more of A"));
    bw_entry closed = plain_entry(BW_KIND_BUILD_CLOSED, "A", 8);
    bw_entry_set_text(&closed, BW_M_OUTCOME, "complete");
    bw_entry_set_whole(&closed, BW_M_ENTRIES, 4);
    append_entry(store, note_entry("B", 8, "secret of B"));
    append_entry(store, closed);
    sign(store, key, newest);
    append_entry(store, note_entry("B", 9, "secret of B"));
    append_entry(store, note_entry("B", 9, "secret of B"));
    sign(store, key, newest);
    assert_int_equal(bw_key_verifier(key, line, NULL), BW_OK);
    assert_int_equal(bw_verifier_parse(line, &verifier, NULL), BW_OK);
    bw_key_free(key);
    bw_store_close(store);
}

static bw_status write_bundle(const char *build, const char *outside, bw_err *err) {
    bw_store *store = open_store(home, BW_STORE_READ);
    FILE *out = fmemopen(bundle, sizeof bundle, "w");
    assert_non_null(out);
    bw_status status = bw_bundle_write(store, build, outside, out, err);
    bundle_len = (size_t)ftell(out);
    (void)fclose(out);
    bw_store_close(store);
    return status;
}

static int set_up(void **state) {
    (void)make_home(state);
    make_record();
    return write_bundle("A", NULL, NULL) == BW_OK ? 0 : -1;
}

static const bw_audit_setup by_key = {.verifier = &verifier, .verifier_n = 1};

static bw_status check_bytes(const char *bytes, size_t len, const bw_audit_setup *setup,
                             bw_arena *arena, bw_bundle_audit *out, bw_err *err) {
    FILE *in = fmemopen((void *)(uintptr_t)bytes, len, "r");
    assert_non_null(in);
    bw_status status = bw_bundle_check(in, setup, arena, out, err);
    (void)fclose(in);
    return status;
}

static bw_bundle_audit check(const bw_audit_setup *setup, bw_arena *arena) {
    bw_bundle_audit result = {0};
    bw_err err = {0};
    if (check_bytes(bundle, bundle_len, setup, arena, &result, &err) != BW_OK) {
        fail_msg("%s", err.text);
    }
    return result;
}

static void expect_intact(const bw_bundle_audit *result) {
    if (result->audit.finding_n > 0) {
        fail_msg("%" PRIu64 ": %s", result->audit.finding[0].entry, result->audit.finding[0].text);
    }
    assert_int_equal(result->audit.outcome, BW_AUDIT_INTACT);
}

static void one_build_is_proved_alone(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    bw_bundle_audit result = check(&by_key, arena);
    expect_intact(&result);
    assert_int_equal(result.audit.entries, 5);
    assert_int_equal(result.size, 11);
    assert_int_equal(result.audit.proved, 11);
    assert_int_equal(result.audit.signatures, BW_SIGNATURE_GOOD);
    assert_int_equal(result.traces, 1);
    assert_int_equal(result.audit.checkpoints, 3);
    assert_string_equal(result.build, "A");
    assert_true(result.closed);
    assert_null(strstr(bundle, "secret"));
    result = check(&(bw_audit_setup){0}, arena);
    assert_int_equal(result.audit.outcome, BW_AUDIT_CANNOT_TELL);
    bw_arena_free(arena);
}

static bw_outside outside_of(const char *note) {
    bw_outside outside = {.from = "that was given"};
    bw_signature signature = BW_SIGNATURE_NONE;
    assert_int_equal(bw_checkpoint_read(note, strlen(note), NULL, &outside.size, &outside.root,
                                        &signature, NULL),
                     BW_OK);
    return outside;
}

static void a_checkpoint_from_a_sheet_is_in_its_past(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    bw_outside outside = outside_of(note_at_4);
    const bw_audit_setup held = {.outside = &outside, .outside_n = 1};
    bw_bundle_audit result = check(&held, arena);
    expect_intact(&result); /* no key: the checkpoint that is held is enough */
    outside.root.byte[0] ^= 1;
    result = check(&held, arena);
    assert_int_equal(result.audit.outcome, BW_AUDIT_DAMAGED);
    assert_non_null(strstr(result.audit.finding[0].text, "two histories"));
    outside.size = 12;
    result = check(&held, arena);
    assert_int_equal(result.audit.outcome, BW_AUDIT_INCOMPLETE);
    assert_non_null(strstr(result.audit.finding[0].text, "no proof about the checkpoint"));
    bw_arena_free(arena);
}

/* Of another bench's record, or of a history that this record does not have. */
static void what_the_record_does_not_hold_is_refused(void **state) {
    (void)state;
    bw_err err = {0};
    char forged[BW_NOTE_MAX];
    (void)bw_text_copy(forged, sizeof forged, note_at_4);
    char *size = strstr(forged, "\n4\n");
    assert_non_null(size);
    size[1] = '3';
    assert_int_equal(write_bundle("A", forged, &err), BW_E_DATA);
    assert_non_null(strstr(err.text, "does not hold what the given checkpoint over 3"));
    size[1] = '9';
    assert_int_equal(write_bundle("none", NULL, &err), BW_E_ABSENT);
    assert_int_equal(write_bundle("A", "no note", &err), BW_E_DATA);
    bw_store *store = open_store(home, BW_STORE_WRITE);
    append_entry(store, note_entry("A", 10, "not signed"));
    bw_store_close(store);
    assert_int_equal(write_bundle("A", NULL, &err), BW_E_STATE);
    assert_non_null(strstr(err.text, "entry 12 of build A is not signed yet"));
}

/* Each byte but those of JSON that say nothing (none is left: the text has no spaces). */
static void every_byte_counts(void **state) {
    (void)state;
    size_t named = 0;
    for (size_t i = 0; i < bundle_len; i++) {
        bw_arena *arena = bw_arena_new(0);
        bw_bundle_audit result = {0};
        bundle[i] ^= 1;
        bw_status status = check_bytes(bundle, bundle_len, &by_key, arena, &result, NULL);
        bundle[i] ^= 1;
        assert_true(status == BW_OK || status == BW_E_DATA);
        if (status == BW_OK && result.audit.outcome == BW_AUDIT_INTACT) {
            fail_msg("byte %zu: %.60s", i, bundle + (i > 30 ? i - 30 : 0));
        }
        named++;
        bw_arena_free(arena);
    }
    print_message("%zu bytes\n", named);
}

/* Every line left out, doubled, and put to the end: cut off, or named. */
static void every_line_counts(void **state) {
    (void)state;
    static char bent[2 * BUNDLE_MAX];
    for (char *at = bundle; at < bundle + bundle_len;) {
        size_t begin = (size_t)(at - bundle);
        size_t len = strcspn(at, "\n") + 1;
        for (int way = 0; way < 2; way++) {
            bw_arena *arena = bw_arena_new(0);
            bw_bundle_audit result = {0};
            size_t n = begin + (way == 0 ? 0 : 2 * len);
            memcpy(bent, bundle, begin);
            if (way == 1) {
                memcpy(bent + begin, at, len);
                memcpy(bent + begin + len, at, len);
            }
            memcpy(bent + n, at + len, bundle_len - begin - len);
            n += bundle_len - begin - len;
            bw_status status = check_bytes(bent, n, &by_key, arena, &result, NULL);
            assert_true(status == BW_E_DATA || result.audit.outcome != BW_AUDIT_INTACT);
            bw_arena_free(arena);
        }
        at += len;
    }
}

static void a_cut_is_incomplete(void **state) {
    (void)state;
    bw_arena *arena = bw_arena_new(0);
    size_t end = bundle_len - 1;
    while (bundle[end - 1] != '\n') {
        end--;
    }
    bundle_len = end;
    bw_bundle_audit result = check(&by_key, arena);
    assert_int_equal(result.audit.outcome, BW_AUDIT_INCOMPLETE);
    bw_arena_free(arena);
}

/* An entry left out by who makes the bundle: the closing entry says how many there were. */
static void an_entry_that_was_left_out_is_named(void **state) {
    (void)state;
    char *at = strstr(bundle, "more of A");
    assert_non_null(at);
    char *begin = at;
    while (begin[-1] != '\n') {
        begin--;
    }
    size_t cut = strcspn(begin, "\n") + 1;
    memmove(begin, begin + cut, bundle_len - (size_t)(begin - bundle) - cut);
    bundle_len -= cut;
    char *end = strstr(bundle, "{\"end\":");
    assert_non_null(end);
    end[strlen("{\"end\":")]--; /* one line less, single digit */
    bw_arena *arena = bw_arena_new(0);
    bw_bundle_audit result = check(&by_key, arena);
    assert_int_equal(result.audit.finding_n, 1);
    assert_non_null(strstr(result.audit.finding[0].text, "4 entries of build A must stand before"));
    assert_int_equal(result.audit.outcome, BW_AUDIT_INCOMPLETE);
    bw_arena_free(arena);
}

static void what_is_no_bundle_is_refused(void **state) {
    (void)state;
    static const struct {
        const char *text, *word;
    } rows[] = {{"", "empty"},
                {"\n", "no JSON object"},
                {"[1]\n", "no JSON object"},
                {"{\"boltwright_bundle\":0}\n", "no bundle"},
                {"{\"boltwright_bundle\":2}\n", "format 2"},
                {"{\"boltwright_bundle\":1}\n", "which build"},
                {"{\"boltwright_bundle\":1,\"build\":\"A\\u001b\"}\n", "which build"},
                {"{\"boltwright_bundle\":1,\"build\":\"A\"}\n", "no checkpoint"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bw_arena *arena = bw_arena_new(0);
        bw_bundle_audit result = {0};
        bw_err err = {0};
        char text[200];
        size_t len = strlen(rows[i].text);
        (void)bw_text_copy(text, sizeof text, rows[i].text);
        FILE *in = len == 0 ? fopen("/dev/null", "r") : fmemopen(text, len, "r");
        assert_non_null(in);
        assert_int_equal(bw_bundle_check(in, &by_key, arena, &result, &err), BW_E_DATA);
        (void)fclose(in);
        if (strstr(err.text, rows[i].word) == NULL) {
            fail_msg("it said: %s", err.text);
        }
        bw_arena_free(arena);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, remove_home)
        TEST(one_build_is_proved_alone),
        TEST(a_checkpoint_from_a_sheet_is_in_its_past),
        TEST(what_the_record_does_not_hold_is_refused),
        TEST(every_byte_counts),
        TEST(every_line_counts),
        TEST(a_cut_is_incomplete),
        TEST(an_entry_that_was_left_out_is_named),
        TEST(what_is_no_bundle_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
