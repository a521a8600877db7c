/* Speeds are drawn on logarithmic axes, as the curves are logistic in log2 of the speed (DESIGN:
 * trip curve); rates and times on linear ones from 0. */
#include "show/chart/chart_axes.h"

#include <math.h>

#include "maths/logistic.h"

void fl_widen(double *low, double *high, double v)
{
    if (v > 0 && isfinite(v)) {
        *low = fmin(*low, v);
        *high = fmax(*high, v);
    }
}

struct fl_axis fl_trip_axis(const struct fl_curve *const *curves, size_t n, double p0, double p1)
{
    double low = INFINITY, high = 0;
    for (size_t k = 0; k < n; k++) {
        const struct fl_curve *c = curves[k];
        for (int i = 0; i < c->flicks; i++)
            fl_widen(&low, &high, c->points[i].v);
        fl_widen(&low, &high, c->bound == FL_BOUND_NONE ? c->v50 : c->bound_at);
    }
    if (!(high > 0)) {
        low = 10;
        high = 1000;
    }
    double pad = fmax(pow(high / low, 0.05), 1.06);
    return (struct fl_axis){low / pad, high * pad, p0, p1, true};
}

bool fl_trip_path(struct fl_surface *c, const struct fl_axis *x, const struct fl_axis *y,
                  const struct fl_curve *curve)
{
    if (!fl_known(curve->alpha) || !fl_known(curve->beta))
        return false;
    cairo_new_path(c->cr);
    for (double px = x->p0; px <= x->p1; px += 2) {
        double share = (px - x->p0) / (x->p1 - x->p0);
        double log2_v = log2(x->v0) + share * log2(x->v1 / x->v0);
        cairo_line_to(c->cr, px, fl_axis_at(y, fl_logistic_p(curve->alpha, curve->beta, log2_v)));
    }
    return true;
}

const char *fl_no_trip_curve(const struct fl_curve *const *curves, size_t n)
{
    bool any = false, trips = false;
    for (size_t k = 0; k < n; k++) {
        any |= fl_known(curves[k]->alpha);
        trips |= curves[k]->trips > 0;
    }
    return any     ? NULL
           : trips ? "no curve: too little tells tripped from held"
                   : "no curve: no flick tripped";
}

enum fl_colour fl_series_colour(size_t k)
{
    return FL_SERIES_1 + (enum fl_colour)(k % 4);
}

double fl_greatest(const float *v, size_t n, double otherwise)
{
    double top = -INFINITY;
    for (size_t i = 0; v && i < n; i++)
        if (isfinite(v[i]) && v[i] > top)
            top = v[i];
    return top > 0 ? top : otherwise;
}

struct fl_axis fl_rate_axis(const struct fl_states *s, double p0, double p1)
{
    double limit = fmax(fmax(fl_states_on_output_hz(s), s->base_rate_off_hz), 10);
    limit = fmax(limit, fmin(fl_greatest(s->unique_rate_hz, s->n_frames, 10), 2 * limit));
    return (struct fl_axis){0, 1.12 * limit, p0, p1, false};
}

void fl_shade_lapses(struct fl_surface *c, const struct fl_axis *time, const struct fl_states *s,
                     double y, double h)
{
    for (size_t i = 0; i < s->n_lapses; i++) {
        double a = fl_axis_at(time, s->lapse[i].start_s), b = fl_axis_at(time, s->lapse[i].end_s);
        fl_draw_box(c, a, y, fmax(b - a, 0.7), h, FL_OFF_SOFT);
    }
}

bool fl_flick_counts(const struct fl_flick *f)
{
    return f->at_risk == FL_YES && f->tripped != FL_ANSWER_UNKNOWN;
}
