/* ed25519.h - signatures of RFC 8032 (Ed25519) and their keys in PEM.
 *
 * Room-private.  A signature counts where the library's check of RFC 8032 section 5.1.7 holds;
 * S must be below the group order L, so that nobody can make a second signature from a first. */
#ifndef BW_RECORD_ED25519_H
#define BW_RECORD_ED25519_H

#include "base/status.h"
#include "record/key.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { BW_SIGNATURE_BYTES = 64, BW_KEY_PEM_MAX = 640, BW_PUBLIC_PEM_MAX = 160 };

typedef struct bw_ed25519 bw_ed25519; /* a private key */

/* Freed by bw_ed25519_free (NULL: no-op). */
BW_MUST_USE bw_status bw_ed25519_new(bw_ed25519 **out, bw_err *err);

/* Reads PKCS#8 PEM.  passphrase: for one that is locked by it; NULL: none.
 * BW_E_STATE it is locked and there is none; BW_E_ARG the passphrase is not the right one;
 * BW_E_DATA for anything else. */
BW_MUST_USE bw_status bw_ed25519_read(const char *pem, size_t len, const char *passphrase,
                                      bw_ed25519 **out, bw_err *err);
void bw_ed25519_free(bw_ed25519 *key);

/* The key as PKCS#8 PEM, locked by the passphrase where it is not NULL (PBES2 with AES-256); pem
 * has BW_KEY_PEM_MAX bytes and is the caller's to wipe. */
BW_MUST_USE bw_status bw_ed25519_pem(const bw_ed25519 *key, const char *passphrase, char *pem,
                                     size_t *len, bw_err *err);

/* The public key as "BEGIN PUBLIC KEY" PEM; pem has BW_PUBLIC_PEM_MAX bytes. */
BW_MUST_USE bw_status bw_ed25519_public_pem(const uint8_t *public_key, char *pem, bw_err *err);

/* Wipes what held a secret, so that the compiler cannot leave it out. */
void bw_wipe(void *secret, size_t len);

BW_MUST_USE bw_status bw_ed25519_public(const bw_ed25519 *key, uint8_t *public_key, bw_err *err);
BW_MUST_USE bw_status bw_ed25519_sign(const bw_ed25519 *key, const void *text, size_t len,
                                      uint8_t *signature, bw_err *err);

/* Sets *good.  BW_E_MEM where it could not be tried. */
BW_MUST_USE bw_status bw_ed25519_verify(const uint8_t *public_key, const void *text, size_t len,
                                        const uint8_t *signature, bool *good, bw_err *err);

/* The public key out of "BEGIN PUBLIC KEY" PEM.  BW_E_DATA for anything else. */
BW_MUST_USE bw_status bw_ed25519_read_public(const char *pem, size_t len, uint8_t *public_key,
                                             bw_err *err);

#endif
