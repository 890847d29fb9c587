/* key.c - boltwright key: the bench's signing key. */
#include "command/command.h"
#include "command/own_key.h"
#include "command/own_record.h"
#include "command/which.h"

#include "face/qr.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OPT_PEM, OPT_PASSPHRASE, OPT_REASON, OPT_BY };

typedef struct shown {
    bw_verifier verifier;
    char line[BW_VERIFIER_MAX];
    char pem[BW_VERIFIER_MAX];
} shown;

static bw_status load(const char *home, shown *out, bw_err *err) {
    bw_status status = bw_bench_key_public(home, &out->verifier, err);
    if (status == BW_OK) {
        status = bw_verifier_line(&out->verifier, out->line, err);
    }
    return status == BW_OK ? bw_verifier_pem(&out->verifier, out->pem, err) : status;
}

/* The bench's name behind the "boltwright/" of the signer. */
static const char *bench_of(const bw_verifier *verifier) {
    const char *slash = strchr(verifier->name, '/');
    return slash == NULL ? verifier->name : slash + 1;
}

static void print_json(const shown *s) {
    json_t *all = json_pack("{s:s,s:s,s:s}", "bench", bench_of(&s->verifier), "public_key", s->line,
                            "pem", s->pem);
    (void)json_dumpf(all, stdout, JSON_COMPACT);
    (void)printf("\n");
    json_decref(all);
}

static int show(const bw_args *args) {
    shown s;
    bw_err err = {0};
    bw_status status = load(args->home, &s, &err);
    if (status != BW_OK) {
        return bw_exit_of(status, &err);
    }
    if (args->json) {
        print_json(&s);
        return BW_EXIT_YES;
    }
    (void)printf("%s\n\n%s\n", s.line, s.pem);
    return bw_exit_of(bw_qr_print(s.line, stdout, &err), &err);
}

static int export(const bw_args *args) {
    shown s;
    bw_err err = {0};
    bw_status status = load(args->home, &s, &err);
    if (status == BW_OK && args->json) {
        print_json(&s);
    } else if (status == BW_OK) {
        (void)printf("%s%s", args->value[OPT_PEM] != NULL ? s.pem : s.line,
                     args->value[OPT_PEM] != NULL ? "" : "\n");
    }
    return bw_exit_of(status, &err);
}

/* Twice at a terminal, where a slip can't be seen. */
static bw_status new_passphrase(char *out, bw_err *err) {
    char again[BW_PASSPHRASE_MAX];
    bw_status status = bw_passphrase("Passphrase for the new key", out, err);
    if (status == BW_OK) {
        status = bw_passphrase("The same once more", again, err);
    }
    if (status == BW_OK && strcmp(out, again) != 0) {
        status = bw_fail(err, BW_E_ARG, "the two passphrases differ");
    }
    return status;
}

static bw_status change(const bw_args *args, bw_store *store, bw_err *err) {
    char fresh[BW_PASSPHRASE_MAX];
    char old[BW_PASSPHRASE_MAX];
    bool locks = args->value[OPT_PASSPHRASE] != NULL;
    const char *by = args->value[OPT_BY];
    const char *names[] = {by, getenv("LOGNAME"), getenv("USER"), "builder"};
    for (size_t i = 0; i < sizeof names / sizeof names[0] && (by == NULL || by[0] == '\0'); i++) {
        by = names[i];
    }
    bw_status status = locks ? new_passphrase(fresh, err) : BW_OK;
    if (status != BW_OK) {
        return status;
    }
    status = bw_bench_key_change(args->home, NULL, locks ? fresh : NULL, store, by,
                                 args->value[OPT_REASON], err);
    if (status == BW_E_STATE && strstr(err->text, "locked") != NULL) {
        status = bw_passphrase("Passphrase of the old key", old, err);
        if (status == BW_OK) {
            status = bw_bench_key_change(args->home, old, locks ? fresh : NULL, store, by,
                                         args->value[OPT_REASON], err);
        }
    }
    return status;
}

static int new (const bw_args *args) {
    bw_store *store = NULL;
    bw_err err = {0};
    bw_status status = bw_own_record_open(args->home, BW_STORE_WRITE, &store, &err);
    if (status == BW_OK) {
        status = change(args, store, &err);
    }
    bw_store_close(store);
    return status == BW_OK ? export(args) : bw_exit_of(status, &err);
}

static int key(const bw_args *args) {
    static const struct {
        const char *word;
        int (*run)(const bw_args *args);
    } rows[] = {{"show", show}, {"export", export}, {"new", new}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (strcmp(args->word[0], rows[i].word) == 0) {
            return rows[i].run(args);
        }
    }
    static const char *const words[] = {"show", "export", "new"};
    bw_complain_no_word("key", args->word[0], words, sizeof words / sizeof words[0]);
    return BW_EXIT_USAGE;
}

static const bw_option_row options[] = {
    [OPT_PEM] = {"--pem", NULL, "export: as PEM, for OpenSSL"},
    [OPT_PASSPHRASE] = {"--passphrase", NULL, "new: locked by a passphrase, which is asked for"},
    [OPT_REASON] = {"--reason", "TEXT", "new: why, for the record"},
    [OPT_BY] = {"--by", "NAME", "new: who does it, for the record"},
    {NULL, NULL, NULL},
};

const bw_command bw_command_key = {
    .name = "key",
    .usage = "show | export [--pem] | new [--passphrase] [--reason TEXT] [--by NAME]",
    .says = "shows the bench's public key, or makes a new key",
    .more = "show: the public key as a verifier line, as PEM and as a QR code. export: the line "
            "alone, which audit --public-key FILE takes, and any verifier of C2SP signed notes. "
            "new: an entry, signed by the old key, says that the new one signs from then on. A "
            "passphrase is taken from BOLTWRIGHT_PASSPHRASE, else asked for.",
    .least_words = 1,
    .most_words = 1,
    .option = options,
    .run = key,
};
