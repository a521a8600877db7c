/* The man page's options, in the markup of scdoc(5): a section a command, and one a group of
 * options that commands share. */
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "cli/texts.h"

/* Long options bold, the option's placeholder underlined, everything else as it stands. */
static void put_word(FILE *out, const char *word, size_t n, const char *value)
{
    const bool option = n > 2 && !strncmp(word, "--", 2),
               placeholder = value && strlen(value) == n && !strncmp(word, value, n);
    const char *mark = option ? "*" : placeholder ? "_" : "";
    fputs(mark, out);
    for (size_t i = 0; i < n; i++)
        fprintf(out, "%s%c", strchr("\\*_`", word[i]) ? "\\" : "", word[i]);
    fputs(mark, out);
}

static void put_text(FILE *out, const char *text, const char *value)
{
    while (*text) {
        size_t n = 0;
        while (text[n] && (isalnum((unsigned char)text[n]) || text[n] == '-'))
            n++;
        n = n ? n : 1;
        put_word(out, text, n, value);
        text += n;
    }
}

static void put_sentence(FILE *out, const char *text, const char *value)
{
    /* A unit or one of the choices keeps its small letter. */
    const char after = text[strspn(text, "abcdefghijklmnopqrstuvwxyz")];
    if (after == ' ' || !after)
        fputc(toupper((unsigned char)*text++), out);
    put_text(out, text, value);
}

static void put_option(FILE *out, const struct fl_option *o)
{
    if (o->letter)
        fprintf(out, "*-%c*, ", o->letter);
    fprintf(out, "*--%s*", o->name);
    if (o->value)
        fprintf(out, " _%s_", o->value);
    fputs("\n\t", out);
    put_sentence(out, o->help, o->value);
    char *range = fl_option_range(o);
    fputs(range, out);
    free(range);
    fputs(o->help[strlen(o->help) - 1] == '?' ? "" : ".", out);
    if (o->more) {
        fputc(' ', out);
        put_text(out, o->more, o->value);
    }
    fputs("\n\n", out);
}

static void put_heading(FILE *out, const char *words, const char *name)
{
    fprintf(out, "# %s ", words);
    for (; *name; name++)
        fputc(toupper((unsigned char)*name), out);
    fputs("\n\n", out);
}

static void put_command(FILE *out, const struct fl_command *cmd)
{
    if (!cmd->options->name)
        return;
    int groups = 0;
    put_heading(out, "OPTIONS OF", cmd->name);
    for (const struct fl_option *o = cmd->options; o->name; o++)
        if (o->type != FL_OPTION_GROUP)
            put_option(out, o);
    for (const struct fl_option *o = cmd->options; o->name; o++)
        if (o->type == FL_OPTION_GROUP)
            fprintf(out, "%s%s", groups++ ? " and for " : "And the options for ", o->name);
    fputs(groups ? ", below.\n\n" : "", out);
}

static bool has_group(const struct fl_command *cmd, const struct fl_option *rows)
{
    for (const struct fl_option *o = cmd->options; o->name; o++)
        if (o->type == FL_OPTION_GROUP && o->rows == rows)
            return true;
    return false;
}

/* "Of *run*, *look* and *show*." */
static void put_owners(FILE *out, const struct fl_command *const *commands,
                       const struct fl_option *rows)
{
    size_t n = 0, k = 0;
    for (size_t i = 0; commands[i]; i++)
        n += has_group(commands[i], rows);
    fputs("Of ", out);
    for (size_t i = 0; commands[i]; i++)
        if (has_group(commands[i], rows)) {
            k++;
            fprintf(out, "*%s*%s", commands[i]->name,
                    k == n       ? ".\n\n"
                    : k + 1 == n ? " and "
                                 : ", ");
        }
}

static void put_group(FILE *out, const struct fl_command *const *commands,
                      const struct fl_option *group)
{
    put_heading(out, "OPTIONS FOR", group->name);
    put_owners(out, commands, group->rows);
    for (const struct fl_option *o = group->rows; o->name; o++)
        put_option(out, o);
}

void fl_text_man(FILE *out, const struct fl_command *const *commands)
{
    for (size_t i = 0; commands[i]; i++)
        put_command(out, commands[i]);
    for (size_t i = 0; commands[i]; i++)
        for (const struct fl_option *o = commands[i]->options; o->name; o++) {
            bool before = false;
            for (size_t k = 0; k < i; k++)
                before = before || has_group(commands[k], o->rows);
            if (o->type == FL_OPTION_GROUP && !before)
                put_group(out, commands, o);
        }
}

const char *fl_text_short(char buf[200], const struct fl_command *cmd)
{
    snprintf(buf, 200, "%.*s", (int)strcspn(cmd->summary, ".:"), cmd->summary);
    return buf;
}
