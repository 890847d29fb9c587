/* sheet_text.h - the build sheet as plain text, 100 columns.
 *
 * Room: face.  Everything on it comes from the record; what did not go straight is on it too. */
#ifndef BW_FACE_SHEET_TEXT_H
#define BW_FACE_SHEET_TEXT_H

#include "session/replay.h"

#include <stdio.h>

/* checkpoint: the newest signed note over the record, NULL: none yet.
 * verifier: the bench's public key line, NULL: not known. */
void bw_sheet_print(const bw_replay *replay, const char *checkpoint, const char *verifier,
                    FILE *out);

#endif
