/* `flinch help`: what --help prints, for those who ask in words. */
#include "cli/commands.h"
#include "cli/terminal.h"

static const struct fl_option options[] = {{NULL}};

static int run(const void *settings, char **args, int n_args)
{
    (void)settings;
    struct fl_error err = {0};
    const struct fl_command *about = n_args ? fl_command_named(args[0], &err) : NULL;
    if (n_args && !about) {
        fl_complain(err.text);
        return 2;
    }
    if (about)
        fl_options_help(about, stdout);
    else
        fl_commands_help(stdout);
    return fl_finish_output(0);
}

const struct fl_command fl_command_help = {
    "help", "[COMMAND]", "Lists the commands, or the options of one: the same as --help.",
    0,      1,           options,
    0,      run,         FL_OPTION_COMMAND,
};
