/* Trip curve of one cell in one quantity (DESIGN: trip curve). */
#ifndef FL_STUDY_CURVE_CURVE_H
#define FL_STUDY_CURVE_CURVE_H

#include "study/curve/stray_rate.h"
#include "study/take/session.h"

enum fl_bound {
    FL_BOUND_NONE,
    FL_BOUND_ABOVE,
    FL_BOUND_BELOW,
    FL_BOUND_NO_RELATION,
    FL_BOUND_TOO_FEW
};                                          /* too few flicks to say anything */
const char *fl_bound_name(enum fl_bound b); /* "none", "above", "below", "no_relation", "too_few" */

/* One flick as a point of a curve. */
struct fl_point {
    double v; /* peak in the curve's quantity */
    bool tripped;
    const struct fl_take *take;
    double start_s;
    bool stray; /* more likely against the curve than with it; only where the stray rate is shown */
};

struct fl_curve {
    const char *game, *condition;
    bool pooled;                               /* over all counts per inch and degrees per count */
    double counts_per_inch, degrees_per_count; /* NaN: pooled or not given */
    enum fl_quantity quantity;
    double kernel_ms;
    double alpha, beta;                             /* logistic(α + β·log2 v); NaN when no fit */
    double v10, v50, v50_low, v50_high, v90, slope; /* slope: β per octave; NaN = null or open */
    double held_max, tripped_min;                   /* strays aside */
    bool separated;                                 /* strays aside */
    enum fl_bound bound;
    double bound_at;
    int flicks, trips, not_fitted, takes;
    int not_fitted_unknown_risk, not_fitted_no_risk, not_fitted_no_outcome, not_fitted_no_value;
    /* The fit with a stray rate (stray_rate.h) beside the one without; see fl_curve_fit for which
     * is shown. */
    bool stray_shown; /* the figures above are those with a stray rate */
    double stray_rate,
        stray_gain; /* of the fit with one: share of flicks against the curve, twice the
                       rise in log-likelihood; NaN when not fitted (separated flicks) */
    int strays;     /* flicks marked stray */
    double other_v50, other_low,
        other_high;              /* of the fit not shown, from flicks alone; NaN: none or open */
    const char *interval_method; /* "takes_t", "takes_bootstrap", "one_take"; NULL without V50 */
    /* What the interval was made of, for comparisons. Octaves (log2 of the quantity). */
    double flick_low, flick_high; /* profile limits from flicks alone; NaN = open */
    double take_variance;         /* between takes, of their own log2 V50; NaN under two */
    double take_df;               /* degrees of freedom of take_variance; NaN under two */
    bool shared_variance;         /* pooled over the game's cells */
    double effective_takes;       /* takes that inform V50, by information; 0 when no fit */
    struct fl_point *points;      /* flicks long */
    const char *evidence;         /* grade.h: what it rests on, one line; NULL outside a session */
    const char *stray_note;       /* grade.h: NULL when both fits say the same */
};

/* Twice the log-likelihood that a stray rate must gain to be shown: 5 % of a likelihood ratio whose
 * null lies on the edge of the range (half χ²₀, half χ²₁: Self & Liang 1987, J Am Stat Assoc
 * 82:605-610). */
#define FL_STRAY_SHOWN 2.705543454095404

/* Fits a curve of quantity q to the flicks of n takes, none of them a control. Game, condition,
 * counts_per_inch and degrees_per_count are left to the caller. Points go into the arena. The curve
 * is fitted without and, unless the flicks are separated, with a stray rate; the latter is shown
 * when it gains FL_STRAY_SHOWN. */
void fl_curve_fit(struct fl_curve *c, struct fl_take *const *takes, size_t n, enum fl_quantity q,
                  struct fl_arena *arena);
/* Profile interval of log2 V50 from the flicks alone, in the fit that is shown; ±INFINITY: open. */
void fl_curve_limits(const struct fl_curve *c, double level, double *low, double *high);
/* The stray fit behind the figures shown; rate 0 when it is not shown. */
struct fl_stray fl_curve_stray(const struct fl_curve *c);

#endif
