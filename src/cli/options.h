/* Options of commands: one table a command yields parsing, range checks, the help text, the man
 * page, shell completion, the hint for a mistyped name and the settings echoed beside --json. */
#ifndef FL_CLI_OPTIONS_H
#define FL_CLI_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "base/error.h"

/* What stands after an option, and the field that holds it. */
enum fl_option_type {
    FL_OPTION_FLAG,    /* nothing; bool */
    FL_OPTION_WHOLE,   /* int */
    FL_OPTION_NUMBER,  /* double */
    FL_OPTION_TEXT,    /* const char *: into argv; so are all that follow */
    FL_OPTION_FILE,    /* a path */
    FL_OPTION_FOLDER,  /* a path */
    FL_OPTION_CHOICE,  /* one of `choices` */
    FL_OPTION_LIST,    /* some of `choices`, parted by commas: checked by who reads the field */
    FL_OPTION_COMMAND, /* the name of a command */
    FL_OPTION_GROUP,   /* no option: stands for all rows of the table `rows` */
};

struct fl_option {
    const char *name; /* long name without dashes; a group's own name; NULL ends a table */
    char letter;      /* short name, 0 for none */
    enum fl_option_type type;
    size_t offset;     /* of the field in the command's settings; of a group's settings in them */
    double low, high;  /* numbers: both ends allowed */
    const char *value; /* placeholder in the help: "FOLDER"; NULL for flags */
    const char *help;  /* one line, no full stop; range and words of a list follow by themselves */
    const char *more;  /* whole sentences that the man page adds; NULL */
    const char *const *choices;   /* NULL-terminated */
    const struct fl_option *rows; /* of a group; their offsets count from the group's; no groups */
};

struct fl_command {
    const char *name, *arguments, *summary;
    int least, most; /* how many arguments; most < 0: any number */
    const struct fl_option *options;
    size_t settings_size;                                      /* zeroed is the default */
    int (*run)(const void *settings, char **args, int n_args); /* returns the exit status */
    enum fl_option_type argument; /* what its arguments are, for completion */
};

/* Goes through a table; a group's rows come in the group's place. Begin with {.next = table}. */
struct fl_option_walk {
    const struct fl_option *option;        /* the row reached, never a group */
    size_t offset;                         /* of its field in the command's settings */
    const struct fl_option *group;         /* the group it came from; NULL: the command's own */
    const struct fl_option *next, *within; /* where to go on: in the table, in the group */
};
bool fl_option_next(struct fl_option_walk *walk); /* false at the end */

/* Parses argv[0..argc) (without program and command name) into settings, moves the arguments to
 * the front of argv and sets *n_args. *help is set and parsing ends at -h or --help. */
enum flinch_code fl_options_parse(const struct fl_command *cmd, void *settings, char **argv,
                                  int argc, int *n_args, bool *help, struct fl_error *err);
/* At most 80 columns wide. */
void fl_options_help(const struct fl_command *cmd, FILE *out);
/* What a value may be, to stand behind the help: " (0 to 100)", " (svg, png, pdf)"; "" where the
 * help says it or anything goes. malloc'ed. */
char *fl_option_range(const struct fl_option *o);
/* Place of text among choices; 0 for NULL (not given), -1 for none of them. */
int fl_option_choice(const char *const *choices, const char *text);

#endif
