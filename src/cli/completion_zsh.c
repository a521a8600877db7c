/* Completion for zsh: what its _arguments makes of one specification an option (zshcompsys(1)). */
#include <string.h>

#include "cli/texts.h"

/* Inside single quotes of the shell; in a specification colons and brackets are signs. */
static void put_quoted(FILE *out, const char *text)
{
    for (; *text; text++)
        if (*text == '\'')
            fputs("'\\''", out);
        else
            fprintf(out, "%s%c", strchr(":[]\\", *text) ? "\\" : "", *text);
}

/* ":placeholder:what completes it"; the placeholder is the first word of value. */
static void put_action(FILE *out, const char *value, enum fl_option_type type,
                       const char *const *choices)
{
    char word[40];
    snprintf(word, sizeof word, "%.*s", (int)strcspn(value, " "), value);
    fputc(':', out);
    put_quoted(out, word);
    fputc(':', out);
    if (type == FL_OPTION_FILE) {
        fputs("_files", out);
    } else if (type == FL_OPTION_FOLDER) {
        fputs("_files -/", out);
    } else if (type == FL_OPTION_COMMAND) {
        fputs("->command", out);
    } else if (choices) {
        fputs(type == FL_OPTION_LIST ? "_values -s , word" : "(", out);
        for (size_t i = 0; choices[i]; i++)
            fprintf(out, "%s%s", i || type == FL_OPTION_LIST ? " " : "", choices[i]);
        fputs(type == FL_OPTION_LIST ? "" : ")", out);
    }
}

static void put_option(FILE *out, const struct fl_option *o)
{
    const char *after = o->value ? "=" : "", *beside = o->value ? "+" : "";
    fputs("                ", out);
    if (o->letter)
        fprintf(out, "'(-%c --%s)'{-%c%s,--%s%s}'[", o->letter, o->name, o->letter, beside, o->name,
                after);
    else
        fprintf(out, "'--%s%s[", o->name, after);
    put_quoted(out, o->help);
    fputc(']', out);
    if (o->value)
        put_action(out, o->value, o->type, o->choices);
    fputs("' \\\n", out);
}

static void put_command(FILE *out, const struct fl_command *cmd)
{
    struct fl_option_walk at = {.next = cmd->options};
    fprintf(out, "        %s)\n            _arguments -s -S \\\n", cmd->name);
    while (fl_option_next(&at))
        put_option(out, at.option);
    fputs("                '(-h --help)'{-h,--help}'[show the options]'", out);
    if (cmd->most) {
        fputs(" \\\n                '*", out);
        put_action(out, cmd->arguments, cmd->argument, NULL);
        fputc('\'', out);
    }
    fputs(" && return 0\n            ;;\n", out);
}

void fl_text_zsh(FILE *out, const struct fl_command *const *commands)
{
    char buf[200];
    fputs("#compdef flinch\n"
          "# Completion of flinch for zsh, written from the program's option tables.\n"
          "_flinch()\n{\n"
          "    local curcontext=\"$curcontext\" context state state_descr line\n"
          "    typeset -A opt_args\n    local -a commands=(\n",
          out);
    for (size_t i = 0; commands[i]; i++) {
        fprintf(out, "        '%s:", commands[i]->name);
        put_quoted(out, fl_text_short(buf, commands[i]));
        fputs("'\n", out);
    }
    fputs("    )\n"
          "    if (( CURRENT == 2 )); then\n"
          "        _describe command commands\n"
          "        compadd -- --help --version\n"
          "        return\n"
          "    fi\n"
          "    shift words\n    (( CURRENT-- ))\n"
          "    case $words[1] in\n",
          out);
    for (size_t i = 0; commands[i]; i++)
        put_command(out, commands[i]);
    fputs("    esac\n"
          "    [[ $state == command ]] && _describe command commands\n}\n"
          "_flinch \"$@\"\n",
          out);
}
