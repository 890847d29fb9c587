/* completion.c - see completion.h. */
#include "command/completion.h"

#include <stdio.h>
#include <string.h>

static const char head[] =
    "# What bash offers behind boltwright; made by: boltwright --completion\n"
    "_boltwright() {\n"
    "    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]}\n"
    "    local options= values= words=\n"
    "    COMPREPLY=()\n";

static const char tail[] =
    "    esac\n"
    "    options+=' --home --json --help'\n"
    "    values+=' --home '\n"
    "    if [[ $values == *\" $before \"* ]]; then\n"
    "        COMPREPLY=($(compgen -f -- \"$word\"))\n"
    "    elif [[ $word == -* ]]; then\n"
    "        COMPREPLY=($(compgen -W \"$options\" -- \"$word\"))\n"
    "    else\n"
    "        COMPREPLY=($(compgen -W \"$words\" -- \"$word\") $(compgen -f -- \"$word\"))\n"
    "    fi\n"
    "}\n"
    "complete -o filenames -F _boltwright boltwright\n";

/* The words of a usage that are typed as they stand: `show` of "show | export [--pem]". */
static void print_words(const char *usage) {
    for (const char *at = usage; *at != '\0';) {
        size_t len = strspn(at, "abcdefghijklmnopqrstuvwxyz");
        if (len > 0 && (at[len] == ' ' || at[len] == '\0')) {
            (void)printf("%.*s ", (int)len, at);
        }
        at += strcspn(at, "|");
        at += strspn(at, "| ");
    }
}

static void print_command(const bw_command *command) {
    (void)printf("    %s)\n        options='", command->name);
    for (const bw_option_row *row = command->option; row->name != NULL; row++) {
        (void)printf("%s ", row->name);
    }
    (void)printf("'\n        values=' ");
    for (const bw_option_row *row = command->option; row->name != NULL; row++) {
        if (row->value_name != NULL) {
            (void)printf("%s ", row->name);
        }
    }
    (void)printf("'\n        words='");
    print_words(command->usage);
    (void)printf("'\n        ;;\n");
}

void bw_completion_print(const bw_command *const *commands, size_t n) {
    (void)fputs(head, stdout);
    (void)printf("    if ((COMP_CWORD == 1)); then\n        COMPREPLY=($(compgen -W '");
    for (size_t i = 0; i < n; i++) {
        (void)printf("%s ", commands[i]->name);
    }
    (void)printf("--help --version' -- \"$word\"))\n        return\n    fi\n"
                 "    case ${COMP_WORDS[1]} in\n");
    for (size_t i = 0; i < n; i++) {
        print_command(commands[i]);
    }
    (void)fputs(tail, stdout);
}
