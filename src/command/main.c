/* main.c - the door of all that start.c loads: workers, the table of commands, options, help. */
#include "command/command.h"

#include "base/nearest.h"
#include "base/text.h"
#include "command/completion.h"
#include "command/help.h"
#include "device/device.h"
#include "sequence/lua_driver.h"
#include "sequence/sequence.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { HOME_MAX = 4096, WORD_BYTES = 80 };

static const bw_command *const commands[] = {
    &bw_command_run,  &bw_command_rehearse, &bw_command_check,  &bw_command_judge,
    &bw_command_calc, &bw_command_sheet,    &bw_command_export, &bw_command_audit,
    &bw_command_key,  &bw_command_listen,   &bw_command_port,   &bw_command_tool,
    &bw_command_new,
};
enum { COMMANDS = sizeof commands / sizeof commands[0] };

static int driver_worker(void) {
    return bw_driver_worker_main(bw_lua_driver_make);
}

static const struct {
    const char *role;
    int (*run)(void);
} workers[] = {
    {"sequence", bw_sequence_worker_main},
    {"driver", driver_worker},
};

void bw_complain(const char *format, ...) {
    va_list args;
    va_start(args, format);
    (void)fputs("boltwright: ", stderr);
    (void)vfprintf(stderr, format, args);
    (void)fputc('\n', stderr);
    va_end(args);
}

int bw_exit_of(bw_status status, const bw_err *err) {
    if (status == BW_OK) {
        return BW_EXIT_YES;
    }
    bw_complain("%s", err->text[0] != '\0' ? err->text : bw_status_name(status));
    return status == BW_E_ARG ? BW_EXIT_USAGE : BW_EXIT_MACHINE;
}

bool bw_build_id_ok(const char *text) {
    static const char good[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._-";
    size_t len = strlen(text);
    bool ok = len >= 1 && len <= 64 && strspn(text, good) == len && text[0] != '.' &&
              text[0] != '-';
    if (!ok) {
        bw_complain(
            "a build's id is 1 to 64 letters, digits, points, dashes or underlines, such as "
            "heron-2026-03");
    }
    return ok;
}

/* ---- before a command ---- */

static int print_completion(const char *shell) {
    if (!bw_completion_print(shell, commands, COMMANDS)) {
        bw_complain("--completion is for bash, zsh or fish");
        return BW_EXIT_USAGE;
    }
    return BW_EXIT_YES;
}

/* ---- options ---- */

static const bw_option_row *find_option(const bw_command *c, const char *name, size_t len,
                                        size_t *index) {
    for (size_t i = 0; c->option[i].name != NULL; i++) {
        if (strlen(c->option[i].name) == len && strncmp(c->option[i].name, name, len) == 0) {
            *index = i;
            return &c->option[i];
        }
    }
    return NULL;
}

typedef struct scan {
    const bw_command *command;
    char **arg;
    int n;
    int at;
    bool help;
    bool words_only; /* behind -- */
} scan;

/* The value of an option: behind its `=`, or the next word unless that is an option itself. */
static const char *take_value(scan *s, const char *equals) {
    if (equals != NULL) {
        return equals + 1;
    }
    bool there = s->at + 1 < s->n && strncmp(s->arg[s->at + 1], "--", 2) != 0;
    return there ? s->arg[++s->at] : NULL;
}

static bool store(const char **slot, const char *value, const bw_option_row *row) {
    if (value == NULL || value[0] == '\0') {
        bw_complain("%s needs a value behind it: %s %s", row->name, row->name, row->value_name);
        return false;
    }
    if (*slot != NULL) {
        bw_complain("%s is given twice", row->name);
        return false;
    }
    *slot = value;
    return true;
}

static bool take_common(scan *s, const char *name, size_t len, const char *equals, bw_args *args,
                        bool *taken) {
    *taken = true;
    if (len == 6 && strncmp(name, "--home", len) == 0) {
        bool good = store(&args->home, take_value(s, equals), &bw_common_options[BW_OPTION_HOME]);
        if (!good) {
            return false;
        }
    } else if (strcmp(name, "--json") == 0) {
        args->json = true;
    } else if (strcmp(name, "--help") == 0) {
        s->help = true;
    } else {
        *taken = false;
    }
    return true;
}

static bool no_such_option(const bw_command *c, const char *name, size_t len) {
    char word[WORD_BYTES];
    bw_text text = bw_text_on(word, sizeof word);
    bw_text_add(&text, "%.*s", (int)len, name);
    bw_nearest nearest = bw_nearest_to(word);
    const bw_option_row *const lists[] = {c->option, bw_common_options};
    for (size_t l = 0; l < 2; l++) {
        for (const bw_option_row *row = lists[l]; row->name != NULL; row++) {
            bw_nearest_offer(&nearest, row->name, strlen(row->name));
        }
    }
    if (nearest.best != NULL) {
        bw_complain("%s knows no option %s; did you mean %s?", c->name, word, nearest.best);
    } else {
        bw_complain("%s knows no option %s; boltwright %s --help lists them", c->name, word,
                    c->name);
    }
    return false;
}

static bool take_option(scan *s, const char *name, bw_args *args) {
    const char *equals = strchr(name, '=');
    size_t len = equals != NULL ? (size_t)(equals - name) : strlen(name);
    size_t index = 0;
    bool taken = false;
    bool good = take_common(s, name, len, equals, args, &taken);
    if (taken) {
        return good;
    }
    const bw_option_row *row = find_option(s->command, name, len, &index);
    if (row == NULL) {
        return no_such_option(s->command, name, len);
    }
    if (row->value_name == NULL && equals != NULL) {
        bw_complain("%s takes no value", row->name);
        return false;
    }
    const char *value = row->value_name == NULL ? "yes" : take_value(s, equals);
    return store(&args->value[index], value, row);
}

static bool take_word(const char *word, bw_args *args) {
    if (args->word_n == BW_WORDS_MAX) {
        bw_complain("more than %d words", BW_WORDS_MAX);
        return false;
    }
    args->word[args->word_n++] = word;
    return true;
}

static bool scan_args(scan *s, bw_args *args) {
    for (; s->at < s->n; s->at++) {
        const char *arg = s->arg[s->at];
        if (!bw_text_printable(arg, strlen(arg), false)) {
            bw_complain("an argument holds characters that can't be shown");
            return false;
        }
        if (strcmp(arg, "--") == 0 && !s->words_only) {
            s->words_only = true;
        } else if (arg[0] == '-' && arg[1] != '\0' && !s->words_only) {
            if (!take_option(s, arg, args)) {
                return false;
            }
        } else if (!take_word(arg, args)) {
            return false;
        }
    }
    return true;
}

/* $BOLTWRIGHT_HOME, else $XDG_DATA_HOME/boltwright, else ~/.local/share/boltwright. */
static bool default_home(char *out) {
    const char *own = getenv("BOLTWRIGHT_HOME");
    const char *data = getenv("XDG_DATA_HOME");
    const char *user = getenv("HOME");
    bw_text text = bw_text_on(out, HOME_MAX);
    if (own != NULL && own[0] != '\0') {
        bw_text_add(&text, "%s", own);
    } else if (data != NULL && data[0] == '/') {
        bw_text_add(&text, "%s/boltwright", data);
    } else if (user != NULL && user[0] == '/') {
        bw_text_add(&text, "%s/.local/share/boltwright", user);
    }
    return text.len > 0 && !text.cut;
}

static int run_command(const bw_command *c, int n, char **arg) {
    char home[HOME_MAX];
    bw_args args = {0};
    scan s = {.command = c, .arg = arg, .n = n};
    if (!scan_args(&s, &args)) {
        return BW_EXIT_USAGE;
    }
    if (s.help) {
        bw_help_command(c);
        return BW_EXIT_YES;
    }
    if (args.word_n < c->least_words || args.word_n > c->most_words) {
        bw_complain("write it so: boltwright %s %s", c->name, c->usage);
        return BW_EXIT_USAGE;
    }
    if (args.home == NULL) {
        if (!default_home(home)) {
            bw_complain("no home folder is known: give one by --home DIR");
            return BW_EXIT_USAGE;
        }
        args.home = home;
    }
    return c->run(&args);
}

/* ---- the machine ---- */

/* Something must stand in 0 to 2 before a database is opened: a stray message written to one of
 * them would go into it. */
static bool open_standard(void) {
    for (int fd = 0; fd <= 2; fd++) {
        if (fcntl(fd, F_GETFD) < 0 && open("/dev/null", O_RDWR) < 0) {
            return false;
        }
    }
    return true;
}

static void ignore_signal(int number) {
    struct sigaction action = {.sa_handler = SIG_IGN};
    (void)sigaction(number, &action, NULL);
}

static int run_worker(const char *role) {
    for (size_t i = 0; i < sizeof workers / sizeof workers[0]; i++) {
        if (strcmp(workers[i].role, role) == 0) {
            return workers[i].run();
        }
    }
    return BW_EXIT_USAGE;
}

bool bw_reader_left(void) {
    struct pollfd out = {.fd = STDOUT_FILENO};
    return poll(&out, 1, 0) == 1 && (out.revents & POLLERR) != 0;
}

/* An answer that did not reach its reader is no answer; one who has left is told nothing. */
static int flushed(int code) {
    bool lost = fflush(stdout) != 0 || ferror(stdout) != 0;
    if (lost && code == BW_EXIT_YES) {
        if (!bw_reader_left()) {
            bw_complain("the output could not be written");
        }
        return BW_EXIT_MACHINE;
    }
    return code;
}

/* What may stand alone in the place of a command. */
static const char *const bare_options[] = {"--help", "--version", "--completion"};

static int no_such_command(const char *word) {
    bool option = word[0] == '-';
    bw_nearest nearest = bw_nearest_to(word);
    for (size_t i = 0; !option && i < COMMANDS; i++) {
        bw_nearest_offer(&nearest, commands[i]->name, strlen(commands[i]->name));
    }
    for (size_t i = 0; option && i < sizeof bare_options / sizeof bare_options[0]; i++) {
        bw_nearest_offer(&nearest, bare_options[i], strlen(bare_options[i]));
    }
    if (nearest.best != NULL) {
        bw_complain("there is no %s %s; did you mean %s?", option ? "option" : "command", word,
                    nearest.best);
    } else if (option) {
        bw_complain("a command comes first, then its options; boltwright --help lists commands");
    } else {
        bw_complain("there is no command %s; boltwright --help lists them", word);
    }
    return BW_EXIT_USAGE;
}

int bw_main(int argc, char **argv) {
    if (!open_standard()) {
        return BW_EXIT_MACHINE;
    }
    if (argc == 3 && strcmp(argv[1], "--worker") == 0) {
        return run_worker(argv[2]);
    }
    ignore_signal(SIGPIPE);
    ignore_signal(SIGXFSZ);
    if (argc < 2) {
        bw_complain("a command is needed; boltwright --help lists them");
        return BW_EXIT_USAGE;
    }
    if (strcmp(argv[1], "--help") == 0) {
        bw_help_commands(commands, COMMANDS);
        return flushed(BW_EXIT_YES);
    }
    if (strcmp(argv[1], "--completion") == 0) {
        return flushed(print_completion(argc > 2 ? argv[2] : "bash"));
    }
    for (size_t i = 0; i < COMMANDS; i++) {
        if (strcmp(commands[i]->name, argv[1]) == 0) {
            return flushed(run_command(commands[i], argc - 2, argv + 2));
        }
    }
    return no_such_command(argv[1]);
}
