/* The options for charts. */
#ifndef FL_CLI_CHART_OPTIONS_H
#define FL_CLI_CHART_OPTIONS_H

#include "cli/options.h"
#include "show/store/chart_settings.h"

struct fl_chart_options {
    const char *kinds, *formats, *themes, *sizes, *title;
    int text_px;
};

/* A group's rows; their fields are those of struct fl_chart_options. */
extern const struct fl_option fl_chart_option_rows[];

/* FLINCH_ERR_USAGE names the option and says what to write. The title is kept, not copied. */
enum flinch_code fl_chart_options_read(struct fl_chart_settings *out,
                                       const struct fl_chart_options *o, struct fl_error *err);

#endif
