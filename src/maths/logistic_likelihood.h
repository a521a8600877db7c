/* Log-likelihood of a logistic line, plain or with Firth's penalty ½ ln |information|: value,
 * derivatives, maximum over the plane or along a line. Private to this room.
 *
 * Coordinates: P(y) = logistic(a + b·z), z = (x - mean)/scale, so that all is of order 1. */
#ifndef FL_MATHS_LOGISTIC_LIKELIHOOD_H
#define FL_MATHS_LOGISTIC_LIKELIHOOD_H

#include <stdbool.h>
#include <stddef.h>

struct fl_likelihood {
    size_t n, ones;
    double *z, *y, *p, *w;  /* p, w: scratch of the last evaluation */
    double mean, scale;     /* of x */
    double low[2], high[2]; /* range of z where y = 0, y = 1 */
    bool firth;
};

/* 0, or -1 when fewer than two different finite x remain. */
int fl_likelihood_init(struct fl_likelihood *l, const double *x, const bool *y, size_t n,
                       bool firth);
void fl_likelihood_finish(struct fl_likelihood *l);

/* A point of the surface. Derivatives are in (level at centre, b), where centre is the mean of z
 * under the weights π(1-π): there the information is diagonal. */
struct fl_summit {
    double a, b;
    double value, plain; /* with and without the penalty; -INFINITY off the surface */
    double centre;
    double g_level, g_slope;
    double h_level, h_cross, h_slope; /* second derivatives of value */
    double info_level, info_slope;    /* of the plain likelihood */
};

struct fl_summit fl_likelihood_at(const struct fl_likelihood *l, double a, double b);
/* Highest point of the plane. 0, or -1 when no climb converges. */
int fl_likelihood_top(const struct fl_likelihood *l, struct fl_summit *s);
/* Highest point of the line (a, b) + t·(da, db), from t on; -1 too, with value -INFINITY, when the
 * line starts off the surface. */
int fl_likelihood_climb_line(const struct fl_likelihood *l, struct fl_summit *s, double a, double b,
                             double da, double db, double *t);

#endif
