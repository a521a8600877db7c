#include "cli/options.h"

#include <math.h>
#include <string.h>

#include "show/screen/terminal_text.h"
#include "show/store/fields.h"
#include "show/store/json_value.h"
#include "trace/parse_number.h"

static const struct fl_option *by_name(const struct fl_command *cmd, const char *name, size_t n)
{
    for (const struct fl_option *o = cmd->options; o->name; o++)
        if (strlen(o->name) == n && !strncmp(o->name, name, n))
            return o;
    return NULL;
}

static const struct fl_option *by_letter(const struct fl_command *cmd, char letter)
{
    for (const struct fl_option *o = cmd->options; o->name; o++)
        if (o->letter == letter)
            return o;
    return NULL;
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

static enum flinch_code set_value(const struct fl_option *o, void *settings, const char *text,
                                  struct fl_error *err)
{
    void *field = (char *)settings + o->offset;
    switch (o->type) {
    case FL_OPTION_FLAG: *(bool *)field = true; return FLINCH_OK;
    case FL_OPTION_TEXT:
        if (!*text)
            return fl_fail(err, FLINCH_ERR_USAGE, "--%s: empty; give a %s", o->name, o->value);
        *(const char **)field = text;
        return FLINCH_OK;
    case FL_OPTION_WHOLE:
    case FL_OPTION_NUMBER: break;
    }
    return set_number(o, field, text, err);
}

/* One word that begins with a dash. *i moves on when the next word is its value. */
static enum flinch_code parse_option(const struct fl_command *cmd, void *settings, char **argv,
                                     int argc, int *i, struct fl_error *err)
{
    const char *word = argv[*i], *value = NULL;
    bool is_long = word[1] == '-';
    size_t n = is_long ? strcspn(word + 2, "=") : 1;
    const struct fl_option *o = is_long ? by_name(cmd, word + 2, n) : by_letter(cmd, word[1]);
    if (!o)
        return fl_fail(err, FLINCH_ERR_USAGE, "unknown option '%s'; see flinch %s --help", word,
                       cmd->name);
    if (is_long && word[2 + n] == '=')
        value = word + 3 + n;
    else if (!is_long && word[2])
        value = word + 2;
    if (o->type == FL_OPTION_FLAG && value)
        return fl_fail(err, FLINCH_ERR_USAGE, "option '%s' takes no value; see flinch %s --help",
                       word, cmd->name);
    if (o->type != FL_OPTION_FLAG && !value) {
        if (*i + 1 >= argc)
            return fl_fail(err, FLINCH_ERR_USAGE, "option '%s' needs a value; write %s %s", word,
                           word, o->value);
        value = argv[++*i];
    }
    return set_value(o, settings, value, err);
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
    for (const struct fl_option *o = cmd->options; o->name; o++) {
        char left[64], help[256];
        snprintf(left, sizeof left, "  %c%c%s--%s%s%s", o->letter ? '-' : ' ',
                 o->letter ? o->letter : ' ', o->letter ? ", " : "  ", o->name, o->value ? " " : "",
                 o->value ? o->value : "");
        if (o->type == FL_OPTION_WHOLE || o->type == FL_OPTION_NUMBER)
            snprintf(help, sizeof help, "%s (%.10g to %.10g)", o->help, o->low, o->high);
        else
            snprintf(help, sizeof help, "%s", o->help);
        fprintf(out, "%-*s ", LEFT, left);
        fl_put_wrapped(out, help, strlen(left) > LEFT ? (int)strlen(left) + 1 : LEFT + 1, LEFT + 1);
    }
    fprintf(out, "  -h, --help                 show this text\n");
}

json_t *fl_options_echo(const struct fl_command *cmd, const void *settings)
{
    json_t *echo = json_object();
    for (const struct fl_option *o = cmd->options; o->name; o++) {
        const void *field = (const char *)settings + o->offset;
        json_t *value = NULL;
        if (o->type == FL_OPTION_FLAG)
            value = json_boolean(*(const bool *)field);
        else if (o->type == FL_OPTION_WHOLE)
            value = json_integer(*(const int *)field);
        else if (o->type == FL_OPTION_NUMBER)
            value = json_real(*(const double *)field);
        else
            value = fl_json_text(*(const char *const *)field);
        fl_json_set(echo, o->name, value);
    }
    return echo;
}
