/* Interval of a V50 over several takes: flicks of one take are alike. All in octaves. */
#ifndef FL_STUDY_CURVE_TAKE_SPREAD_H
#define FL_STUDY_CURVE_TAKE_SPREAD_H

#include <stdbool.h>
#include <stddef.h>

/* Points of one curve: x = log2 peak, y = tripped, take = 0..takes-1. */
struct fl_spread_points {
    const double *x;
    const bool *y;
    const size_t *take;
    size_t n, takes;
};

struct fl_spread {
    double variance;        /* between takes of their own log2 V50; NaN under two that inform */
    double effective_takes; /* 1/Σw², w the share of each take in the information on V50 */
    double low, high;       /* 95 % from takes alone; ±INFINITY open, NaN under two */
    bool resampled;
};

/* theta: log2 V50 of all points; beta > 0: slope per octave. Under six takes Student's t on the
 * takes' own V50 (slope shared), from six up resampling of whole takes. Deterministic. */
void fl_spread_of_takes(struct fl_spread *out, const struct fl_spread_points *p, double theta,
                        double beta);
/* The same, always by Student's t: fast, for simulations. */
void fl_spread_by_student(struct fl_spread *out, const struct fl_spread_points *p, double theta,
                          double beta);
/* log2 V50 of one take at a given slope, by the penalised score in one unknown (Firth 1993):
 * finite also when all or none tripped. */
double fl_spread_own_theta(const double *x, const bool *y, size_t n, double beta);

#endif
