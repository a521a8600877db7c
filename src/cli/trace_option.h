/* The option --columns of the commands that read a trace. */
#ifndef FL_CLI_TRACE_OPTION_H
#define FL_CLI_TRACE_OPTION_H

#include "trace/columns.h"

/* Its help, and what the manual adds. */
#define FL_COLUMNS_HELP "a logger's own column names: time_ms=Stamp,dx=Move X,dy=Move Y"
#define FL_COLUMNS_MORE                                                                          \
    "Names on the left are those of a CSV trace of flinch; a name that holds a comma stands in " \
    "double quotes."

/* text NULL: not given, *c is NULL. Else *c is kept, filled. FLINCH_ERR_USAGE names the option. */
enum flinch_code fl_trace_option_read(const struct fl_trace_columns **c,
                                      struct fl_trace_columns *kept, const char *text,
                                      struct fl_error *err);

#endif
