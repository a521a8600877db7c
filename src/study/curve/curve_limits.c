/* Profile limits of V50 of the fit that is shown. */
#include <math.h>
#include <stdlib.h>

#include "maths/logistic.h"
#include "study/curve/curve.h"

struct fl_stray fl_curve_stray(const struct fl_curve *c)
{
    return (struct fl_stray){-c->alpha / c->beta, c->beta, c->stray_shown ? c->stray_rate : 0,
                             c->stray_gain};
}

void fl_curve_limits(const struct fl_curve *c, double level, double *low, double *high)
{
    size_t n = (size_t)c->flicks;
    double *x = FL_NEW(double, n + 1);
    bool *y = FL_NEW(bool, n + 1);
    for (size_t i = 0; i < n; i++) {
        x[i] = log2(c->points[i].v);
        y[i] = c->points[i].tripped;
    }
    struct fl_stray stray = fl_curve_stray(c);
    if (c->stray_shown) {
        fl_stray_limits(&stray, x, y, n, level, low, high);
    } else if (fl_logistic_profile_x(x, y, n, 0.5, level, low, high)) {
        *low = -INFINITY;
        *high = INFINITY;
    }
    free(x);
    free(y);
}
