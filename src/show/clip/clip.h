/* Clips: a span of footage with its timeline drawn in, for publication.
 *
 * Each capture frame of the span is shown `slow` times, at the footage's own rate; or, where
 * another rate is asked for, each frame of the clip shows what was on screen as it began. State,
 * rates and the mark on the timeline are those of the capture frame that is shown. Where the
 * recorder lost a frame, the one before is shown again. Written beside its final name and renamed.
 */
#ifndef FL_SHOW_CLIP_CLIP_H
#define FL_SHOW_CLIP_CLIP_H

#include "base/error.h"
#include "base/progress.h"
#include "media/flash.h"
#include "show/clip/clip_settings.h"
#include "study/take/take.h"

struct fl_clip_report {
    long frames; /* of the clip */
    long lost;   /* of the footage, in the span: the frame before is shown in their place */
    int width, height;
    double rate_hz, duration_s; /* of the clip */
    bool sound;
    const char *codec;   /* static */
    enum fl_light light; /* other than SDR: the tags are kept */
    int bits;     /* a sample: 10 where the footage has more than 8 and the encoder takes them */
    bool reduced; /* the footage has more than 8 bits a sample, the clip 8 */
    struct fl_flash_report flash;
};

/* The line that clips carry, in the picture and in their metadata. */
extern const char fl_clip_notice[];

/* Can a clip of this name be written with this encoder (NULL: the default), and is none in the way?
 */
enum flinch_code fl_clip_check(const char *path, const char *codec, bool replace,
                               struct fl_error *err);

/* Errors name the file: footage that is missing or not that of the take, a span without frames, a
 * clip that is there or cannot be written, encoder settings. On an error nothing is left. */
enum flinch_code fl_clip_write(const char *path, const struct fl_clip_settings *s,
                               struct fl_clip_report *report, const struct fl_progress *progress,
                               struct fl_error *err);
void fl_clip_report_finish(struct fl_clip_report *r);

/* Capture frames of [from_s, to_s): *n of them from *first; n 0 if there is none. */
void fl_clip_frames(const struct fl_take *t, double from_s, double to_s, long *first, long *n);

#endif
