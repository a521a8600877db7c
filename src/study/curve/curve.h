/* Trip curve of one setting in one quantity (DESIGN: trip curve). Fitted by curve_fit.h. */
#ifndef FL_STUDY_CURVE_CURVE_H
#define FL_STUDY_CURVE_CURVE_H

#include "study/curve/hierarchy_grid.h"
#include "study/curve/trip_density.h"
#include "study/take/session.h"

enum fl_bound {
    FL_BOUND_NONE,
    FL_BOUND_ABOVE,
    FL_BOUND_BELOW,
    FL_BOUND_NO_RELATION,
    FL_BOUND_TOO_FEW,   /* too few flicks to say anything */
    FL_BOUND_NOT_POOLED /* over settings that contradict each other, or may */
};
/* "none", "above", "below", "no_relation", "too_few", "not_pooled" */
const char *fl_bound_name(enum fl_bound b);

/* One flick as a point of a curve. */
struct fl_point {
    double v; /* peak in the curve's quantity */
    bool tripped;
    const struct fl_take *take;
    double start_s;
    bool stray; /* against its take's curve, with a chance of 0.95 or more */
};

/* One take's own threshold: from its flicks alone, at the slope that it shares with its setting. */
struct fl_take_v50 {
    const struct fl_take *take;
    int flicks, trips;
    double v50, low, high; /* 95 %; NaN: open, or no v50 as none of its flicks tripped, or all */
};

struct fl_curve {
    const char *game, *condition;
    bool pooled;                               /* over all settings of the game and condition */
    double counts_per_inch, degrees_per_count; /* NaN: not known, or not the same in all pooled */
    bool degrees_found;                        /* by the picture: the session does not say */
    enum fl_quantity quantity;
    double kernel_ms;             /* of the box mean of its peaks: FL_FLICK_KERNEL_MS */
    double alpha, beta;           /* the curve drawn: logistic(α + β·log2 v); NaN when no fit */
    double v10, v90, slope;       /* of one take's curve; slope: β per octave; NaN: separated */
    double slope_low, slope_high; /* 95 %, separated or not */
    double v50, v50_low,
        v50_high; /* of the setting: posterior median and 95 %; NaN: null or open */
    double another_low, another_high;       /* 95 % of where a further take's own V50 would lie */
    double spread, spread_low, spread_high; /* between takes' own log2 V50, octaves: median, 95 % */
    struct fl_take_v50 *by_take;            /* takes long: those with a flick that counts */
    double held_max, tripped_min;           /* strays aside */
    bool separated;                         /* strays aside */
    enum fl_bound bound;
    double bound_at;
    int flicks, trips, not_fitted, takes;
    int not_fitted_unknown_risk, not_fitted_no_risk, not_fitted_no_outcome, not_fitted_no_value;
    double stray_rate; /* FL_STRAY where there is a V50 */
    int strays;        /* flicks marked stray */
    /* Second opinion where it differs: Firth's fit of all flicks alike, profile limits. NaN: it
     * says the same, or open. */
    double other_v50, other_low, other_high;
    const char *interval_method; /* FL_INTERVAL_METHOD; NULL without V50 */
    /* Of a pooled curve: the two settings that differ most surely, V50 of one over the other, p
     * adjusted for how many pairs there are, and settings that it is over. NaN: one setting. */
    double pool_ratio, pool_p;
    int pool_settings;
    const char *not_pooled;              /* why, in words; NULL when it is */
    struct fl_trip_posterior *posterior; /* for comparisons; NULL without V50 */
    struct fl_point *points;             /* flicks long, take by take */
    const char *evidence;   /* curve_words.h: what it rests on, one line; NULL outside a session */
    const char *stray_note; /* curve_words.h: strays and the second opinion; NULL: neither */
};

#define FL_INTERVAL_METHOD "hierarchical_grid"

/* Gathers the flicks of n takes, none of them a control, and bounds V50 where all of them tripped,
 * or none. True when there is a curve to be fitted. Everything else is unknown. */
bool fl_curve_gather(struct fl_curve *c, struct fl_take *const *takes, size_t n, enum fl_quantity q,
                     struct fl_arena *arena);
/* The take that the curve is of, where it is of one with a V50 of its own; else NULL. It leads: how
 * far another would lie from it is the prior's to say. */
const struct fl_take_v50 *fl_curve_one_take(const struct fl_curve *c);
/* The floor under which on and off cannot be told, in the curve's quantity; NaN if unknown. */
double fl_curve_floor(const struct fl_curve *c, struct fl_take *const *takes, size_t n);

#endif
