/* audit_keys.c - which key may have signed what, where the bench has changed its key.
 *
 * Trust goes forward through an entry that the key before has signed, and backward from a trusted
 * key to the one that it says was before it: what the trusted key signs covers that entry too. */
#include "record/audit_int.h"

#include <inttypes.h>
#include <string.h>

void bw_signers_begin(bw_signers *signers, const bw_verifier *given, size_t n) {
    *signers = (bw_signers){0};
    for (size_t i = 0; i < n && i < BW_SIGNERS_MAX; i++) {
        signers->item[signers->n++] = (bw_signer){
            .key = given[i], .from = 0, .to = UINT64_MAX, .trusted = true};
    }
}

/* BW_SIGNERS_MAX where there is no room for it. */
static size_t find_or_add(bw_signers *signers, const bw_verifier *key) {
    size_t at = 0;
    while (at < signers->n &&
           memcmp(signers->item[at].key.public_key, key->public_key, BW_PUBLIC_KEY_BYTES) != 0) {
        at++;
    }
    if (at == signers->n && at < BW_SIGNERS_MAX) {
        signers->item[signers->n++] = (bw_signer){.key = *key, .to = UINT64_MAX};
    }
    return at;
}

static size_t named(bw_signers *signers, const bw_entry *entry, bw_member member,
                    bw_findings *findings) {
    const char *line = bw_entry_text(entry, member, NULL);
    bw_verifier key;
    if (line == NULL) {
        return BW_SIGNERS_MAX;
    }
    if (bw_verifier_parse(line, &key, NULL) != BW_OK || key.name[0] == '\0') {
        bw_findings_add(findings, entry->number, "`%s` must be a C2SP verifier key",
                        bw_member_name(member));
        return BW_SIGNERS_MAX;
    }
    return find_or_add(signers, &key);
}

void bw_signers_take(bw_signers *signers, const bw_entry *entry, bw_findings *findings) {
    if (entry->kind != BW_KIND_KEY_CHANGED) {
        return;
    }
    size_t before = named(signers, entry, BW_M_KEY_BEFORE, findings);
    size_t after = named(signers, entry, BW_M_KEY, findings);
    if (after == BW_SIGNERS_MAX || signers->change_n == BW_SIGNERS_MAX) {
        bw_findings_add(findings, entry->number, "the keys after this change cannot be followed");
        return;
    }
    if (signers->change_n > 0 && before != BW_SIGNERS_MAX &&
        before != signers->change[signers->change_n - 1].after) {
        bw_findings_add(findings, entry->number,
                        "`key_before` must be the key of the change before it, entry %" PRIu64,
                        signers->change[signers->change_n - 1].entry);
    }
    if (before != BW_SIGNERS_MAX) {
        signers->item[before].to = entry->number;
    }
    signers->item[after].from = entry->number;
    signers->item[after].to = UINT64_MAX;
    signers->change[signers->change_n++] = (bw_key_change){entry->number, before, after};
}

void bw_signers_settle(bw_signers *signers) {
    for (size_t i = signers->change_n; i > 0; i--) {
        const bw_key_change *change = &signers->change[i - 1];
        if (change->before != BW_SIGNERS_MAX && signers->item[change->after].trusted) {
            signers->item[change->before].trusted = true;
        }
    }
}

/* A trusted key has signed a tree with its own replacement in it. */
static void hand_over(bw_signers *signers, size_t by, uint64_t size) {
    for (size_t i = 0; i < signers->change_n; i++) {
        const bw_key_change *change = &signers->change[i];
        if (change->before == by && change->entry <= size) {
            signers->item[change->after].trusted = true;
        }
    }
}

static void judge_one(bw_signers *signers, size_t by, uint64_t size, bw_signature one,
                      bw_signature *all, bw_findings *findings) {
    const bw_signer *signer = &signers->item[by];
    if (one == BW_SIGNATURE_NONE || !signer->trusted) {
        return;
    }
    if (one == BW_SIGNATURE_BAD) {
        *all = BW_SIGNATURE_BAD;
        return;
    }
    if (size < signer->from || size > signer->to) {
        bw_findings_add(findings, 0,
                        "the checkpoint over %" PRIu64
                        " entries must not be signed by %.70s, whose "
                        "time is from entry %" PRIu64 " to entry %" PRIu64,
                        size, signer->key.name, signer->from, signer->to);
    }
    *all = *all == BW_SIGNATURE_NONE ? BW_SIGNATURE_GOOD : *all;
    hand_over(signers, by, size);
}

bw_status bw_signers_judge(bw_signers *signers, const char *note, size_t len,
                           bw_signature *signature, bw_findings *findings, bw_err *err) {
    *signature = BW_SIGNATURE_NONE;
    for (size_t i = 0; i < signers->n; i++) {
        bw_signature one = BW_SIGNATURE_NONE;
        uint64_t size = 0;
        bw_hash root;
        bw_status status = bw_checkpoint_read(note, len, &signers->item[i].key, &size, &root, &one,
                                              err);
        if (status != BW_OK) {
            return status;
        }
        judge_one(signers, i, size, one, signature, findings);
    }
    return BW_OK;
}
