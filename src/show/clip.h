/* Clips: a span of footage with its timeline drawn in, for publication.
 *
 * Each capture frame of the span is shown `slow` times, at the footage's own rate; state, rates and the mark on
 * the timeline are those of the capture frame that is shown. Where the recorder lost a frame, the one before is
 * shown again. Written beside its final name and renamed. */
#ifndef FL_SHOW_CLIP_H
#define FL_SHOW_CLIP_H

#include "base/error.h"
#include "base/progress.h"
#include "media/flash.h"
#include "study/take.h"

enum fl_clip_place {
    FL_CLIP_INSET,  /* the frame keeps its size, the picture is made smaller: nothing of it is hidden */
    FL_CLIP_OVER,   /* the picture fills the frame, the timeline lies over its lower part */
    FL_CLIP_EXTEND, /* the picture keeps its size, the frame is taller */
};

struct fl_clip_take {
    const struct fl_take *take; /* NULL: none */
    const char *footage;        /* path */
    double from_s;              /* footage time at which the clip begins */
};

struct fl_clip_settings {
    struct fl_clip_take a, b; /* b: beside it; then place is not used */
    double length_s;          /* of footage */
    int slow;                 /* how often each frame is shown; 0 is 1 */
    enum fl_clip_place place;
    int height;               /* of the frame, px; 0: the footage's own */
    double notice_s;          /* the notice stands this long, from the start */
    bool mute, replace;       /* replace: an older clip of this name may go */
    int threads;              /* of each decoder; 0: one a core */
    const char *codec, *preset, *options; /* see media/encoder.h; NULL: default */
    double crf;               /* NaN: default */
    int kbit_s;               /* 0: default */
};

struct fl_clip_report {
    long frames;              /* of the clip */
    long lost;                /* of the footage, in the span: the frame before is shown in their place */
    int width, height;
    double rate_hz, duration_s; /* of the clip */
    bool sound;
    const char *codec;        /* static */
    enum fl_light light;      /* other than SDR: the tags are kept, 8 bits a sample */
    bool reduced;             /* the footage has more than 8 bits a sample */
    struct fl_flash_report flash;
};

/* The line that clips carry, in the picture and in their metadata. */
extern const char fl_clip_notice[];

/* Can a clip of this name be written with this encoder (NULL: the default), and is none in the way? */
enum flinch_code fl_clip_check(const char *path, const char *codec, bool replace, struct fl_error *err);

/* Errors name the file: footage that is missing or not that of the take, a span without frames, a clip that is
 * there or cannot be written, encoder settings. On an error nothing is left. */
enum flinch_code fl_clip_write(const char *path, const struct fl_clip_settings *s, struct fl_clip_report *report,
                               const struct fl_progress *progress, struct fl_error *err);
void fl_clip_report_finish(struct fl_clip_report *r);

/* Capture frames of [from_s, to_s): *n of them from *first; n 0 if there is none. */
void fl_clip_frames(const struct fl_take *t, double from_s, double to_s, long *first, long *n);

#endif
