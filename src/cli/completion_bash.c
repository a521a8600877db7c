/* Completion for bash: a function that looks at the command and at the word before the cursor. It
 * needs no helpers beyond bash's own (bash(1), Programmable Completion). */
#include "cli/texts.h"

static const char opening[] =
    "# Completion of flinch for bash, written from the program's option tables.\n"
    "_flinch()\n{\n"
    "    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]} words='' kind=''\n"
    "    # Bash parts --out=FOLDER at the sign.\n"
    "    if [ \"$word\" = = ]; then\n"
    "        word=''\n"
    "    elif [ \"$before\" = = ]; then\n"
    "        before=${COMP_WORDS[COMP_CWORD-2]}\n"
    "    fi\n";
static const char ending[] =
    "    case $kind in\n"
    "        file) compopt -o filenames 2>/dev/null\n"
    "            mapfile -t COMPREPLY < <(compgen -f -- \"$word\");;\n"
    "        folder) compopt -o filenames 2>/dev/null\n"
    "            mapfile -t COMPREPLY < <(compgen -d -- \"$word\");;\n"
    "        *) mapfile -t COMPREPLY < <(compgen -W \"$words\" -- \"$word\");;\n"
    "    esac\n}\n"
    "complete -F _flinch flinch\n";

static void put_names(FILE *out, const struct fl_command *const *commands)
{
    for (size_t i = 0; commands[i]; i++)
        fprintf(out, "%s%s", i ? " " : "", commands[i]->name);
}

/* What completes a word of that type: sets kind or words. */
static void put_answer(FILE *out, enum fl_option_type type, const char *const *choices,
                       const struct fl_command *const *commands)
{
    if (type == FL_OPTION_FILE || type == FL_OPTION_FOLDER) {
        fputs(type == FL_OPTION_FILE ? "kind=file" : "kind=folder", out);
        return;
    }
    fputs("words='", out);
    if (type == FL_OPTION_COMMAND)
        put_names(out, commands);
    for (size_t i = 0; choices && choices[i]; i++)
        fprintf(out, "%s%s", i ? " " : "", choices[i]);
    fputc('\'', out);
}

static void put_values(FILE *out, const struct fl_command *cmd,
                       const struct fl_command *const *commands)
{
    struct fl_option_walk at = {.next = cmd->options};
    while (fl_option_next(&at)) {
        const struct fl_option *o = at.option;
        if (o->type == FL_OPTION_FLAG)
            continue;
        fprintf(out, "        '%s --%s'", cmd->name, o->name);
        if (o->letter)
            fprintf(out, " | '%s -%c'", cmd->name, o->letter);
        fputs(") ", out);
        put_answer(out, o->type, o->choices, commands);
        fputs(";;\n", out);
    }
}

static void put_words(FILE *out, const struct fl_command *cmd,
                      const struct fl_command *const *commands)
{
    struct fl_option_walk at = {.next = cmd->options};
    fprintf(out, "            '%s '-*) words='", cmd->name);
    while (fl_option_next(&at)) {
        fprintf(out, "--%s ", at.option->name);
        if (at.option->letter)
            fprintf(out, "-%c ", at.option->letter);
    }
    fprintf(out, "--help -h';;\n            '%s '*) ", cmd->name);
    put_answer(out, cmd->argument, NULL, commands);
    fputs(";;\n", out);
}

void fl_text_bash(FILE *out, const struct fl_command *const *commands)
{
    fputs(opening, out);
    fputs("    if [ \"$COMP_CWORD\" -le 1 ]; then\n        words='", out);
    put_names(out, commands);
    fputs(" --help --version'\n    else case \"${COMP_WORDS[1]} $before\" in\n", out);
    for (size_t i = 0; commands[i]; i++)
        put_values(out, commands[i], commands);
    fputs("        *) case \"${COMP_WORDS[1]} $word\" in\n", out);
    for (size_t i = 0; commands[i]; i++)
        put_words(out, commands[i], commands);
    fputs("        esac;;\n    esac; fi\n", out);
    fputs(ending, out);
}
