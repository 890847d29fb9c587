/* note.c - C2SP signed notes, and the checkpoints that are written as such. */
#include "record/key.h"

#include "base/text.h"
#include "record/base64.h"
#include "record/key_int.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

/* The specification asks for at least 16 signatures, of which other kinds may take 5 kB each. */
enum { READ_MAX = 256 * 1024, LINES_MAX = 64, SIGNATURE_MAX = 8192 };

static const char dash[] = "\xE2\x80\x94 "; /* em dash, space */
enum { DASH_LEN = sizeof dash - 1 };

typedef struct note {
    const char *text; /* with its last newline */
    size_t text_len;
    const char *lines; /* the signature lines */
    size_t lines_len;
} note;

typedef struct signature_line {
    const char *name;
    size_t name_len;
    uint8_t bytes[SIGNATURE_MAX]; /* key id, then the signature */
    size_t len;
} signature_line;

bool bw_key_name_valid(const char *name, size_t len) {
    /* Unicode White_Space beyond ASCII, in UTF-8. */
    static const char *const spaces[] = {" ",
                                         "\xC2\x85",
                                         "\xC2\xA0",
                                         "\xE1\x9A\x80",
                                         "\xE2\x80\x80",
                                         "\xE2\x80\x81",
                                         "\xE2\x80\x82",
                                         "\xE2\x80\x83",
                                         "\xE2\x80\x84",
                                         "\xE2\x80\x85",
                                         "\xE2\x80\x86",
                                         "\xE2\x80\x87",
                                         "\xE2\x80\x88",
                                         "\xE2\x80\x89",
                                         "\xE2\x80\x8A",
                                         "\xE2\x80\xA8",
                                         "\xE2\x80\xA9",
                                         "\xE2\x80\xAF",
                                         "\xE2\x81\x9F",
                                         "\xE3\x80\x80"};
    if (len == 0 || !bw_utf8_valid(name, len)) {
        return false;
    }
    for (size_t i = 0; i < len; i++) {
        if ((unsigned char)name[i] <= ' ' || name[i] == '+') {
            return false;
        }
    }
    for (size_t s = 0; s < sizeof spaces / sizeof spaces[0]; s++) {
        size_t n = strlen(spaces[s]);
        for (size_t i = 0; i + n <= len; i++) {
            if (memcmp(name + i, spaces[s], n) == 0) {
                return false;
            }
        }
    }
    return true;
}

static bw_status not_a_note(bw_err *err, const char *why) {
    return bw_fail(err, BW_E_DATA, "not a signed note: %s", why);
}

static bw_status check_bytes(const char *text, size_t len, bw_err *err) {
    if (len > READ_MAX) {
        return not_a_note(err, "it is too long");
    }
    if (len == 0 || text[len - 1] != '\n') {
        return not_a_note(err, "it must end with a newline");
    }
    if (!bw_utf8_valid(text, len)) {
        return not_a_note(err, "it is not UTF-8");
    }
    for (size_t i = 0; i < len; i++) {
        if ((unsigned char)text[i] < 0x20 && text[i] != '\n') {
            return not_a_note(err, "it holds a control character");
        }
    }
    return BW_OK;
}

/* The last empty line parts text and signatures. */
static bw_status split(const char *text, size_t len, note *out, bw_err *err) {
    bw_status status = check_bytes(text, len, err);
    if (status != BW_OK) {
        return status;
    }
    for (size_t i = len - 1; i > 0; i--) {
        if (text[i] == '\n' && text[i - 1] == '\n') {
            *out = (note){text, i, text + i + 1, len - i - 1};
            return out->lines_len > 0 ? BW_OK : not_a_note(err, "it has no signature line");
        }
    }
    return not_a_note(err, "an empty line must part its text from its signatures");
}

/* Takes the next line off note->lines. */
static bw_status next_line(note *from, signature_line *out, bw_err *err) {
    const char *line = from->lines;
    const char *end = memchr(line, '\n', from->lines_len);
    size_t len = (size_t)(end - line); /* check_bytes saw that the last byte is a newline */
    const char *space = NULL;
    if (len > DASH_LEN && memcmp(line, dash, DASH_LEN) == 0) {
        out->name = line + DASH_LEN;
        space = memchr(out->name, ' ', len - DASH_LEN);
    }
    if (space == NULL) {
        return not_a_note(err, "a signature line is: em dash, space, name, space, base64");
    }
    out->name_len = (size_t)(space - out->name);
    if (!bw_key_name_valid(out->name, out->name_len)) {
        return not_a_note(err, "a signer's name must not be empty, nor hold a space or a plus");
    }
    if (!bw_unbase64(space + 1, (size_t)(end - space - 1), out->bytes, sizeof out->bytes,
                     &out->len) ||
        out->len <= BW_KEY_ID_BYTES) {
        return not_a_note(err, "a signature must be base64 of a key id and more");
    }
    from->lines = end + 1;
    from->lines_len -= len + 1;
    return BW_OK;
}

/* By name and id; a verifier without a name (out of a PEM file) takes any name, and the id that
 * this name gives. */
static bw_status made_by(const signature_line *line, const bw_verifier *verifier, bool *known,
                         bw_err *err) {
    uint8_t id[BW_KEY_ID_BYTES];
    memcpy(id, verifier->id, sizeof id);
    *known = false;
    if (verifier->name[0] == '\0') {
        bw_status status = bw_key_id(line->name, line->name_len, verifier->public_key, id, err);
        if (status != BW_OK) {
            return status;
        }
    } else if (strlen(verifier->name) != line->name_len ||
               memcmp(verifier->name, line->name, line->name_len) != 0) {
        return BW_OK;
    }
    *known = memcmp(line->bytes, id, sizeof id) == 0;
    return BW_OK;
}

/* One bad signature by the known key condemns the note, whatever stands beside it. */
static bw_status weigh(const note *whole, const signature_line *line, const bw_verifier *verifier,
                       bw_signature *signature, bw_err *err) {
    bool known = false;
    bw_status status = made_by(line, verifier, &known, err);
    if (status != BW_OK || !known) {
        return status;
    }
    bool good = false;
    if (line->len == BW_KEY_ID_BYTES + BW_SIGNATURE_BYTES) {
        status = bw_ed25519_verify(verifier->public_key, whole->text, whole->text_len,
                                   line->bytes + BW_KEY_ID_BYTES, &good, err);
    }
    if (!good) {
        *signature = BW_SIGNATURE_BAD;
    } else if (*signature == BW_SIGNATURE_NONE) {
        *signature = BW_SIGNATURE_GOOD;
    }
    return status;
}

static bw_status verify(const note *whole, const bw_verifier *verifier, bw_signature *signature,
                        bw_err *err) {
    note rest = *whole;
    bw_signature found = BW_SIGNATURE_NONE;
    signature_line line;
    for (size_t n = 0; rest.lines_len > 0; n++) {
        bw_status status = n < LINES_MAX ? next_line(&rest, &line, err)
                                         : not_a_note(err, "too many signatures");
        if (status == BW_OK && verifier != NULL) {
            status = weigh(whole, &line, verifier, &found, err);
        }
        if (status != BW_OK) {
            return status;
        }
    }
    *signature = found;
    return BW_OK;
}

bw_status bw_note_verify(const char *text, size_t len, const bw_verifier *verifier,
                         bw_signature *signature, bw_err *err) {
    note whole = {0};
    bw_status status = split(text, len, &whole, err);
    return status == BW_OK ? verify(&whole, verifier, signature, err) : status;
}

/* Takes the next line of a text that ends with a newline; false at its end or where it is empty. */
static bool take_line(const char **at, const char *end, const char **line, size_t *len) {
    const char *newline = *at < end ? memchr(*at, '\n', (size_t)(end - *at)) : NULL;
    if (newline == NULL || newline == *at) {
        return false;
    }
    *line = *at;
    *len = (size_t)(newline - *at);
    *at = newline + 1;
    return true;
}

/* Decimal, no sign, no leading zero, below 2^64. */
static bool read_size(const char *digits, size_t len, uint64_t *size) {
    uint64_t value = 0;
    for (size_t i = 0; i < len; i++) {
        if (digits[i] < '0' || digits[i] > '9') {
            return false;
        }
        uint64_t digit = (uint64_t)(digits[i] - '0');
        if (value > (UINT64_MAX - digit) / 10) {
            return false;
        }
        value = value * 10 + digit;
    }
    *size = value;
    return len == 1 || digits[0] != '0';
}

typedef struct checkpoint {
    const char *origin;
    size_t origin_len;
    uint64_t size;
    bw_hash root;
} checkpoint;

static bw_status read_body(const note *whole, checkpoint *out, bw_err *err) {
    const char *at = whole->text;
    const char *end = whole->text + whole->text_len;
    const char *line = NULL;
    size_t len = 0;
    if (!take_line(&at, end, &out->origin, &out->origin_len)) {
        return bw_fail(err, BW_E_DATA, "a checkpoint's first line must name its origin");
    }
    if (!take_line(&at, end, &line, &len) || !read_size(line, len, &out->size)) {
        return bw_fail(err, BW_E_DATA,
                       "a checkpoint's second line must be the size, in digits without leading "
                       "zeros");
    }
    size_t n = 0;
    if (!take_line(&at, end, &line, &len) ||
        !bw_unbase64(line, len, out->root.byte, BW_HASH_BYTES, &n) || n != BW_HASH_BYTES) {
        return bw_fail(err, BW_E_DATA,
                       "a checkpoint's third line must be the root, 32 bytes in base64");
    }
    while (at < end) {
        if (!take_line(&at, end, &line, &len)) {
            return bw_fail(err, BW_E_DATA, "a checkpoint's text must not have empty lines");
        }
    }
    return BW_OK;
}

/* A key may sign for other logs too: only a note with this signer's name as origin speaks about
 * its record. */
static bool speaks_for(const checkpoint *body, const bw_verifier *verifier) {
    size_t len = strlen(verifier->name);
    return len == 0 || (len == body->origin_len && memcmp(body->origin, verifier->name, len) == 0);
}

bw_status bw_checkpoint_read(const char *text, size_t len, const bw_verifier *verifier,
                             uint64_t *size, bw_hash *root, bw_signature *signature, bw_err *err) {
    note whole = {0};
    checkpoint body = {0};
    bw_signature found = BW_SIGNATURE_NONE;
    bw_status status = split(text, len, &whole, err);
    if (status == BW_OK) {
        status = read_body(&whole, &body, err);
    }
    if (status == BW_OK) {
        bool ours = verifier != NULL && speaks_for(&body, verifier);
        status = verify(&whole, ours ? verifier : NULL, &found, err);
    }
    if (status == BW_OK) {
        *size = body.size;
        *root = body.root;
        *signature = found;
    }
    return status;
}

bw_status bw_checkpoint_sign(const bw_key *key, uint64_t size, const bw_hash *root, char *out,
                             bw_err *err) {
    char base64[BW_BASE64_SIZE(BW_KEY_ID_BYTES + BW_SIGNATURE_BYTES)];
    bw_base64(root->byte, BW_HASH_BYTES, base64);
    bw_text text = bw_text_on(out, BW_NOTE_MAX);
    bw_text_add(&text, "%s\n%" PRIu64 "\n%s\n", key->verifier.name, size, base64);

    uint8_t signature[BW_KEY_ID_BYTES + BW_SIGNATURE_BYTES];
    memcpy(signature, key->verifier.id, BW_KEY_ID_BYTES);
    bw_status status = bw_ed25519_sign(key->secret, out, text.len, signature + BW_KEY_ID_BYTES,
                                       err);
    if (status != BW_OK) {
        return status;
    }
    bw_base64(signature, sizeof signature, base64);
    bw_text_add(&text, "\n%s%s %s\n", dash, key->verifier.name, base64);
    return text.cut ? bw_fail(err, BW_E_BUG, "the checkpoint does not fit") : BW_OK;
}
