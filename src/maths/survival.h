/* Delays that may not have ended, or are known only to lie in a bracket: Kaplan–Meier, Turnbull,
 * log-rank, cumulative incidence. */
#ifndef FL_MATHS_SURVIVAL_H
#define FL_MATHS_SURVIVAL_H

#include <stdbool.h>
#include <stddef.h>

/* One step a time with events; se is Greenwood's, NaN where s is 0. */
struct fl_km_step {
    double t;
    int at_risk, events;
    double s, se;
};
struct fl_km {
    struct fl_km_step *step;
    size_t n;
    double median, median_low, median_high;
};
/* event[i] false: censored at t[i]; events come before censorings at ties; NaN times are left out.
 * Median: the first time with S <= ½; its limits those of S on the log-log scale; what is not
 * reached is NaN. */
void fl_km_fit(struct fl_km *out, const double *t, const bool *event, size_t n, double level);
void fl_km_finish(struct fl_km *k);

/* Delays known only to lie in [low, high]; high INFINITY: not ended by low. The self-consistent
 * estimate of Turnbull 1976 (JRSS B 38:290-295): mass lies only in innermost brackets, left ends
 * directly followed by right ends, and where inside them is not known. */
struct fl_turnbull_mass {
    double low, high, p;
};
struct fl_turnbull {
    struct fl_turnbull_mass *mass;
    size_t n;
}; /* in order; n = 0 without data */
void fl_turnbull_fit(struct fl_turnbull *out, const double *low, const double *high, size_t n);
void fl_turnbull_finish(struct fl_turnbull *t);
/* The innermost bracket in which the estimate reaches p; both ends NaN without data, INFINITY when
 * it lies beyond all ends. */
void fl_turnbull_quantile(const struct fl_turnbull *t, double p, double *low, double *high);
/* The far end of that bracket. */
double fl_bracket_quantile(const double *low, const double *high, size_t n, double p);

/* Do two groups wait alike? Mantel 1966, hypergeometric variance; NaN times are left out. chi2 and
 * p are NaN when no time at which both are at risk has an event. */
struct fl_waits {
    const double *t;
    const bool *event;
    size_t n;
};
struct fl_log_rank {
    double observed[2], expected[2], chi2, p;
};
void fl_log_rank(struct fl_log_rank *out, const struct fl_waits *a, const struct fl_waits *b);

/* Aalen–Johansen: the chance that outcome 1, and outcome 2, has come first by the last time.
 * cause[i]: 0 censored at t[i], 1 or 2. The two and the chance of neither sum to 1. */
void fl_incidence(const double *t, const int *cause, size_t n, double share[2]);

#endif
