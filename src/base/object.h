/* object.h - a part of this program that is loaded when it is first needed.
 *
 * Room: base.  What a command does not use must not make it slower to start: the libraries behind
 * the record take three times as long to load as an empty program runs. */
#ifndef BW_BASE_OBJECT_H
#define BW_BASE_OBJECT_H

#include "base/status.h"

/* The function `symbol` of the shared object `name` ("boltwright-draw.so"), which lies beside the
 * program (in a build's folder) or in lib/boltwright of where the program is installed.  Copied
 * into *function, which has the size of a pointer to a function.  The object stays loaded.
 * BW_E_ABSENT with the reason where it is not there or can't be loaded. */
BW_MUST_USE bw_status bw_object_find(const char *name, const char *symbol, void *function,
                                     bw_err *err);

#endif
