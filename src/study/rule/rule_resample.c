/* Intervals of a fitted rule by resampling takes or events (Efron 1979; for takes, which hold
 * flicks that are alike, whole takes are drawn: the cluster bootstrap). */
#include <stdlib.h>

#include "base/mem.h"
#include "maths/interval.h"
#include "maths/random.h"
#include "maths/robust.h"
#include "study/rule/rule_fit.h"

#define TAKES_FROM 6

/* Adds how often each of n comes up in n draws with replacement. */
static void draw(struct fl_random *rng, unsigned *count, size_t n)
{
    for (size_t i = 0; i < n; i++)
        count[fl_random_below(rng, n)]++;
}

/* Draws takes, if wanted, and of each take drawn its events, if wanted. */
static void weigh(struct fl_rule_fit *f, struct fl_random *rng, bool takes, bool events)
{
    unsigned *take = FL_NEW(unsigned, f->n);
    for (size_t i = 0; i < f->n && !takes; i++)
        take[i] = 1;
    if (takes)
        draw(rng, take, f->n);
    for (size_t i = 0; i < f->n; i++) {
        size_t n = f->track[i].events;
        unsigned *event = FL_NEW(unsigned, n);
        for (size_t e = 0; e < n && !events; e++)
            event[e] = take[i];
        for (unsigned k = 0; events && k < take[i]; k++)
            draw(rng, event, n);
        fl_track_weigh(&f->track[i], event);
        free(event);
    }
    free(take);
}

static bool both_seen(const struct fl_rule_fit *f)
{
    double on = 0, off = 0;
    for (size_t i = 0; i < f->n; i++) {
        on += f->track[i].total_on_s;
        off += f->track[i].total_off_s;
    }
    return on > 0 && off > 0;
}

static size_t units(const struct fl_rule_fit *f, bool takes_only)
{
    size_t n = 0;
    for (size_t i = 0; i < f->n; i++)
        n += takes_only ? 1 : f->track[i].events;
    return n;
}

/* One end or the other of the middle 95 %; draws without a rule might lie anywhere. */
static double end_of(const double *v, size_t n, double tail, bool high)
{
    double *x = FL_NEW(double, n);
    for (size_t i = 0; i < n; i++)
        x[i] = !isnan(v[i]) ? v[i] : high ? INFINITY : -INFINITY;
    double end = fl_quantile(x, n, high ? 1 - tail : tail);
    free(x);
    return isfinite(end) ? end : FL_UNKNOWN;
}

static double at_least(double x, double edge)
{
    return x > edge ? x : FL_UNKNOWN;
}

static double at_most(double x, double edge)
{
    return x < edge ? x : FL_UNKNOWN;
}

/* Ends as far out as the search went are open; a delay of 0 is an end of its own. */
static void open_edges(const struct fl_rule_fit *f, struct fl_rule_band *r)
{
    const double near = 1.01; /* as near as the search is fine */
    r->low.theta_off = at_least(r->low.theta_off, f->low * near);
    r->low.theta_on = at_least(r->low.theta_on, f->low * near);
    r->high.theta_off = at_most(r->high.theta_off, f->high / near);
    r->high.theta_on = at_most(r->high.theta_on, f->high / near);
    r->high.d_off_s = at_most(r->high.d_off_s, FL_RULE_D_OFF_S / near);
    r->high.d_on_s = at_most(r->high.d_on_s, FL_RULE_D_ON_S / near);
}

/* The wider of two; what is open stays open. */
static double lower(double a, double b)
{
    return isnan(a) || isnan(b) ? FL_UNKNOWN : fmin(a, b);
}

static double higher(double a, double b)
{
    return isnan(a) || isnan(b) ? FL_UNKNOWN : fmax(a, b);
}

/* One parameter of one rule. */
static double value(const struct fl_cutoff *c, int parameter)
{
    const double v[] = {c->theta_off, c->theta_on, c->d_off_s, c->d_on_s};
    return v[parameter];
}

static struct fl_cutoff cutoff(const double v[4])
{
    return (struct fl_cutoff){v[0], v[1], v[2], v[3]};
}

/* The draws' interval, the fit and the rules alike. */
static void set_range(const struct fl_rule_fit *f, const struct fl_cutoff *best,
                      const struct fl_cutoff *draws, size_t n, double tail, struct fl_rule_band *r)
{
    double *v = FL_NEW(double, n), low[4], high[4];
    for (int p = 0; p < 4; p++) {
        for (size_t i = 0; i < n; i++)
            v[i] = value(&draws[i], p);
        low[p] = lower(end_of(v, n, tail, false), value(best, p));
        high[p] = higher(end_of(v, n, tail, true), value(best, p));
        for (int k = 0; k < FL_RULE_ALIKE; k++) {
            low[p] = lower(low[p], value(&r->alike[k], p));
            high[p] = higher(high[p], value(&r->alike[k], p));
        }
    }
    r->low = cutoff(low);
    r->high = cutoff(high);
    open_edges(f, r);
    free(v);
}

const char *fl_rule_fit_interval(struct fl_rule_fit *f, const struct fl_cutoff *best,
                                 double slack_s, struct fl_cutoff *draws, size_t n_draws,
                                 struct fl_rule_band *out)
{
    bool takes = f->n > 1, events = f->n < TAKES_FROM;
    struct fl_random rng;
    fl_random_seed(&rng, 1);
    fl_rule_fit_alike(f, best, slack_s, out->alike);
    for (size_t i = 0; i < n_draws; i++) {
        weigh(f, &rng, takes, events);
        draws[i] = both_seen(f)
                       ? fl_rule_fit_quick(f)
                       : (struct fl_cutoff){FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN};
    }
    for (size_t i = 0; i < f->n; i++)
        fl_track_weigh(&f->track[i], NULL);
    /* Few units spread too little when drawn: Student's t in place of the normal. */
    double k = (double)units(f, !events), t = fl_t_quantile(0.975, fmax(1, k - 1));
    double tail = k > 1 ? fl_normal_cdf(-t * sqrt(k / (k - 1))) : 0;
    set_range(f, best, draws, n_draws, tail, out);
    return !events ? "takes_bootstrap" : takes ? "takes_events_bootstrap" : "events_bootstrap";
}
