/* Walks states and flips together: screen time by kind of picture, and how even the intervals
 * are. */
#include "study/take/pacing_measure.h"

#include <stdlib.h>
#include <string.h>

#include "maths/robust.h"

/* An interval is held against the usual time from a flip to the next but one, over this many on
 * either side. */
enum { BESIDE = 6 };
/* A missed flip makes an interval at least as long as that: the pair's own length with synthesis
 * on, where one picture of a pair may well take four fifths of it; twice the usual interval with it
 * off. */
static const double most_on = 0.9, most_off = 0.75;
/* Shares and spreads of fewer intervals say little. */
enum { ENOUGH = 20 };
/* Times are kept to the microsecond. */
static const double rounding_s = 2e-6;

/* The flips of one span, and what is gathered over all spans of a state. */
struct pacer {
    const struct fl_flip *flip;
    size_t n;    /* of the span */
    bool *whole; /* n: from this flip to the next no flip was missed */
    double most;
    double *interval, *ratio, *share; /* flips of the take long, at most */
    size_t n_intervals, n_ratios, n_shares, n_known;
    double rendered_s, synthesised_s;
    double refresh_hz; /* NaN: not given, or not fixed */
    bool counted;      /* only spans whose flips can be counted */
};

static double step(const struct pacer *p, size_t i)
{
    return p->flip[i + 1].time_s - p->flip[i].time_s;
}

/* Median time from a flip to the next but one near flip i; NaN with under three flips. */
static double usual_pair(const struct pacer *p, size_t i)
{
    double v[2 * BESIDE];
    size_t n = 0;
    for (size_t k = i > BESIDE ? i - BESIDE : 0; k + 2 < p->n && k < i + BESIDE; k++)
        v[n++] = p->flip[k + 2].time_s - p->flip[k].time_s;
    return fl_median(v, n);
}

static void find_whole(struct pacer *p)
{
    for (size_t i = 0; i + 1 < p->n; i++)
        p->whole[i] = step(p, i) < p->most * usual_pair(p, i); /* false for NaN */
}

/* The kind that is on screen from flip i to the next. Kinds alternate, so two alike in a row mean
 * that one between them was missed. */
static enum fl_kind shown(const struct pacer *p, size_t i)
{
    bool doubled = p->flip[i].kind == p->flip[i + 1].kind;
    return p->whole[i] && !doubled ? p->flip[i].kind : FL_KIND_UNKNOWN;
}

static void add_kinds(struct pacer *p, size_t i)
{
    enum fl_kind kind = shown(p, i);
    if (kind == FL_KIND_UNKNOWN)
        return;
    p->n_known++;
    *(kind == FL_KIND_RENDERED ? &p->rendered_s : &p->synthesised_s) += step(p, i);
    if (kind == FL_KIND_RENDERED && i + 2 < p->n && shown(p, i + 1) == FL_KIND_SYNTHESISED)
        p->share[p->n_shares++] = step(p, i) / (step(p, i) + step(p, i + 1));
}

static void add_evenness(struct pacer *p, size_t i)
{
    if (!p->whole[i])
        return;
    p->interval[p->n_intervals++] = step(p, i);
    if (i + 2 < p->n && p->whole[i + 1])
        p->ratio[p->n_ratios++] =
            fmax(step(p, i), step(p, i + 1)) / fmin(step(p, i), step(p, i + 1));
}

static void add_span(struct pacer *p, bool on)
{
    memset(p->whole, 0, p->n * sizeof *p->whole);
    find_whole(p);
    for (size_t i = 0; i + 1 < p->n; i++) {
        if (on)
            add_kinds(p, i);
        add_evenness(p, i);
    }
}

static void sum_kinds(struct fl_pacing_state *s, const struct pacer *p)
{
    s->kinds_known_s = p->rendered_s + p->synthesised_s;
    s->kinds_known_share = s->kinds_known_s / s->time_s;
    s->kinds_reason = p->n_known >= ENOUGH ? NULL : p->n_known ? "too_few" : "kinds_unknown";
    if (s->kinds_reason)
        return;
    s->rendered_share = p->rendered_s / s->kinds_known_s;
    s->synthesised_share = p->synthesised_s / s->kinds_known_s;
    s->pairs = (long)p->n_shares;
    s->rendered_of_pair_median = fl_median(p->share, p->n_shares);
    s->rendered_of_pair_p10 = fl_quantile(p->share, p->n_shares, 0.1);
    s->rendered_of_pair_p90 = fl_quantile(p->share, p->n_shares, 0.9);
}

static void sum_evenness(struct fl_pacing_state *s, const struct pacer *p)
{
    s->intervals = (long)p->n_intervals;
    if (p->n_intervals < ENOUGH)
        return;
    double mean = fl_mean(p->interval, p->n_intervals);
    s->interval_mean_ms = 1000 * mean;
    s->interval_cv = fl_sd(p->interval, p->n_intervals) / mean;
    s->interval_ratio_median = fl_median(p->ratio, p->n_ratios);
}

/* With synchronisation a flip waits for a refresh; without, it comes at any time. */
static void sum_refreshes(struct fl_pacing_state *s, const struct pacer *p)
{
    enum { MOST = 16 };
    const double within = 0.125; /* of a refresh: flips are told to about half a millisecond */
    size_t whole = 0, by_number[MOST] = {0}, most = 0;
    for (size_t i = 0; i < p->n_intervals; i++) {
        const double refreshes = p->interval[i] * p->refresh_hz, number = rint(refreshes);
        if (!(fabs(refreshes - number) <= within) || number < 1)
            continue;
        whole++;
        by_number[number < MOST ? (size_t)number : 0]++;
    }
    for (size_t k = 0; k < MOST; k++)
        most = by_number[k] > most ? by_number[k] : most;
    if (p->n_intervals < ENOUGH || !fl_known(p->refresh_hz))
        return;
    s->whole_refreshes_share = (double)whole / (double)p->n_intervals;
    s->odd_refreshes_share = whole ? 1 - (double)most / (double)whole : FL_UNKNOWN;
}

static bool measured(const struct pacer *p, const struct fl_state_span *s)
{
    return (!s->reason || strcmp(s->reason, "use")) && (!p->counted || fl_known(s->unique_rate_hz));
}

/* Walks spans and flips together. Returns the time in that state. */
static double walk(struct pacer *p, const struct fl_take *t, enum fl_state state)
{
    const struct fl_flip *v = t->flips.v;
    double time_s = 0;
    size_t at = 0;
    for (size_t k = 0; k < t->states.n_spans; k++) {
        const struct fl_state_span *a = &t->states.span[k];
        if (a->state != state || !measured(p, a))
            continue;
        time_s += a->end_s - a->start_s;
        while (at < t->flips.n && v[at].time_s < a->start_s - rounding_s)
            at++;
        size_t end = at;
        while (end < t->flips.n && v[end].time_s <= a->end_s + rounding_s)
            end++;
        p->flip = v ? v + at : NULL; /* no flips: no sum on a null pointer */
        p->n = end - at;
        add_span(p, state == FL_STATE_ON);
        at = end > at ? end - 1 : end; /* the flip that ends one span may begin another */
    }
    return time_s;
}

static struct pacer begin(const struct fl_take *t, enum fl_state state)
{
    size_t n = t->flips.n + 1;
    return (struct pacer){.whole = FL_NEW(bool, n),
                          .interval = FL_NEW(double, n),
                          .ratio = FL_NEW(double, n),
                          .share = FL_NEW(double, n),
                          .most = state == FL_STATE_ON ? most_on : most_off,
                          .refresh_hz = t->spec.output_variable ? FL_UNKNOWN : t->spec.refresh_hz};
}

static void finish(struct pacer *p)
{
    free(p->whole);
    free(p->interval);
    free(p->ratio);
    free(p->share);
}

static void pace(struct fl_pacing_state *s, const struct fl_take *t, enum fl_state state)
{
    struct pacer p = begin(t, state);
    fl_pacing_state_init(s, "state_not_seen");
    s->time_s = walk(&p, t, state);
    if (s->time_s > 0)
        sum_kinds(s, &p);
    sum_evenness(s, &p);
    sum_refreshes(s, &p);
    finish(&p);
}

size_t fl_pacing_intervals(const struct fl_take *t, enum fl_state state, double *out)
{
    struct pacer p = begin(t, state);
    p.counted = true;
    walk(&p, t, state);
    memcpy(out, p.interval, p.n_intervals * sizeof *out);
    const size_t n = p.n_intervals;
    finish(&p);
    return n;
}

void fl_pacing_measure(struct fl_take *t)
{
    struct fl_pacing_state *off = &t->pacing.off;
    pace(&t->pacing.on, t, FL_STATE_ON);
    pace(off, t, FL_STATE_OFF);
    if (off->time_s > 0) { /* by the meaning of the word */
        off->kinds_known_s = off->time_s;
        off->kinds_known_share = off->rendered_share = 1;
        off->synthesised_share = 0;
        off->kinds_reason = NULL;
    }
}
