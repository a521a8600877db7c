/* Cumulated motion over time with unknown stretches, and its mean rate over a window. */
#ifndef FL_STUDY_TAKE_MOTION_INTEGRAL_H
#define FL_STUDY_TAKE_MOTION_INTEGRAL_H

#include <stdbool.h>
#include <stddef.h>

struct fl_motion_integral; /* opaque; holds copies */

/* Motion (x[i], y[i]) was made between time_s[i-1] and time_s[i] (increasing); NaN where not
 * known. y may be NULL. */
struct fl_motion_integral *fl_motion_integral_new(const double *time_s, const double *x,
                                                  const double *y, size_t n);
void fl_motion_integral_free(struct fl_motion_integral **p);
/* Mean rate over the known part of [t - w/2, t + w/2); false and NaN when under half of the
 * window is known. */
bool fl_motion_integral_rate(const struct fl_motion_integral *p, double t_s, double w_s, double *x,
                             double *y);

#endif
