/* sheet_evidence.c - the checkpoint, its code, and how a stranger verifies by this page alone. */
#include "face/sheet_make.h"

#include <string.h>

/* Line number `line` of the note, from 0; its length, 0: there is none. */
static size_t note_line(const char *note, size_t line, const char **start) {
    *start = note;
    for (size_t i = 0; i < line; i++) {
        const char *end = strchr(*start, '\n');
        if (end == NULL) {
            return 0;
        }
        *start = end + 1;
    }
    return strcspn(*start, "\n");
}

uint64_t bw_checkpoint_size(const char *checkpoint) {
    const char *digits = NULL;
    size_t len = checkpoint != NULL ? note_line(checkpoint, 1, &digits) : 0;
    uint64_t size = 0;
    for (size_t i = 0; i < len; i++) {
        if (digits[i] < '0' || digits[i] > '9' || size > UINT64_MAX / 10 - 1) {
            return 0;
        }
        size = size * 10 + (uint64_t)(digits[i] - '0');
    }
    return size;
}

const char *bw_make_foot(bw_making *m, const char *bench) {
    enum { ROOT_SHOWN = 16 };
    const char *root = NULL;
    uint64_t size = bw_checkpoint_size(m->proof->checkpoint);
    if (size == 0 || note_line(m->proof->checkpoint, 2, &root) < ROOT_SHOWN) {
        return bw_make_said(m, "%s, no checkpoint yet", bench);
    }
    return bw_make_said(m, "%s, record of %llu entries, root %.*s…", bench,
                        (unsigned long long)size, ROOT_SHOWN, root);
}

void bw_make_code(bw_making *m) {
    bw_qr *code = bw_make_room(m, 1, sizeof *code);
    if (code != NULL && m->proof->checkpoint != NULL &&
        bw_qr_make(m->proof->checkpoint, m->arena, code, NULL) == BW_OK) {
        bw_make_block(m, BW_BLOCK_CODE, "The checkpoint above, as a code.")->code = code;
    }
}

/* The middle line of the public key's PEM; NULL: not known. */
static const char *pem_line(bw_making *m) {
    const char *line = NULL;
    size_t len = m->proof->pem != NULL ? note_line(m->proof->pem, 1, &line) : 0;
    return len > 0 ? bw_make_said(m, "%.*s", (int)len, line) : NULL;
}

/* Lines without indents, so that they can be typed, or copied out of the page. */
static void tell_root(bw_making *m, uint64_t size) {
    (void)bw_make_block(m, BW_BLOCK_TEXT,
                        bw_make_said(m,
                                     "1. The record against this page: with the shop's record.db, "
                                     "this must print the third line of the checkpoint. If it "
                                     "prints another, the record's first %llu entries are not "
                                     "those that stood there when this page was made.",
                                     (unsigned long long)size));
    (void)bw_make_block(
        m, BW_BLOCK_VERBATIM,
        bw_make_said(
            m,
            "python3 - record.db <<'END'\n"
            "import base64, hashlib, sqlite3, sys\n"
            "h = lambda data: hashlib.sha256(data).digest()\n"
            "both = lambda a, k: h(b\"\\1\" + root(a[:k]) + root(a[k:]))\n"
            "root = lambda a: a[0] if len(a) == 1 else both(a, 1 << (len(a) - 1).bit_length() - 1)\n"
            "db = sqlite3.connect(\"file:\" + sys.argv[1] + \"?mode=ro\", uri=True)\n"
            "rows = db.execute(\"SELECT data FROM entry WHERE number <= %llu ORDER BY number\")\n"
            "print(base64.b64encode(root([h(b\"\\0\" + row[0]) for row in rows])).decode())\n"
            "END",
            (unsigned long long)size));
}

static void tell_signature(bw_making *m, const char *pem) {
    (void)bw_make_block(
        m, BW_BLOCK_TEXT,
        "2. The signature: type the checkpoint into checkpoint.txt, or take it "
        "from the code; its last line begins with a long dash. \"Signature Verified "
        "Successfully\" says that this key signed that root. Ask the bench's owner "
        "whether the key is his.");
    (void)bw_make_block(
        m, BW_BLOCK_VERBATIM,
        bw_make_said(
            m,
            "printf '%%s\\n' '-----BEGIN PUBLIC KEY-----' > key.pem\n"
            "printf '%%s\\n' '%s' >> key.pem\n"
            "printf '%%s\\n' '-----END PUBLIC KEY-----' >> key.pem\n"
            "sed '/^$/,$d' checkpoint.txt > text\n"
            "awk 'NF == 3 { print $3 }' checkpoint.txt | base64 -d | tail -c 64 > signature\n"
            "openssl pkeyutl -verify -pubin -inkey key.pem -rawin -in text -sigfile signature",
            pem));
}

/* What this sheet shows and the checkpoint does not cover. */
static void tell_uncovered(bw_making *m, uint64_t size) {
    const bw_replay *r = m->replay;
    uint64_t last = r != NULL && r->entry_n > 0 ? r->entry[r->entry_n - 1].number : 0;
    if (last > size) {
        (void)bw_make_block(m, BW_BLOCK_NOTICE,
                            bw_make_said(m,
                                         "This sheet shows entries up to number %llu; those "
                                         "behind %llu are not covered by this checkpoint.",
                                         (unsigned long long)last, (unsigned long long)size));
    }
}

void bw_make_evidence(bw_making *m) {
    const bw_sheet_proof *proof = m->proof;
    uint64_t size = bw_checkpoint_size(proof->checkpoint);
    const char *pem = pem_line(m);
    bw_make_section(m, "Evidence")->own_page = true;
    if (proof->checkpoint == NULL || size == 0) {
        (void)bw_make_block(m, BW_BLOCK_NOTICE,
                            "No checkpoint was signed yet: nothing on this sheet is covered by "
                            "one.");
        return;
    }
    (void)bw_make_block(m, BW_BLOCK_TEXT,
                        "Checkpoint over the record (RFC 6962 tree, signed note):");
    (void)bw_make_block(m, BW_BLOCK_VERBATIM, proof->checkpoint);
    if (proof->verifier != NULL) {
        (void)bw_make_block(m, BW_BLOCK_TEXT, "Public key of the bench:");
        (void)bw_make_block(m, BW_BLOCK_VERBATIM, proof->verifier);
    }
    tell_uncovered(m, size);
    (void)bw_make_block(m, BW_BLOCK_TEXT,
                        "Whoever keeps this sheet can show later that the record was not changed "
                        "since. All it takes is this page, the record file, and a machine with "
                        "python3 and openssl:");
    bw_make_code(m);
    tell_root(m, size);
    if (pem != NULL) {
        tell_signature(m, pem);
    }
}
