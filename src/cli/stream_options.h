/* Footage and traces that come as streams: the option --follow, and what goes together. */
#ifndef FL_CLI_STREAM_OPTIONS_H
#define FL_CLI_STREAM_OPTIONS_H

#include "base/error.h"

#define FL_FOLLOW_HELP "the footage is still being written: wait for more, until none came for 8 s"
#define FL_FOLLOW_MORE                                                                           \
    "Its format must be one that can be read from the front while it grows: Matroska, MPEG-TS, " \
    "NUT, AVI, fragmented MP4."

/* FLINCH_ERR_USAGE where standard input is to be two things at once. */
enum flinch_code fl_stream_options_check(char *const *footage, int n, const char *trace,
                                         struct fl_error *err);

#endif
