/* What the page's charts and those for publication have in common: how far axes reach, what is
 * drawn on them, and which curve stands for a row. */
#ifndef FL_SHOW_CHART_CHART_AXES_H
#define FL_SHOW_CHART_CHART_AXES_H

#include "show/draw/surface.h"
#include "study/curve/curve.h"
#include "study/take/take.h"

/* ---- speeds ---- */

/* Moves the ends apart so that v lies between; unknown, infinite and not positive v say nothing.
 * Begin with INFINITY and 0. */
void fl_widen(double *low, double *high, double v);
/* A logarithmic axis from p0 to p1 that holds every flick and V50, or its bound, of n curves. An
 * open or far end of an interval must not squeeze the flicks together, so it does not count. */
struct fl_axis fl_trip_axis(const struct fl_curve *const *curves, size_t n, double p0, double p1);
/* Begins the path of a fitted curve, a point each 2 px of x (logarithmic); y runs from 0 to 1.
 * False, and no path, for a curve that could not be fitted. */
bool fl_trip_path(struct fl_surface *c, const struct fl_axis *x, const struct fl_axis *y,
                  const struct fl_curve *curve);
/* Why no curve of them could be fitted; NULL where one was. Static. */
const char *fl_no_trip_curve(const struct fl_curve *const *curves, size_t n);
/* Colour of series k, cyclic. */
enum fl_colour fl_series_colour(size_t k);

/* ---- time ---- */

/* Greatest known value of v[n] above 0, or otherwise; v may be NULL. */
double fl_greatest(const float *v, size_t n, double otherwise);
/* Rates of new pictures, flips/s, from p0 up to p1: the base rates always, the unique rate as long
 * as it stays under twice of them. */
struct fl_axis fl_rate_axis(const struct fl_states *s, double p0, double p1);
/* A ground behind every lapse, never thinner than 0.7 px, so that short ones stay visible. */
void fl_shade_lapses(struct fl_surface *c, const struct fl_axis *time, const struct fl_states *s,
                     double y, double h);
/* The flick counts in a curve: it was at risk, and its outcome was seen. */
bool fl_flick_counts(const struct fl_flick *f);

#endif
