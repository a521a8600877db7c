#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "cli/commands.h"
#include "cli/terminal.h"
#include "show/screen/terminal_text.h"

static const struct fl_command *const commands[] = {
    &fl_command_run,
    &fl_command_look,
    &fl_command_check,
    &fl_command_clip,
    &fl_command_plan,
    &fl_command_show,
    NULL,
};

static void put_help(FILE *out)
{
    fputs("Use: flinch COMMAND …\n\n", out);
    fl_put_wrapped(out,
                   "Finds the intervals of game footage in which frame synthesis is off, relates "
                   "them to camera and mouse motion, and charts how readily it switches off.",
                   0, 0);
    fputs("\nCommands:\n", out);
    for (size_t i = 0; commands[i]; i++) {
        int column = fprintf(out, "  %-7s ", commands[i]->name);
        fl_put_wrapped(out, commands[i]->summary, column, column);
    }
    fputs("\nflinch COMMAND --help lists its options; flinch --version tells the version.\n", out);
}

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

int main(int argc, char **argv)
{
    setlocale(LC_CTYPE,
              ""); /* which characters the terminal shows; numbers keep their decimal point */
    const char *word = argc > 1 ? argv[1] : NULL;
    if (!word) {
        put_help(stderr);
        return 2;
    }
    if (!strcmp(word, "--help") || !strcmp(word, "-h")) {
        put_help(stdout);
        return fl_finish_output(0);
    }
    if (!strcmp(word, "--version")) {
        printf("flinch %s\n", FLINCH_VERSION);
        return fl_finish_output(0);
    }
    for (size_t i = 0; commands[i]; i++)
        if (!strcmp(commands[i]->name, word))
            return use_command(commands[i], argv + 2, argc - 2);
    struct fl_error err;
    fl_fail(&err, FLINCH_ERR_USAGE, "unknown command '%.60s'; flinch --help lists them", word);
    fl_complain(err.text);
    return 2;
}
