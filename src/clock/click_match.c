/* Every pair of an event and a sound votes for its lag, under each drift of a grid; the votes of
 * true pairs fall together, those of others scatter. The best lags are then fitted and scored anew
 * over everything, so that best and rival are judged alike. */
#include "clock/click_match.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "maths/robust.h"

enum { EVENTS = 96, CANDIDATES = 12, ROUNDS = 4 };
static const double bin_s = 0.001, window_s = 120;

double fl_click_to_trace(const struct fl_click_line *l, double sound_s)
{
    return l->middle_s + (1 + l->drift) * (sound_s + l->lag_s - l->middle_s);
}

double fl_click_to_sound(const struct fl_click_line *l, double trace_s)
{
    return l->middle_s + (trace_s - l->middle_s) / (1 + l->drift) - l->lag_s;
}

static size_t first_at(const struct fl_click_peak *peak, size_t n, double time_s)
{
    size_t lo = 0, hi = n;
    while (lo < hi) {
        const size_t mid = (lo + hi) / 2;
        if (peak[mid].time_s < time_s)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo;
}

const struct fl_click_peak *fl_click_nearest(const struct fl_click_sounds *sounds, double sound_s,
                                             double reach_s)
{
    const struct fl_click_peak *best = NULL, *peak = sounds->peak;
    for (size_t i = first_at(peak, sounds->n, sound_s - reach_s);
         i < sounds->n && peak[i].time_s <= sound_s + reach_s; i++)
        if (!best || peak[i].weight > best->weight)
            best = &peak[i];
    return best;
}

/* ---- votes ---- */

struct ballot {
    double first_s; /* lag of the first bin */
    size_t n;
    float *now, *best; /* under the drift at hand; under the best drift of each bin */
    float *drift;      /* that drift */
};

/* A vote goes to its bin and, by halves, to those beside it. */
static void vote(struct ballot *b, const struct fl_click_sounds *sounds, const double *event,
                 size_t n_events, double drift, double middle_s)
{
    const struct fl_click_peak *peak = sounds->peak;
    memset(b->now, 0, b->n * sizeof *b->now);
    for (size_t k = 0; k < n_events; k++) {
        const double at_s = event[k] - drift * (event[k] - middle_s) - b->first_s;
        for (size_t i = 0; i < sounds->n; i++) {
            const size_t bin = (size_t)((at_s - peak[i].time_s) / bin_s);
            const float w = (float)peak[i].weight;
            b->now[bin] += w;
            b->now[bin - 1] += w / 2;
            b->now[bin + 1] += w / 2;
        }
    }
    for (size_t i = 0; i < b->n; i++)
        if (b->now[i] > b->best[i]) {
            b->best[i] = b->now[i];
            b->drift[i] = (float)drift;
        }
}

/* Takes the best bin and blanks what lies about it; false when nothing is left. */
static bool take_best(struct ballot *b, double middle_s, struct fl_click_line *out)
{
    const size_t blank = (size_t)(FL_CLICK_RIVAL_S / bin_s);
    size_t k = 0;
    for (size_t i = 1; i < b->n; i++)
        if (b->best[i] > b->best[k])
            k = i;
    if (!(b->best[k] > 0))
        return false;
    *out = (struct fl_click_line){b->first_s + ((double)k + 0.5) * bin_s, (double)b->drift[k],
                                  middle_s};
    for (size_t i = k > blank ? k - blank : 0; i < b->n && i <= k + blank; i++)
        b->best[i] = 0;
    return true;
}

/* ---- fit ---- */

/* Weights of the sounds that events fall on, less for a worse fit. */
static double score(const struct fl_click_line *l, const struct fl_click_sounds *sounds,
                    const double *event, size_t n_events)
{
    const double reach_s = sounds->tolerance_s;
    double sum = 0;
    for (size_t k = 0; k < n_events; k++) {
        const double at = fl_click_to_sound(l, event[k]);
        const struct fl_click_peak *p = fl_click_nearest(sounds, at, reach_s);
        if (p)
            sum += p->weight * (1 - fabs(p->time_s - at) / (2 * reach_s));
    }
    return sum;
}

/* Sounds that belong to events, against the line at hand. */
struct pairs {
    size_t n;
    double *x, *y; /* time from the middle; lag there */
};

static void collect(struct pairs *p, const struct fl_click_line *l,
                    const struct fl_click_sounds *sounds, double event)
{
    const double at = fl_click_to_sound(l, event);
    const struct fl_click_peak *k = fl_click_nearest(sounds, at, 1.5 * sounds->tolerance_s);
    if (!k)
        return;
    p->x[p->n] = k->time_s + l->lag_s - l->middle_s;
    p->y[p->n++] = event - k->time_s;
}

/* Few pairs tell the lag and no drift. */
static void settle(struct fl_click_line *l, const struct pairs *p)
{
    const double limit = 1e-6 * FL_CLICK_DRIFT_PPM;
    struct fl_line line;
    if (p->n >= 5 && fl_line_fit_robust(&line, p->x, p->y, NULL, p->n) == 0) {
        l->drift = fl_clamp(line.slope, -limit, limit);
        l->lag_s = line.intercept;
    } else if (p->n > 0) {
        for (size_t i = 0; i < p->n; i++)
            p->y[i] -= l->drift * p->x[i];
        l->lag_s = fl_median(p->y, p->n);
    }
}

/* Follows the events outward from where the line is sure: each round takes in twice the span. */
static void fit(struct fl_click_line *l, const struct fl_click_sounds *sounds, const double *event,
                size_t n_events, double half_span_s)
{
    struct pairs p = {0, FL_NEW(double, n_events), FL_NEW(double, n_events)};
    bool all = false;
    for (int round = 0; round < ROUNDS || !all; round++, half_span_s *= 2) {
        all = true;
        p.n = 0;
        for (size_t k = 0; k < n_events; k++)
            if (fabs(event[k] - l->middle_s) <= half_span_s)
                collect(&p, l, sounds, event[k]);
            else
                all = false;
        settle(l, &p);
    }
    free(p.x);
    free(p.y);
}

/* ---- search ---- */

/* The stretch of window_s with the most events, at most EVENTS of them. */
static size_t densest(const double *event, size_t n_events, size_t *first)
{
    size_t most = 0;
    *first = 0;
    for (size_t from = 0, to = 0; from < n_events; from++) {
        while (to < n_events && event[to] - event[from] <= window_s)
            to++;
        if (to - from > most) {
            most = to - from;
            *first = from;
        }
    }
    return most < EVENTS ? most : EVENTS;
}

/* The better of two lags, and the best that lies elsewhere. */
static void compare(struct fl_click_match *m, const struct fl_click_line *l, double score)
{
    const bool elsewhere = fabs(l->lag_s - m->line.lag_s) > FL_CLICK_RIVAL_S;
    if (score > m->score) {
        m->rival = elsewhere ? m->score : m->rival;
        m->score = score;
        m->line = *l;
    } else if (elsewhere) {
        m->rival = fmax(m->rival, score);
    }
}

static void search(struct fl_click_match *out, struct ballot *b,
                   const struct fl_click_sounds *sounds, const double *event, size_t n_events)
{
    size_t first;
    const size_t some = densest(event, n_events, &first);
    const double from_s = event[first], to_s = event[first + some - 1];
    const double half_s = fmax((to_s - from_s) / 2, 1), middle_s = (from_s + to_s) / 2;
    const double limit = 1e-6 * FL_CLICK_DRIFT_PPM;
    const int steps = (int)ceil(limit * half_s / bin_s);
    for (int d = -steps; d <= steps; d++)
        vote(b, sounds, event + first, some, d * limit / steps, middle_s);
    struct fl_click_line l;
    for (int c = 0; c < CANDIDATES && take_best(b, middle_s, &l); c++) {
        fit(&l, sounds, event, n_events, half_s + 1);
        compare(out, &l, score(&l, sounds, event, n_events));
    }
}

void fl_click_search(struct fl_click_match *out, const struct fl_click_sounds *sounds,
                     const double *event, size_t n_events)
{
    const struct fl_click_peak *peak = sounds->peak;
    const size_t n = sounds->n;
    *out = (struct fl_click_match){0};
    if (n == 0 || n_events == 0)
        return;
    const double slack_s =
        1 + 1e-6 * FL_CLICK_DRIFT_PPM * (peak[n - 1].time_s + event[n_events - 1] - event[0]);
    const double first_s = event[0] - peak[n - 1].time_s - slack_s;
    const double last_s = event[n_events - 1] - peak[0].time_s + slack_s;
    struct ballot b = {.first_s = first_s, .n = (size_t)((last_s - first_s) / bin_s) + 2};
    b.now = FL_NEW(float, b.n);
    b.best = FL_NEW(float, b.n);
    b.drift = FL_NEW(float, b.n);
    search(out, &b, sounds, event, n_events);
    free(b.now);
    free(b.best);
    free(b.drift);
}
