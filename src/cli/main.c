/* The program: finds the command, parses its options by its table and runs it. */
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/mem.h"
#include "cli/commands.h"
#include "cli/terminal.h"
#include "cli/versions.h"

static int use_command(const struct fl_command *cmd, char **argv, int argc)
{
    /* A union of all settings would tie main to every command. */
    void *settings = fl_calloc(1, cmd->settings_size);
    struct fl_error err = {0};
    int n_args = 0, status;
    bool help = false;
    if (fl_options_parse(cmd, settings, argv, argc, &n_args, &help, &err)) {
        fl_complain(err.text);
        status = 2;
    } else if (help) {
        fl_options_help(cmd, stdout);
        status = fl_finish_output(0);
    } else {
        status = cmd->run(settings, argv, n_args);
    }
    free(settings);
    return status;
}

/* A core file is of no use to whoever has run out of memory; a status that says "failed" is. */
static void drop_and_end(void)
{
    fl_files_drop();
    _exit(fl_exit_status(FLINCH_ERR_OPEN));
}

int main(int argc, char **argv)
{
    fl_on_out_of_memory(drop_and_end);
    setlocale(LC_CTYPE,
              ""); /* which characters the terminal shows; numbers keep their decimal point */
    const char *word = argc > 1 ? argv[1] : NULL;
    if (!word) {
        fl_commands_help(stderr);
        return 2;
    }
    if (!strcmp(word, "--help") || !strcmp(word, "-h")) {
        fl_commands_help(stdout);
        return fl_finish_output(0);
    }
    if (!strcmp(word, "--version")) {
        fl_versions_print(stdout);
        return fl_finish_output(0);
    }
    struct fl_error err = {0};
    const struct fl_command *cmd = fl_command_named(word, &err);
    if (cmd)
        return use_command(cmd, argv + 2, argc - 2);
    fl_complain(err.text);
    return 2;
}
