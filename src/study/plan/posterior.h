/* What is known of a trip curve, as weights on a grid of trip speeds and slopes, and how much a
 * flick at a given speed would add to it. Speeds in octaves (log2), slopes in logits per octave,
 * entropy in bits. */
#ifndef FL_STUDY_PLAN_POSTERIOR_H
#define FL_STUDY_PLAN_POSTERIOR_H

#include <stdbool.h>
#include <stddef.h>

/* P(trip | x) = stray + (1 - 2·stray)·logistic(slope·(x - theta)) */
struct fl_posterior {
    double *theta, *slope; /* ascending */
    size_t n_theta, n_slope;
    double *weight; /* n_theta × n_slope, slope runs faster; sums to 1 */
    double stray;   /* share of flicks that go by chance, at either end */
    double
        scatter; /* what a hand makes of the x it aims at: standard deviation, octaves; 0: hits */
};

/* Even weights over n_theta speeds from low to high and n_slope slopes, evenly spaced in their
 * logarithm. */
void fl_posterior_init(struct fl_posterior *p, double theta_low, double theta_high, size_t n_theta,
                       double slope_low, double slope_high, size_t n_slope, double stray);
void fl_posterior_finish(struct fl_posterior *p);
/* Chance to trip of a flick aimed at x, at every point of the grid: n_theta × n_slope. */
void fl_posterior_chances(const struct fl_posterior *p, double x, double *out);
/* Bayes' rule for one flick of speed x. */
void fl_posterior_add(struct fl_posterior *p, double x, bool tripped);
double fl_posterior_entropy(const struct fl_posterior *p);
/* Entropy to be expected after one flick at x (Kontsevich and Tyler 1999: the next x is where it is
 * least). */
double fl_posterior_entropy_after(const struct fl_posterior *p, double x);
double fl_posterior_theta_mean(const struct fl_posterior *p);
double fl_posterior_theta_sd(const struct fl_posterior *p);
/* The least and the greatest theta outside of which each tail holds less than `tail`. */
void fl_posterior_theta_range(const struct fl_posterior *p, double tail, double *low, double *high);
/* Picks n (at most 12) of the m candidate speeds: each is the one that, together with those before
 * it, leaves the least entropy to be expected when outcomes are seen only afterwards. Exact over
 * all outcomes. apart: octaves by which they must differ, as far as the candidates allow; 0: one
 * may come more than once. chosen: indices, in the order of choice. */
void fl_posterior_choose(const struct fl_posterior *p, const double *candidate, size_t m,
                         double apart, size_t *chosen, size_t n);

#endif
