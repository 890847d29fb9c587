/* fields.h - the fields of a declaration, read one by one, each checked for what it must be.
 *
 * Room: sequence, private to it.  A reader asks for a field and says what it must be; where it is
 * something else, a mistake is noted that says what was found and what would be right, and the
 * answer is false or NULL.  So all mistakes of a sequence are found in one go. */
#ifndef BW_SEQUENCE_FIELDS_H
#define BW_SEQUENCE_FIELDS_H

#include "sequence/mistakes.h"
#include "sequence/plan.h"
#include "sequence/wire.h"

#include <stdbool.h>
#include <stddef.h>

typedef enum bw_need { BW_OPTIONAL = 0, BW_NEEDED } bw_need;

enum { BW_FIELDS_MISSPELT_MAX = 4 };

typedef struct bw_fields {
    bw_mistakes *mistakes;
    const bw_value *node;   /* its body is read; a TABLE or a NODE */
    const char *word;       /* for messages: "group" */
    bw_spot spot;           /* where the declaration stands */
    const char *outer_word; /* a table in a field of another form; NULL: none is */
    const char *outer_field;
    /* Fields under another name that is near to theirs: told once, and read as what was meant. */
    struct {
        const char *meant; /* not NUL-ended */
        size_t len;
        const bw_value *value;
    } misspelt[BW_FIELDS_MISSPELT_MAX];
    size_t misspelt_n;
} bw_fields;

/* A table that stands in a field of another form, or is an item there ("places[3]"); `word` is for
 * messages.  Checks the field names against `fields` (space-separated).  `field` is borrowed for as
 * long as the form is used. */
bw_fields bw_fields_in(const bw_fields *outer, const char *field, const bw_value *node,
                       const char *word, const char *fields);

/* A node, by the table of words: its fields, and what may stand in it without a name. */
bw_fields bw_fields_of(bw_mistakes *mistakes, const bw_value *node);

/* Where a field stands in the text, or an item of its list: "places", "labels[3]"; with the word's
 * own name an item of its own list.  Where that is not known, where the declaration does. */
bw_spot bw_fields_at(const bw_fields *form, const char *field);

/* NULL where it is not there (noted where needed), or where a mistake was noted already. */
const bw_value *bw_fields_get(const bw_fields *form, const char *field, bw_need need);

/* Was the field written at all? */
bool bw_fields_has(const bw_fields *form, const char *field);

/* A sentence: white space drawn together, printable, not empty, at most BW_PLAN_TEXT_MAX bytes. */
const char *bw_fields_text(const bw_fields *form, const char *field, bw_need need);

/* An id: letters, digits, - _ and points, at most BW_PLAN_ID_MAX bytes. */
const char *bw_fields_id(const bw_fields *form, const char *field, bw_need need);

/* A label of a place or a point: printable, at most BW_PLAN_ID_MAX bytes. */
const char *bw_fields_label(const bw_fields *form, const bw_value *value, const char *field);

/* One id or a list of ids.  ids NULL, *n 0 where there are none. */
const char *const *bw_fields_ids(const bw_fields *form, const char *field, bw_need need, size_t *n);

/* Labels: a list of them; NULL where it is not one. */
const char *const *bw_fields_labels(const bw_fields *form, const bw_value *list, const char *field,
                                    size_t *n);

bool bw_fields_flag(const bw_fields *form, const char *field, bool otherwise);
bool bw_fields_count(const bw_fields *form, const char *field, bw_need need, int least, int most,
                     int *out);

/* A unit by name, of one dimension (BW_DIM_COUNT: of any but a bare number). */
bool bw_fields_unit(const bw_fields *form, const char *field, bw_need need, bw_dimension dimension,
                    bw_unit *out);

/* A quantity of one dimension, finite and of a size that can be. */
typedef struct bw_written {
    bw_quantity quantity;
    double base;
    bw_spot spot;
} bw_written;

bool bw_fields_quantity(const bw_fields *form, const char *field, bw_need need,
                        bw_dimension dimension, bw_written *out);
bool bw_fields_quantity_of(const bw_fields *form, const bw_value *value, const char *field,
                           bw_dimension dimension, bw_written *out);

/* A list of inner words, each one of `words` (space-separated).  NULL where it is none.  Items that
 * are something else are noted, and are for the caller to pass over (bw_fields_is). */
bool bw_fields_is(const bw_value *item, const char *words);
const bw_value *bw_fields_nodes(const bw_fields *form, const char *field, bw_need need,
                                const char *words, size_t most, size_t *n);

/* What a value is, for people. */
const char *bw_fields_describe(const bw_value *value, char *out, size_t size);

enum { BW_FIELDS_DESCRIBE_MAX = 96 };

#endif
