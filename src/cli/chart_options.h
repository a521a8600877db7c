/* The options for charts. */
#ifndef FL_CLI_CHART_OPTIONS_H
#define FL_CLI_CHART_OPTIONS_H

#include "cli/options.h"
#include "show/store/plate_settings.h"

struct fl_chart_options {
    const char *kinds, *formats, *themes, *sizes, *title;
    int text_px;
};

/* Rows of an option table; at: offset of the struct fl_chart_options in the command's settings. */
/* clang-format off */
#define FL_CHART_OPTION_ROWS(at) \
    {"charts", 0, FL_OPTION_TEXT, (at) + offsetof(struct fl_chart_options, kinds), 0, 0, "LIST", \
     "draw only these charts, of ranking, curve, resolution, timeline, rate and " \
     "delay; parted by commas"}, \
    {"chart-formats", 0, FL_OPTION_TEXT, \
     (at) + offsetof(struct fl_chart_options, formats), 0, 0, "LIST", \
     "of svg, png and pdf; else svg,png"}, \
    {"chart-themes", 0, FL_OPTION_TEXT, \
     (at) + offsetof(struct fl_chart_options, themes), 0, 0, "LIST", \
     "of light, dark and transparent (to lay over footage); else light"}, \
    {"chart-sizes", 0, FL_OPTION_TEXT, \
     (at) + offsetof(struct fl_chart_options, sizes), 0, 0, "LIST", \
     "heights of png in pixels, of 1080 and 2160; else 1080"}, \
    {"chart-text", 0, FL_OPTION_WHOLE, \
     (at) + offsetof(struct fl_chart_options, text_px), FL_PLATE_TEXT_LEAST, \
     FL_PLATE_TEXT_MOST, "N", "size of running text, in pixels of a picture 1080 high; else 28"}, \
    {"chart-title", 0, FL_OPTION_TEXT, \
     (at) + offsetof(struct fl_chart_options, title), 0, 0, "TEXT", \
     "title of the charts drawn, in place of their own"}
/* clang-format on */

/* FLINCH_ERR_USAGE names the option and says what to write. The title is kept, not copied. */
enum flinch_code fl_chart_options_read(struct fl_plate_settings *out,
                                       const struct fl_chart_options *o, struct fl_error *err);

#endif
