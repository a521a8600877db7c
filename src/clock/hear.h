/* A file's sound, gone through once for what clicks stand out in. */
#ifndef FL_CLOCK_HEAR_H
#define FL_CLOCK_HEAR_H

#include "base/error.h"
#include "base/progress.h"
#include "clock/click_energy.h"

/* origin_s as for fl_sound_stream_open: the container's time of footage time 0. A file without
 * sound gives n = 0, without an error. Stops at most an hour and a half in. */
enum flinch_code fl_hear(struct fl_click_energy *out, const char *path, double origin_s,
                         const struct fl_progress *progress, struct fl_error *err);

#endif
