/* source.h - the texts of one load: the sequence, then its modules in order of use.
 *
 * Room: sequence, private to it.  From disk, or from what a record kept; the names are the same. */
#ifndef BW_SEQUENCE_SOURCE_H
#define BW_SEQUENCE_SOURCE_H

#include "base/arena.h"
#include "base/status.h"
#include "sequence/sequence.h"
#include "sequence/wire.h"

#include <stddef.h>

typedef struct bw_sources {
    bw_arena *arena;
    size_t n;
    bw_source list[BW_RUN_MODULES_MAX + 1];
    const char *name[BW_RUN_MODULES_MAX + 1]; /* of list, side by side with it */
    const bw_source *kept;                    /* NULL: modules come from disk */
    size_t kept_n;
} bw_sources;

/* Reads the sequence's own file.  Returns as bw_sequence_load does. */
BW_MUST_USE bw_status bw_sources_open(bw_sources *sources, bw_arena *arena, const char *path,
                                      bw_err *err);

/* Takes the sequence from kept texts; modules will be looked for among them. */
BW_MUST_USE bw_status bw_sources_keep(bw_sources *sources, bw_arena *arena, const bw_source *kept,
                                      size_t kept_n, bw_err *err);

/* Finds a module by its name (bw_module_name_valid): beside the sequence, in its lib folder, or in
 * the lib folder beside its folder.  No link is followed on the way from there.
 *
 * BW_OK; BW_E_MEM; else why, of size bytes, says in words for the author what is wrong. */
BW_MUST_USE bw_status bw_sources_add_module(bw_sources *sources, const char *name,
                                            const bw_source **out, char *why, size_t size);

/* The last part of a path, cut and made plain, for use inside the worker. */
void bw_source_short_name(const char *path, char *out, size_t size);

#endif
