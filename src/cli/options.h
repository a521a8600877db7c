/* Commands and their options: one table a command yields parsing, range checks, the help text
 * and the settings echoed beside --json. */
#ifndef FL_CLI_OPTIONS_H
#define FL_CLI_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include <jansson.h>

#include "base/error.h"

enum fl_option_type {
    FL_OPTION_FLAG,   /* bool */
    FL_OPTION_WHOLE,  /* int */
    FL_OPTION_NUMBER, /* double */
    FL_OPTION_TEXT,   /* const char *: into argv */
};

struct fl_option {
    const char *name; /* long name without dashes; NULL ends a table */
    char letter;      /* short name, 0 for none */
    enum fl_option_type type;
    size_t offset;     /* of the field in the command's settings */
    double low, high;  /* numbers: both ends allowed */
    const char *value; /* placeholder in the help: "FOLDER"; NULL for flags */
    const char *help;  /* one line, no full stop */
};

struct fl_command {
    const char *name, *arguments, *summary;
    int least, most; /* how many arguments; most < 0: any number */
    const struct fl_option *options;
    size_t settings_size;                                      /* zeroed is the default */
    int (*run)(const void *settings, char **args, int n_args); /* returns the exit status */
};

/* Parses argv[0..argc) (without program and command name) into settings, moves the arguments to
 * the front of argv and sets *n_args. *help is set and parsing ends at -h or --help. */
enum flinch_code fl_options_parse(const struct fl_command *cmd, void *settings, char **argv,
                                  int argc, int *n_args, bool *help, struct fl_error *err);
/* At most 80 columns wide. */
void fl_options_help(const struct fl_command *cmd, FILE *out);
/* Every option with its value; null where it was not given. */
json_t *fl_options_echo(const struct fl_command *cmd, const void *settings);

#endif
