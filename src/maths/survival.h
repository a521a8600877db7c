/* Delays that may not have ended: Kaplan–Meier. */
#ifndef FL_MATHS_SURVIVAL_H
#define FL_MATHS_SURVIVAL_H

#include <stdbool.h>
#include <stddef.h>

/* One step a time with events; se is Greenwood's, NaN where s is 0. */
struct fl_km_step { double t; int at_risk, events; double s, se; };
struct fl_km { struct fl_km_step *step; size_t n; double median, median_low, median_high; };
/* event[i] false: censored at t[i]; events come before censorings at ties; NaN times are left out.
 * Median: the first time with S <= ½; its limits those of S on the log-log scale; what is not
 * reached is NaN. */
void fl_km_fit(struct fl_km *out, const double *t, const bool *event, size_t n, double level);
void fl_km_finish(struct fl_km *k);

#endif
