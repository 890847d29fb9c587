/* line_of.c - see line_of.h.  Enough of Lua's lexis to know what stands in braces and what in
 * quotes. */
#include "sequence/line_of.h"

#include <stdbool.h>
#include <string.h>

typedef struct lexer {
    const char *at, *end;
    unsigned line;
} lexer;

enum { END = 0, NAME = 'n', OTHER = 'o' };

typedef struct token {
    char kind; /* END, NAME, OTHER, or the sign itself */
    const char *text;
    size_t len;
    unsigned line;
} token;

/* ---- lexis ---- */

static char look(const lexer *l, size_t ahead) {
    return (size_t)(l->end - l->at) > ahead ? l->at[ahead] : '\0';
}

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

static bool is_letter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}

static bool is_break(char c) {
    return c == '\n' || c == '\r';
}

/* One character on; CR and LF behind each other, either way round, are one line's end. */
static void step(lexer *l) {
    char c = *l->at++;
    if (is_break(c)) {
        char next = look(l, 0);
        l->at += is_break(next) && next != c ? 1 : 0;
        l->line++;
    }
}

/* Past `[[ ... ]]` with any number of = between; false where none begins here. */
static bool skip_long(lexer *l) {
    size_t level = 0;
    while (look(l, 1 + level) == '=') {
        level++;
    }
    if (look(l, 0) != '[' || look(l, 1 + level) != '[') {
        return false;
    }
    for (l->at += level + 2; l->at < l->end; step(l)) {
        size_t same = 0;
        while (look(l, 0) == ']' && same < level && look(l, 1 + same) == '=') {
            same++;
        }
        if (look(l, 0) == ']' && same == level && look(l, 1 + same) == ']') {
            l->at += level + 2;
            return true;
        }
    }
    return true;
}

static void skip_quoted(lexer *l) {
    char quote = *l->at++;
    while (l->at < l->end && *l->at != quote) {
        l->at += *l->at == '\\' && l->end - l->at > 1 ? 1 : 0;
        step(l);
    }
    l->at += l->at < l->end ? 1 : 0;
}

static bool skip_comment(lexer *l) {
    if (look(l, 0) != '-' || look(l, 1) != '-') {
        return false;
    }
    l->at += 2;
    if (!skip_long(l)) {
        while (l->at < l->end && !is_break(*l->at)) {
            l->at++;
        }
    }
    return true;
}

static void skip_blank(lexer *l) {
    while (l->at < l->end) {
        char c = *l->at;
        if (c == ' ' || c == '\t' || is_break(c)) {
            step(l);
        } else if (!skip_comment(l)) {
            return;
        }
    }
}

static token next(lexer *l) {
    skip_blank(l);
    token t = {.kind = END, .text = l->at, .line = l->line};
    char c = look(l, 0);
    if (l->at == l->end) {
        return t;
    }
    t.kind = OTHER;
    if (is_letter(c) || is_digit(c)) {
        t.kind = is_letter(c) ? NAME : OTHER;
        while (is_letter(look(l, 0)) || is_digit(look(l, 0))) {
            l->at++;
        }
    } else if (c == '"' || c == '\'') {
        skip_quoted(l);
    } else if (strchr("=<>~", c) != NULL && look(l, 1) == '=') {
        l->at += 2;
    } else if (!skip_long(l)) {
        t.kind = c;
        l->at++;
    }
    t.len = (size_t)(l->at - t.text);
    return t;
}

static token peek(lexer l) {
    return next(&l);
}

static bool is_name(token t, const char *name) {
    return t.kind == NAME && t.len == strlen(name) && memcmp(t.text, name, t.len) == 0;
}

/* ---- what stands in braces ---- */

/* Behind `{`: goes on to behind `=` of the field; *line is where its name stands. */
static bool find_field(lexer *l, const char *field, unsigned *line) {
    size_t depth = 0;
    bool begins = true; /* an item may begin here */
    for (token t = next(l); t.kind != END; t = next(l)) {
        if (begins && depth == 0 && is_name(t, field) && peek(*l).kind == '=') {
            (void)next(l);
            *line = t.line;
            return true;
        }
        if (strchr("{([", t.kind) != NULL) {
            depth++;
        } else if (strchr("})]", t.kind) != NULL && depth-- == 0) {
            return false;
        }
        begins = t.kind == ',' || t.kind == ';';
    }
    return false;
}

/* Behind `{`: where the item of the list begins; 0: nowhere. */
static unsigned find_item(lexer *l, size_t item) {
    size_t depth = 0;
    size_t n = 0;
    bool begins = true;
    for (token t = next(l); t.kind != END; t = next(l)) {
        bool named = t.kind == '[' || (t.kind == NAME && peek(*l).kind == '=');
        if (begins && depth == 0 && !named && t.kind != '}' && ++n == item) {
            return t.line;
        }
        if (strchr("{([", t.kind) != NULL) {
            depth++;
        } else if (strchr("})]", t.kind) != NULL && depth-- == 0) {
            return 0;
        }
        begins = t.kind == ',' || t.kind == ';';
    }
    return 0;
}

/* To behind the brace of the one `word {` or `word ({` in the line. */
static bool find_word(lexer *l, unsigned line, const char *word) {
    lexer found = *l;
    size_t n = 0;
    char before = OTHER;
    for (token t = next(l); t.kind != END && t.line <= line; t = next(l)) {
        if (t.line == line && before != '.' && before != ':' && is_name(t, word)) {
            lexer behind = *l;
            token open = next(&behind);
            open = open.kind == '(' ? next(&behind) : open;
            if (open.kind == '{') {
                found = behind;
                n++;
            }
        }
        before = t.kind;
    }
    *l = found;
    return n == 1;
}

unsigned bw_line_of(const char *text, size_t len, unsigned line, const char *word,
                    const char *field, size_t item) {
    lexer l = {.at = text, .end = text + len, .line = 1};
    unsigned found = line;
    if (!find_word(&l, line, word) || (field != NULL && !find_field(&l, field, &found))) {
        return line;
    }
    bool in_list = item > 0 && (field == NULL || next(&l).kind == '{');
    unsigned at = in_list ? find_item(&l, item) : 0;
    return at > 0 ? at : found;
}
