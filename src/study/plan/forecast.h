/* How wide the interval of a V50 is to be expected after more takes: simulated from what is known
 * of the curve, and put through the same model (study/curve/hierarchy.h). Octaves throughout; a
 * width is half of the interval. */
#ifndef FL_STUDY_PLAN_FORECAST_H
#define FL_STUDY_PLAN_FORECAST_H

#include "study/curve/curve.h"
#include "study/curve/hierarchy_setting.h"
#include "study/plan/posterior.h"
#include "study/take/session.h"

/* What a hand that aims at a speed makes of it, standard deviation in octaves: 15 %. No source; an
 * assumption that is printed with the plan. */
#define FL_HAND_SCATTER 0.2
/* How much takes of one setting are taken to differ while under two of them say anything, standard
 * deviation in octaves: 5 %. The model's own prior is wider, so as to promise nothing; a plan that
 * reckoned with it would ask for a day's takes where an afternoon's mostly do. No source; an
 * assumption that is printed with the plan, which is made anew once takes show how they differ. */
#define FL_TAKE_SCATTER 0.07
/* From nothing a V50 is looked for from 40 to 1280 deg/s, a slow turn to faster than a hand goes.
 * Common practice, no source. */
#define FL_PLAN_LOWEST 5.3219280948873626  /* log2 40 */
#define FL_PLAN_HIGHEST 10.321928094887362 /* log2 1280 */

/* What is known of one setting: its flicks so far, and what the session says of slopes. */
struct fl_outlook {
    struct fl_trip_grid grid;
    struct fl_trip_evidence known;
    double low, high; /* speeds of interest: all flicks, and FL_PLAN_LOWEST to FL_PLAN_HIGHEST */
};

/* c NULL, or without a V50 that could be fitted: its flicks alone; no flicks: nothing is known. */
void fl_outlook_init(struct fl_outlook *o, const struct fl_curve *c);
void fl_outlook_finish(struct fl_outlook *o);
/* Of the theta and slope of one more take. */
void fl_outlook_posterior(const struct fl_outlook *o, struct fl_posterior *p);

/* Takes' own log2 V50 about that of their setting. */
struct fl_takes_differ {
    double sd;    /* octaves; median of what is known, or FL_TAKE_SCATTER */
    bool assumed; /* there are not two takes yet */
};
struct fl_takes_differ fl_outlook_takes_differ(const struct fl_outlook *o);

/* What is known of the setting's own V50; ±INFINITY: open. */
struct fl_trip_interval fl_outlook_v50(const struct fl_outlook *o);
/* What is known once a take of n flicks (log2 of their peaks) has been added; o has to outlive it.
 */
struct fl_outlook fl_outlook_with(const struct fl_outlook *o, const double *x, const bool *tripped,
                                  size_t n);
void fl_outlook_with_finish(struct fl_outlook *o);

/* Half of the interval that c has; INFINITY: open, NaN: no V50. */
double fl_forecast_width_now(const struct fl_curve *c);

enum { FL_FORECAST_TAKES = 12 };
/* Takes to come. */
struct fl_flicks_ahead {
    const double *speed; /* flicks long: what each flick of a take aims at */
    int flicks;
    int takes; /* at most FL_FORECAST_TAKES */
};
struct fl_forecast {
    double width;     /* median; INFINITY: open, NaN: none */
    double low, high; /* 80 % of the simulations */
    double bits;      /* that are learnt of the setting's log2 V50 at speeds of interest, mean */
};
/* out[k]: after k + 1 takes; `takes` long. Deterministic; some 30 ms a take. */
void fl_forecast(struct fl_forecast *out, const struct fl_outlook *o,
                 const struct fl_flicks_ahead *ahead);
static inline double fl_octaves_to_percent(double octaves)
{
    return 100 * (exp2(octaves) - 1);
}
/* Time of a quarter turn whose speed has this peak, deg/s: the mean speed of a bell-shaped movement
 * of least jerk is its peak over 1.875 (Flash and Hogan 1985, J Neurosci 5:1688-1703). */
static inline double fl_smooth_quarter_turn_s(double peak)
{
    return 90 * 1.875 / peak;
}

#endif
