/* The registry: a command is its file cmd_NAME.c and a row here, in the order of the help. */
#include "cli/commands.h"

#include <string.h>

#include "cli/nearest.h"
#include "show/screen/terminal_text.h"

extern const struct fl_command fl_command_run, fl_command_look, fl_command_check, fl_command_clip,
    fl_command_plan, fl_command_show, fl_command_audit, fl_command_log, fl_command_watch,
    fl_command_help;

const struct fl_command *const fl_commands[] = {
    &fl_command_run,
    &fl_command_look,
    &fl_command_check,
    &fl_command_clip,
    &fl_command_plan,
    &fl_command_show,
    &fl_command_audit,
    &fl_command_log,
    &fl_command_watch,
    &fl_command_help,
    NULL,
};

const struct fl_command *fl_command_named(const char *name, struct fl_error *err)
{
    struct fl_nearest near = {.word = name};
    for (size_t i = 0; fl_commands[i]; i++) {
        if (!strcmp(fl_commands[i]->name, name))
            return fl_commands[i];
        fl_nearest_try(&near, fl_commands[i]->name);
    }
    if (near.best)
        fl_fail(err, FLINCH_ERR_USAGE,
                "unknown command '%.60s'; did you mean '%s'? flinch --help lists them all", name,
                near.best);
    else
        fl_fail(err, FLINCH_ERR_USAGE, "unknown command '%.60s'; flinch --help lists them", name);
    return NULL;
}

void fl_commands_help(FILE *out)
{
    fputs("Use: flinch COMMAND …\n\n", out);
    fl_put_wrapped(out,
                   "Finds the intervals of game footage in which frame synthesis is off, relates "
                   "them to camera and mouse motion, and charts how readily it switches off.",
                   0, 0);
    fputs("\nCommands:\n", out);
    for (size_t i = 0; fl_commands[i]; i++) {
        int column = fprintf(out, "  %-7s ", fl_commands[i]->name);
        fl_put_wrapped(out, fl_commands[i]->summary, column, column);
    }
    fputs("\nflinch COMMAND --help lists its options; flinch --version tells versions.\n", out);
}
