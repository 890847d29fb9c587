/* key_int.h - what key.c and note.c share.  Room-private. */
#ifndef BW_RECORD_KEY_INT_H
#define BW_RECORD_KEY_INT_H

#include "record/ed25519.h"
#include "record/key.h"

enum { BW_KEY_ID_BYTES = 4, BW_KEY_TYPE_ED25519 = 0x01 };

struct bw_key {
    bw_ed25519 *secret;
    char bench[BW_BENCH_MAX];
    bw_verifier verifier; /* its name is also the origin of the checkpoints */
};

/* The C2SP key id of an Ed25519 key under this name; id has BW_KEY_ID_BYTES. */
BW_MUST_USE bw_status bw_key_id(const char *name, size_t name_len, const uint8_t *public_key,
                                uint8_t *id, bw_err *err);

/* Not empty, UTF-8, no '+', no Unicode space (C2SP signed-note). */
bool bw_key_name_valid(const char *name, size_t len);

#endif
