/* completion.h - what a shell offers behind `boltwright`, from the table of commands itself.
 *
 * Room: command. */
#ifndef BW_COMMAND_COMPLETION_H
#define BW_COMMAND_COMPLETION_H

#include "command/command.h"

/* Prints a script for that shell ("bash", "zsh", "fish") on standard output; false: another. */
bool bw_completion_print(const char *shell, const bw_command *const *commands, size_t n);

#endif
