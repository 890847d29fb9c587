/* bundle_again.h - a bundle's entries and traces, for what is judged again at its end.
 *
 * Room-private.  Traces stand behind the entries that name them.  Entries are kept; of traces only
 * where they stand in the file, so that memory does not grow with them: but where the file can't be
 * read twice, a pipe, all of them. */
#ifndef BW_RECORD_BUNDLE_AGAIN_H
#define BW_RECORD_BUNDLE_AGAIN_H

#include "record/audit_int.h"

#include <jansson.h>
#include <stdint.h>
#include <stdio.h>

typedef struct bw_again bw_again;

/* in stays the caller's.  NULL where memory is out.  Freed by bw_again_free (NULL: no-op). */
bw_again *bw_again_new(FILE *in);
void bw_again_free(bw_again *again);

/* Before each line is read. */
void bw_again_line(bw_again *again);

/* In the order of the build.  False where memory is out, as below. */
bool bw_again_entry(bw_again *again, uint64_t number, const char *json, size_t len);
/* The one of the line that was read last. */
bool bw_again_trace(bw_again *again, const bw_hash *name, const void *data, size_t len);

/* The next line with its line end, in *text of *room bytes (malloc's, grown as need be): its
 * length; 0 at the end of the file, where it can't be read, and where memory is out, which is told
 * by *text being NULL; BW_BUNDLE_LINE_MAX + 1 for a longer one. */
enum { BW_BUNDLE_LINE_MAX = 96 << 20 }; /* a trace of the size that a record takes, in base64 */
size_t bw_bundle_line(FILE *in, char **text, size_t *room);

/* The name and bytes in a trace's line; NULL, or what is wrong with it.  *data is malloc's, and
 * NULL where memory is out or something is wrong. */
const char *bw_trace_line(json_t *line, bw_hash *name, uint8_t **data, size_t *len);

/* A hash as 64 lower-case hex digits; hex may be NULL. */
bool bw_hash_line(const char *hex, bw_hash *out);

/* Hands each entry to setup->rejudge. */
BW_MUST_USE bw_status bw_again_judge(bw_again *again, const bw_audit_setup *setup,
                                     bw_findings *findings, uint64_t *rejudged, bw_err *err);

#endif
