/* fields.c - see fields.h. */
#include "sequence/fields.h"

#include "base/text.h"
#include "sequence/words.h"

#include <math.h>
#include <string.h>

/* Beyond any engine, in base units: catches slips of the decimal point, not judgement. */
static const double most_base = 1e9;

/* A text may be written over so many times its length, in white space between the words. */
enum { WRITTEN_SHARE = 16, FIELD_BYTES = 64 };

/* ---- what was found ---- */

static bool is_short_text(const bw_value *value) {
    return value->len <= 32 && strlen(value->text) == value->len;
}

const char *bw_fields_describe(const bw_value *value, char *out, size_t size) {
    bw_text text = bw_text_on(out, size);
    char shown[64];
    switch (value->kind) {
    case BW_VALUE_NIL:
        bw_text_add(&text, "nothing");
        break;
    case BW_VALUE_FLAG:
        bw_text_add(&text, "%s", value->flag ? "true" : "false");
        break;
    case BW_VALUE_NUMBER:
        bw_text_add(&text, "the bare number %.14g", value->number);
        break;
    case BW_VALUE_TEXT:
        bw_text_add(&text, is_short_text(value) ? "the text \"%s\"" : "a text", value->text);
        break;
    case BW_VALUE_QUANTITY:
        bw_text_add(&text, "%s", bw_quantity_text(value->quantity, shown, sizeof shown));
        break;
    case BW_VALUE_TABLE:
        bw_text_add(&text, "a list in braces");
        break;
    case BW_VALUE_NODE:
        bw_text_add(&text, "%s{ ... }", value->text);
        break;
    case BW_VALUE_REPORTED:
        bw_text_add(&text, "a mistake");
        break;
    case BW_VALUE_OTHER:
        bw_text_add(&text, "a %s", value->text);
        break;
    }
    return out;
}

bw_spot bw_fields_at(const bw_fields *form, const char *field) {
    const char *word = form->outer_word != NULL ? form->outer_word : form->word;
    const char *path = form->outer_word != NULL ? form->outer_field : field;
    char name[32];
    size_t len = strcspn(path, "[");
    if (len >= sizeof name) {
        return form->spot;
    }
    memcpy(name, path, len);
    name[len] = '\0';
    size_t item = 0;
    for (const char *digit = path + len + (path[len] == '['); *digit >= '0' && *digit <= '9';
         digit++) {
        item = 10 * item + (size_t)(*digit - '0');
    }
    bool own = item > 0 && strcmp(name, word) == 0;
    return bw_mistakes_at(form->mistakes, form->spot, word, own ? NULL : name, item);
}

/* Notes that a field is something else than what it needs, at the quantity's or word's own line
 * where it has one. */
static void note_wrong(const bw_fields *form, const bw_value *value, const char *field,
                       const char *needs) {
    if (value->kind == BW_VALUE_REPORTED) {
        return;
    }
    char found[BW_FIELDS_DESCRIBE_MAX];
    bool own_line = value->kind == BW_VALUE_QUANTITY || value->kind == BW_VALUE_NODE;
    bw_mistake_add(form->mistakes, own_line ? value->spot : bw_fields_at(form, field),
                   "`%s` of %s needs %s, not %s", field, form->word, needs,
                   bw_fields_describe(value, found, sizeof found));
}

/* ---- the form itself ---- */

static void note_unknown_field(bw_fields *form, size_t index, const char *fields) {
    const char *field = form->node->key[index];
    if (bw_mistakes_full(form->mistakes)) {
        return;
    }
    bw_nearest nearest = bw_mistakes_nearest(form->mistakes, field);
    bw_nearest_offer_names(&nearest, fields);
    if (nearest.best != NULL) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, field),
                       "%s has no field `%.48s`; did you mean `%.*s`?", form->word, field,
                       (int)nearest.best_len, nearest.best);
        if (form->misspelt_n < BW_FIELDS_MISSPELT_MAX) {
            size_t n = form->misspelt_n++;
            form->misspelt[n].meant = nearest.best;
            form->misspelt[n].len = nearest.best_len;
            form->misspelt[n].value = &form->node->field[index];
        }
    } else {
        bw_mistake_add(form->mistakes, bw_fields_at(form, field),
                       "%s has no field `%.48s`; it takes: %s", form->word, field, fields);
    }
}

/* list: what may stand in it without a name; NULL: nothing. */
static void check_names(bw_fields *form, const char *fields, const char *list) {
    const bw_value *node = form->node;
    for (size_t i = 0; i < node->field_n; i++) {
        if (!bw_name_among(fields, node->key[i])) {
            note_unknown_field(form, i, fields);
        }
    }
    if (list == NULL && node->list_n > 0 && node->list[0].kind != BW_VALUE_REPORTED) {
        char found[BW_FIELDS_DESCRIBE_MAX];
        bw_mistake_add(form->mistakes,
                       bw_mistakes_at(form->mistakes, form->spot, form->word, NULL, 1),
                       "%s holds %s without a name; it takes: %s", form->word,
                       bw_fields_describe(&node->list[0], found, sizeof found), fields);
    }
    if (node->odd != NULL) {
        bw_mistake_add(form->mistakes, form->spot,
                       "%s holds something under %s, where only names can stand", form->word,
                       node->odd);
    }
}

bw_fields bw_fields_in(const bw_fields *outer, const char *field, const bw_value *node,
                       const char *word, const char *fields) {
    bw_fields form = {.mistakes = outer->mistakes,
                      .node = node,
                      .word = word,
                      .spot = outer->spot,
                      .outer_word = outer->word,
                      .outer_field = field};
    check_names(&form, fields, NULL);
    return form;
}

bw_fields bw_fields_of(bw_mistakes *mistakes, const bw_value *node) {
    const bw_word *word = bw_word_find(node->text);
    bw_fields form = {.mistakes = mistakes, .node = node, .word = word->word, .spot = node->spot};
    check_names(&form, word->fields, word->list);
    return form;
}

static const bw_value *find(const bw_fields *form, const char *field) {
    const bw_value *value = bw_value_field(form->node, field);
    for (size_t i = 0; value == NULL && i < form->misspelt_n; i++) {
        size_t len = form->misspelt[i].len;
        if (strncmp(form->misspelt[i].meant, field, len) == 0 && field[len] == '\0') {
            value = form->misspelt[i].value;
        }
    }
    return value;
}

bool bw_fields_has(const bw_fields *form, const char *field) {
    return find(form, field) != NULL;
}

const bw_value *bw_fields_get(const bw_fields *form, const char *field, bw_need need) {
    const bw_value *value = find(form, field);
    if (value == NULL && need == BW_NEEDED) {
        bw_mistake_add(form->mistakes, form->spot, "%s lacks `%s`", form->word, field);
    }
    return value != NULL && value->kind != BW_VALUE_REPORTED ? value : NULL;
}

/* ---- texts ---- */

static bool is_space(char c) {
    return c == ' ' || c == '\n' || c == '\t' || c == '\r';
}

/* Bytes of the white space at text, 0: none.  Wide and narrow blanks look like any other. */
static size_t space_at(const char *text, size_t len) {
    static const char *const wide[] = {"\u00A0", "\u1680", "\u2000", "\u2001", "\u2002", "\u2003",
                                       "\u2004", "\u2005", "\u2006", "\u2007", "\u2008", "\u2009",
                                       "\u200A", "\u202F", "\u205F", "\u2800", "\u3000"};
    if (is_space(text[0])) {
        return 1;
    }
    for (size_t i = 0; ((unsigned char)text[0] & 0x80) != 0 && i < sizeof wide / sizeof wide[0];
         i++) {
        size_t n = strlen(wide[i]);
        if (n <= len && memcmp(text, wide[i], n) == 0) {
            return n;
        }
    }
    return 0;
}

/* Runs of white space become one space, none at the ends: a sentence may go over several lines. */
static size_t draw_together(const char *text, size_t len, char *out) {
    size_t n = 0;
    for (size_t i = 0; i < len;) {
        size_t blank = space_at(text + i, len - i);
        if (blank == 0) {
            out[n++] = text[i];
        } else if (n > 0 && out[n - 1] != ' ') {
            out[n++] = ' ';
        }
        i += blank > 0 ? blank : 1;
    }
    return n > 0 && out[n - 1] == ' ' ? n - 1 : n;
}

/* A clean copy of a text, or NULL with a mistake noted. */
static const char *clean_text(const bw_fields *form, const bw_value *value, const char *field,
                              size_t most) {
    if (value->kind != BW_VALUE_TEXT) {
        note_wrong(form, value, field, "a text in quotes");
        return NULL;
    }
    if (value->len > WRITTEN_SHARE * most) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, field),
                       "`%s` of %s is %zu bytes long: at most %zu", field, form->word, value->len,
                       most);
        return NULL;
    }
    char *copy = bw_arena_copy(form->mistakes->arena, value->text, value->len);
    if (copy == NULL) {
        form->mistakes->memory_out = true;
        return NULL;
    }
    size_t len = draw_together(value->text, value->len, copy);
    copy[len] = '\0';
    const char *wrong = NULL;
    if (len == 0) {
        wrong = "is empty";
    } else if (!bw_text_printable(copy, len, false)) {
        wrong = "holds characters that cannot be shown as they are";
    }
    if (wrong != NULL) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, field), "`%s` of %s %s", field,
                       form->word, wrong);
    } else if (len > most) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, field),
                       "`%s` of %s is %zu bytes long: at most %zu", field, form->word, len, most);
    }
    return wrong == NULL && len <= most ? copy : NULL;
}

const char *bw_fields_text(const bw_fields *form, const char *field, bw_need need) {
    const bw_value *value = bw_fields_get(form, field, need);
    return value == NULL ? NULL : clean_text(form, value, field, BW_PLAN_TEXT_MAX);
}

static bool is_id(const char *text) {
    static const char letters[] =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.";
    return text[strspn(text, letters)] == '\0' && strchr("-_.", text[0]) == NULL;
}

static const char *id_of(const bw_fields *form, const bw_value *value, const char *field) {
    const char *id = clean_text(form, value, field, BW_PLAN_ID_MAX);
    if (id != NULL && !is_id(id)) {
        bw_mistake_add(
            form->mistakes, bw_fields_at(form, field),
            "`%s` of %s may hold letters a to z, digits, - _ and points only, and begins with "
            "a letter or digit: \"%s\"",
            field, form->word, id);
        return NULL;
    }
    return id;
}

const char *bw_fields_id(const bw_fields *form, const char *field, bw_need need) {
    const bw_value *value = bw_fields_get(form, field, need);
    return value == NULL ? NULL : id_of(form, value, field);
}

const char *bw_fields_label(const bw_fields *form, const bw_value *value, const char *field) {
    return clean_text(form, value, field, BW_PLAN_ID_MAX);
}

/* A list without names in it; NULL, noted, where it is something else. */
static const bw_value *plain_list(const bw_fields *form, const bw_value *value, const char *field,
                                  const char *needs) {
    bool plain = value->kind == BW_VALUE_TABLE && value->field_n == 0 && value->odd == NULL;
    if (!plain) {
        note_wrong(form, value, field, needs);
    }
    return plain ? value : NULL;
}

/* "labels[3]", for messages and for bw_fields_at. */
static const char *item_name(const char *field, size_t index, char *out, size_t size) {
    bw_text text = bw_text_on(out, size);
    bw_text_add(&text, "%s[%zu]", field, index + 1);
    return out;
}

typedef const char *(*read_name)(const bw_fields *form, const bw_value *value, const char *field);

/* Every item of a list by the same reader; NULL where one of them is wrong. */
static const char *const *names_of(const bw_fields *form, const bw_value *item, size_t n, bool list,
                                   const char *field, read_name read) {
    const char **names = bw_arena_alloc(form->mistakes->arena, n + 1, sizeof *names);
    if (names == NULL) {
        form->mistakes->memory_out = true;
        return NULL;
    }
    bool good = true;
    for (size_t i = 0; i < n; i++) {
        char one[FIELD_BYTES];
        names[i] = read(form, &item[i], list ? item_name(field, i, one, sizeof one) : field);
        good = good && names[i] != NULL;
    }
    return good ? names : NULL;
}

const char *const *bw_fields_ids(const bw_fields *form, const char *field, bw_need need,
                                 size_t *n) {
    *n = 0;
    const bw_value *value = bw_fields_get(form, field, need);
    if (value == NULL) {
        return NULL;
    }
    const char *const *ids = NULL;
    size_t count = 1;
    if (value->kind == BW_VALUE_TEXT) {
        ids = names_of(form, value, 1, false, field, id_of);
    } else if (plain_list(form, value, field, "an id in quotes, or a list of ids in braces")) {
        count = value->list_n;
        if (count > BW_PLAN_AFTER_MAX) {
            bw_mistake_add(form->mistakes, bw_fields_at(form, field),
                           "`%s` of %s names %zu: at most %d", field, form->word, count,
                           BW_PLAN_AFTER_MAX);
            return NULL;
        }
        ids = names_of(form, value->list, count, true, field, id_of);
    }
    *n = ids == NULL ? 0 : count;
    return ids;
}

const char *const *bw_fields_labels(const bw_fields *form, const bw_value *list, const char *field,
                                    size_t *n) {
    *n = 0;
    if (plain_list(form, list, field, "a list of labels in braces") == NULL) {
        return NULL;
    }
    if (list->list_n == 0) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, field), "`%s` of %s is an empty list",
                       field, form->word);
        return NULL;
    }
    const char *const *labels = names_of(form, list->list, list->list_n, true, field,
                                         bw_fields_label);
    *n = labels == NULL ? 0 : list->list_n;
    return labels;
}

/* ---- flags, counts, units ---- */

bool bw_fields_flag(const bw_fields *form, const char *field, bool otherwise) {
    const bw_value *value = bw_fields_get(form, field, BW_OPTIONAL);
    if (value == NULL) {
        return otherwise;
    }
    if (value->kind != BW_VALUE_FLAG) {
        note_wrong(form, value, field, "true or false");
        return otherwise;
    }
    return value->flag;
}

bool bw_fields_count(const bw_fields *form, const char *field, bw_need need, int least, int most,
                     int *out) {
    const bw_value *value = bw_fields_get(form, field, need);
    if (value == NULL) {
        return false;
    }
    bool good = value->kind == BW_VALUE_NUMBER && value->number >= least && value->number <= most &&
                floor(value->number) == value->number;
    if (good) {
        *out = (int)value->number;
        return true;
    }
    char needs[64];
    bw_text text = bw_text_on(needs, sizeof needs);
    bw_text_add(&text, "a whole number from %d to %d", least, most);
    note_wrong(form, value, field, needs);
    return false;
}

bool bw_fields_unit(const bw_fields *form, const char *field, bw_need need, bw_dimension dimension,
                    bw_unit *out) {
    const bw_value *value = bw_fields_get(form, field, need);
    if (value == NULL) {
        return false;
    }
    bw_unit unit = BW_UNIT_NUMBER;
    bool known = value->kind == BW_VALUE_TEXT && bw_unit_find(value->text, value->len, &unit);
    bw_dimension found = bw_unit_of(unit)->dimension;
    bool right = dimension == BW_DIM_COUNT ? found != BW_DIM_NUMBER : found == dimension;
    if (known && right) {
        *out = unit;
        return true;
    }
    char needs[64];
    bw_text text = bw_text_on(needs, sizeof needs);
    if (dimension == BW_DIM_COUNT) {
        bw_text_add(&text, "a unit in quotes, such as \"mm\"");
    } else {
        bw_text_add(&text, "a unit of %s in quotes, such as \"%s\"", bw_dimension_name(dimension),
                    bw_unit_of(bw_dimension_base(dimension))->name);
    }
    note_wrong(form, value, field, needs);
    return false;
}

/* ---- quantities ---- */

static const char *article(bw_dimension dimension) {
    return dimension == BW_DIM_ANGLE ? "an" : "a";
}

static const char *quantity_needs(bw_dimension dimension, char *out, size_t size) {
    static const char *const example[BW_DIM_COUNT] = {
        [BW_DIM_NUMBER] = "percent(5)",    [BW_DIM_TORQUE] = "Nm(60)",
        [BW_DIM_FORCE] = "kN(32)",         [BW_DIM_LENGTH] = "mm(0.05)",
        [BW_DIM_STRESS] = "MPa(640)",      [BW_DIM_ANGLE] = "deg(90)",
        [BW_DIM_TEMPERATURE] = "degC(20)", [BW_DIM_MASS] = "g(412.5)",
        [BW_DIM_VOLUME] = "cm3(42.5)",     [BW_DIM_TIME] = "min(10)"};
    bw_text text = bw_text_on(out, size);
    bw_text_add(&text, "%s %s such as %s", article(dimension), bw_dimension_name(dimension),
                example[dimension]);
    return out;
}

bool bw_fields_quantity_of(const bw_fields *form, const bw_value *value, const char *field,
                           bw_dimension dimension, bw_written *out) {
    bool right = value->kind == BW_VALUE_QUANTITY &&
                 bw_unit_of(value->quantity.unit)->dimension == dimension;
    if (!right) {
        char needs[64];
        note_wrong(form, value, field, quantity_needs(dimension, needs, sizeof needs));
        return false;
    }
    if (!isfinite(value->quantity.value)) {
        bw_mistake_add(form->mistakes, value->spot, "`%s` of %s is not a finite number", field,
                       form->word);
        return false;
    }
    double base = bw_to_base(value->quantity.value, value->quantity.unit);
    if (fabs(base) > most_base) {
        bw_mistake_add(form->mistakes, value->spot, "`%s` of %s is too large to be meant", field,
                       form->word);
        return false;
    }
    *out = (bw_written){.quantity = value->quantity, .base = base, .spot = value->spot};
    return true;
}

bool bw_fields_quantity(const bw_fields *form, const char *field, bw_need need,
                        bw_dimension dimension, bw_written *out) {
    const bw_value *value = bw_fields_get(form, field, need);
    return value != NULL && bw_fields_quantity_of(form, value, field, dimension, out);
}

/* ---- lists of words ---- */

bool bw_fields_is(const bw_value *item, const char *words) {
    return item->kind == BW_VALUE_NODE && bw_name_among(words, item->text);
}

const bw_value *bw_fields_nodes(const bw_fields *form, const char *field, bw_need need,
                                const char *words, size_t most, size_t *n) {
    *n = 0;
    const bw_value *value = bw_fields_get(form, field, need);
    char needs[200];
    bw_text text = bw_text_on(needs, sizeof needs);
    bw_text_add(&text, "a list in braces of: %s", words);
    if (value == NULL || plain_list(form, value, field, needs) == NULL) {
        return NULL;
    }
    if (value->list_n == 0 || value->list_n > most) {
        bw_mistake_add(form->mistakes, bw_fields_at(form, field),
                       "`%s` of %s holds %zu: 1 to %zu are possible", field, form->word,
                       value->list_n, most);
        return NULL;
    }
    for (size_t i = 0; i < value->list_n; i++) {
        const bw_value *item = &value->list[i];
        if (!bw_fields_is(item, words)) {
            char one[FIELD_BYTES];
            note_wrong(form, item, item_name(field, i, one, sizeof one), needs);
        }
    }
    *n = value->list_n;
    return value->list;
}
