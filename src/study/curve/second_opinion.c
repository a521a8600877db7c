/* Firth's fit beside the hierarchical one. */
#include "study/curve/second_opinion.h"

#include <math.h>
#include <stdlib.h>

#include "maths/logistic.h"
#include "study/curve/octaves.h"

#define LEVEL 0.95

struct flicks {
    double *x;
    bool *y;
    size_t n;
};

static struct flicks flicks_of(const struct fl_curve *c)
{
    struct flicks f = {FL_NEW(double, (size_t)c->flicks + 1), FL_NEW(bool, (size_t)c->flicks + 1),
                       (size_t)c->flicks};
    for (size_t i = 0; i < f.n; i++) {
        f.x[i] = log2(c->points[i].v);
        f.y[i] = c->points[i].tripped;
    }
    return f;
}

static void flicks_free(struct flicks *f)
{
    free(f->x);
    free(f->y);
}

double fl_second_slope(const struct fl_curve *c)
{
    struct flicks f = flicks_of(c);
    struct fl_logistic l;
    int failed = fl_logistic_fit(&l, f.x, f.y, f.n, true);
    flicks_free(&f);
    return failed ? FL_UNKNOWN : l.beta;
}

/* NaN, an open end, excludes nothing. */
static bool outside(double v, double low, double high)
{
    return v < low || v > high;
}

void fl_second_opinion(struct fl_curve *c)
{
    struct flicks f = flicks_of(c);
    struct fl_logistic l;
    double low, high;
    if (!fl_logistic_fit(&l, f.x, f.y, f.n, true) && l.beta > 0 &&
        !fl_logistic_profile_x(f.x, f.y, f.n, 0.5, LEVEL, &low, &high)) {
        double theta = -l.alpha / l.beta, v50 = fl_from_octaves(theta);
        if (outside(v50, c->v50_low, c->v50_high) || outside(log2(c->v50), low, high)) {
            c->other_v50 = v50;
            c->other_low = fl_from_octaves(low);
            c->other_high = fl_from_octaves(high);
        }
    }
    flicks_free(&f);
}
