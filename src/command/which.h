/* which.h - what was meant, where a name that was typed is not there: the nearest of those that
 * are, or which there are.
 *
 * Room: command. */
#ifndef BW_COMMAND_WHICH_H
#define BW_COMMAND_WHICH_H

#include "record/store.h"

#include <stdbool.h>
#include <stddef.h>

/* The store has no build of that id. */
void bw_complain_no_build(bw_store *store, const char *build);

/* The command knows no such word of its own; known: those that it has. */
void bw_complain_no_word(const char *command, const char *word, const char *const *known, size_t n);

/* Whether path is a folder, and a complaint that it is no file of that kind: "a capture". */
bool bw_is_folder_instead(const char *path, const char *of);

#endif
