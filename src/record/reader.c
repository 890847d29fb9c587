/* reader.c - see reader.h.
 *
 * One pass over the text, which has only one possible form: nothing is looked for, everything is
 * expected.  Where it is not met the answer is just "not so"; why is not this file's business.
 *
 * Entries of a kind are much alike, and come in rounds: pull begun, pull, verdict.  So the last
 * entry of each kind is kept beside its text, and the next one is read along it: what has the same
 * bytes in the same place says the same, and only the rest is read anew. */
#include "record/reader.h"

#include "base/clock.h"
#include "record/json.h"
#include "record/scan.h"

#include <stdlib.h>
#include <string.h>

enum {
    SLOTS = 512, /* of a table of names; far more than there are names */
    SLOT_SHIFT = 32 - 9,
    COMMON = 6,
    NAMES = BW_M_COUNT + COMMON,
    NAME_BYTES_MAX = 40,
    LIKE_BYTES = 2048, /* of a text that is kept; longer ones are those of sequences */
    SPARE = 16,        /* by so much a text may be longer than the one that is kept */
    TIME_BYTES = 24,
    DATE_BYTES = 11 /* of a time, with its T */
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

/* Where a member stands in its entry's text. */
typedef struct span {
    uint16_t index;      /* of its name */
    uint16_t text, room; /* where its text is kept, and how long it may be with its NUL */
    uint32_t value, end; /* first byte of the value, and the one behind it */
} span;

/* The last entry of a kind. */
typedef struct like {
    bw_entry entry;
    size_t len; /* 0: none is kept */
    size_t n;
    span span[NAMES];
    char json[LIKE_BYTES];
    char text[LIKE_BYTES + NAMES * SPARE];
} like;

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
    char date[DATE_BYTES + 1]; /* of the last time that was read */
    int64_t midnight_ms;
    bw_entry entry; /* the last one, where it is not kept */
    span span[NAMES];
    size_t span_n;
    like *like[BW_KIND_COUNT];   /* NULL: none yet */
    bw_kind next[BW_KIND_COUNT]; /* what came behind such a one the last time */
    bw_kind last;
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
    if (reader == NULL) {
        return;
    }
    for (size_t i = 0; i < BW_KIND_COUNT; i++) {
        free(reader->like[i]);
    }
    bw_arena_free(reader->arena);
    free(reader->room);
    free(reader);
}

/* ---- one member ---- */

/* Of "09:45:48.120Z", in milliseconds; -1: it is none. */
static int64_t time_of_day(const char *text) {
    static const struct {
        size_t at;
        int digits, below;
        int64_t ms;
    } rows[] = {{0, 2, 24, 3600000}, {3, 2, 60, 60000}, {6, 2, 60, 1000}, {9, 3, 1000, 1}};
    int64_t sum = 0;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int value = 0;
        for (int k = 0; k < rows[i].digits; k++) {
            char c = text[rows[i].at + (size_t)k];
            value = c >= '0' && c <= '9' ? value * 10 + (c - '0') : rows[i].below;
        }
        sum = sum < 0 || value >= rows[i].below ? -1 : sum + value * rows[i].ms;
    }
    return text[2] == ':' && text[5] == ':' && text[8] == '.' && text[12] == 'Z' ? sum : -1;
}

/* The date is mostly that of the entry before. */
static bool take_time(bw_reader *reader, bw_scan *s, int64_t *out) {
    const char *text = s->at + 1;
    bool shaped = s->end - s->at > TIME_BYTES + 1 && *s->at == '"' && text[TIME_BYTES] == '"';
    int64_t ms = shaped ? time_of_day(text + DATE_BYTES) : -1;
    if (ms < 0) {
        return false;
    }
    s->at += TIME_BYTES + 2;
    if (memcmp(text, reader->date, DATE_BYTES) != 0) {
        char whole[TIME_BYTES + 1];
        int64_t whole_ms = 0;
        memcpy(whole, text, TIME_BYTES);
        whole[TIME_BYTES] = '\0';
        if (bw_time_parse(whole, &whole_ms, NULL) != BW_OK) {
            return false;
        }
        memcpy(reader->date, text, DATE_BYTES);
        reader->midnight_ms = whole_ms - ms;
    }
    *out = reader->midnight_ms + ms;
    return true;
}

static bool take_member(bw_scan *s, bw_member member, bw_value *out) {
    size_t len = 0;
    out->type = bw_member_type(member);
    switch (out->type) {
    case BW_VALUE_TEXT:
        return bw_scan_text(s, member == BW_M_TEXT, &out->as.text, &len);
    case BW_VALUE_WORDS:
        return bw_scan_words(s, &out->as.text);
    case BW_VALUE_NUMBER:
        return bw_scan_number(s, &out->as.number);
    case BW_VALUE_WHOLE:
        return bw_scan_whole(s, &out->as.whole);
    case BW_VALUE_FLAG:
        return bw_scan_flag(s, &out->as.flag);
    case BW_VALUE_NONE:
        break;
    }
    return false;
}

static bool take_common(bw_reader *reader, bw_scan *s, size_t index, bw_entry *out) {
    const char *text = NULL;
    size_t len = 0;
    if (index == REHEARSAL) {
        out->rehearsal = bw_scan_word(s, "true", 4);
        return out->rehearsal;
    }
    if (index == TIME) {
        return take_time(reader, s, &out->time_ms);
    }
    if (!bw_scan_text(s, false, &text, &len) || len == 0) {
        return false;
    }
    switch ((common)index) {
    case KIND:
        out->kind_name = text;
        out->kind = (bw_kind)find(reader->kind_slot, reader->kind, BW_KIND_COUNT, text, len);
        return out->kind != BW_KIND_UNKNOWN;
    case BUILD:
        out->build = text;
        return true;
    case BY:
        out->by = text;
        return true;
    case BENCH:
        out->bench = text;
        return true;
    case TIME:
    case REHEARSAL:
        break;
    }
    return false;
}

static bool take_value(bw_reader *reader, bw_scan *s, size_t index, bw_entry *out) {
    return index < BW_M_COUNT ? take_member(s, (bw_member)index, &out->value[index])
                              : take_common(reader, s, index, out);
}

/* Where the entry has the text of that name; NULL: it is no text. */
static const char **text_of(bw_entry *entry, size_t index) {
    if (index < BW_M_COUNT) {
        bw_value *value = &entry->value[index];
        bool text = value->type == BW_VALUE_TEXT || value->type == BW_VALUE_WORDS;
        return text ? &value->as.text : NULL;
    }
    return index == KIND    ? &entry->kind_name
           : index == BUILD ? &entry->build
           : index == BY    ? &entry->by
           : index == BENCH ? &entry->bench
                            : NULL;
}

/* ---- an entry as such ---- */

/* The next member's name; names come in the order of their bytes. */
static size_t take_name(const bw_reader *reader, bw_scan *s, int *last_rank) {
    size_t left = (size_t)(s->end - s->at);
    const char *end = NULL;
    if (bw_scan_eat(s, '"')) {
        left = left - 1 < NAME_BYTES_MAX ? left - 1 : NAME_BYTES_MAX;
        end = memchr(s->at, '"', left);
    }
    if (end == NULL) {
        return NAMES;
    }
    size_t index = find(reader->name_slot, reader->name, NAMES, s->at, (size_t)(end - s->at));
    s->at = end + 1;
    if (index == NAMES || (int)reader->rank[index] <= *last_rank || !bw_scan_eat(s, ':')) {
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

static bool read_entry(bw_reader *reader, const char *json, size_t len) {
    members there = {{0}};
    int last_rank = -1;
    bw_scan s = {json, json + len, reader->room, reader->room + reader->room_size};
    reader->entry = (bw_entry){.kind = BW_KIND_UNKNOWN, .time_ms = INT64_MIN};
    reader->span_n = 0;
    bool fits = bw_scan_eat(&s, '{');
    do {
        size_t index = fits ? take_name(reader, &s, &last_rank) : NAMES;
        if (index >= NAMES) {
            return false;
        }
        span *at = &reader->span[reader->span_n++];
        *at = (span){.index = (uint16_t)index, .value = (uint32_t)(s.at - json)};
        if (index < BW_M_COUNT) {
            there.set[index / 64] |= (uint64_t)1 << index % 64;
        }
        fits = take_value(reader, &s, index, &reader->entry);
        at->end = (uint32_t)(s.at - json);
    } while (fits && bw_scan_eat(&s, ','));
    return fits && bw_scan_eat(&s, '}') && s.at == s.end &&
           complete(reader, &reader->entry, &there);
}

/* ---- an entry like the one before ---- */

static void keep_texts(like *to) {
    size_t used = 0;
    for (size_t i = 0; i < to->n; i++) {
        const char **text = text_of(&to->entry, to->span[i].index);
        if (text != NULL) {
            size_t size = strlen(*text) + 1;
            to->span[i].text = (uint16_t)used;
            to->span[i].room = (uint16_t)(size + SPARE - 1);
            memcpy(to->text + used, *text, size);
            *text = to->text + used;
            used += to->span[i].room;
        }
    }
}

/* The entry that was read, where it then stands. */
static bw_entry *keep(bw_reader *reader, const char *json, size_t len) {
    like **to = &reader->like[reader->entry.kind];
    if (len > LIKE_BYTES || (*to == NULL && (*to = malloc(sizeof **to)) == NULL)) {
        return &reader->entry;
    }
    (*to)->entry = reader->entry;
    (*to)->len = len;
    (*to)->n = reader->span_n;
    memcpy((*to)->span, reader->span, reader->span_n * sizeof reader->span[0]);
    memcpy((*to)->json, json, len);
    keep_texts(*to);
    return &(*to)->entry;
}

/* How many bytes from the beginning on are the same. */
static size_t same_bytes(const char *a, size_t a_len, const char *b, size_t b_len) {
    size_t n = a_len < b_len ? a_len : b_len;
    size_t i = 0;
    for (; i + 16 <= n; i += 16) {
        uint64_t x[2];
        uint64_t y[2];
        memcpy(x, a + i, sizeof x);
        memcpy(y, b + i, sizeof y);
        if (((x[0] ^ y[0]) | (x[1] ^ y[1])) != 0) {
            break;
        }
    }
    while (i < n && a[i] == b[i]) {
        i++;
    }
    return i;
}

/* The value is another one: it takes the place of the old one. */
static bool read_anew(bw_reader *reader, like *l, const span *at, bw_scan *s) {
    s->room = l->text + at->text;
    s->room_end = s->room + at->room;
    return at->index != KIND && take_value(reader, s, at->index, &l->entry);
}

/* Members that end before `same` say what they said, and may have moved.  The byte behind a value
 * ends it. */
static size_t pass(like *l, size_t i, size_t same, uint32_t moved) {
    for (; i < l->n && l->span[i].end < same; i++) {
        if (moved != 0) {
            l->span[i].value += moved;
            l->span[i].end += moved;
        }
    }
    return i;
}

/* Both texts are gone through side by side: from one member that differs to the next.  False, and
 * half done, where they differ in more than values. */
static bool read_along(bw_reader *reader, like *l, const char *json, size_t len) {
    bw_scan s = {json, json + len, NULL, NULL};
    size_t at = 0; /* in the old text, where s.at stands in the new one */
    size_t i = 0;
    for (;;) {
        size_t same = same_bytes(l->json + at, l->len - at, s.at, (size_t)(s.end - s.at));
        uint32_t moved = (uint32_t)((size_t)(s.at - json) - at);
        i = pass(l, i, at + same, moved);
        if (i == l->n) {
            return at + same == l->len && same == (size_t)(s.end - s.at);
        }
        span *one = &l->span[i++];
        if (one->value > at + same) {
            return false;
        }
        s.at += one->value - at;
        at = one->end;
        one->value += moved;
        if (!read_anew(reader, l, one, &s)) {
            return false;
        }
        one->end = (uint32_t)(s.at - json);
    }
}

static bw_entry *try_along(bw_reader *reader, const char *json, size_t len) {
    like *l = reader->like[reader->next[reader->last]];
    if (l == NULL || l->len == 0 || len > LIKE_BYTES) {
        return NULL;
    }
    if (!read_along(reader, l, json, len)) {
        l->len = 0;
        return NULL;
    }
    memcpy(l->json, json, len);
    l->len = len;
    return &l->entry;
}

/* ---- what others call ---- */

static bool make_room(bw_reader *reader, size_t size) {
    if (reader->room_size < size) {
        free(reader->room);
        reader->room = malloc(size * 2);
        reader->room_size = reader->room == NULL ? 0 : size * 2;
    }
    return reader->room != NULL;
}

bool bw_reader_quick(bw_reader *reader, const char *json, size_t len, bw_entry **out) {
    if (len > BW_ENTRY_BYTES_MAX || !make_room(reader, len + 8)) {
        return false;
    }
    bw_entry *entry = try_along(reader, json, len);
    if (entry == NULL && !read_entry(reader, json, len)) {
        return false;
    }
    entry = entry == NULL ? keep(reader, json, len) : entry;
    reader->next[reader->last] = entry->kind;
    reader->last = entry->kind;
    *out = entry;
    return true;
}

bw_status bw_reader_decode(bw_reader *reader, const char *json, size_t len, bw_entry **out,
                           bw_err *err) {
    if (bw_reader_quick(reader, json, len, out)) {
        return BW_OK;
    }
    bw_arena_free(reader->arena);
    reader->arena = bw_arena_new(0);
    if (reader->arena == NULL) {
        return bw_fail(err, BW_E_MEM, "no memory to read an entry");
    }
    bw_status status = bw_entry_decode(json, len, reader->arena, &reader->entry, err);
    *out = &reader->entry;
    return status;
}
