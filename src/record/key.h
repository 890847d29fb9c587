/* key.h - the bench's signing key (Ed25519) and what it signs: checkpoints as C2SP signed notes.
 *
 * Room: record; OpenSSL's libcrypto is used in ed25519.c, hash.c and certificate.c only.
 * Sources: RFC 8032 (Ed25519), C2SP signed-note and tlog-checkpoint, PKCS#8 PEM for the file. */
#ifndef BW_RECORD_KEY_H
#define BW_RECORD_KEY_H

#include "base/status.h"
#include "record/tree.h"

#include <stddef.h>
#include <stdint.h>

enum { BW_PUBLIC_KEY_BYTES = 32, BW_BENCH_MAX = 64, BW_NOTE_MAX = 4096, BW_VERIFIER_MAX = 160 };

typedef struct bw_key bw_key;

/* The key in PATH; made there (mode 0600, written whole or not at all) where none is, with the
 * folders above it (0700).
 * BW_E_IO not readable or writable; BW_E_DATA not an Ed25519 key in PKCS#8 PEM, or a file that is
 * open to others. */
BW_MUST_USE bw_status bw_key_open(const char *path, bw_key **out, bw_err *err);
/* As above but never makes one: BW_E_ABSENT. */
BW_MUST_USE bw_status bw_key_read(const char *path, bw_key **out, bw_err *err);

/* As bw_key_read, for one that may be locked by a passphrase.
 * BW_E_STATE it is locked and passphrase is NULL; BW_E_ARG the passphrase is not the right one. */
BW_MUST_USE bw_status bw_key_unlock(const char *path, const char *passphrase, bw_key **out,
                                    bw_err *err);

/* Makes a new key in path, locked by the passphrase where it is not NULL.
 * BW_E_STATE where a file is there already. */
BW_MUST_USE bw_status bw_key_make(const char *path, const char *passphrase, bw_err *err);
void bw_key_free(bw_key *key);

/* The bench's name: "bench-" and the first 8 hex digits of the public key's SHA-256.  It stands in
 * every entry; "boltwright/" and it name the signer of checkpoints, which is also their origin, as
 * C2SP tlog-checkpoint asks for. */
const char *bw_key_bench(const bw_key *key);

/* The C2SP verifier key: name+hexid+base64(01 || public key).  out has BW_VERIFIER_MAX bytes. */
BW_MUST_USE bw_status bw_key_verifier(const bw_key *key, char *out, bw_err *err);

typedef struct bw_verifier {
    char name[BW_BENCH_MAX];
    uint8_t id[4];
    uint8_t public_key[BW_PUBLIC_KEY_BYTES];
} bw_verifier;

/* Reads a verifier key line, or an Ed25519 public key in PEM (then name is empty and matches any
 * signer's name).  BW_E_DATA otherwise. */
BW_MUST_USE bw_status bw_verifier_parse(const char *text, bw_verifier *out, bw_err *err);

/* The verifier key line of one; out as above.  BW_E_ARG where it has no name. */
BW_MUST_USE bw_status bw_verifier_line(const bw_verifier *verifier, char *out, bw_err *err);

/* The public key as PEM ("BEGIN PUBLIC KEY").  out has BW_VERIFIER_MAX bytes. */
BW_MUST_USE bw_status bw_verifier_pem(const bw_verifier *verifier, char *out, bw_err *err);

/* Writes the signed checkpoint over size and root.  note has BW_NOTE_MAX bytes. */
BW_MUST_USE bw_status bw_checkpoint_sign(const bw_key *key, uint64_t size, const bw_hash *root,
                                         char *note, bw_err *err);

typedef enum bw_signature {
    BW_SIGNATURE_NONE =
        0, /* no line by this key, or a checkpoint of another origin than its name */
    BW_SIGNATURE_GOOD,
    BW_SIGNATURE_BAD
} bw_signature;

/* Takes a signed checkpoint apart, strictly, and tries its signature.
 * verifier may be NULL: then *signature is BW_SIGNATURE_NONE.
 * BW_E_DATA where the note is not well formed. */
BW_MUST_USE bw_status bw_checkpoint_read(const char *note, size_t len, const bw_verifier *verifier,
                                         uint64_t *size, bw_hash *root, bw_signature *signature,
                                         bw_err *err);

/* Any C2SP signed note: GOOD where a line by the verifier is there and right, BAD where any line
 * by it is wrong.  BW_E_DATA where it is not a note. */
BW_MUST_USE bw_status bw_note_verify(const char *note, size_t len, const bw_verifier *verifier,
                                     bw_signature *signature, bw_err *err);

#endif
