/* A command's options as JSON, beside what it prints with --json. */
#ifndef FL_CLI_OPTION_ECHO_H
#define FL_CLI_OPTION_ECHO_H

#include <jansson.h>

#include "cli/options.h"

/* Every option of the table with its value; null where it was not given. */
json_t *fl_options_echo(const struct fl_option *table, const void *settings);

#endif
