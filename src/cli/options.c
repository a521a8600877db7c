/* Words of the command line to settings, by the command's table; and what else the table yields
 * for people: help. It needs nothing but base and the C library, for small programs. */
#include "cli/options.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "cli/nearest.h"
#include "show/screen/terminal_text.h"
#include "trace/parse_number.h"

bool fl_option_next(struct fl_option_walk *walk)
{
    while (walk->within || walk->next->name) {
        if (walk->within && walk->within->name) {
            walk->option = walk->within++;
            walk->offset = walk->group->offset + walk->option->offset;
            return true;
        }
        walk->group = walk->within = NULL;
        if (!walk->next->name)
            return false;
        walk->option = walk->next++;
        walk->offset = walk->option->offset;
        if (walk->option->type != FL_OPTION_GROUP)
            return true;
        walk->group = walk->option;
        walk->within = walk->option->rows;
    }
    return false;
}

/* The option of that name (n bytes) or, without a name, of that letter; false if there is none. */
static bool find(struct fl_option_walk *at, const struct fl_option *table, const char *name,
                 size_t n, char letter)
{
    *at = (struct fl_option_walk){.next = table};
    while (fl_option_next(at))
        if (name ? strlen(at->option->name) == n && !strncmp(at->option->name, name, n)
                 : at->option->letter == letter)
            return true;
    return false;
}

/* Everyday words (common practice, no source), and a session file's, for what an option is called
 * otherwise; NULL: none, or the command has no such option. */
static const char *also_called(const struct fl_option *table, const char *name)
{
    static const struct {
        const char *word, *option;
    } words[] = {
        {"dpi", "cpi"},
        {"counts-per-inch", "cpi"},
        {"cm-per-turn", "degrees-per-count"},
        {"cm-per-360", "degrees-per-count"},
        {"sensitivity", "degrees-per-count"},
        {"hfov", "fov"},
        {"horizontal-fov", "fov"},
        {"horizontal-fov-deg", "fov"},
    };
    struct fl_option_walk at;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (!strcmp(name, words[i].word) &&
            find(&at, table, words[i].option, strlen(words[i].option), 0))
            return words[i].option;
    return NULL;
}

/* word begins with dashes, n letters of it after "--" are the name; n 0: a short option. */
static enum flinch_code unknown(const struct fl_command *cmd, const char *word, size_t n,
                                struct fl_error *err)
{
    char name[40];
    snprintf(name, sizeof name, "%.*s", n < sizeof name ? (int)n : 0, word + 2);
    struct fl_nearest near = {.word = name};
    struct fl_option_walk at = {.next = cmd->options};
    while (fl_option_next(&at))
        fl_nearest_try(&near, at.option->name);
    const char *other = also_called(cmd->options, name);
    near.best = other ? other : near.best;
    if (near.best)
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "unknown option '%s'; did you mean '--%s'? See flinch %s --help", word,
                       near.best, cmd->name);
    return fl_fail(err, FLINCH_ERR_USAGE, "unknown option '%s'; see flinch %s --help", word,
                   cmd->name);
}

char *fl_option_range(const struct fl_option *o)
{
    if (o->type == FL_OPTION_WHOLE || o->type == FL_OPTION_NUMBER)
        return fl_format(" (%.10g to %.10g)", o->low, o->high);
    if (o->type != FL_OPTION_LIST)
        return fl_strdup("");
    char *list = fl_strdup(" (");
    for (size_t i = 0; o->choices[i]; i++) {
        char *longer = fl_format("%s%s%s", list, o->choices[i], o->choices[i + 1] ? ", " : ")");
        free(list);
        list = longer;
    }
    return list;
}

int fl_option_choice(const char *const *choices, const char *text)
{
    for (int i = 0; choices[i]; i++)
        if (!text || !strcmp(choices[i], text))
            return i;
    return -1;
}

static enum flinch_code check_choice(const struct fl_option *o, const char *text,
                                     struct fl_error *err)
{
    char list[200] = "";
    if (fl_option_choice(o->choices, text) >= 0)
        return FLINCH_OK;
    for (int i = 0; o->choices[i]; i++)
        snprintf(list + strlen(list), sizeof list - strlen(list), "%s%s",
                 !i                  ? ""
                 : o->choices[i + 1] ? ", "
                                     : " or ",
                 o->choices[i]);
    return fl_fail(err, FLINCH_ERR_USAGE, "--%s: '%.40s' is no choice; write %s", o->name, text,
                   list);
}

static enum flinch_code set_number(const struct fl_option *o, void *field, const char *text,
                                   struct fl_error *err)
{
    double v = 0;
    bool whole = o->type == FL_OPTION_WHOLE;
    if (!fl_parse_number(text, strlen(text), &v) || (whole && v != floor(v)))
        return fl_fail(err, FLINCH_ERR_USAGE,
                       "--%s: '%s' is not a %snumber; give one from %.10g to %.10g", o->name, text,
                       whole ? "whole " : "", o->low, o->high);
    if (v < o->low || v > o->high)
        return fl_fail(err, FLINCH_ERR_USAGE, "--%s: %s is outside %.10g to %.10g; correct it",
                       o->name, text, o->low, o->high);
    if (whole)
        *(int *)field = (int)v;
    else
        *(double *)field = v;
    return FLINCH_OK;
}

static enum flinch_code set_value(const struct fl_option_walk *at, void *settings, const char *text,
                                  struct fl_error *err)
{
    const struct fl_option *o = at->option;
    void *field = (char *)settings + at->offset;
    if (o->type == FL_OPTION_FLAG) {
        *(bool *)field = true;
        return FLINCH_OK;
    }
    if (o->type == FL_OPTION_WHOLE || o->type == FL_OPTION_NUMBER)
        return set_number(o, field, text, err);
    if (!*text)
        return fl_fail(err, FLINCH_ERR_USAGE, "--%s: empty; give a %s", o->name, o->value);
    *(const char **)field = text;
    return o->type == FL_OPTION_CHOICE ? check_choice(o, text, err) : FLINCH_OK;
}

/* One word that begins with a dash. *i moves on when the next word is its value. */
static enum flinch_code parse_option(const struct fl_command *cmd, void *settings, char **argv,
                                     int argc, int *i, struct fl_error *err)
{
    const char *word = argv[*i], *value = NULL;
    bool is_long = word[1] == '-';
    size_t n = is_long ? strcspn(word + 2, "=") : 0;
    struct fl_option_walk at;
    if (!find(&at, cmd->options, is_long ? word + 2 : NULL, n, word[1]))
        return unknown(cmd, word, n, err);
    if (is_long && word[2 + n] == '=')
        value = word + 3 + n;
    else if (!is_long && word[2])
        value = word + 2;
    if (at.option->type == FL_OPTION_FLAG && value)
        return fl_fail(err, FLINCH_ERR_USAGE, "option '%s' takes no value; see flinch %s --help",
                       word, cmd->name);
    if (at.option->type != FL_OPTION_FLAG && !value) {
        if (*i + 1 >= argc)
            return fl_fail(err, FLINCH_ERR_USAGE, "option '%s' needs a value; write %s %s", word,
                           word, at.option->value);
        value = argv[++*i];
    }
    return set_value(&at, settings, value, err);
}

static enum flinch_code check_count(const struct fl_command *cmd, char **argv, int n,
                                    struct fl_error *err)
{
    if (n < cmd->least)
        return fl_fail(err, FLINCH_ERR_USAGE, "missing argument; use: flinch %s %s", cmd->name,
                       cmd->arguments);
    if (cmd->most >= 0 && n > cmd->most)
        return fl_fail(err, FLINCH_ERR_USAGE, "'%s' is one argument too many; use: flinch %s %s",
                       argv[cmd->most], cmd->name, cmd->arguments);
    return FLINCH_OK;
}

enum flinch_code fl_options_parse(const struct fl_command *cmd, void *settings, char **argv,
                                  int argc, int *n_args, bool *help, struct fl_error *err)
{
    int n = 0;
    bool only_arguments = false;
    *help = false;
    for (int i = 0; i < argc; i++) {
        char *word = argv[i];
        if (only_arguments || word[0] != '-' || !word[1]) {
            argv[n++] = word;
        } else if (!strcmp(word, "--")) {
            only_arguments = true;
        } else if (!strcmp(word, "--help") || !strcmp(word, "-h")) {
            *help = true;
            return FLINCH_OK;
        } else {
            enum flinch_code code = parse_option(cmd, settings, argv, argc, &i, err);
            if (code)
                return code;
        }
    }
    *n_args = n;
    return check_count(cmd, argv, n, err);
}

void fl_options_help(const struct fl_command *cmd, FILE *out)
{
    enum { LEFT = 28 };
    fprintf(out, "Use: flinch %s %s [options]\n\n", cmd->name, cmd->arguments);
    fl_put_wrapped(out, cmd->summary, 0, 0);
    fprintf(out, "\nOptions:\n");
    struct fl_option_walk at = {.next = cmd->options};
    while (fl_option_next(&at)) {
        const struct fl_option *o = at.option;
        char left[64], *range = fl_option_range(o), *help = fl_format("%s%s", o->help, range);
        snprintf(left, sizeof left, "  %c%c%s--%s%s%s", o->letter ? '-' : ' ',
                 o->letter ? o->letter : ' ', o->letter ? ", " : "  ", o->name, o->value ? " " : "",
                 o->value ? o->value : "");
        fprintf(out, "%-*s ", LEFT, left);
        fl_put_wrapped(out, help, strlen(left) > LEFT ? (int)strlen(left) + 1 : LEFT + 1, LEFT + 1);
        free(range);
        free(help);
    }
    fprintf(out, "  -h, --help                 show this text\n");
}
