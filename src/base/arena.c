/* arena.c - see arena.h.  Blocks in a list, newest first; each item aligned to max_align_t. */
#include "base/arena.h"

#include <stdalign.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { BLOCK_BYTES = 16 * 1024 };

static const size_t default_limit_bytes = (size_t)64 << 20;

typedef struct block {
    struct block *next;
    size_t size; /* of data */
    size_t used;
    alignas(max_align_t) unsigned char data[];
} block;

struct bw_arena {
    block *head;
    size_t held;
    size_t limit;
};

bw_arena *bw_arena_new(size_t limit_bytes) {
    bw_arena *arena = calloc(1, sizeof *arena);
    if (arena != NULL) {
        arena->limit = limit_bytes == 0 ? default_limit_bytes : limit_bytes;
    }
    return arena;
}

void bw_arena_free(bw_arena *arena) {
    if (arena == NULL) {
        return;
    }
    for (block *b = arena->head; b != NULL;) {
        block *next = b->next;
        free(b);
        b = next;
    }
    free(arena);
}

static block *add_block(bw_arena *arena, size_t need) {
    size_t left = arena->limit - arena->held;
    if (need > left) {
        return NULL;
    }
    size_t size = need > BLOCK_BYTES ? need : BLOCK_BYTES;
    size = size < left ? size : left;
    block *b = calloc(1, sizeof *b + size);
    if (b == NULL) {
        return NULL;
    }
    b->size = size;
    b->next = arena->head;
    arena->head = b;
    arena->held += size;
    return b;
}

void *bw_arena_alloc(bw_arena *arena, size_t n, size_t size) {
    const size_t align = alignof(max_align_t);
    if (size != 0 && n > (SIZE_MAX - align) / size) {
        return NULL;
    }
    size_t need = (n * size + align - 1) / align * align;
    if (need > arena->limit) {
        return NULL;
    }
    block *b = arena->head;
    if (b == NULL || b->size - b->used < need) {
        b = add_block(arena, need);
        if (b == NULL) {
            return NULL;
        }
    }
    void *item = b->data + b->used;
    b->used += need;
    return item;
}

char *bw_arena_copy(bw_arena *arena, const char *text, size_t len) {
    if (len == SIZE_MAX) {
        return NULL;
    }
    char *copy = bw_arena_alloc(arena, len + 1, 1);
    if (copy != NULL && len > 0) {
        memcpy(copy, text, len);
    }
    return copy;
}

char *bw_arena_text(bw_arena *arena, const char *text) {
    return text == NULL ? NULL : bw_arena_copy(arena, text, strlen(text));
}
