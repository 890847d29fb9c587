/* own_key.h - the bench's key as the commands need it: passphrases asked for, key files read.
 *
 * Room: command; included by none outside. */
#ifndef BW_COMMAND_OWN_KEY_H
#define BW_COMMAND_OWN_KEY_H

#include "record/bench_key.h"

#include <stddef.h>

enum { BW_PASSPHRASE_MAX = 256 };

/* The passphrase out of BOLTWRIGHT_PASSPHRASE, else asked for at the terminal by those words.
 * BW_E_STATE where there is neither. */
BW_MUST_USE bw_status bw_passphrase(const char *words, char *out, bw_err *err);

/* bw_bench_key_open, with the passphrase where the key is locked. */
BW_MUST_USE bw_status bw_own_key_open(const char *home, bw_store *store, const char *by,
                                      bw_key **out, bw_err *err);

/* The public keys of a file: verifier lines up to an empty line, or one PEM.  BW_E_ARG. */
BW_MUST_USE bw_status bw_public_keys_read(const char *path, bw_verifier *out, size_t room,
                                          size_t *n, bw_err *err);

/* A checkpoint note out of a file of its own, or out of the text of a build sheet.  BW_E_ARG.
 * note has BW_NOTE_MAX bytes. */
BW_MUST_USE bw_status bw_note_file_read(const char *path, char *note, bw_err *err);

#endif
