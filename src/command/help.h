/* help.h - what the commands are and what each takes, within the width of a small terminal.
 *
 * Room: command. */
#ifndef BW_COMMAND_HELP_H
#define BW_COMMAND_HELP_H

#include "command/command.h"

/* All commands, a line each. */
void bw_help_commands(const bw_command *const *commands, size_t n);
/* One command with its options. */
void bw_help_command(const bw_command *command);

#endif
