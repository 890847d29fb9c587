/* test_note.c - signed notes and checkpoints, against the published example and bent ones. */
#include "cmocka_all.h"
#include "record_help.h"

#include "base/text.h"
#include "record/base64.h"
#include "record/key_int.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static char folder[4096];
static bw_key *key;

static int set_up(void **state) {
    (void)state;
    make_folder(folder);
    key = open_key(folder);
    return 0;
}

static int tear_down(void **state) {
    (void)state;
    bw_key_free(key);
    remove_folder(folder);
    return 0;
}

#define DASH "\xE2\x80\x94 "

/* The worked example of C2SP signed-note.md (github.com/C2SP/C2SP, as quoted in its edition of
 * commit d4c16da5e7687a016619074e78dad84b2c7238cc). */
static const char example_key[] =
    "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k";
#define EXAMPLE_LINE                                                                               \
    DASH "example.com/foo "                                                                        \
         "Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONncAlTgK7Ztg1ERYNZXsYjOBH3mFXmRKuwHjG1Yu72Ine" \
         "yaQM=\n"
static const char example_note[] = "This is an example message.\n\n" EXAMPLE_LINE;

static bw_verifier example_verifier(void) {
    bw_verifier verifier;
    assert_int_equal(bw_verifier_parse(example_key, &verifier, NULL), BW_OK);
    return verifier;
}

/* What verifying gives: -1 where it is not a note. */
static int weigh(const char *note, size_t len, const bw_verifier *verifier) {
    bw_signature signature = BW_SIGNATURE_NONE;
    bw_err err = {0};
    bw_status status = bw_note_verify(note, len, verifier, &signature, &err);
    assert_true(status == BW_OK || status == BW_E_DATA);
    if (status == BW_E_DATA) {
        assert_non_null(strstr(err.text, "not a signed note"));
    }
    return status == BW_OK ? (int)signature : -1;
}

static void the_published_example_verifies(void **state) {
    (void)state;
    bw_verifier verifier = example_verifier();
    assert_int_equal(weigh(example_note, strlen(example_note), &verifier), BW_SIGNATURE_GOOD);
    assert_int_equal(weigh(example_note, strlen(example_note), NULL), BW_SIGNATURE_NONE);
}

static void a_changed_bit_never_verifies(void **state) {
    (void)state;
    bw_verifier verifier = example_verifier();
    char note[sizeof example_note];
    size_t len = strlen(example_note);
    for (size_t bit = 0; bit < len * 8; bit++) {
        memcpy(note, example_note, sizeof note);
        note[bit / 8] = (char)((unsigned char)note[bit / 8] ^ 1u << bit % 8);
        assert_int_not_equal(weigh(note, len, &verifier), BW_SIGNATURE_GOOD);
    }
}

/* The rules of C2SP signed-note, one by one. */
static void a_note_is_read_strictly(void **state) {
    (void)state;
    enum { NOT_A_NOTE = -1 };
#define TEXT "This is an example message.\n"
#define SIGNED                                                                                     \
    "Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONncAlTgK7Ztg1ERYNZXsYjOBH3mFXmRKuwHjG1Yu72IneyaQM="
#define OTHER DASH "other.example/key AAAAAAA=\n"
    static const struct {
        const char *note;
        int expected;
    } rows[] = {
        {"", NOT_A_NOTE},
        {"\n", NOT_A_NOTE},
        {TEXT, NOT_A_NOTE},
        {TEXT "\n", NOT_A_NOTE},
        {TEXT EXAMPLE_LINE, NOT_A_NOTE},
        {"\n" EXAMPLE_LINE, NOT_A_NOTE},
        {TEXT "\n" DASH "example.com/foo " SIGNED, NOT_A_NOTE},            /* no newline */
        {"This is an example message.\r\n\r\n" EXAMPLE_LINE, NOT_A_NOTE},  /* CRLF */
        {"This is\tan example message.\n\n" EXAMPLE_LINE, NOT_A_NOTE},     /* tab */
        {"This is \xFF an example message.\n\n" EXAMPLE_LINE, NOT_A_NOTE}, /* not UTF-8 */
        {TEXT "\n- example.com/foo " SIGNED "\n", NOT_A_NOTE},             /* a hyphen */
        {TEXT "\n\xE2\x80\x94"
              "example.com/foo " SIGNED "\n",
         NOT_A_NOTE},                                                 /* no space */
        {TEXT "\n" DASH "example.com/foo  " SIGNED "\n", NOT_A_NOTE}, /* two spaces */
        {TEXT "\n" DASH " " SIGNED "\n", NOT_A_NOTE},                 /* no name */
        {TEXT "\n" DASH "example.com/foo " SIGNED " \n", NOT_A_NOTE}, /* space behind */
        {TEXT "\n" DASH "example.com+foo " SIGNED "\n", NOT_A_NOTE},  /* plus in the name */
        {TEXT "\n" DASH "example\xC2\xA0"
              "foo " SIGNED "\n",
         NOT_A_NOTE},                                              /* a wide space */
        {TEXT "\n" DASH "example.com/foo AAAAAA==\n", NOT_A_NOTE}, /* only an id */
        {TEXT "\n" DASH "example.com/foo Uw2QOg\n", NOT_A_NOTE},   /* no padding */
        {TEXT "\n" EXAMPLE_LINE "x\n", NOT_A_NOTE},
        {TEXT "\n" EXAMPLE_LINE "\n", NOT_A_NOTE},
        {TEXT "\n\n" EXAMPLE_LINE, BW_SIGNATURE_BAD}, /* the empty line belongs to the text */
        {"x\n\n" TEXT "\n" EXAMPLE_LINE, BW_SIGNATURE_BAD},
        {TEXT "\n" OTHER, BW_SIGNATURE_NONE},
        {TEXT "\n" OTHER EXAMPLE_LINE, BW_SIGNATURE_GOOD},
        {TEXT "\n" EXAMPLE_LINE OTHER, BW_SIGNATURE_GOOD},
        {TEXT "\n" EXAMPLE_LINE EXAMPLE_LINE, BW_SIGNATURE_GOOD},
        /* of this name, but another id: an unknown key */
        {TEXT "\n" DASH "example.com/foo Vw2QOkn8srV1yJGh\n", BW_SIGNATURE_NONE},
        /* known, but too short to be a signature; beside a good one too */
        {TEXT "\n" DASH "example.com/foo Uw2QOkn8srV1yJGh\n", BW_SIGNATURE_BAD},
        {TEXT "\n" EXAMPLE_LINE DASH "example.com/foo Uw2QOkn8srV1yJGh\n", BW_SIGNATURE_BAD},
        {TEXT "\n" DASH "example.com/foo Uw2QOkn8srV1yJGh\n" EXAMPLE_LINE, BW_SIGNATURE_BAD},
    };
    bw_verifier verifier = example_verifier();
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int got = weigh(rows[i].note, strlen(rows[i].note), &verifier);
        if (got != rows[i].expected) {
            fail_msg("row %zu: %d, expected %d", i, got, rows[i].expected);
        }
    }
    assert_int_equal(
        weigh(TEXT "\0\n" EXAMPLE_LINE, sizeof(TEXT "\0\n" EXAMPLE_LINE) - 1, &verifier),
        NOT_A_NOTE);
}

/* At least 16 must be taken; no end of them must not. */
static void many_signatures_are_taken_but_not_any_number(void **state) {
    (void)state;
    static const struct {
        size_t others;
        int expected;
    } rows[] = {{15, BW_SIGNATURE_GOOD}, {40, BW_SIGNATURE_GOOD}, {200, -1}};
    bw_verifier verifier = example_verifier();
    for (size_t i = 0; i < 3; i++) {
        static char room[64 * 1024];
        bw_text note = bw_text_on(room, sizeof room);
        bw_text_add(&note, TEXT "\n");
        for (size_t n = 0; n < rows[i].others; n++) {
            bw_text_add(&note, "%s", OTHER);
        }
        bw_text_add(&note, "%s", EXAMPLE_LINE);
        assert_false(note.cut);
        assert_int_equal(weigh(room, note.len, &verifier), rows[i].expected);
    }
}

static bw_hash sample_root(void) {
    bw_hash root;
    assert_int_equal(bw_sha256("root", 4, &root), BW_OK);
    return root;
}

static void a_checkpoint_comes_back(void **state) {
    (void)state;
    bw_hash root = sample_root();
    char note[BW_NOTE_MAX];
    bw_err err = {0};
    assert_int_equal(bw_checkpoint_sign(key, 20852163, &root, note, &err), BW_OK);

    char expected[200];
    char base64[BW_BASE64_SIZE(BW_HASH_BYTES)];
    bw_base64(root.byte, BW_HASH_BYTES, base64);
    (void)snprintf(expected, sizeof expected,
                   "boltwright/%s\n20852163\n%s\n\n" DASH "boltwright/%s ", bw_key_bench(key),
                   base64, bw_key_bench(key));
    assert_memory_equal(note, expected, strlen(expected));

    uint64_t size = 0;
    bw_hash read_root = {{0}};
    bw_signature signature = BW_SIGNATURE_NONE;
    assert_int_equal(
        bw_checkpoint_read(note, strlen(note), &key->verifier, &size, &read_root, &signature, &err),
        BW_OK);
    assert_int_equal(size, 20852163);
    assert_memory_equal(&read_root, &root, sizeof root);
    assert_int_equal(signature, BW_SIGNATURE_GOOD);
    assert_int_equal(
        bw_checkpoint_read(note, strlen(note), NULL, &size, &read_root, &signature, &err), BW_OK);
    assert_int_equal(signature, BW_SIGNATURE_NONE);
}

static void another_key_has_not_signed_it(void **state) {
    (void)state;
    bw_hash root = sample_root();
    char note[BW_NOTE_MAX];
    char path[4096];
    bw_key *other = NULL;
    uint64_t size = 0;
    bw_signature signature = BW_SIGNATURE_GOOD;
    assert_int_equal(bw_key_open(join(folder, "other", path), &other, NULL), BW_OK);
    assert_int_equal(bw_checkpoint_sign(key, 3, &root, note, NULL), BW_OK);
    assert_int_equal(
        bw_checkpoint_read(note, strlen(note), &other->verifier, &size, &root, &signature, NULL),
        BW_OK);
    assert_int_equal(signature, BW_SIGNATURE_NONE);
    bw_key_free(other);
}

/* A public key out of a PEM file has no name: it goes with any. */
static void a_public_key_in_pem_verifies_too(void **state) {
    (void)state;
    uint8_t der[44]; /* RFC 8410 section 4: 12 fixed bytes, then the key */
    char base64[BW_BASE64_SIZE(sizeof der)];
    char pem[200];
    char note[BW_NOTE_MAX];
    bw_verifier verifier;
    bw_hash root = sample_root();
    uint64_t size = 0;
    bw_signature signature = BW_SIGNATURE_NONE;
    assert_true(bw_unhex("302a300506032b6570032100", der, 12));
    memcpy(der + 12, key->verifier.public_key, BW_PUBLIC_KEY_BYTES);
    bw_base64(der, sizeof der, base64);
    (void)snprintf(pem, sizeof pem, "-----BEGIN PUBLIC KEY-----\n%s\n-----END PUBLIC KEY-----\n",
                   base64);
    assert_int_equal(bw_verifier_parse(pem, &verifier, NULL), BW_OK);
    assert_string_equal(verifier.name, "");
    assert_int_equal(bw_checkpoint_sign(key, 3, &root, note, NULL), BW_OK);
    assert_int_equal(
        bw_checkpoint_read(note, strlen(note), &verifier, &size, &root, &signature, NULL), BW_OK);
    assert_int_equal(signature, BW_SIGNATURE_GOOD);
    note[0] = 'B';
    assert_int_equal(
        bw_checkpoint_read(note, strlen(note), &verifier, &size, &root, &signature, NULL), BW_OK);
    assert_int_equal(signature, BW_SIGNATURE_BAD);
}

/* Signs any text as a note, by the key and under its name. */
static void sign_note(const char *text, char *note) {
    uint8_t bytes[BW_KEY_ID_BYTES + BW_SIGNATURE_BYTES];
    char base64[BW_BASE64_SIZE(sizeof bytes)];
    memcpy(bytes, key->verifier.id, BW_KEY_ID_BYTES);
    assert_int_equal(
        bw_ed25519_sign(key->secret, text, strlen(text), bytes + BW_KEY_ID_BYTES, NULL), BW_OK);
    bw_base64(bytes, sizeof bytes, base64);
    bw_text out = bw_text_on(note, BW_NOTE_MAX);
    bw_text_add(&out, "%s\n" DASH "%s %s\n", text, key->verifier.name, base64);
    assert_false(out.cut);
}

/* The rules of C2SP tlog-checkpoint.  ORIGIN stands for the key's name. */
static void a_checkpoint_is_read_strictly(void **state) {
    (void)state;
#define ROOT "CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I="
    static const struct {
        const char *behind_origin;
        int expected; /* -1: BW_E_DATA */
        uint64_t size;
    } rows[] = {
        {"\n0\n" ROOT "\n", BW_SIGNATURE_GOOD, 0},
        {"\n7\n" ROOT "\n", BW_SIGNATURE_GOOD, 7},
        {"\n9223372036854775808\n" ROOT "\n", BW_SIGNATURE_GOOD, UINT64_C(9223372036854775808)},
        {"\n18446744073709551615\n" ROOT "\n", BW_SIGNATURE_GOOD, UINT64_MAX},
        {"\n7\n" ROOT "\nan extension\nand one more\n", BW_SIGNATURE_GOOD, 7},
        {"/another\n7\n" ROOT "\n", BW_SIGNATURE_NONE, 7},
        {"\n18446744073709551616\n" ROOT "\n", -1, 0},
        {"\n99999999999999999999\n" ROOT "\n", -1, 0},
        {"\n07\n" ROOT "\n", -1, 0},
        {"\n00\n" ROOT "\n", -1, 0},
        {"\n+7\n" ROOT "\n", -1, 0},
        {"\n-7\n" ROOT "\n", -1, 0},
        {"\n7 \n" ROOT "\n", -1, 0},
        {"\n\n" ROOT "\n", -1, 0},
        {"\n7\n\n", -1, 0},
        {"\n7\n", -1, 0},
        {"\n", -1, 0},
        {"\n7\n" ROOT "\n\nbehind an empty line\n", -1, 0},
        {"\n7\n" ROOT "\n\n", -1, 0},
        {"\n7\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I\n", -1, 0},
        {"\n7\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2J=\n", -1, 0},
        {"\n7\nCsUYapGGPo4dkMgIAUqom_Xajj7h2fB2MPA3j2jxq2I=\n", -1, 0},
        {"\n7\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxqw==\n", -1, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[400];
        char note[BW_NOTE_MAX];
        uint64_t size = 99;
        bw_hash root;
        bw_signature signature = BW_SIGNATURE_NONE;
        bw_err err = {0};
        (void)snprintf(text, sizeof text, "%s%s", key->verifier.name, rows[i].behind_origin);
        sign_note(text, note);
        bw_status status = bw_checkpoint_read(note, strlen(note), &key->verifier, &size, &root,
                                              &signature, &err);
        int got = status == BW_OK ? (int)signature : -1;
        if (got != rows[i].expected || (got != -1 && size != rows[i].size) ||
            (got == -1 && (status != BW_E_DATA || err.text[0] == '\0' || size != 99))) {
            fail_msg("row %zu: %d, size %" PRIu64 ", %s", i, got, size, err.text);
        }
    }
}

static void an_origin_must_not_be_empty(void **state) {
    (void)state;
    char note[BW_NOTE_MAX];
    uint64_t size = 0;
    bw_hash root;
    bw_signature signature = BW_SIGNATURE_NONE;
    sign_note("\n7\n" ROOT "\n", note);
    assert_int_equal(bw_checkpoint_read(note, strlen(note), NULL, &size, &root, &signature, NULL),
                     BW_E_DATA);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_published_example_verifies),
        cmocka_unit_test(a_changed_bit_never_verifies),
        cmocka_unit_test(a_note_is_read_strictly),
        cmocka_unit_test(many_signatures_are_taken_but_not_any_number),
        cmocka_unit_test(a_checkpoint_comes_back),
        cmocka_unit_test(another_key_has_not_signed_it),
        cmocka_unit_test(a_public_key_in_pem_verifies_too),
        cmocka_unit_test(a_checkpoint_is_read_strictly),
        cmocka_unit_test(an_origin_must_not_be_empty),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
