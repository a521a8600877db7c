/* Completion for fish: a `complete` line an option (complete(1) of fish). */
#include "cli/texts.h"

static const char opening[] =
    "# Completion of flinch for fish, written from the program's option tables.\n"
    "function __flinch_bare --description 'no command is typed yet'\n"
    "    test (count (commandline -opc)) -eq 1\nend\n"
    "function __flinch_is --description 'the command typed is this one'\n"
    "    set -l words (commandline -opc)\n"
    "    test (count $words) -gt 1; and test $words[2] = $argv[1]\nend\n"
    "complete -c flinch -f\n"
    "complete -c flinch -n __flinch_bare -l help -s h -d 'show the commands'\n"
    "complete -c flinch -n __flinch_bare -l version -d 'tell the version'\n";

/* In fish's single quotes. */
static void put_quoted(FILE *out, const char *text)
{
    fputc('\'', out);
    for (; *text; text++)
        fprintf(out, "%s%c", *text == '\'' || *text == '\\' ? "\\" : "", *text);
    fputc('\'', out);
}

static void put_answer(FILE *out, enum fl_option_type type, const char *const *choices,
                       const struct fl_command *const *commands)
{
    if (type == FL_OPTION_FILE)
        fputs(" -F", out);
    else if (type == FL_OPTION_FOLDER)
        fputs(" -a '(__fish_complete_directories)'", out);
    if (type != FL_OPTION_COMMAND && !choices)
        return;
    fputs(" -a '", out);
    for (size_t i = 0; choices ? choices[i] != NULL : commands[i] != NULL; i++)
        fprintf(out, "%s%s", i ? " " : "", choices ? choices[i] : commands[i]->name);
    fputc('\'', out);
}

static void put_command(FILE *out, const struct fl_command *cmd,
                        const struct fl_command *const *commands)
{
    char buf[200];
    struct fl_option_walk at = {.next = cmd->options};
    fprintf(out, "complete -c flinch -n __flinch_bare -a %s -d ", cmd->name);
    put_quoted(out, fl_text_short(buf, cmd));
    fprintf(out, "\ncomplete -c flinch -n '__flinch_is %s'", cmd->name);
    put_answer(out, cmd->argument, NULL, commands);
    fputc('\n', out);
    while (fl_option_next(&at)) {
        const struct fl_option *o = at.option;
        fprintf(out, "complete -c flinch -n '__flinch_is %s' -l %s", cmd->name, o->name);
        if (o->letter)
            fprintf(out, " -s %c", o->letter);
        if (o->value)
            fputs(o->type == FL_OPTION_FILE ? " -r" : " -x", out);
        put_answer(out, o->type, o->choices, commands);
        fputs(" -d ", out);
        put_quoted(out, o->help);
        fputc('\n', out);
    }
    fprintf(out, "complete -c flinch -n '__flinch_is %s' -l help -s h -d 'show the options'\n",
            cmd->name);
}

void fl_text_fish(FILE *out, const struct fl_command *const *commands)
{
    fputs(opening, out);
    for (size_t i = 0; commands[i]; i++)
        put_command(out, commands[i], commands);
}
