/* key.c - the bench's key: its file, its name, its verifier line. */
#include "record/key.h"

#include "base/text.h"
#include "record/base64.h"
#include "record/ed25519.h"
#include "record/files.h"
#include "record/hash.h"
#include "record/key_int.h"

#include <stdlib.h>
#include <string.h>

enum { FILE_MAX = 4096, ID_HEX = 9 };

bw_status bw_key_id(const char *name, size_t name_len, const uint8_t *public_key, uint8_t *id,
                    bw_err *err) {
    bw_hash hash;
    bw_hasher *hasher = bw_hasher_new();
    /* C2SP signed-note: SHA-256(name || 0A || 01 || public key), its first four bytes. */
    const bw_piece piece[] = {{name, name_len}, {"\n\x01", 2}, {public_key, BW_PUBLIC_KEY_BYTES}};
    bw_status status = hasher == NULL ? BW_E_MEM : bw_hasher_sum(hasher, piece, 3, &hash);
    bw_hasher_free(hasher);
    if (status != BW_OK) {
        return bw_fail(err, status, "cannot compute a key id: the hash failed");
    }
    memcpy(id, hash.byte, BW_KEY_ID_BYTES);
    return BW_OK;
}

/* Fills in what follows from the private key. */
static bw_status name_key(bw_key *key, bw_err *err) {
    bw_hash hash;
    bw_status status = bw_ed25519_public(key->secret, key->verifier.public_key, err);
    if (status != BW_OK) {
        return status;
    }
    status = bw_sha256(key->verifier.public_key, BW_PUBLIC_KEY_BYTES, &hash);
    if (status != BW_OK) {
        return bw_fail(err, status, "cannot name the key: the hash failed");
    }
    char hex[ID_HEX];
    bw_hex(hash.byte, BW_KEY_ID_BYTES, hex);
    bw_text bench = bw_text_on(key->bench, sizeof key->bench);
    bw_text_add(&bench, "bench-%s", hex);
    bw_text name = bw_text_on(key->verifier.name, sizeof key->verifier.name);
    bw_text_add(&name, "boltwright/%s", key->bench);
    return bw_key_id(key->verifier.name, strlen(key->verifier.name), key->verifier.public_key,
                     key->verifier.id, err);
}

bw_status bw_key_unlock(const char *path, const char *passphrase, bw_key **out, bw_err *err) {
    bw_key *key = calloc(1, sizeof *key);
    if (key == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory for a key");
    }
    char pem[FILE_MAX];
    size_t len = 0;
    bw_status status = bw_files_read_own(path, pem, sizeof pem, &len, err);
    if (status == BW_OK) {
        status = bw_ed25519_read(pem, len, passphrase, &key->secret, err);
        if (status == BW_E_DATA || status == BW_E_STATE || status == BW_E_ARG) {
            (void)bw_fail_in(err, status, path);
        }
    }
    bw_wipe(pem, sizeof pem);
    if (status == BW_OK) {
        status = name_key(key, err);
    }
    if (status != BW_OK) {
        bw_key_free(key);
        return status;
    }
    *out = key;
    return BW_OK;
}

bw_status bw_key_read(const char *path, bw_key **out, bw_err *err) {
    return bw_key_unlock(path, NULL, out, err);
}

static bw_status make_folder_of(const char *path, bw_err *err) {
    char folder[BW_PATH_MAX];
    if (!bw_text_copy(folder, sizeof folder, path)) {
        return bw_fail(err, BW_E_ARG, "the name of the key file is too long");
    }
    char *slash = strrchr(folder, '/');
    if (slash == NULL || slash == folder) {
        return BW_OK;
    }
    *slash = '\0';
    return bw_files_make_folder(folder, err);
}

bw_status bw_key_make(const char *path, const char *passphrase, bw_err *err) {
    bw_ed25519 *fresh = NULL;
    bw_status status = make_folder_of(path, err);
    if (status == BW_OK) {
        status = bw_ed25519_new(&fresh, err);
    }
    if (status != BW_OK) {
        return status;
    }
    char pem[BW_KEY_PEM_MAX];
    size_t len = 0;
    status = bw_ed25519_pem(fresh, passphrase, pem, &len, err);
    if (status == BW_OK) {
        status = bw_files_write_new(path, pem, len, err);
    }
    bw_wipe(pem, sizeof pem);
    bw_ed25519_free(fresh);
    return status;
}

bw_status bw_key_open(const char *path, bw_key **out, bw_err *err) {
    bw_status status = bw_key_read(path, out, err);
    if (status != BW_E_ABSENT) {
        return status;
    }
    status = bw_key_make(path, NULL, err);
    if (status != BW_OK && status != BW_E_STATE) {
        return status;
    }
    /* STATE: another process was first; its key is the key. */
    return bw_key_read(path, out, err);
}

void bw_key_free(bw_key *key) {
    if (key != NULL) {
        bw_ed25519_free(key->secret);
        free(key);
    }
}

const char *bw_key_bench(const bw_key *key) {
    return key->bench;
}

bw_status bw_key_verifier(const bw_key *key, char *out, bw_err *err) {
    return bw_verifier_line(&key->verifier, out, err);
}

bw_status bw_verifier_line(const bw_verifier *verifier, char *out, bw_err *err) {
    if (verifier->name[0] == '\0') {
        return bw_fail(err, BW_E_ARG, "a verifier key needs a name");
    }
    uint8_t typed[1 + BW_PUBLIC_KEY_BYTES] = {BW_KEY_TYPE_ED25519};
    memcpy(typed + 1, verifier->public_key, BW_PUBLIC_KEY_BYTES);
    char base64[BW_BASE64_SIZE(sizeof typed)];
    bw_base64(typed, sizeof typed, base64);
    char hex[ID_HEX];
    bw_hex(verifier->id, BW_KEY_ID_BYTES, hex);
    bw_text text = bw_text_on(out, BW_VERIFIER_MAX);
    bw_text_add(&text, "%s+%s+%s", verifier->name, hex, base64);
    return text.cut ? bw_fail(err, BW_E_BUG, "the verifier key does not fit") : BW_OK;
}

/* The three parts of name+hexid+base64.  The base64 may hold a '+' of its own. */
static bw_status parse_line(const char *line, size_t len, bw_verifier *out, bw_err *err) {
    const char *plus = memchr(line, '+', len);
    size_t name_len = plus == NULL ? len : (size_t)(plus - line);
    if (plus == NULL || !bw_key_name_valid(line, name_len) || name_len >= sizeof out->name) {
        return BW_E_DATA;
    }
    const char *hex = plus + 1;
    size_t rest = len - name_len - 1;
    uint8_t typed[1 + BW_PUBLIC_KEY_BYTES];
    size_t n = 0;
    if (rest < ID_HEX || hex[ID_HEX - 1] != '+' ||
        !bw_unbase64(hex + ID_HEX, rest - ID_HEX, typed, sizeof typed, &n) || n != sizeof typed ||
        typed[0] != BW_KEY_TYPE_ED25519) {
        return BW_E_DATA;
    }
    memcpy(out->name, line, name_len);
    memcpy(out->public_key, typed + 1, BW_PUBLIC_KEY_BYTES);
    bw_status status = bw_key_id(line, name_len, out->public_key, out->id, err);
    char expected[ID_HEX];
    bw_hex(out->id, BW_KEY_ID_BYTES, expected);
    return status == BW_OK && memcmp(expected, hex, ID_HEX - 1) != 0 ? BW_E_DATA : status;
}

bw_status bw_verifier_parse(const char *text, bw_verifier *out, bw_err *err) {
    bw_verifier parsed = {0};
    size_t len = strlen(text);
    bw_status status = BW_OK;
    if (strncmp(text, "-----BEGIN ", 11) == 0) {
        status = bw_ed25519_read_public(text, len, parsed.public_key, err);
    } else {
        len -= len > 0 && text[len - 1] == '\n' ? 1 : 0;
        status = parse_line(text, len, &parsed, err);
        if (status == BW_E_DATA) {
            (void)bw_fail(err, status,
                          "a verifier key is needed: name+hexid+base64 on one line, with the id "
                          "that its name and key give, or a public key in PEM");
        }
    }
    if (status == BW_OK) {
        *out = parsed;
    }
    return status;
}

bw_status bw_verifier_pem(const bw_verifier *verifier, char *out, bw_err *err) {
    return bw_ed25519_public_pem(verifier->public_key, out, err);
}
