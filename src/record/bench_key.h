/* bench_key.h - the key of a bench beside its record: found, made, changed, always with an entry.
 *
 * Room: record.  home/key is the private key, home/key.pub its verifier line (which outlives a lost
 * key, and can be read where the key is locked), home/key.next a change that was cut off. */
#ifndef BW_RECORD_BENCH_KEY_H
#define BW_RECORD_BENCH_KEY_H

#include "record/key.h"
#include "record/store.h"

/* Opens home/key, or makes it.  Where another key signed the record's newest checkpoint (the old
 * one was lost), an entry `key_changed` says so before anything else is written.
 * store is open for writing; by is who is at work, for that entry.
 * BW_E_STATE the key is locked and passphrase is NULL, or a change of the key was cut off. */
BW_MUST_USE bw_status bw_bench_key_open(const char *home, const char *passphrase, bw_store *store,
                                        const char *by, bw_key **out, bw_err *err);

/* Makes a new key, with an entry that the old one signs where there is an old one, and puts it in
 * its place; the old private key is gone then.  After a cut at any point, calling it again ends in
 * one key, which is the one that the record speaks of.
 * old_passphrase may be NULL, as new_passphrase; reason may be NULL. */
BW_MUST_USE bw_status bw_bench_key_change(const char *home, const char *old_passphrase,
                                          const char *new_passphrase, bw_store *store,
                                          const char *by, const char *reason, bw_err *err);

/* The bench's own public key without its private one: home/key.pub, else out of home/key.
 * BW_E_ABSENT where there is neither. */
BW_MUST_USE bw_status bw_bench_key_public(const char *home, bw_verifier *out, bw_err *err);

/* The public key of who signed the checkpoint note: the bench's own, or another that a key change
 * of the record names.  note NULL: the bench's own.  BW_E_ABSENT where it is not known. */
BW_MUST_USE bw_status bw_bench_key_signer(const char *home, bw_store *store, const char *note,
                                          bw_verifier *out, bw_err *err);

#endif
