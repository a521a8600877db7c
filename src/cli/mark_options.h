/* The options for marks that run, look and show have in common. */
#ifndef FL_CLI_MARK_OPTIONS_H
#define FL_CLI_MARK_OPTIONS_H

#include "cli/options.h"
#include "show/store/mark_settings.h"

struct fl_mark_options {
    const char *flicks, *rate, *start;
    bool drop;
};

/* A group's rows; their fields are those of struct fl_mark_options. */
extern const struct fl_option fl_mark_option_rows[];

/* FLINCH_ERR_USAGE names the option and says what to write. Texts are kept, not copied. */
enum flinch_code fl_mark_options_read(struct fl_mark_settings *out, const struct fl_mark_options *o,
                                      struct fl_error *err);

#endif
