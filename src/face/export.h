/* export.h - the entries of a build for other programs.
 *
 * Room: face.  JSON Lines: each entry's exact text with its number in front.  CSV: RFC 4180, one
 * column a member of the registry and a last one, `more`, with the JSON of what has none; a field
 * that a spreadsheet would take for a formula gets an apostrophe in front. */
#ifndef BW_FACE_EXPORT_H
#define BW_FACE_EXPORT_H

#include "record/entry.h"

#include <stddef.h>
#include <stdio.h>

/* {"number":N,"entry":{...}} */
void bw_export_json(uint64_t number, const char *json, size_t len, FILE *out);

void bw_export_csv_heading(FILE *out);
/* json: the entry's text.  BW_E_MEM; what could not be written, ferror tells. */
BW_MUST_USE bw_status bw_export_csv(const bw_entry *entry, const char *json, size_t len, FILE *out,
                                    bw_err *err);

#endif
