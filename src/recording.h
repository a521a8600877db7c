/* What one take's files hold, read once: the signals of every frame, when each was shown, and the
 * hand's motion. Nothing here changes once it is read. */
#ifndef FL_RECORDING_H
#define FL_RECORDING_H

#include <stdbool.h>

#include "base/error.h"
#include "base/progress.h"
#include "clock/click_energy.h"
#include "media/footage.h"
#include "media/scan.h"
#include "media/timeline.h"
#include "signal/signals.h"
#include "study/input/take_spec.h"
#include "trace/motion.h"
#include "trace/trace.h"

struct fl_recording {
    const struct fl_take_spec *spec; /* borrowed */
    struct fl_footage_info info;
    char *footage_warning;     /* what went wrong while reading the footage, one line; NULL */
    double frame_bits;         /* mean coded size of a frame; NaN if unknown */
    struct fl_signals signals; /* frames outside the spans in use say nothing */
    double *pts_s;             /* a frame: the container's own times, NaN if none */
    struct fl_timeline timeline;
    struct fl_scan scan;
    double duration_s; /* from the first frame to the end of the last */
    bool at_flips;     /* a local recorder kept each output frame with its own time, so frames stand
                          at their flips; one that wrote even times has lost them */
    struct fl_trace trace;        /* empty without one */
    struct fl_motion *motion;     /* NULL without a trace */
    struct fl_click_energy sound; /* spec->sound, else the footage's own; empty where no button
                                     of the trace could be heard in it */
};

/* Reads spec->trace, if there is one, spec->footage and its sound (of a stream, which cannot be
 * gone through again, only spec->sound), how much and by how many threads `how` says. Errors: a
 * file that cannot be read, fewer than two frames, times that no recording has;
 * FLINCH_ERR_INTERRUPTED when progress asks to stop. In any case for fl_recording_finish. */
enum flinch_code fl_recording_read(struct fl_recording *out, const struct fl_take_spec *spec,
                                   const struct fl_footage_settings *how,
                                   const struct fl_progress *progress, struct fl_error *err);
/* Where the frames of r, whose signals, times and info are filled in, lie in time. As above. */
enum flinch_code fl_recording_place(struct fl_recording *r, struct fl_error *err);
void fl_recording_finish(struct fl_recording *r);

#endif
