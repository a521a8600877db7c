/* One model for the trip speeds of a session, in one quantity.
 *
 * P(trip | x) = stray + (1 - 2·stray)·logistic(2^b·(x - theta)) of a flick of log2 peak x. The
 * theta of a take is that of its setting and a normal deviation, whose spread is the setting's own:
 * one erratic game must not borrow the certainty of calm ones. A setting's log2 slope b is normal
 * about the session's mean, so that few flicks of one lean on the slopes of all. Speeds of settings
 * share nothing: theta is even over all that flicks could tell. Integrated on grids
 * (study/curve/hierarchy_grid.h), nothing is drawn at random. */
#ifndef FL_STUDY_CURVE_HIERARCHY_H
#define FL_STUDY_CURVE_HIERARCHY_H

#include "base/mem.h"
#include "maths/random.h"
#include "study/curve/hierarchy_grid.h"
#include "study/curve/trip_density.h"

/* Flicks of one take: log2 peak and outcome. */
struct fl_hierarchy_take {
    const double *x;
    const bool *tripped;
    size_t n;
};

/* n takes with a flick each at least; some flick tripped and some held. */
struct fl_hierarchy_setting {
    const struct fl_hierarchy_take *take;
    size_t n;
};

struct fl_hierarchy_figures {
    struct fl_trip_interval v50;            /* of the setting; octaves */
    struct fl_trip_interval another;        /* of one take that is still to come */
    double slope, slope_low, slope_high;    /* logits an octave; median and 95 % */
    double spread, spread_low, spread_high; /* between takes, octaves; median and 95 % */
    struct fl_trip_posterior posterior;     /* its mass in the arena */
};

struct fl_hierarchy;
/* settings, and what they point to, may go afterwards. Some ms a take. */
struct fl_hierarchy *fl_hierarchy_new(const struct fl_hierarchy_prior *prior,
                                      const struct fl_hierarchy_setting *setting, size_t n);
void fl_hierarchy_free(struct fl_hierarchy **h); /* NULL is fine; clears the pointer */
/* What is known of setting i. */
void fl_hierarchy_figures(const struct fl_hierarchy *h, size_t i, struct fl_hierarchy_figures *out,
                          struct fl_arena *arena);
/* theta of one take from its own flicks, at the slope that it shares with its setting. */
struct fl_trip_interval fl_hierarchy_own(const struct fl_hierarchy *h, size_t i, size_t take);
/* Chance that a flick of that take went against its take's curve, given all that is known. */
double fl_hierarchy_stray(const struct fl_hierarchy *h, size_t i, size_t take, size_t flick);
/* The same session with the n settings listed in `members` as one: what is known of that one. */
void fl_hierarchy_pooled(const struct fl_hierarchy *h, const size_t *members, size_t n,
                         struct fl_hierarchy_figures *out, struct fl_arena *arena);

#endif
