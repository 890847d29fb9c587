/* completion.h - what a shell offers behind `boltwright`, from the table of commands itself.
 *
 * Room: command. */
#ifndef BW_COMMAND_COMPLETION_H
#define BW_COMMAND_COMPLETION_H

#include "command/command.h"

/* Prints a script for bash on standard output. */
void bw_completion_print(const bw_command *const *commands, size_t n);

#endif
