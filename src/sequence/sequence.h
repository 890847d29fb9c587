/* sequence.h - from the text of a sequence to a checked plan, through the worker.
 *
 * Room: sequence.  The only user of Lua, and only in the worker process.  The host never runs a
 * line of a sequence: it gets data and believes none of it. */
#ifndef BW_SEQUENCE_SEQUENCE_H
#define BW_SEQUENCE_SEQUENCE_H

#include "base/arena.h"
#include "base/status.h"
#include "sequence/plan.h"

#include <stddef.h>

enum { BW_SEQUENCE_BYTES_MAX = 1 << 20, BW_MISTAKES_MAX = 200 };

/* One mistake of an author: what is wrong, and what would be right. */
typedef struct bw_mistake {
    bw_where where; /* line >= 1 */
    const char *text;
} bw_mistake;

/* The text of a sequence and of each module it asked for, as they were read. */
typedef struct bw_source {
    const char *name; /* as shown in messages: the path that was given, or the module's file */
    const char *text; /* NUL-ended copy of the bytes; well-formed UTF-8 */
    size_t len;
} bw_source;

typedef struct bw_loaded {
    const bw_plan *plan;       /* NULL where there are mistakes */
    size_t mistake_n;          /* at most BW_MISTAKES_MAX, and one that says that there are more */
    const bw_mistake *mistake; /* by file as first met, then line */
    size_t source_n;
    const bw_source *source; /* [0] is the sequence itself, then modules in order of use */
} bw_loaded;

/* Reads the file and its modules, runs it in a fresh worker, reads and checks the plan.
 *
 * path    a file; at most BW_SEQUENCE_BYTES_MAX bytes of well-formed UTF-8 text.
 * arena   everything in out lives here.
 *
 * Returns BW_OK with either a plan or mistakes (a Lua error, a limit that was hit, and whatever
 * the checker found are mistakes); BW_E_ABSENT no such file; BW_E_IO not readable; BW_E_DATA not
 * text or too long; BW_E_STATE the process wall does not stand on this machine, so that nothing was
 * run; BW_E_MEM, BW_E_BUG where the machine or the program failed. */
BW_MUST_USE bw_status bw_sequence_load(const char *path, bw_arena *arena, bw_loaded *out,
                                       bw_err *err);

/* The same from texts that a record kept: source[0] is the sequence, the rest its modules. */
BW_MUST_USE bw_status bw_sequence_load_sources(const bw_source *source, size_t source_n,
                                               bw_arena *arena, bw_loaded *out, bw_err *err);

/* Evaluates one Lua expression in the same sandbox for `calc`.  *json is the answer as one line of
 * JSON as commands.md promises ({"value":...,"unit":...,"text":...}), in the arena.
 * BW_E_DATA with the line to print where the expression is wrong. */
BW_MUST_USE bw_status bw_sequence_calc(const char *expression, bw_arena *arena, const char **json,
                                       bw_err *err);

/* The worker's own main: what `boltwright` runs when it is started as a sequence worker (see
 * wall/worker.h).  Speaks frames on descriptor 3, never returns to the caller's main loop;
 * returns the process's exit code. */
int bw_sequence_worker_main(void);

#endif
