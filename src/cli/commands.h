/* The commands, one a file; commands.c holds the registry. */
#ifndef FL_CLI_COMMANDS_H
#define FL_CLI_COMMANDS_H

#include "cli/options.h"

extern const struct fl_command *const fl_commands[]; /* in the order of the help; NULL ends it */

/* NULL, and one line in err with what was probably meant, for a name that no command has. */
const struct fl_command *fl_command_named(const char *name, struct fl_error *err);
/* The help of the program: every command with its summary. At most 80 columns wide. */
void fl_commands_help(FILE *out);

#endif
