/* Cumulated motion over time with unknown stretches, and its mean rate over a window. */
#ifndef FL_STUDY_PATH_H
#define FL_STUDY_PATH_H

#include <stdbool.h>
#include <stddef.h>

struct fl_path; /* opaque; holds copies */

/* Motion (x[i], y[i]) was made between time_s[i-1] and time_s[i] (increasing); NaN where not
 * known. y may be NULL. */
struct fl_path *fl_path_new(const double *time_s, const double *x, const double *y, size_t n);
void fl_path_free(struct fl_path **p);
/* Mean rate over the known part of [t - w/2, t + w/2); false and NaN when under half of the
 * window is known. */
bool fl_path_rate(const struct fl_path *p, double t_s, double w_s, double *x, double *y);

#endif
