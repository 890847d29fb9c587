/* own_record.h - the bench's record as the commands open it: with what this computer remembers of
 * it.
 *
 * Room: command; included by none outside. */
#ifndef BW_COMMAND_OWN_RECORD_H
#define BW_COMMAND_OWN_RECORD_H

#include "record/store.h"

/* bw_store_open_with, the folder being $XDG_STATE_HOME/boltwright, else ~/.local/state/boltwright;
 * none where neither is known. */
BW_MUST_USE bw_status bw_own_record_open(const char *home, bw_store_mode mode, bw_store **out,
                                         bw_err *err);

#endif
