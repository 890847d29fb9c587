/* wire.h - what host and sequence worker say to each other, and the data that comes back.
 *
 * Room: sequence, private to it.  The worker writes declarations as nested values, this reads them
 * back into a tree in an arena.  The reader trusts no byte: whatever is not exactly as below is
 * refused, and the arena's limit bounds what a lie about lengths can cost.
 *
 * A value is one byte and what follows it (numbers little-endian):
 *   z nil · t true · f false
 *   d number    8 bytes, IEEE 754
 *   s text      u32 length, bytes (any)
 *   q quantity  d value, u8 unit, i8 decimals, u16 source, u32 line
 *   T table     table body
 *   N node      u8 length and word, u16 source, u32 line, table body: `torque{ Nm(60) }`
 *   u           stands where a mistake was already reported
 *   o other     u8 length and name: "function"
 * A table body is u32 n and n values (keys 1 to n), u32 n and n pairs of text and value (keys that
 * are words, in byte order), and u8 length and text that says which key had no place, "" for none.
 * The answer to a run is any number of nodes one behind the other; to a calculation, the same
 * with a node "result" as the last. */
#ifndef BW_SEQUENCE_WIRE_H
#define BW_SEQUENCE_WIRE_H

#include "base/arena.h"
#include "base/status.h"
#include "sequence/plan.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Types of frames (wall/worker.h). */
enum bw_sequence_frame {
    /* host */
    BW_FRAME_HELLO = 1, /* empty: is the wall up? */
    BW_FRAME_RUN,       /* u8 length and the sequence's short name, then its text */
    BW_FRAME_CALC,      /* one expression */
    BW_FRAME_MODULE,    /* the text of the module asked for */
    BW_FRAME_NO_MODULE, /* why there is none */
    /* worker */
    BW_FRAME_READY = 64, /* to hello */
    BW_FRAME_UNWALLED,   /* to hello: why the wall does not stand */
    BW_FRAME_NEED,       /* a module's name */
    BW_FRAME_DONE,       /* nodes */
    BW_FRAME_LIMIT       /* u8 bw_sequence_limit, u16 source, u32 line; nothing follows */
};

typedef enum bw_sequence_limit {
    BW_LIMIT_TIME = 1,
    BW_LIMIT_MEMORY,
    BW_LIMIT_OUTPUT
} bw_sequence_limit;

enum {
    BW_RUN_LIMIT_MS = 1000, /* what authors are told */
    BW_RUN_STOP_MS = 850,   /* the worker stops itself, and can say which line runs on */
    BW_RUN_KILL_MS = 1050,  /* the host kills, where the worker cannot: inside one library call */
    BW_RUN_MEMORY_BYTES = 64 << 20,
    BW_RUN_OUTPUT_BYTES = 4 << 20,
    BW_RUN_MODULES_MAX = 32,
    BW_MODULE_NAME_MAX = 48, /* bytes */
    BW_SHORT_NAME_MAX = 40   /* bytes of a sequence's name inside the worker */
};

typedef enum bw_value_kind {
    BW_VALUE_NIL = 0,
    BW_VALUE_FLAG,
    BW_VALUE_NUMBER, /* may be NaN or infinite: an author can write that */
    BW_VALUE_TEXT,   /* any bytes */
    BW_VALUE_QUANTITY,
    BW_VALUE_TABLE,
    BW_VALUE_NODE,
    BW_VALUE_REPORTED,
    BW_VALUE_OTHER
} bw_value_kind;

/* Where in the sources: index and line. */
typedef struct bw_spot {
    unsigned source;
    unsigned line;
} bw_spot;

typedef struct bw_value bw_value;
struct bw_value {
    bw_value_kind kind;
    bool flag;
    double number;
    const char *text; /* TEXT; NODE: its word; OTHER: the type's name.  NUL-ended copy */
    size_t len;
    bw_quantity quantity; /* unit in range; value may be NaN or infinite */
    bw_spot spot;         /* QUANTITY, NODE */
    size_t list_n;        /* TABLE, NODE */
    const bw_value *list;
    size_t field_n;
    const char *const *key; /* [field_n], NUL-ended; a key that holds a NUL is refused */
    const bw_value *field;  /* [field_n] */
    const char *odd;        /* a key that has no place, NULL for none */
};

/* Reads nodes until the bytes end.  BW_E_DATA where a byte is not as it must be; BW_E_LIMIT where
 * the arena is full. */
BW_MUST_USE bw_status bw_wire_read(const uint8_t *data, size_t len, bw_arena *arena,
                                   const bw_value **node, size_t *node_n, bw_err *err);

/* NULL where there is no such field. */
const bw_value *bw_value_field(const bw_value *value, const char *key);

/* True for the names that `require` takes: [a-z0-9_-]+ joined by single dots or slashes, at most
 * BW_MODULE_NAME_MAX bytes. */
bool bw_module_name_valid(const char *name, size_t len);

#endif
