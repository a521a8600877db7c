/* Regression of the picture's shift on the hand's path, frame by frame, under one shape of the
 * passage between the two delays.
 *
 * Shift of frame i = gain · mean over rows of (path at what stands there now - at what stood there
 * before). The delay passes from L(on) to L(off) along a ramp that begins onset_s after a bout's
 * edge and lasts length_s: games let a queue run down over some frames, or jump. Errors are
 * Student t, so pictures that follow no hand have little say; their scale is found for each state.
 */
#ifndef FL_CLOCK_FIT_H
#define FL_CLOCK_FIT_H

#include "base/units.h"
#include "clock/exposure_rows.h"
#include "clock/trace_path.h"

enum {
    FL_FIT_LAG,    /* s: trace ahead of footage, beyond the clock given */
    FL_FIT_DRIFT,  /* 1: beyond the clock given, about middle_s */
    FL_FIT_EXTRA,  /* s: L(off) - L(on) */
    FL_FIT_GAIN_X, /* relative to the gain given */
    FL_FIT_GAIN_Y,
    FL_FIT_GAIN_OFF, /* of state off against on: pictures of the two are not tracked alike */
    FL_FIT_UNKNOWNS
};

struct fl_fit_data {
    const struct fl_exposure_rows *sight;
    size_t n;
    const struct fl_trace_path *path;
    const struct fl_span *off; /* bouts of state off */
    size_t n_off;
    struct fl_clock clock; /* to begin with; its gains scale counts */
    double middle_s;       /* footage time about which drift turns */
    double report_s;       /* between two reports of the mouse */
    double grain;          /* what a shift is told to at best, in its unit */
};

struct fl_fit_shape {
    double onset_s, length_s;
};

struct fl_fit {
    double value[FL_FIT_UNKNOWNS];
    double cov[FL_FIT_UNKNOWNS][FL_FIT_UNKNOWNS];
    double se_lag, se_extra; /* by blocks of the take, where that is more than cov says */
    double log_evidence;     /* Laplace's approximation, up to a constant of the data */
};

/* From L(off) - L(on) = extra_s on. False with too little to fit. */
bool fl_fit_solve(struct fl_fit *out, const struct fl_fit_data *d, const struct fl_fit_shape *shape,
                  double extra_s);

/* Shift that the clock given expects of a sight. */
void fl_fit_expected(const struct fl_fit_data *d, const struct fl_exposure_rows *s,
                     double shift[2]);

#endif
