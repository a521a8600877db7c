/* A grid of rules, each weighed by the likelihood of all brackets (Turnbull 1976's interval
 * censoring, with a parametric rule in place of free masses). A threshold counts by its share of
 * the speed that trips (any share is as likely as another), a delay by its logarithm (any octave
 * is), below a rendered frame by itself. A few brackets may belong to no rule. */
#include "study/rule/return_fit.h"

#include <stdlib.h>

#include "maths/robust.h"

enum { THETAS = 20, DRAWS = 201, SCATTERS = 4 };
#define LONGEST_S 4.0      /* of d_on: longer ones latch */
#define STRAYS 0.04        /* of the brackets: edges that were seen wrongly */
#define STRAY_SPREAD_S 1.0 /* where they may then end */
#define BEFORE_S 0.1       /* a trip's cause lies at most this far before it */
#define RATIO_95 1.92      /* half of chi-square's 95 %, 1 degree of freedom */

/* From edges alone to cut-offs that draw each hold anew. */
static const double scatter_s[SCATTERS] = {0.004, 0.012, 0.03, 0.08};

/* ---- the law of one return ---- */

static double logistic(double x)
{
    return 1 / (1 + exp(-x));
}

double fl_return_time(const struct fl_return *r, const struct fl_return_rule *rule, double shift_s,
                      double u)
{
    double high = fmax(r->high_s, r->low_s);
    if (isinf(r->at_s))
        return high;
    double at = r->at_s + shift_s, s = rule->scatter_s;
    double a = logistic((r->low_s - at) / s), b = logistic((high - at) / s);
    if (!(b - a > 1e-9))
        return fl_clamp(at, r->low_s, high);
    double p = a + u * (b - a);
    return fl_clamp(at + s * log(p / (1 - p)), r->low_s, high);
}

/* Chance of a bracket, with edges known to edge_s. */
static double chance(const struct fl_return *r, double scatter, double edge_s)
{
    double low = logistic((r->low_s - edge_s - r->at_s) / scatter); /* 0 for INFINITY */
    switch (r->next) {
    case FL_NEXT_ON: return logistic((r->high_s + edge_s - r->at_s) / scatter) - low;
    case FL_NEXT_OFF_CALM: return 1 - logistic((r->high_s - edge_s - r->at_s) / scatter);
    default: return 1 - low;
    }
}

/* Chance of a bracket that no rule explains. */
static double stray_chance(const struct fl_return *r, double edge_s)
{
    double width = r->high_s - r->low_s + 2 * edge_s;
    return r->next == FL_NEXT_ON ? fmin(width / STRAY_SPREAD_S, 1) : 0.5;
}

static double log_likelihood(const struct fl_returns *r, double scatter, double edge_s)
{
    double sum = 0;
    for (size_t i = 0; i < r->n; i++) {
        double stray = stray_chance(&r->v[i], edge_s);
        double p = r->v[i].unknown ? stray : fmax(chance(&r->v[i], scatter, edge_s), 0);
        sum += log((1 - STRAYS) * p + STRAYS * stray);
    }
    return sum;
}

/* ---- the grid ---- */

struct point {
    struct fl_return_rule rule;
    double likelihood; /* its logarithm */
    double weight;     /* with the prior: first the logarithm, then of a sum of 1 */
};

struct delay {
    double s, log_prior;
};

struct grid {
    struct point *v; /* by quantity, threshold, delay, scatter */
    size_t n, cap;
    struct delay *delay;
    size_t delays, cap_delays;
};

static void make_delays(struct grid *g, double frame_s)
{
    double step = frame_s / 2;
    for (double d = 0; d < LONGEST_S; d += step) {
        struct delay v = {d + step / 2, log(log((d + step + frame_s) / (d + frame_s)))};
        FL_PUSH(g->delay, g->delays, g->cap_delays, v);
    }
}

/* Most of a quantity in [from, to]; NaN if it is known nowhere in it. */
static double most(const struct fl_track *k, double from_s, double to_s)
{
    double top = FL_UNKNOWN;
    size_t lo = 0, hi = k->speeds.n;
    while (lo < hi) {
        size_t mid = (lo + hi) / 2;
        if (k->speeds.time_s[mid] < from_s)
            lo = mid + 1;
        else
            hi = mid;
    }
    for (; lo < k->speeds.n && k->speeds.time_s[lo] <= to_s; lo++)
        top = fmax(top, k->q[lo]); /* fmax skips NaN */
    return top;
}

struct tops {
    double *v;
    size_t n, cap;
};

static void gather_tops(struct tops *out, const struct fl_return_view *v, int k, bool tripped)
{
    for (size_t i = 0; v->has[k] && i < v->seen.n; i++) {
        const struct fl_sighting *a = &v->seen.v[i];
        bool wanted = a->state == FL_STATE_OFF && (!tripped || (i && a[-1].state == FL_STATE_ON));
        double top =
            wanted ? most(&v->track[k], a->start_s - BEFORE_S, tripped ? a->start_s : a->end_s)
                   : FL_UNKNOWN;
        if (top > 0)
            FL_PUSH(out->v, out->n, out->cap, top);
    }
}

/* The highest theta_on: theta_off, and that is at most what trips are seen at. Where no trip was
 * seen, what off was seen at. */
static double highest_theta(const struct fl_return_view *v, size_t n, int k)
{
    struct tops tops = {0};
    for (size_t i = 0; i < n; i++)
        gather_tops(&tops, &v[i], k, true);
    for (size_t i = 0; i < n && !tops.n; i++)
        gather_tops(&tops, &v[i], k, false);
    double top = fl_median(tops.v, tops.n);
    free(tops.v);
    return top;
}

/* All delays and scatters at one threshold. */
static void weigh_threshold(struct grid *g, const struct fl_return_view *v, size_t n, int k,
                            double theta)
{
    struct fl_quiet *quiet = FL_NEW(struct fl_quiet, n);
    struct fl_returns r = {0};
    for (size_t i = 0; i < n; i++)
        fl_quiet_find(&quiet[i], &v[i], k, theta);
    for (size_t d = 0; d < g->delays; d++) {
        double sum[SCATTERS] = {0};
        for (size_t i = 0; i < n; i++) {
            fl_returns_find(&r, &v[i], &quiet[i], g->delay[d].s);
            for (int s = 0; s < SCATTERS; s++)
                sum[s] += log_likelihood(&r, scatter_s[s], v[i].edge_s);
        }
        for (int s = 0; s < SCATTERS; s++) {
            struct point p = {
                {k, theta, g->delay[d].s, scatter_s[s]}, sum[s], sum[s] + g->delay[d].log_prior};
            FL_PUSH(g->v, g->n, g->cap, p);
        }
    }
    for (size_t i = 0; i < n; i++)
        free(quiet[i].below.v);
    free(quiet);
    free(r.v);
}

static bool in_proportion(const struct fl_track *a, const struct fl_track *b)
{
    const double close = 1e-3;
    double ratio = FL_UNKNOWN;
    for (size_t i = 0; i < a->speeds.n; i++) {
        if (isnan(a->q[i]) || (a->q[i] == 0 && b->q[i] == 0))
            continue;
        if (!(a->q[i] > 0 && b->q[i] > 0))
            return false;
        if (isnan(ratio))
            ratio = b->q[i] / a->q[i];
        if (fabs(b->q[i] / a->q[i] - ratio) > close * ratio)
            return false;
    }
    return true;
}

/* In all takes another quantity, later in the list, says the same or more. */
static bool said_by_another(const struct fl_return_view *v, size_t n, int k)
{
    for (int o = k + 1; o < FL_HARMLESS_QUANTITIES; o++) {
        size_t same = 0;
        while (same < n && v[same].has[k] && v[same].has[o] &&
               in_proportion(&v[same].track[k], &v[same].track[o]))
            same++;
        if (same == n)
            return true;
    }
    return false;
}

static void weigh_all(struct grid *g, const struct fl_return_view *v, size_t n)
{
    double frame = INFINITY;
    for (size_t i = 0; i < n; i++)
        frame = fmin(frame, v[i].frame_s);
    make_delays(g, frame);
    for (int k = 0; k < FL_HARMLESS_QUANTITIES; k++) {
        double top = said_by_another(v, n, k) ? FL_UNKNOWN : highest_theta(v, n, k);
        for (int t = 0; t < THETAS && top > 0; t++)
            weigh_threshold(g, v, n, k, top * (t + 0.5) / THETAS);
    }
    if (!g->n) /* nothing is known of the motion: only how long holds may be */
        weigh_threshold(g, v, n, 0, FL_UNKNOWN);
}

/* ---- what agrees ---- */

static double best_of(const struct grid *g, bool likelihood)
{
    double best = -INFINITY;
    for (size_t i = 0; i < g->n; i++)
        best = fmax(best, likelihood ? g->v[i].likelihood : g->v[i].weight);
    return best;
}

/* Evenly spaced along the cumulated weight; leaves weights that sum to 1. */
static void draw(struct fl_return_fit *f, struct grid *g)
{
    double best = best_of(g, false), total = 0, sum = 0;
    for (size_t i = 0; i < g->n; i++)
        total += g->v[i].weight = exp(g->v[i].weight - best);
    f->draw = FL_NEW(struct fl_return_rule, DRAWS);
    for (size_t i = 0; i < g->n; i++) {
        g->v[i].weight /= total;
        f->weight[g->v[i].rule.quantity] += g->v[i].weight;
        sum += g->v[i].weight;
        while (f->n_draws < DRAWS && ((double)f->n_draws + 0.5) / DRAWS <= sum)
            f->draw[f->n_draws++] = g->v[i].rule;
    }
    while (f->n_draws < DRAWS) /* rounding */
        f->draw[f->n_draws++] = g->v[g->n - 1].rule;
}

/* At each threshold the first and the last delay that is good enough, whatever the scatter. */
static void find_alike(struct fl_return_fit *f, const struct grid *g)
{
    double bar = best_of(g, true) - RATIO_95;
    size_t each = g->delays * SCATTERS;
    f->alike = FL_NEW(struct fl_return_rule, 2 * (g->n / each) + 1);
    for (size_t from = 0; from < g->n; from += each) {
        const struct point *first = NULL, *last = NULL;
        for (size_t i = from; i < from + each; i++)
            if (g->v[i].likelihood >= bar) {
                first = first ? first : &g->v[i];
                last = &g->v[i];
            }
        if (first)
            f->alike[f->n_alike++] = first->rule;
        if (last && last->rule.d_on_s > first->rule.d_on_s)
            f->alike[f->n_alike++] = last->rule;
    }
}

static bool off_seen(const struct fl_return_view *v, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (v[i].seen.off_s > 0)
            return true;
    return false;
}

static void describe(struct fl_return_fit *f, const struct fl_return_view *v, size_t n)
{
    double delay[DRAWS];
    for (size_t i = 0; i < f->n_draws; i++)
        delay[i] = f->draw[i].d_on_s;
    f->d_on_s = fl_median(delay, f->n_draws);
    f->d_on_low_s = fl_quantile(delay, f->n_draws, 0.025);
    f->d_on_high_s = fl_quantile(delay, f->n_draws, 0.975);
    for (size_t i = 0; i < n; i++)
        for (size_t p = 0; p < v[i].seen.n_parts; p++)
            for (size_t k = 1; k < v[i].seen.part[p].n; k++) {
                const struct fl_sighting *a = &v[i].seen.v[v[i].seen.part[p].first + k];
                f->brackets += a->state == FL_STATE_ON && a[-1].state == FL_STATE_OFF;
            }
}

bool fl_return_fit_make(struct fl_return_fit *f, const struct fl_return_view *v, size_t n)
{
    struct grid g = {0};
    *f = (struct fl_return_fit){0};
    if (!off_seen(v, n))
        return false;
    weigh_all(&g, v, n);
    find_alike(f, &g);
    draw(f, &g);
    describe(f, v, n);
    free(g.v);
    free(g.delay);
    return true;
}

void fl_return_fit_finish(struct fl_return_fit *f)
{
    free(f->draw);
    free(f->alike);
    *f = (struct fl_return_fit){0};
}
