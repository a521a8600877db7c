/* The likelihood of all brackets (Turnbull 1976's interval censoring, with a parametric rule in
 * place of free masses). Off that follows unseen is off still, or was tripped again: the more
 * likely, the less of such motion on was seen to withstand. A delay counts by its logarithm (any
 * octave is as likely as another), below a rendered frame by itself. A few brackets may belong to
 * no rule. */
#include "study/rule/return_grid.h"

#include <stdlib.h>

#include "maths/robust.h"

#define THETAS 20          /* evenly up to the highest: any share of it is as likely */
#define LONGEST_S 4.0      /* of d_on: longer ones latch */
#define STRAYS 0.04        /* of the brackets: edges that were seen wrongly */
#define STRAY_SPREAD_S 1.0 /* where they may then end */
#define BEFORE_S 0.1       /* a trip's cause lies at most this far before it */

/* From edges alone to cut-offs that draw each hold anew. */
static const double scatter_s[FL_RETURN_SCATTERS] = {0.004, 0.012, 0.03, 0.08};

/* ---- what trips ---- */

struct tops {
    double *v;
    size_t n, cap;
};

/* What was seen of trips, in one quantity: the motion before each, and the most that each stretch
 * of on withstood. */
struct trips {
    struct tops tripped, withstood;
};

static void gather_trips(struct trips *out, const struct fl_return_view *v, int k)
{
    for (size_t i = 0; v->has[k] && i < v->seen.n; i++) {
        const struct fl_sighting *a = &v->seen.v[i];
        bool on = a->state == FL_STATE_ON, after_on = i && a[-1].state == FL_STATE_ON;
        bool before_off = i + 1 < v->seen.n && a[1].state == FL_STATE_OFF;
        double until = on ? a->end_s - (before_off ? BEFORE_S : 0) : a->start_s;
        double from = on ? a->start_s : a->start_s - BEFORE_S;
        double top = on || after_on ? fl_track_most(&v->track[k], from, until) : FL_UNKNOWN;
        struct tops *to = on ? &out->withstood : &out->tripped;
        if (fl_known(top))
            FL_PUSH(to->v, to->n, to->cap, top);
    }
}

static void trips_free(struct trips *t)
{
    free(t->tripped.v);
    free(t->withstood.v);
}

/* Chance that motion of this peak trips: only what on was seen to withstand speaks against it. */
static double trip_chance(const struct trips *t, double peak)
{
    double tripped = 1, withstood = 0;
    for (size_t i = 0; i < t->tripped.n; i++)
        tripped += t->tripped.v[i] <= peak;
    for (size_t i = 0; i < t->withstood.n; i++)
        withstood += t->withstood.v[i] >= peak;
    return tripped / (tripped + withstood);
}

/* Of all that follow as off in runs of their own. */
static double log_trips(const struct fl_returns *r, const struct trips *t)
{
    double sum = 0;
    for (size_t i = 0; i < r->n; i++)
        if (fl_known(r->v[i].peak))
            sum += log((1 - STRAYS) * trip_chance(t, r->v[i].peak) + STRAYS);
    return sum;
}

/* ---- one bracket ---- */

static double logistic(double x)
{
    return 1 / (1 + exp(-x));
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

static double edge_of(const struct fl_return *r, const struct fl_return_view *v)
{
    return fmax(v->edge_s, fl_return_unseen_edge(r, v));
}

static double log_likelihood(const struct fl_returns *r, const struct fl_return_view *v,
                             double scatter)
{
    double sum = 0;
    for (size_t i = 0; i < r->n; i++) {
        double edge_s = edge_of(&r->v[i], v), stray = stray_chance(&r->v[i], edge_s);
        double p = r->v[i].unknown ? stray : fmax(chance(&r->v[i], scatter, edge_s), 0);
        sum += log((1 - STRAYS) * p + STRAYS * stray);
    }
    return sum;
}

/* ---- thresholds ---- */

static void gather_tops(struct tops *out, const struct fl_return_view *v, int k, bool tripped)
{
    for (size_t i = 0; v->has[k] && i < v->seen.n; i++) {
        const struct fl_sighting *a = &v->seen.v[i];
        bool wanted = a->state == FL_STATE_OFF && (!tripped || (i && a[-1].state == FL_STATE_ON));
        double top = wanted ? fl_track_most(&v->track[k], a->start_s - BEFORE_S,
                                            tripped ? a->start_s : a->end_s)
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

/* The quantity, later in the list, that says the same or more in all takes; k if none does. */
static int said_by(const struct fl_return_view *v, size_t n, int k)
{
    for (int o = k + 1; o < FL_HARMLESS_QUANTITIES; o++) {
        size_t same = 0;
        while (same < n && v[same].has[k] && v[same].has[o] &&
               in_proportion(&v[same].track[k], &v[same].track[o]))
            same++;
        if (same == n)
            return o;
    }
    return k;
}

static void list_thresholds(struct fl_return_grid *g, const struct fl_return_view *v, size_t n)
{
    for (int k = 0; k < FL_HARMLESS_QUANTITIES; k++) {
        int by = said_by(v, n, k);
        double top = by == k ? highest_theta(v, n, k) : FL_UNKNOWN;
        g->stands_for[by]++;
        for (int t = 0; t < THETAS && top > 0; t++) {
            struct fl_return_rule r = {.quantity = k, .theta_on = top * (t + 0.5) / THETAS};
            FL_PUSH(g->threshold, g->n_thresholds, g->cap_thresholds, r);
        }
    }
    if (!g->n_thresholds) /* only how long holds may be */
        FL_PUSH(g->threshold, g->n_thresholds, g->cap_thresholds,
                ((struct fl_return_rule){.theta_on = FL_UNKNOWN}));
}

/* ---- the grid ---- */

static void list_delays(struct fl_return_grid *g, double frame_s)
{
    double step = frame_s / 2, all = log((LONGEST_S + frame_s) / frame_s);
    g->n_delays = (size_t)ceil(LONGEST_S / step);
    g->delay_s = FL_NEW(double, g->n_delays);
    g->prior = FL_NEW(double, g->n_delays);
    for (size_t i = 0; i < g->n_delays; i++) {
        double d = (double)i * step;
        g->delay_s[i] = d + step / 2;
        g->prior[i] = log((fmin(d + step, LONGEST_S) + frame_s) / (d + frame_s)) / all;
    }
}

/* All delays and scatters at one threshold. */
static void weigh_threshold(struct fl_return_grid *g, const struct fl_return_view *v, size_t n,
                            size_t threshold, const struct trips *trips)
{
    const struct fl_return_rule *rule = &g->threshold[threshold];
    float *out = g->log_likelihood + threshold * g->n_delays * FL_RETURN_SCATTERS;
    struct fl_quiet quiet = {0};
    struct fl_returns r = {0};
    for (size_t i = 0; i < n; i++) {
        fl_quiet_find(&quiet, &v[i], rule->quantity, rule->theta_on);
        for (size_t d = 0; d < g->n_delays; d++) {
            fl_returns_find(&r, &v[i], &quiet, g->delay_s[d]);
            g->log_trips[threshold * g->n_delays + d] += (float)log_trips(&r, trips);
            for (int s = 0; s < FL_RETURN_SCATTERS; s++)
                out[d * FL_RETURN_SCATTERS + (size_t)s] +=
                    (float)log_likelihood(&r, &v[i], scatter_s[s]);
        }
    }
    free(quiet.below.v);
    free(r.v);
}

static bool off_seen(const struct fl_return_view *v, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (v[i].seen.off_s > 0)
            return true;
    return false;
}

bool fl_return_grid_make(struct fl_return_grid *g, const struct fl_return_view *v, size_t n,
                         double frame_s)
{
    *g = (struct fl_return_grid){0};
    if (!off_seen(v, n))
        return false;
    list_delays(g, frame_s);
    list_thresholds(g, v, n);
    g->log_likelihood = FL_NEW(float, fl_return_grid_size(g));
    g->log_trips = FL_NEW(float, g->n_thresholds * g->n_delays);
    struct trips trips[FL_HARMLESS_QUANTITIES] = {0};
    for (int k = 0; k < FL_HARMLESS_QUANTITIES; k++)
        for (size_t i = 0; i < n; i++)
            gather_trips(&trips[k], &v[i], k);
    for (size_t i = 0; i < g->n_thresholds; i++)
        weigh_threshold(g, v, n, i, &trips[g->threshold[i].quantity]);
    for (int k = 0; k < FL_HARMLESS_QUANTITIES; k++)
        trips_free(&trips[k]);
    return true;
}

void fl_return_grid_finish(struct fl_return_grid *g)
{
    free(g->threshold);
    free(g->delay_s);
    free(g->prior);
    free(g->log_likelihood);
    free(g->log_trips);
    *g = (struct fl_return_grid){0};
}

size_t fl_return_grid_size(const struct fl_return_grid *g)
{
    return g->n_thresholds * g->n_delays * FL_RETURN_SCATTERS;
}

struct fl_return_rule fl_return_grid_rule(const struct fl_return_grid *g, size_t index)
{
    size_t delay = index / FL_RETURN_SCATTERS;
    struct fl_return_rule r = g->threshold[delay / g->n_delays];
    r.d_on_s = g->delay_s[delay % g->n_delays];
    r.scatter_s = scatter_s[index % FL_RETURN_SCATTERS];
    return r;
}
