/* help.c - see help.h. */
#include "command/help.h"

#include "base/text.h"

#include <stdio.h>
#include <string.h>

enum { COLUMNS = 79, OPTION_COLUMN = 25, SAYS_COLUMN = 13, LEFT_BYTES = 80 };

const bw_option_row bw_common_options[] = {
    [BW_OPTION_HOME] = {"--home", "DIR", "where the record and the key are"},
    {"--json", NULL, "JSON Lines on standard output"},
    {"--help", NULL, "this text"},
    {NULL, NULL, NULL},
};

/* Up to where a text must stay on one line: the next space; of a usage the next before an option or
 * a bracket, so that an option keeps its value. */
static size_t piece(const char *text, bool usage) {
    size_t len = strcspn(text, " \n");
    while (usage && text[len] == ' ' && strchr("[|-", text[len + 1]) == NULL) {
        len += 1 + strcspn(text + len + 1, " \n");
    }
    return len;
}

/* Prints text from column `at` on, broken where it may be, what goes on indented.  A single newline
 * is a space, two are an empty line, one before spaces is a line that is indented by them. */
static void print_broken(const char *text, size_t at, size_t indent, bool usage) {
    size_t column = at;
    while (*text != '\0') {
        char word[LEFT_BYTES];
        size_t len = piece(text, usage);
        (void)snprintf(word, sizeof word, "%.*s", (int)len, text);
        size_t columns = bw_text_columns(word);
        bool first = column == indent;
        if (!first && column + 1 + columns > COLUMNS) {
            (void)printf("\n%*s", (int)indent, "");
            column = indent;
            first = true;
        }
        (void)printf("%s%.*s", first ? "" : " ", (int)len, text);
        column += columns + (first ? 0 : 1);
        text += len;
        if (text[0] == '\n' && (text[1] == '\n' || text[1] == ' ')) {
            size_t further = strspn(text + 1, " ");
            (void)printf("\n%s%*s", text[1] == '\n' ? "\n" : "", (int)(indent + further), "");
            column = indent;
        }
        text += strspn(text, " \n");
    }
    (void)printf("\n");
}

static void print_options(const bw_option_row *rows) {
    for (const bw_option_row *row = rows; row->name != NULL; row++) {
        char left[LEFT_BYTES];
        (void)snprintf(left, sizeof left, "  %s %s", row->name,
                       row->value_name != NULL ? row->value_name : "");
        size_t columns = bw_text_columns(left);
        if (columns < OPTION_COLUMN) {
            (void)printf("%s%*s", left, (int)(OPTION_COLUMN - columns), "");
        } else {
            (void)printf("%s\n%*s", left, OPTION_COLUMN, "");
        }
        print_broken(row->says, OPTION_COLUMN, OPTION_COLUMN, false);
    }
}

void bw_help_command(const bw_command *c) {
    size_t indent = strlen("boltwright ") + strlen(c->name) + 1;
    (void)printf("boltwright %s ", c->name);
    print_broken(c->usage, indent, indent, true);
    print_broken(c->says, 0, 0, false);
    (void)printf("\n");
    print_options(c->option);
    print_options(bw_common_options);
    if (c->more != NULL) {
        (void)printf("\n");
        print_broken(c->more, 0, 0, false);
    }
    (void)printf("\nExit code: 0 yes, 1 no, 2 written wrongly, 3 the machine failed.\n");
}

void bw_help_commands(const bw_command *const *commands, size_t n) {
    (void)printf("boltwright COMMAND ...\n");
    print_broken("Runs an assembly sequence at the bench, judges each fastener from the wrench's "
                 "trace, and keeps a record that a stranger can verify.",
                 0, 0, false);
    (void)printf("\n");
    for (size_t i = 0; i < n; i++) {
        (void)printf("  %-10s ", commands[i]->name);
        print_broken(commands[i]->says, SAYS_COLUMN, SAYS_COLUMN, false);
    }
    (void)printf("\n");
    print_broken("boltwright COMMAND --help tells more; boltwright --version tells which this "
                 "is; boltwright --completion is for the shell.\n\n"
                 "The maker's manual prevails over every figure in a sequence; local codes and "
                 "licensed practice go first. Wear eye protection; never use a torque wrench to "
                 "loosen.",
                 0, 0, false);
}
