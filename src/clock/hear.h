/* A file's sound, gone through once for what clicks stand out in. */
#ifndef FL_CLOCK_HEAR_H
#define FL_CLOCK_HEAR_H

#include "base/error.h"
#include "base/progress.h"
#include "clock/click_energy.h"

struct fl_hear_settings {
    double origin_s;     /* the container's time of footage time 0: media/sound_stream.h */
    double stop_after_s; /* hear only so much from the start; 0: FL_CLICK_LONGEST_S */
};

/* A file without sound gives n = 0, without an error. */
enum flinch_code fl_hear(struct fl_click_energy *out, const char *path,
                         const struct fl_hear_settings *how, const struct fl_progress *progress,
                         struct fl_error *err);

#endif
