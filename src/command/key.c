/* key.c - boltwright key: the bench's signing key. */
#include "command/command.h"

#include "base/text.h"
#include "record/key.h"

#include <stdio.h>
#include <string.h>

enum { PATH_BYTES = 4200 };

static int key(const bw_args *args) {
    char path[PATH_BYTES];
    char line[BW_VERIFIER_MAX];
    bw_text text = bw_text_on(path, sizeof path);
    bw_key *own = NULL;
    bw_err err = {0};
    if (strcmp(args->word[0], "show") != 0) {
        bw_complain("write it so: boltwright key show");
        return BW_EXIT_USAGE;
    }
    bw_text_add(&text, "%s/key", args->home);
    bw_status status = bw_key_read(path, &own, &err);
    if (status == BW_OK) {
        status = bw_key_verifier(own, line, &err);
    }
    if (status == BW_OK && args->json) {
        (void)printf("{\"bench\":\"%s\",\"public_key\":\"%s\"}\n", bw_key_bench(own), line);
    } else if (status == BW_OK) {
        (void)printf("%s\n", line);
    }
    bw_key_free(own);
    return bw_exit_of(status, &err);
}

static const bw_option_row options[] = {{NULL, NULL, NULL}};

const bw_command bw_command_key = {
    .name = "key",
    .usage = "show",
    .says = "shows the bench's public key, for those who verify its records",
    .more =
        "The line is what audit --public-key FILE takes, and any verifier of C2SP signed notes.",
    .least_words = 1,
    .most_words = 1,
    .option = options,
    .run = key,
};
