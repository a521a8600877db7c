/* Where the picture's turn and the trace's disagree for long, and whose word is taken there. */
#ifndef FL_STUDY_TAKE_TRACE_MISMATCH_H
#define FL_STUDY_TAKE_TRACE_MISMATCH_H

#include <stdbool.h>
#include <stddef.h>

#include "signal/view_motion.h"

/* A vector a frame; NaN where not known. */
struct fl_pair_series {
    float *x, *y;
    size_t n;
};

enum fl_word {
    FL_WORD_TRACE,
    FL_WORD_PICTURE, /* it turns, or rests, as one */
    FL_WORD_NOBODY   /* the camera was carried, or nobody can say what it did */
};

/* Sets word[i]. The two must be apart (clock/parting.h, deg/s) for at least 0.5 s on end (pauses
 * under 0.1 s bridged): a single flick that the picture could not follow is too short to be
 * overruled, and the picture's peaks are not worth the trace's. Then the picture speaks where it
 * rests, or where a turn explains what its parts did and the trace stands still, as one that lost
 * reports does, or is the picture's turn on another scale, as in an aiming zoom. view: a frame
 * each; NULL: not measured. */
void fl_trace_mismatch(enum fl_word *word, const double *time_s, const struct fl_pair_series *trace,
                       const struct fl_pair_series *picture, const struct fl_view_motion *view);

#endif
