/* Where the picture's turn and the trace's disagree for long. */
#ifndef FL_STUDY_TAKE_TRACE_MISMATCH_H
#define FL_STUDY_TAKE_TRACE_MISMATCH_H

#include <stdbool.h>
#include <stddef.h>

/* A vector a frame; NaN where not known. */
struct fl_pair_series {
    float *x, *y;
    size_t n;
};

/* Sets overruled[i] where the two are apart (clock/parting.h, deg/s) for at least 0.5 s on end
 * (pauses under 0.1 s bridged). A single flick that the
 * picture could not follow is too short to be overruled. Returns seconds overruled. */
double fl_trace_mismatch(bool *overruled, const double *time_s, const struct fl_pair_series *trace,
                         const struct fl_pair_series *picture);

#endif
