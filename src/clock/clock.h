/* Trace ↔ footage time: trace time = offset + (1 + drift)·footage time - L(state).
 *
 * Found from motion: counts against the picture's shift, both axes, either sign. Such a
 * clock absorbs the delay from hand to picture. Weak evidence is refused.
 *
 * Convention. Footage time t stands for a flip: the clock gives the trace time of the hand
 * motion that an output frame flipped at t first shows (state on). Between flips the picture
 * holds still, so what a capture shows is on average older by the hold, half an output interval
 * (half of 1/(2·base) in state on, half of 1/base in state off). fl_clock_from_motion knows no
 * output rate and lines up with the picture as shown, hold and all: early by 3 to 8 ms at common
 * rates, good enough to label states with. fl_clock_refine then goes by the flips themselves (by
 * the hold where they are not known), takes out half a report interval of the mouse (a frame has
 * used the reports before its sampling instant, not the motion since), and tells L(on) and L(off)
 * apart. */
#ifndef FL_CLOCK_CLOCK_H
#define FL_CLOCK_CLOCK_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/units.h"
#include "trace/motion.h"

struct fl_clock {
    bool known; /* false: refused, `refused` says why in one line */
    double offset_s, drift_ppm;
    double confidence;  /* 0..1: (1 - best rival peak / peak) · share of the motion that agrees */
    double residual_ms; /* robust spread of window offsets about the line */
    double error_ms;    /* half of the 95 % interval of trace time in state on, at the worse end of
                           the take; NaN unless settled */
    double off_minus_on_ms; /* L(off) - L(on); NaN unless settled, both states move for 1 s
                               and the fit knows it to 6 ms */
    double off_minus_on_low_ms, off_minus_on_high_ms; /* 95 % interval */
    double gain_x, gain_y; /* picture shift per count, px at native width */
    char method[16];       /* "motion", "motion+sound" or "sound" */
    char refused[160];
};

/* The picture's side of the fit: shift of the scene from frame i-1 to i. */
struct fl_shift_series {
    size_t n;
    const double *time_s;  /* footage time of frame i (scan centre) */
    const double *x, *y;   /* scene shift since the frame before; NaN where not known */
    const double *quality; /* 0..1; 0 also where no shift was seen */
    double grain;          /* what a shift is told to at best, in its unit */
};

/* A stretch of one state. */
struct fl_clock_phase {
    double start_s, end_s;
    bool off;
    double hold_s; /* half the interval between flips in it */
};

/* What is known of the screen. */
struct fl_clock_screen {
    const struct fl_clock_phase *phase; /* in order, not overlapping; other time has no say */
    size_t n_phases;
    const struct fl_span *off; /* bouts of state off in a take that is on around them; in order */
    size_t n_off;
    const double *flip_s; /* flips found, rising; they need not be all */
    size_t n_flips;
    double scan_s; /* from a picture's first row to its last; 0: it shows one instant */
};

/* No clock after all, for this reason, with nothing of it left but its confidence. */
void fl_clock_refuse(struct fl_clock *c, const char *why);
/* Trace time that belongs to footage time t (state on). */
double fl_clock_trace_time(const struct fl_clock *c, double footage_s);
double fl_clock_footage_time(const struct fl_clock *c, double trace_s);

#endif
