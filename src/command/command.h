/* command.h - a command of the command line: its words, its options, its function.
 *
 * Room: command; included by none outside.  One file a command; the table is in main.c. */
#ifndef BW_COMMAND_COMMAND_H
#define BW_COMMAND_COMMAND_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

/* Exit codes: a promise (see docs). */
enum { BW_EXIT_YES = 0, BW_EXIT_NO = 1, BW_EXIT_USAGE = 2, BW_EXIT_MACHINE = 3 };

enum { BW_OPTIONS_MAX = 32, BW_WORDS_MAX = 64 };

typedef struct bw_option_row {
    const char *name;       /* "--build" or "-o" */
    const char *value_name; /* "ID"; NULL: takes none */
    const char *says;
} bw_option_row;

typedef struct bw_args {
    const char *home; /* as given by --home, the environment, or the default */
    bool json;
    const char *value[BW_OPTIONS_MAX]; /* by row of the command's options; NULL: not given */
    const char *word[BW_WORDS_MAX];    /* what is no option */
    size_t word_n;
} bw_args;

typedef struct bw_command {
    const char *name;
    const char *usage; /* behind the name */
    const char *says;  /* one line */
    const char *more;  /* further help, or NULL */
    size_t least_words, most_words;
    const bw_option_row *option; /* name NULL behind the last */
    int (*run)(const bw_args *args);
} bw_command;

extern const bw_command bw_command_run, bw_command_rehearse, bw_command_check, bw_command_audit,
    bw_command_export, bw_command_sheet, bw_command_calc, bw_command_judge, bw_command_key,
    bw_command_listen, bw_command_port, bw_command_tool, bw_command_new;

/* help.c: what every command takes.  name NULL behind the last. */
enum { BW_OPTION_HOME };
extern const bw_option_row bw_common_options[];

#define BW_PROGRAM "boltwright " BW_VERSION

/* main.c: everything but --version.  What start.c calls by this name. */
int bw_main(int argc, char **argv);

/* Prints `boltwright: TEXT` on standard error. */
void bw_complain(const char *format, ...) BW_PRINTF(1, 2);

/* Prints what err says and gives the exit code that fits: USAGE where the command named something
 * that is not there or not right, MACHINE otherwise. */
int bw_exit_of(bw_status status, const bw_err *err);

/* Whether nobody reads standard output any more: `| head` has what it wanted. */
bool bw_reader_left(void);

/* Whether text may be the id of a build: 1 to 64 of letters, digits, point, dash, underline, not
 * beginning with a point or dash.  Complains where it may not. */
bool bw_build_id_ok(const char *text);

#endif
