/* What a clip is to show, and how. */
#ifndef FL_SHOW_CLIP_CLIP_SETTINGS_H
#define FL_SHOW_CLIP_CLIP_SETTINGS_H

#include <stdbool.h>

#include "base/timecode.h"
#include "study/take/take.h"

enum fl_clip_place {
    FL_CLIP_INSET, /* the frame keeps its size, the picture is made smaller: nothing of it is hidden
                    */
    FL_CLIP_OVER,  /* the picture fills the frame, the timeline lies over its lower part */
    FL_CLIP_EXTEND, /* the picture keeps its size, the frame is taller */
};

struct fl_clip_take {
    const struct fl_take *take; /* NULL: none */
    const char *footage;        /* path */
    double from_s;              /* footage time at which the clip begins */
    size_t lapse;               /* number of the lapse that it is of, from 1; 0: of none */
};

struct fl_clip_settings {
    struct fl_clip_take a, b; /* b: beside it; then place is not used */
    double length_s;          /* of footage */
    int slow;                 /* how often each frame is shown; 0 is 1 */
    struct fl_rate rate;      /* of the clip; den 0: the footage's own */
    enum fl_clip_place place;
    int height;                           /* of the frame, px; 0: the footage's own */
    bool eight_bits;                      /* even where the footage has more */
    bool window;                          /* of the footage's own pixels, 1 to 1 */
    double window_at[2];                  /* its middle: shares of the picture's width, height */
    double notice_s;                      /* the notice stands this long, from the start */
    bool mute, replace;                   /* replace: an older clip of this name may go */
    int threads;                          /* of each decoder; 0: one a core */
    const char *codec, *preset, *options; /* see media/encoder.h; NULL: default */
    double crf;                           /* NaN: default */
    int kbit_s;                           /* 0: default */
};

#endif
