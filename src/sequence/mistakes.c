/* mistakes.c - see mistakes.h. */
#include "sequence/mistakes.h"

#include "base/text.h"
#include "sequence/line_of.h"

#include <stdlib.h>
#include <string.h>

enum { MISTAKE_BYTES_MAX = 400 };

void bw_mistakes_init(bw_mistakes *mistakes, bw_arena *arena, const char *const *file,
                      size_t file_n) {
    memset(mistakes, 0, sizeof *mistakes);
    mistakes->arena = arena;
    mistakes->file = file;
    mistakes->file_n = file_n;
}

bw_where bw_mistakes_where(const bw_mistakes *mistakes, bw_spot spot) {
    size_t file = spot.source < mistakes->file_n ? spot.source : 0;
    return (bw_where){.file = mistakes->file[file], .line = spot.line > 0 ? (int)spot.line : 1};
}

/* Bytes of the printable character at text, 0 where there is none. */
static size_t printable(const char *text, size_t len) {
    for (size_t n = 1; n <= 4 && n <= len; n++) {
        if (bw_text_printable(text, n, false)) {
            return n;
        }
    }
    return 0;
}

/* Copies text; a byte that a reader would not see as itself becomes \xNN. */
static void make_printable(const char *text, bw_text *out) {
    size_t len = strlen(text);
    if (bw_text_printable(text, len, false)) {
        bw_text_add(out, "%s", text);
        return;
    }
    for (size_t i = 0; i < len;) {
        size_t n = printable(text + i, len - i);
        if (n > 0) {
            bw_text_add(out, "%.*s", (int)n, text + i);
            i += n;
        } else {
            bw_text_add(out, "\\x%02X", (unsigned)(unsigned char)text[i]);
            i++;
        }
    }
}

bw_nearest bw_mistakes_nearest(bw_mistakes *mistakes, const char *wanted) {
    bool enough = mistakes->searches == BW_NEAREST_SEARCHES_MAX;
    mistakes->searches += enough ? 0 : 1;
    return bw_nearest_to(enough ? NULL : wanted);
}

static bool same_spot(bw_spot a, bw_spot b) {
    return a.source == b.source && a.line == b.line;
}

bw_spot bw_mistakes_at(bw_mistakes *mistakes, bw_spot spot, const char *word, const char *field,
                       size_t item) {
    if (mistakes->source == NULL || spot.source >= mistakes->file_n || bw_mistakes_full(mistakes)) {
        return spot;
    }
    char key[BW_LINES_KEY_MAX];
    bw_text text = bw_text_on(key, sizeof key);
    bw_text_add(&text, "%s %s %zu", word, field == NULL ? "" : field, item);
    for (size_t i = 0; i < mistakes->known_n; i++) {
        const bw_known_line *known = &mistakes->known[i];
        if (same_spot(known->spot, spot) && strcmp(known->key, key) == 0) {
            return (bw_spot){spot.source, known->line};
        }
    }
    const bw_source *source = &mistakes->source[spot.source];
    bool enough = mistakes->known_n == BW_LINES_KNOWN_MAX ||
                  mistakes->read_bytes + source->len > BW_LINES_READ_MAX;
    if (enough || text.cut) {
        return spot;
    }
    mistakes->read_bytes += source->len;
    bw_known_line *known = &mistakes->known[mistakes->known_n++];
    known->spot = spot;
    memcpy(known->key, key, sizeof key);
    known->line = bw_line_of(source->text, source->len, spot.line, word, field, item);
    return (bw_spot){spot.source, known->line};
}

bool bw_mistakes_full(const bw_mistakes *mistakes) {
    return mistakes->more;
}

static bool is_known(const bw_mistakes *mistakes, bw_spot spot, const char *text) {
    for (size_t i = 0; i < mistakes->n; i++) {
        bool here = mistakes->list[i].spot.source == spot.source &&
                    mistakes->list[i].spot.line == spot.line;
        if (here && strcmp(mistakes->list[i].text, text) == 0) {
            return true;
        }
    }
    return false;
}

static void drop(bw_mistakes *mistakes, bw_spot spot) {
    mistakes->more = true;
    mistakes->more_at = spot;
}

void bw_mistake_add(bw_mistakes *mistakes, bw_spot spot, const char *format, ...) {
    if (bw_mistakes_full(mistakes)) {
        return;
    }
    if (mistakes->looked_at == BW_MISTAKES_LOOKED_AT) {
        drop(mistakes, spot);
        return;
    }
    mistakes->looked_at++;
    char raw[MISTAKE_BYTES_MAX];
    char clean[MISTAKE_BYTES_MAX];
    bw_text text = bw_text_on(raw, sizeof raw);
    va_list args;
    va_start(args, format);
    bw_text_add_v(&text, format, args);
    va_end(args);
    bw_text out = bw_text_on(clean, sizeof clean);
    make_printable(raw, &out);
    if (is_known(mistakes, spot, clean)) {
        return;
    }
    if (mistakes->n == BW_MISTAKES_MAX) {
        drop(mistakes, spot);
        return;
    }
    const char *kept = bw_arena_text(mistakes->arena, clean);
    if (kept == NULL) {
        mistakes->memory_out = true;
        return;
    }
    mistakes->list[mistakes->n].spot = spot;
    mistakes->list[mistakes->n].text = kept;
    mistakes->n++;
}

bw_status bw_mistakes_take(bw_mistakes *mistakes, const bw_mistake **out, size_t *n, bw_err *err) {
    bw_mistake *list = bw_arena_alloc(mistakes->arena, mistakes->n + 1, sizeof *list);
    if (list == NULL || mistakes->memory_out) {
        return bw_fail(err, BW_E_MEM, "out of memory for the mistakes of a sequence");
    }
    size_t taken = 0;
    for (size_t file = 0; file < mistakes->file_n; file++) {
        size_t first = taken;
        for (size_t i = 0; i < mistakes->n; i++) {
            bw_where where = bw_mistakes_where(mistakes, mistakes->list[i].spot);
            if (where.file != mistakes->file[file]) {
                continue;
            }
            size_t at = taken++;
            for (; at > first && list[at - 1].where.line > where.line; at--) {
                list[at] = list[at - 1];
            }
            list[at] = (bw_mistake){.where = where, .text = mistakes->list[i].text};
        }
    }
    if (mistakes->more) {
        const char *text = mistakes->n == BW_MISTAKES_MAX
                               ? "there are more mistakes, from here on, than are told: mend these "
                                 "first"
                               : "mistakes come so often that from here on they are not looked at: "
                                 "mend these first";
        list[taken++] = (bw_mistake){.where = bw_mistakes_where(mistakes, mistakes->more_at),
                                     .text = text};
    }
    *out = list;
    *n = taken;
    return BW_OK;
}
