/* The options for marks that run, look and show have in common. */
#ifndef FL_CLI_MARK_OPTIONS_H
#define FL_CLI_MARK_OPTIONS_H

#include "cli/options.h"
#include "show/store/mark_settings.h"

struct fl_mark_options {
    const char *flicks, *rate, *start;
    bool drop;
};

/* Rows of an option table; at: offset of the struct fl_mark_options in the command's settings. */
/* clang-format off */
#define FL_MARK_OPTION_ROWS(at) \
    {"mark-flicks", 0, FL_OPTION_TEXT, \
     (at) + offsetof(struct fl_mark_options, flicks), 0, 0, "WHICH", \
     "flicks to mark for editing, beside lapses: tripped (the default), held, all or none"}, \
    {"mark-rate", 0, FL_OPTION_TEXT, (at) + offsetof(struct fl_mark_options, rate), 0, 0, "R", \
     "frame rate of the edit, as 29.97 or 30000/1001; else the footage's own"}, \
    {"mark-start", 0, FL_OPTION_TEXT, (at) + offsetof(struct fl_mark_options, start), 0, 0, "TC", \
     "timecode of the footage's first frame in the edit; else 00:00:00:00"}, \
    {"mark-drop", 0, FL_OPTION_FLAG, (at) + offsetof(struct fl_mark_options, drop), 0, 0, NULL, \
     "count marks in drop-frame timecode, at 29.97, 59.94 or 119.88"}
/* clang-format on */

/* FLINCH_ERR_USAGE names the option and says what to write. Texts are kept, not copied. */
enum flinch_code fl_mark_options_read(struct fl_mark_settings *out, const struct fl_mark_options *o,
                                      struct fl_error *err);

#endif
