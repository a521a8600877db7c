/* The commands, one a file. */
#ifndef FL_CLI_COMMANDS_H
#define FL_CLI_COMMANDS_H

#include "cli/options.h"

extern const struct fl_command fl_command_run, fl_command_look, fl_command_check, fl_command_clip,
    fl_command_plan, fl_command_show;

#endif
