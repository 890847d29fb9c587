/* adopt.h - whether a build can go on with another text of its sequence.
 *
 * Room: session.  What is done stays done by what it was asked by: a new text may add, reword and
 * change what has not begun. */
#ifndef BW_SESSION_ADOPT_H
#define BW_SESSION_ADOPT_H

#include "session/session.h"

/* Folds the entries by the new plan and holds each step that has begun against the old one.
 *
 * before   the build as it stands, by its old plan.
 * after    a session of the new plan with nothing applied; the entries are applied to it.
 *
 * BW_E_STATE with one line that names the step where done work would no longer fit; then `after` is
 * of no use. */
BW_MUST_USE bw_status bw_adopt(const bw_session *before, bw_session *after, const bw_entry *entry,
                               size_t entry_n, bw_err *err);

#endif
