/* words.h - numbers and units of torque in a device's text, for the drivers that ship.
 *
 * Strict: what is not certain is not read.  README.md of plugins/line has the rules. */
#ifndef PLUGINS_WORDS_WORDS_H
#define PLUGINS_WORDS_WORDS_H

#include <stdbool.h>
#include <stdint.h>

enum { DIGITS_MAX = 12 };

typedef enum unit_kind {
    UNIT_NONE = 0,
    UNIT_NM,
    UNIT_DNM,
    UNIT_CNM,
    UNIT_MNM,
    UNIT_KNM,
    UNIT_LBF_FT,
    UNIT_LBF_IN,
    UNIT_OZF_IN,
    UNIT_KGF_M,
    UNIT_KGF_CM
} unit_kind;

/* N.m in one of it; unit is not UNIT_NONE. */
double unit_Nm(unit_kind unit);

/* What is left to read of a text. */
typedef struct cursor {
    const uint8_t *at;
    const uint8_t *end;
} cursor;

/* The next byte; 0 at the end (a NUL in the text matches nothing either). */
uint8_t peek(const cursor *c);
bool is_digit(uint8_t c);
bool take_byte(cursor *c, uint8_t byte);

/* Takes word, in capitals where asked. */
bool take_word(cursor *c, const char *word, bool in_capitals);
void skip_blanks(cursor *c);

/* Behind a unit or a number: the end, a blank, or the @ before a time. */
bool at_word_end(const cursor *c);

/* Digits with at most one point or comma, and a digit behind it. */
bool take_digits(cursor *c, double *out);

/* The same with a sign or none, which may stand apart from its digits. */
bool take_number(cursor *c, double *out);

/* A sign that is two bytes in UTF-8 and its second alone in Latin-1. */
bool take_sign(cursor *c, uint8_t latin1);

/* UNIT_NONE, and nothing taken, where none stands there that ends its word. */
unit_kind take_unit(cursor *c);

/* The whole of a setting's value. */
bool whole_number(const char *value, unsigned least, unsigned most, unsigned *out);
bool whole_decimal(const char *value, double *out);
bool whole_unit(const char *value, unit_kind *out);

/* Index of value in words (NULL-ended), or -1. */
int word_index(const char *value, const char *const *words);

#endif
