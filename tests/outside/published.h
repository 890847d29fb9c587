/* published.h - a value that someone outside has published, and what we say to it.
 *
 * Every row is an expression as a builder may type it, so that it goes through the table of
 * functions as a sequence does.  How a row's figure came here stands with it. */
#ifndef BW_TESTS_OUTSIDE_PUBLISHED_H
#define BW_TESTS_OUTSIDE_PUBLISHED_H

#include <stddef.h>

typedef enum known_how {
    SEEN = 0, /* read in a text */
    MEMORY,   /* from memory, not seen in a text */
    OWN       /* worked out by hand from the formula: guards against change, proves nothing else */
} known_how;

typedef struct published {
    const char *expression;
    const char *result; /* "value" where there is one only */
    const char *unit;   /* of expected and tolerance; "" for a bare number or a flag */
    double expected, tolerance;
    known_how how;
    const char *source;
    double misprint; /* where not 0: what the source printed in error; we must not agree */
} published;

typedef struct published_word {
    const char *expression;
    const char *result;
    const char *word;
    known_how how;
    const char *source;
} published_word;

/* A quantity as people write it, in another unit. */
typedef struct published_unit {
    const char *text;
    const char *unit;
    double expected, tolerance;
    known_how how;
    const char *source;
} published_unit;

extern const published published_thread[];
extern const size_t published_thread_n;
extern const published published_preload[];
extern const size_t published_preload_n;
extern const published published_tool[];
extern const size_t published_tool_n;
extern const published published_number[];
extern const size_t published_number_n;
extern const published published_engine[];
extern const size_t published_engine_n;
extern const published_word published_words[];
extern const size_t published_words_n;
extern const published_unit published_units[];
extern const size_t published_units_n;

#endif
