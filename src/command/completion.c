/* completion.c - see completion.h. */
#include "command/completion.h"

#include <stdio.h>
#include <string.h>

/* ---- what a usage and an option say ---- */

/* The next word of a usage that is typed as it stands: `show` of "show | export [--pem]".  Moves
 * *at behind it; NULL: no more. */
static const char *next_word(const char **at, size_t *len) {
    while (**at != '\0') {
        const char *word = *at;
        *len = strspn(word, "abcdefghijklmnopqrstuvwxyz");
        *at += strcspn(*at, "|");
        *at += strspn(*at, "| ");
        if (*len > 0 && (word[*len] == ' ' || word[*len] == '\0')) {
            return word;
        }
    }
    return NULL;
}

static bool is_long(const bw_option_row *row) {
    return row->name[1] == '-';
}

/* The text within single quotes; a backslash before each of `special`. */
static void put_quoted(const char *text, const char *special) {
    for (; *text != '\0'; text++) {
        if (*text == '\'') {
            (void)fputs("'\\''", stdout);
        } else {
            (void)printf("%s%c", strchr(special, *text) != NULL ? "\\" : "", *text);
        }
    }
}

/* ---- bash ---- */

static const char bash_head[] =
    "# What bash offers behind boltwright; made by: boltwright --completion bash\n"
    "_boltwright() {\n"
    "    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]}\n"
    "    local options= values= words=\n"
    "    COMPREPLY=()\n";

static const char bash_tail[] =
    "    if [[ $values == *\" $before \"* ]]; then\n"
    "        COMPREPLY=($(compgen -f -- \"$word\"))\n"
    "    elif [[ $word == -* ]]; then\n"
    "        COMPREPLY=($(compgen -W \"$options\" -- \"$word\"))\n"
    "    else\n"
    "        COMPREPLY=($(compgen -W \"$words\" -- \"$word\") $(compgen -f -- \"$word\"))\n"
    "    fi\n"
    "}\n"
    "complete -o filenames -F _boltwright boltwright\n";

static void bash_options(const bw_option_row *rows, const char *indent) {
    (void)printf("%soptions+=' ", indent);
    for (const bw_option_row *row = rows; row->name != NULL; row++) {
        (void)printf("%s ", row->name);
    }
    (void)printf("'\n%svalues+=' ", indent);
    for (const bw_option_row *row = rows; row->name != NULL; row++) {
        if (row->value_name != NULL) {
            (void)printf("%s ", row->name);
        }
    }
    (void)printf("'\n");
}

static void bash_command(const bw_command *command) {
    const char *usage = command->usage;
    size_t len = 0;
    (void)printf("    %s)\n", command->name);
    bash_options(command->option, "        ");
    (void)printf("        words='");
    for (const char *w = next_word(&usage, &len); w != NULL; w = next_word(&usage, &len)) {
        (void)printf("%.*s ", (int)len, w);
    }
    (void)printf("'\n        ;;\n");
}

static void print_bash(const bw_command *const *commands, size_t n) {
    (void)fputs(bash_head, stdout);
    (void)printf("    if ((COMP_CWORD == 1)); then\n        COMPREPLY=($(compgen -W '");
    for (size_t i = 0; i < n; i++) {
        (void)printf("%s ", commands[i]->name);
    }
    (void)printf("--help --version' -- \"$word\"))\n        return\n    fi\n"
                 "    case ${COMP_WORDS[1]} in\n");
    for (size_t i = 0; i < n; i++) {
        bash_command(commands[i]);
    }
    (void)printf("    esac\n");
    bash_options(bw_common_options, "    ");
    (void)fputs(bash_tail, stdout);
}

/* ---- zsh ---- */

static const char zsh_head[] =
    "#compdef boltwright\n"
    "# What zsh offers behind boltwright; made by: boltwright --completion zsh\n"
    "_boltwright() {\n"
    "    local -a commands options words_of\n"
    "    commands=(\n";

static const char zsh_tail[] =
    "    esac\n"
    "    shift words\n"
    "    (( CURRENT-- ))\n"
    "    _arguments $options \"1: :{ compadd -a words_of; _files }\" '*: :_files'\n"
    "}\n"
    "if [[ $funcstack[1] == _boltwright ]]; then\n"
    "    _boltwright \"$@\"\n"
    "else\n"
    "    compdef _boltwright boltwright\n"
    "fi\n";

static void zsh_options(const bw_option_row *rows, const char *indent) {
    (void)printf("%soptions+=(\n", indent);
    for (const bw_option_row *row = rows; row->name != NULL; row++) {
        (void)printf("%s    '%s%s[", indent, row->name,
                     row->value_name != NULL && is_long(row) ? "=" : "");
        put_quoted(row->says, "[]:\\");
        (void)printf("]");
        if (row->value_name != NULL) {
            (void)printf(":");
            put_quoted(row->value_name, ":\\");
            (void)printf(":_files");
        }
        (void)printf("'\n");
    }
    (void)printf("%s)\n", indent);
}

static void zsh_command(const bw_command *command) {
    const char *usage = command->usage;
    size_t len = 0;
    (void)printf("    %s)\n", command->name);
    zsh_options(command->option, "        ");
    (void)printf("        words_of=(");
    for (const char *w = next_word(&usage, &len); w != NULL; w = next_word(&usage, &len)) {
        (void)printf(" %.*s", (int)len, w);
    }
    (void)printf(" )\n        ;;\n");
}

static void print_zsh(const bw_command *const *commands, size_t n) {
    (void)fputs(zsh_head, stdout);
    for (size_t i = 0; i < n; i++) {
        (void)printf("        '%s:", commands[i]->name);
        put_quoted(commands[i]->says, "\\");
        (void)printf("'\n");
    }
    (void)printf("        '--help:lists the commands'\n"
                 "        '--version:which boltwright this is'\n"
                 "    )\n"
                 "    if (( CURRENT == 2 )); then\n"
                 "        _describe command commands\n        return\n    fi\n");
    zsh_options(bw_common_options, "    ");
    (void)printf("    case $words[2] in\n");
    for (size_t i = 0; i < n; i++) {
        zsh_command(commands[i]);
    }
    (void)fputs(zsh_tail, stdout);
}

/* ---- fish ---- */

static const char fish_head[] =
    "# What fish offers behind boltwright; made by: boltwright --completion fish\n"
    "function __boltwright_command\n"
    "    set -l words (commandline -opc)\n"
    "    if test (count $argv) -eq 0\n"
    "        test (count $words) -eq 1\n"
    "    else\n"
    "        test (count $words) -ge 2; and contains -- $words[2] $argv\n"
    "    end\n"
    "end\n";

static void fish_line(const char *command, const char *what, size_t what_len) {
    (void)printf("complete -c boltwright -n '__boltwright_command%s%s' %.*s", command[0] ? " " : "",
                 command, (int)what_len, what);
}

static void fish_says(const char *says) {
    (void)printf(" -d '");
    for (; *says != '\0'; says++) { /* fish knows \' within quotes */
        (void)printf("%s%c", *says == '\'' || *says == '\\' ? "\\" : "", *says);
    }
    (void)printf("'\n");
}

static void fish_options(const char *command, const bw_option_row *rows) {
    for (const bw_option_row *row = rows; row->name != NULL; row++) {
        const char *name = row->name + strspn(row->name, "-");
        fish_line(command, is_long(row) ? "-l " : "-s ", 3);
        (void)printf("%s%s", name, row->value_name != NULL ? " -r -F" : "");
        fish_says(row->says);
    }
}

static void fish_command(const bw_command *command) {
    const char *usage = command->usage;
    size_t len = 0;
    fish_line("", "-f -a ", 6);
    (void)printf("%s", command->name);
    fish_says(command->says);
    for (const char *w = next_word(&usage, &len); w != NULL; w = next_word(&usage, &len)) {
        fish_line(command->name, "-a ", 3);
        (void)printf("%.*s\n", (int)len, w);
    }
    fish_options(command->name, command->option);
    fish_options(command->name, bw_common_options);
}

static void print_fish(const bw_command *const *commands, size_t n) {
    (void)fputs(fish_head, stdout);
    for (size_t i = 0; i < n; i++) {
        fish_command(commands[i]);
    }
    fish_line("", "-l help -d 'lists the commands'\n", 32);
    fish_line("", "-l version -d 'which boltwright this is'\n", 41);
}

/* ---- all shells ---- */

static const struct {
    const char *shell;
    void (*print)(const bw_command *const *commands, size_t n);
} shells[] = {
    {"bash", print_bash},
    {"zsh", print_zsh},
    {"fish", print_fish},
};

bool bw_completion_print(const char *shell, const bw_command *const *commands, size_t n) {
    for (size_t i = 0; i < sizeof shells / sizeof shells[0]; i++) {
        if (strcmp(shells[i].shell, shell) == 0) {
            shells[i].print(commands, n);
            return true;
        }
    }
    return false;
}
