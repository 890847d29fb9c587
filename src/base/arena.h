/* arena.h - memory that is given back all at once.
 *
 * Room: base.  A plan, a folded session or a decoded entry lives in one arena and dies with it.
 * Not for the sample path (that allocates nothing) and not shared between threads. */
#ifndef BW_BASE_ARENA_H
#define BW_BASE_ARENA_H

#include <stddef.h>

typedef struct bw_arena bw_arena;

/* Owned by the caller, freed by bw_arena_free.  limit_bytes is the most it will ever hold
 * (0: 64 MiB).  NULL when memory is out. */
bw_arena *bw_arena_new(size_t limit_bytes);

/* NULL is a no-op. */
void bw_arena_free(bw_arena *arena);

/* Zeroed memory for n items of size bytes, aligned for any type.  NULL when n * size overflows,
 * the limit is reached or memory is out; n == 0 gives a pointer that must not be read. */
void *bw_arena_alloc(bw_arena *arena, size_t n, size_t size);

/* A copy of len bytes with a NUL behind them.  NULL as above. */
char *bw_arena_copy(bw_arena *arena, const char *text, size_t len);

/* A copy of a C string.  text NULL gives NULL. */
char *bw_arena_text(bw_arena *arena, const char *text);

#endif
