/* bolt_map.h - a group of fasteners drawn in characters, as the builder sees the joint.
 *
 * Room: face.  Each place shows its number; marks are told apart without colour. */
#ifndef BW_FACE_BOLT_MAP_H
#define BW_FACE_BOLT_MAP_H

#include "base/text.h"
#include "sequence/plan.h"
#include "session/session.h"

enum { BW_MAP_BYTES = 4096 };

/* Draws the group at stage `stage` (index): "=4=" has it, ">4<" is next, " 4 " waits, "!4!" has it
 * by decision.  next: index of the place that is asked for, group->place_n: none.  Lines end in
 * newline and begin with `indent` spaces; with a legend. */
void bw_bolt_map(bw_text *text, const bw_group *group, const bw_progress *progress, size_t stage,
                 size_t next, int indent);

#endif
