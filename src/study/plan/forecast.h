/* How wide the interval of a V50 is to be expected after more flicks: simulated from what is known
 * of the curve, and put through the same fit. Octaves throughout; a width is half of the interval.
 */
#ifndef FL_STUDY_PLAN_FORECAST_H
#define FL_STUDY_PLAN_FORECAST_H

#include "study/curve/curve.h"
#include "study/plan/posterior.h"
#include "study/take/session.h"

/* What a hand that aims at a speed makes of it, standard deviation in octaves: 15 %. No source; an
 * assumption that is printed with the plan. */
#define FL_HAND_SCATTER 0.2
/* How much takes of one setting are taken to differ while nothing is known of it, standard
 * deviation in octaves: 5 %. No source; an assumption that is printed with the plan. */
#define FL_TAKE_SCATTER 0.07

/* Between takes, of their log2 V50, the flicks' own uncertainty taken out. */
struct fl_takes_differ {
    double sd;    /* octaves */
    double df;    /* how well it is known, degrees of freedom */
    bool assumed; /* the takes say nothing of it */
};

/* Flicks to come: each of the speeds in turn, over and over. */
struct fl_flicks_ahead {
    const double *speed;
    size_t n_speeds;
    int takes, flicks_a_take;
};

struct fl_forecast {
    double width;     /* median; INFINITY: open, NaN: none */
    double low, high; /* 80 % of the simulations */
};

/* Curves that are known: grid from their flicks. c NULL: from nothing, 40 to 1280 deg/s. */
void fl_forecast_posterior(struct fl_posterior *p, const struct fl_curve *c);
/* Two degrees of freedom of FL_TAKE_SCATTER stand beside what the takes say. */
struct fl_takes_differ fl_forecast_takes_differ(const struct fl_curve *c);
/* Half of the interval that c has; INFINITY: open, NaN: no V50. */
double fl_forecast_width_now(const struct fl_curve *c);
/* Deterministic; c NULL: no flicks yet. About 1 ms a flick ahead. */
void fl_forecast(struct fl_forecast *out, const struct fl_curve *c, const struct fl_posterior *p,
                 const struct fl_takes_differ *differ, const struct fl_flicks_ahead *ahead);
static inline double fl_octaves_to_percent(double octaves)
{
    return 100 * (exp2(octaves) - 1);
}

#endif
