/* What is known of a log2 V50: probabilities on evenly spaced rows, and what they say in figures.
 */
#ifndef FL_STUDY_CURVE_TRIP_DENSITY_H
#define FL_STUDY_CURVE_TRIP_DENSITY_H

#include <stdbool.h>
#include <stddef.h>

#include "study/curve/hierarchy_grid.h"

/* Density at rows of a grid, up to a factor. */
struct fl_trip_density {
    struct fl_trip_grid_rows rows;
    const double *at;
};

struct fl_trip_interval {
    double middle, low, high; /* octaves; ±INFINITY: open */
};
/* Median and equal-tailed interval. An end is open where rows that reach twice as far beyond the
 * flicks on its side, with the density of the last one, would move it by more than 5 %: then it
 * would say how far one cared to look, and nothing of the flicks. */
struct fl_trip_interval fl_trip_interval_of(const struct fl_trip_density *d, double level);
/* Speed below which a share p lies. */
double fl_trip_quantile(const struct fl_trip_density *d, double p);

/* What is known of a setting, kept for comparisons: for each mean slope of its session, and against
 * the wider prior of spreads that a claim has to hold against (FL_SPREAD_WARY). */
struct fl_trip_posterior {
    struct fl_trip_grid_rows rows;
    const double *mass; /* FL_TRIP_MEANS × rows, sums to 1 */
    /* settings with the same one share what is known of a mean slope; set by the caller */
    const void *session;
    double without[FL_TRIP_MEANS]; /* of the mean slope, given all other settings */
    bool open_low, open_high;
};

struct fl_trip_ratio {
    double low, high; /* octaves, of a less b; ±INFINITY: open */
    double p;         /* two-sided, of no difference; consistent with the interval at 0.05 */
};
/* Given the session's mean slope two settings are independent; of two sessions, without it. */
struct fl_trip_ratio fl_trip_ratio_of(const struct fl_trip_posterior *a,
                                      const struct fl_trip_posterior *b, double level);

#endif
