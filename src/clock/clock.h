/* Trace ↔ footage time: trace time = offset + (1 + drift)·footage time - L(state).
 *
 * Found from motion: counts against the picture's shift, both axes, either sign. Such a
 * clock absorbs the delay from hand to picture. Weak evidence is refused. */
#ifndef FL_CLOCK_CLOCK_H
#define FL_CLOCK_CLOCK_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "trace/motion.h"

struct fl_clock {
    bool known;          /* false: refused, `refused` says why in one line */
    double offset_s, drift_ppm;
    double confidence;   /* 0..1, from peak against best rival peak */
    double residual_ms;  /* robust spread of window offsets about the line */
    double off_minus_on_ms; /* L(off) - L(on); NaN unless both states move for 3 s */
    double gain_x, gain_y; /* picture shift (deg if fov given, else px at native width) per count */
    char method[16];     /* "motion" */
    char refused[160];
};

/* The picture's side of the fit: shift of the scene from frame i-1 to i. */
struct fl_shift_series {
    size_t n;
    const double *time_s;   /* footage time of frame i (scan centre) */
    const double *x, *y;    /* scene shift since the frame before; NaN where not known */
    const double *quality;  /* 0..1 */
};

/* Fits offset and drift. Never fails: refuses. */
void fl_clock_from_motion(struct fl_clock *out, const struct fl_shift_series *picture,
                          const struct fl_motion *motion, double trace_start_s, double trace_end_s);

/* Trace time that belongs to footage time t (state on). */
double fl_clock_trace_time(const struct fl_clock *c, double footage_s);
double fl_clock_footage_time(const struct fl_clock *c, double trace_s);

#endif
