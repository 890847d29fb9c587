/* reader.c - see reader.h.
 *
 * One pass over the text, which has only one possible form: nothing is looked for, everything is
 * expected.  Where it is not met the answer is just "not so"; why is not this file's business. */
#include "record/reader.h"

#include "base/clock.h"
#include "record/digits.h"
#include "record/json.h"

#include <stdlib.h>
#include <string.h>

enum {
    SLOTS = 512, /* of a table of names; far more than there are names */
    SLOT_SHIFT = 32 - 9,
    COMMON = 6,
    NAMES = BW_M_COUNT + COMMON,
    DIGITS_MAX = 15, /* a double keeps so many, whatever they are */
    DECIMALS_MAX = 17,
    NAME_BYTES_MAX = 40
};

_Static_assert(BW_M_COUNT <= 128, "a set of members takes two words");
_Static_assert(NAMES < SLOTS / 2 && BW_KIND_COUNT < SLOTS / 2, "the tables are roomy");

typedef enum common { KIND = BW_M_COUNT, TIME, BUILD, BY, BENCH, REHEARSAL } common;

static const char *const common_names[COMMON] = {"kind", "time",  "build",
                                                 "by",   "bench", "rehearsal"};

typedef struct name {
    const char *text;
    size_t len;
} name;

typedef struct members {
    uint64_t set[2];
} members;

struct bw_reader {
    name name[NAMES];
    name kind[BW_KIND_COUNT];
    uint16_t rank[NAMES];      /* of a name among all, by its bytes */
    uint16_t name_slot[SLOTS]; /* 0: free; else one more than the index */
    uint16_t kind_slot[SLOTS];
    members must[BW_KIND_COUNT];
    members known[BW_KIND_COUNT]; /* must and may */
    char *room;
    size_t room_size;
    bw_arena *arena; /* of the last entry that was not in its usual form */
};

/* Four of its bytes and its length, spread by the golden ratio. */
static size_t slot_of(const char *text, size_t len) {
    const unsigned char *s = (const unsigned char *)text;
    uint32_t four = s[0] | (uint32_t)s[len / 3] << 8 | (uint32_t)s[len / 2] << 16 |
                    (uint32_t)s[len - 1] << 24;
    return (size_t)(((four ^ (uint32_t)len * 0x85EBCA6Bu) * 0x9E3779B1u) >> SLOT_SHIFT);
}

static void enter(uint16_t *slot, const name *names, size_t index) {
    size_t at = slot_of(names[index].text, names[index].len);
    while (slot[at] != 0) {
        at = (at + 1) % SLOTS;
    }
    slot[at] = (uint16_t)(index + 1);
}

/* The index of the name, or n. */
static size_t find(const uint16_t *slot, const name *names, size_t n, const char *text,
                   size_t len) {
    for (size_t at = len > 0 ? slot_of(text, len) : 0; len > 0 && slot[at] != 0;
         at = (at + 1) % SLOTS) {
        const name *one = &names[slot[at] - 1];
        if (one->len == len && memcmp(one->text, text, len) == 0) {
            return (size_t)slot[at] - 1;
        }
    }
    return n;
}

static void rank_names(bw_reader *reader) {
    for (size_t i = 0; i < NAMES; i++) {
        for (size_t k = 0; k < NAMES; k++) {
            bool before = strcmp(reader->name[k].text, reader->name[i].text) < 0;
            reader->rank[i] = (uint16_t)(reader->rank[i] + (before ? 1 : 0));
        }
    }
}

static void fill(bw_reader *reader) {
    for (size_t i = 0; i < NAMES; i++) {
        const char *text = i < BW_M_COUNT ? bw_member_name((bw_member)i)
                                          : common_names[i - BW_M_COUNT];
        reader->name[i] = (name){text, strlen(text)};
        enter(reader->name_slot, reader->name, i);
    }
    rank_names(reader);
    for (size_t k = 0; k < BW_KIND_COUNT; k++) {
        const char *text = bw_kind_name((bw_kind)k);
        reader->kind[k] = (name){text, strlen(text)};
        enter(reader->kind_slot, reader->kind, k);
        for (size_t m = 0; m < BW_M_COUNT; m++) {
            bw_membership is = bw_kind_member((bw_kind)k, (bw_member)m);
            uint64_t bit = (uint64_t)1 << m % 64;
            reader->must[k].set[m / 64] |= is == BW_MEMBER_MUST ? bit : 0;
            reader->known[k].set[m / 64] |= is != BW_MEMBER_NEVER ? bit : 0;
        }
    }
}

bw_reader *bw_reader_new(void) {
    bw_reader *reader = calloc(1, sizeof *reader);
    if (reader != NULL) {
        fill(reader);
    }
    return reader;
}

void bw_reader_free(bw_reader *reader) {
    if (reader != NULL) {
        bw_arena_free(reader->arena);
        free(reader->room);
        free(reader);
    }
}

typedef struct scan {
    const char *at, *end;
    char *room; /* a text is never longer than its JSON with its quotes, so there is always some */
} scan;

static bool eat(scan *s, char c) {
    bool met = s->at < s->end && *s->at == c;
    s->at += met ? 1 : 0;
    return met;
}

/* High bits set where a byte of x is zero, or (never wrongly below it) above such a one. */
static uint64_t zeros(uint64_t x) {
    return (x - 0x0101010101010101u) & ~x & 0x8080808080808080u;
}

/* How many bytes from `at` on, in eights, stand for themselves and are ASCII. */
static size_t plain_run(const char *at, const char *end) {
    const char *begin = at;
    while (end - at >= 8) {
        uint64_t x = 0;
        memcpy(&x, at, sizeof x);
        uint64_t odd = zeros(x ^ 0x2222222222222222u) | zeros(x ^ 0x5C5C5C5C5C5C5C5Cu) |
                       zeros(x ^ 0x7F7F7F7F7F7F7F7Fu) | (x & 0x8080808080808080u) |
                       ((x - 0x2020202020202020u) & ~x & 0x8080808080808080u);
        if (odd != 0) {
            break;
        }
        at += 8;
    }
    return (size_t)(at - begin);
}

/* The character that the escape behind a backslash stands for; 0: none that is allowed. */
static char escaped(char c, bool lines) {
    return c == '"' || c == '\\' ? c : !lines ? '\0' : c == 'n' ? '\n' : c == 't' ? '\t' : '\0';
}

/* A text with its quotes, into the room, ended by a NUL. */
static bool take_text(scan *s, bool lines, const char **out, size_t *len) {
    bool ascii = true;
    char *to = s->room;
    if (!eat(s, '"')) {
        return false;
    }
    while (s->at < s->end && *s->at != '"') {
        size_t n = plain_run(s->at, s->end);
        if (n == 0) {
            unsigned char c = (unsigned char)*s->at;
            if (c == '\\') {
                s->at++;
                *to = s->at < s->end ? escaped(*s->at, lines) : '\0';
            } else {
                *to = c >= 0x20 && c != 0x7F ? (char)c : '\0';
            }
            if (*to == '\0') {
                return false;
            }
            ascii = ascii && c < 0x80;
            n = 1;
        } else {
            memcpy(to, s->at, n);
        }
        to += n;
        s->at += n;
    }
    *to = '\0';
    *out = s->room;
    *len = (size_t)(to - s->room);
    s->room = to + 1;
    return eat(s, '"') && (ascii || bw_json_readable(*out, *len, lines));
}

/* A list of words, into the room as one text. */
static bool take_words(scan *s, const char **out) {
    const char *word = NULL;
    size_t len = 0;
    char *begin = s->room;
    *begin = '\0';
    *out = begin;
    if (!eat(s, '[')) {
        return false;
    }
    if (eat(s, ']')) {
        s->room = begin + 1;
        return true;
    }
    do {
        if (s->room > begin) {
            s->room[-1] = ' ';
        }
        if (!take_text(s, false, &word, &len) || len == 0 || memchr(word, ' ', len) != NULL) {
            return false;
        }
    } while (eat(s, ','));
    return eat(s, ']');
}

/* Digits without a leading zero, at most max; false where there are none or more. */
static bool take_digits(scan *s, size_t max, uint64_t *value, size_t *n) {
    const char *begin = s->at;
    *value = 0;
    while (s->at < s->end && *s->at >= '0' && *s->at <= '9' && (size_t)(s->at - begin) <= max) {
        *value = *value * 10 + (uint64_t)(*s->at++ - '0');
    }
    *n = (size_t)(s->at - begin);
    return *n > 0 && *n <= max && (*n == 1 || *begin != '0');
}

static bool take_whole(scan *s, int64_t *out) {
    uint64_t value = 0;
    size_t n = 0;
    bool minus = eat(s, '-');
    if (!take_digits(s, 18, &value, &n) || (minus && value == 0)) {
        return false;
    }
    *out = minus ? -(int64_t)value : (int64_t)value;
    return true;
}

/* Up to 15 digits are the same again when C's %.15g writes them: no exponent, none of the zeros
 * that it leaves out.  Both parts of the quotient are exact, so it is rounded once and rightly. */
static bool take_number(scan *s, double *out) {
    static const double powers[] = {1e0, 1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,
                                    1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17};
    uint64_t value = 0;
    size_t before = 0;
    size_t behind = 0;
    size_t zeros_behind = 0; /* before the first digit that counts */
    bool minus = eat(s, '-');
    if (!take_digits(s, DIGITS_MAX, &value, &before)) {
        return false;
    }
    bool below_one = value == 0;
    if (eat(s, '.')) {
        for (; s->at < s->end && *s->at >= '0' && *s->at <= '9' && behind < DECIMALS_MAX;
             behind++) {
            zeros_behind += value == 0 && *s->at == '0' ? 1 : 0;
            value = value * 10 + (uint64_t)(*s->at++ - '0');
        }
        if (behind == 0 || s->at[-1] == '0') {
            return false;
        }
    }
    /* Below a thousandth it may be written with an exponent. */
    size_t digits = below_one ? behind - zeros_behind : before + behind;
    if (zeros_behind > 2 || digits > DIGITS_MAX + 2 || (value == 0 && (minus || behind > 0))) {
        return false;
    }
    double number = 0;
    if (digits <= DIGITS_MAX) {
        number = (double)value / powers[behind];
    } else if (!bw_digits_read(value, digits, behind, &number)) {
        return false;
    }
    *out = minus ? -number : number;
    return true;
}

static bool eat_word(scan *s, const char *word, size_t len) {
    bool met = (size_t)(s->end - s->at) >= len && memcmp(s->at, word, len) == 0;
    s->at += met ? len : 0;
    return met;
}

static bool take_flag(scan *s, bool *out) {
    *out = eat_word(s, "true", 4);
    return *out || eat_word(s, "false", 5);
}

static bool take_member(scan *s, bw_member member, bw_value *out) {
    size_t len = 0;
    out->type = bw_member_type(member);
    switch (out->type) {
    case BW_VALUE_TEXT:
        return take_text(s, member == BW_M_TEXT, &out->as.text, &len);
    case BW_VALUE_WORDS:
        return take_words(s, &out->as.text);
    case BW_VALUE_NUMBER:
        return take_number(s, &out->as.number);
    case BW_VALUE_WHOLE:
        return take_whole(s, &out->as.whole);
    case BW_VALUE_FLAG:
        return take_flag(s, &out->as.flag);
    case BW_VALUE_NONE:
        break;
    }
    return false;
}

static bool take_common(bw_reader *reader, scan *s, size_t index, bw_entry *out) {
    const char *text = NULL;
    size_t len = 0;
    if (index == REHEARSAL) {
        out->rehearsal = eat_word(s, "true", 4);
        return out->rehearsal;
    }
    if (!take_text(s, false, &text, &len) || len == 0) {
        return false;
    }
    switch ((common)index) {
    case KIND:
        out->kind_name = text;
        out->kind = (bw_kind)find(reader->kind_slot, reader->kind, BW_KIND_COUNT, text, len);
        return out->kind != BW_KIND_UNKNOWN;
    case TIME:
        return bw_time_parse(text, &out->time_ms, NULL) == BW_OK;
    case BUILD:
        out->build = text;
        return true;
    case BY:
        out->by = text;
        return true;
    case BENCH:
        out->bench = text;
        return true;
    case REHEARSAL:
        break;
    }
    return false;
}

/* The next member's name; names come in the order of their bytes. */
static size_t take_name(const bw_reader *reader, scan *s, int *last_rank) {
    size_t left = (size_t)(s->end - s->at);
    const char *end = NULL;
    if (eat(s, '"')) {
        left = left - 1 < NAME_BYTES_MAX ? left - 1 : NAME_BYTES_MAX;
        end = memchr(s->at, '"', left);
    }
    if (end == NULL) {
        return NAMES;
    }
    size_t index = find(reader->name_slot, reader->name, NAMES, s->at, (size_t)(end - s->at));
    s->at = end + 1;
    if (index == NAMES || (int)reader->rank[index] <= *last_rank || !eat(s, ':')) {
        return NAMES;
    }
    *last_rank = reader->rank[index];
    return index;
}

static bool complete(const bw_reader *reader, const bw_entry *entry, const members *there) {
    bool fits = entry->kind_name != NULL && entry->build != NULL && entry->by != NULL &&
                entry->bench != NULL && entry->time_ms != INT64_MIN;
    for (size_t i = 0; fits && i < 2; i++) {
        fits = (there->set[i] & ~reader->known[entry->kind].set[i]) == 0 &&
               (reader->must[entry->kind].set[i] & ~there->set[i]) == 0;
    }
    return fits;
}

static bool make_room(bw_reader *reader, size_t size) {
    if (reader->room_size < size) {
        free(reader->room);
        reader->room = malloc(size * 2);
        reader->room_size = reader->room == NULL ? 0 : size * 2;
    }
    return reader->room != NULL;
}

bool bw_reader_quick(bw_reader *reader, const char *json, size_t len, bw_entry *out) {
    members there = {{0}};
    int last_rank = -1;
    if (len > BW_ENTRY_BYTES_MAX || !make_room(reader, len + 8)) {
        return false;
    }
    scan s = {json, json + len, reader->room};
    *out = (bw_entry){.kind = BW_KIND_UNKNOWN, .time_ms = INT64_MIN};
    bool fits = eat(&s, '{');
    do {
        size_t index = fits ? take_name(reader, &s, &last_rank) : NAMES;
        if (index >= NAMES) {
            return false;
        }
        if (index < BW_M_COUNT) {
            there.set[index / 64] |= (uint64_t)1 << index % 64;
            fits = take_member(&s, (bw_member)index, &out->value[index]);
        } else {
            fits = take_common(reader, &s, index, out);
        }
    } while (fits && eat(&s, ','));
    return fits && eat(&s, '}') && s.at == s.end && complete(reader, out, &there);
}

bw_status bw_reader_decode(bw_reader *reader, const char *json, size_t len, bw_entry *out,
                           bw_err *err) {
    if (bw_reader_quick(reader, json, len, out)) {
        return BW_OK;
    }
    bw_arena_free(reader->arena);
    reader->arena = bw_arena_new(0);
    return reader->arena == NULL ? bw_fail(err, BW_E_MEM, "no memory to read an entry")
                                 : bw_entry_decode(json, len, reader->arena, out, err);
}
