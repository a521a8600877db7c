/* Return delays are interval-censored: their 95th percentile by Turnbull's estimate. */
#include "study/take/return_delay.h"

#include <stdlib.h>

#include "maths/survival.h"

#define LEAST_LAPSES 5
#define TAIL_S 0.15 /* a trip this long after a flick is still its own */

/* The last flick that began before t; NULL if none did. */
static const struct fl_flick *flick_before(const struct fl_take *t, double t_s)
{
    const struct fl_flick *f = NULL;
    for (size_t i = 0; i < t->n_flicks && t->flicks[i].start_s < t_s; i++)
        f = &t->flicks[i];
    return f;
}

bool fl_return_bracket(const struct fl_take *t, const struct fl_lapse *l, double *low, double *high)
{
    double sure = fmin(l->end_range_s[0], l->end_s);
    const struct fl_flick *f = flick_before(t, sure);
    if (!f || f->end_s + TAIL_S < l->start_s) /* no flick made this lapse */
        return false;
    *low = fmax(0, sure - f->end_s);
    *high = l->has_return ? fmax(*low, fmax(l->end_range_s[1], l->end_s) - f->end_s) : INFINITY;
    return true;
}

double fl_return_delay_of(const double *low_s, const double *high_s, size_t n)
{
    const double p95 = n < LEAST_LAPSES ? FL_UNKNOWN : fl_bracket_quantile(low_s, high_s, n, 0.95);
    return isinf(p95) ? FL_UNKNOWN : p95;
}

double fl_return_delay(const struct fl_take *t)
{
    double *low = FL_NEW(double, t->states.n_lapses + 1),
           *high = FL_NEW(double, t->states.n_lapses + 1);
    size_t n = 0;
    for (size_t i = 0; i < t->states.n_lapses; i++)
        n += fl_return_bracket(t, &t->states.lapse[i], &low[n], &high[n]);
    const double p95 = fl_return_delay_of(low, high, n);
    free(low);
    free(high);
    return p95;
}
