/* Stretches that are surely on → steps of the rows' shifts → the likeliest train of flips → its
 * rhythm.
 *
 * A train is a path of flips whose gaps take turns about the shares φ of P, log-normal as in
 * gaps.c; the best one at each period tried is found by dynamic programming (Viterbi 1967), and the
 * period whose trains fit best is refined by the times of the flips that steps mark. Evidence of a
 * step is weighed both ways, so that a train of twice the flips pays for those that no step shows.
 */
#include "state/count_on.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/parallel.h"
#include "base/units.h"
#include "state/rhythm.h"

/* Choices, but for `unlike`. */
static const struct {
    float sure;         /* posterior of a slot that is on */
    double segments_s;  /* of footage looked at */
    double longest_s;   /* of it, on: the base rate of some thousand pairs is known */
    double shortest_s;  /* of a stretch: a few pairs */
    double spread;      /* sd of ln gap, as of a paced gap in gaps.c */
    double reach;       /* gaps are tried so many of those from the middle */
    double step;        /* ratio of one period tried to the next: flips ten gaps apart are counted
                           alike by the nearer of two */
    double most_ratio;  /* of the on period to the off period, or the other way round */
    double clear_nats;  /* by which the best period beats all that lie beyond ... */
    double clear_ratio; /* ... this ratio of it */
    double odd_cost;    /* nats that uneven pairs must earn, as in rates.c */
    float marked;       /* nats of a flip that a step marks, and by which it beats ... */
    int part;           /* ... places this part of a frame away */
    double lost;        /* base periods without a marked flip, after which the count is lost */
    double error;       /* most that the standard error may be, relative */
    double enough_s;    /* of stretches between marked flips: base rates wander by some per cent
                           within a second */
    double still;       /* capture periods: a gap longer than this leaves rows unchanged */
    double unlike;      /* output this near the capture rate leaves tears standing still (DESIGN:
                           what cannot be known) */
} model = {.sure = 0.9f,
           .segments_s = 180,
           .longest_s = 60,
           .shortest_s = 0.04,
           .spread = 0.08,
           .reach = 2.5,
           .step = 1.03,
           .most_ratio = 1.55,
           .clear_nats = 8,
           .clear_ratio = 1.15,
           .odd_cost = 6,
           .marked = 1.5f,
           .part = 6,
           .lost = 8,
           .error = 0.015,
           .enough_s = 0.4,
           .still = 1.02,
           .unlike = 0.012};
enum { ENOUGH_MARKED = 24, ROUNDS = 2, KINDS = FL_FRAMES_MOST };

/* Slots that are on, and how much a step at each of them says for a flip. */
struct stretch {
    size_t from, n;
    float *step;
};

struct ground {
    const struct fl_evidence *e;
    struct stretch *v;
    size_t n, cap;
    int frames;                   /* N */
    double share[FL_FRAMES_MOST]; /* φ, once found */
};

/* ---- stretches ---- */

static void add_stretch(struct ground *g, const struct fl_rows *rows, size_t from, size_t to)
{
    if ((double)(to - from) * g->e->slot_s < model.shortest_s)
        return;
    struct stretch v = {from, to - from, FL_NEW(float, to - from)};
    if (fl_evidence_steps(v.step, g->e, rows, from, to))
        FL_PUSH(g->v, g->n, g->cap, v);
    else
        free(v.step);
}

static void collect(struct ground *g, const struct fl_renewal *r, const struct fl_rows *rows)
{
    double sum_s = 0;
    for (size_t i = 0; i < g->e->n && sum_s < model.longest_s; i++) {
        size_t from = i;
        while (i < g->e->n && r->p_on[i] >= model.sure)
            i++;
        if (i == from)
            continue;
        add_stretch(g, rows, from, i);
        sum_s += (double)(i - from) * g->e->slot_s;
    }
}

static void ground_finish(struct ground *g)
{
    for (size_t i = 0; i < g->n; i++)
        free(g->v[i].step);
    free(g->v);
}

/* ---- the best train ---- */

struct train {
    float *best[KINDS];    /* a slot: nats of the best train whose last flip is here, by which of
                              the N pictures it brings */
    uint32_t *back[KINDS]; /* gap before that flip, slots; 0: it is the first */
};

static void train_open(struct train *t, size_t n, int frames)
{
    *t = (struct train){0};
    for (int k = 0; k < frames; k++) {
        t->best[k] = FL_NEW(float, n);
        t->back[k] = FL_NEW(uint32_t, n);
    }
}

static void train_close(struct train *t)
{
    for (int k = 0; k < KINDS; k++) {
        free(t->best[k]);
        free(t->back[k]);
    }
}

/* Gap for which a picture shows: ln chances of lengths from `least` slots on. */
struct gap_law {
    size_t least, n;
    float *nats;
};

/* Which of n pictures comes before picture k. */
static int before(int k, int n)
{
    return k ? k - 1 : n - 1;
}

static void law_open(struct gap_law *l, double middle)
{
    const double most = middle * exp(model.reach * model.spread),
                 least = middle * exp(-model.reach * model.spread);
    l->least = (size_t)fmax(1, floor(least));
    l->n = (size_t)ceil(most) + 1 - l->least;
    l->nats = FL_NEW(float, l->n);
    for (size_t i = 0; i < l->n; i++) {
        const double z = log((double)(l->least + i) / middle) / model.spread;
        l->nats[i] =
            (float)(-0.5 * z * z - log((double)(l->least + i) * model.spread * sqrt(2 * FL_PI)));
    }
}

/* Best flip before one at slot t, and what the train up to it weighs. */
static float best_before(const float *best, size_t t, const struct gap_law *l, uint32_t *gap)
{
    float top = 0; /* t may be the first */
    *gap = 0;
    for (size_t i = 0; i < l->n && l->least + i <= t; i++) {
        const float v = best[t - l->least - i] + l->nats[i];
        if (v > top) {
            top = v;
            *gap = (uint32_t)(l->least + i);
        }
    }
    return top;
}

/* Fills t; the last flip of the best train and its kind. */
static float run_train(struct train *t, const struct stretch *s, const struct gap_law law[KINDS],
                       int frames, size_t *last, int *kind)
{
    float top = 0;
    *last = 0;
    *kind = 0;
    for (size_t i = 0; i < s->n; i++)
        for (int k = 0; k < frames; k++) {
            const int b = before(k, frames);
            const float v = s->step[i] + best_before(t->best[b], i, &law[b], &t->back[k][i]);
            t->best[k][i] = v;
            if (v > top) {
                top = v;
                *last = i;
                *kind = k;
            }
        }
    return top;
}

static void laws_open(struct gap_law law[KINDS], const struct ground *g, double period_s,
                      const double *share)
{
    for (int k = 0; k < KINDS; k++)
        law[k] = (struct gap_law){0};
    for (int k = 0; k < g->frames; k++)
        law_open(&law[k], share[k] * period_s / g->e->slot_s);
}

static void laws_close(struct gap_law law[KINDS])
{
    for (int k = 0; k < KINDS; k++)
        free(law[k].nats);
}

/* ---- the likeliest period ---- */

/* Of an even share, what one picture of the N has; others must earn their place beside the even
 * one. One of two has what the other has not, so more than an even share is tried of N > 2 alone.
 */
static const double parts[] = {1, 0.84, 0.68, 0.52, 1.25, 1.5};
enum { PARTS = sizeof parts / sizeof *parts, PARTS_OF_TWO = 4, PERIODS = 48 };

static void share_out(double share[FL_FRAMES_MOST], int frames, double part)
{
    share[0] = part / frames;
    for (int k = 1; k < frames; k++)
        share[k] = (1 - share[0]) / (frames - 1);
}

struct tries {
    const struct ground *g;
    struct {
        double period_s, part, nats;
    } v[PARTS * PERIODS];
    size_t n;
};

static void try_one(void *ctx, size_t i)
{
    struct tries *v = ctx;
    struct gap_law law[KINDS];
    double share[FL_FRAMES_MOST];
    share_out(share, v->g->frames, v->v[i].part);
    laws_open(law, v->g, v->v[i].period_s, share);
    v->v[i].nats = v->v[i].part == parts[0] ? 0 : -model.odd_cost;
    for (size_t k = 0; k < v->g->n; k++) {
        struct train t;
        size_t last;
        int kind;
        train_open(&t, v->g->v[k].n, v->g->frames);
        v->v[i].nats += (double)run_train(&t, &v->g->v[k], law, v->g->frames, &last, &kind);
        train_close(&t);
    }
    laws_close(law);
}

/* Base period; NaN where another period is nearly as likely. */
static double likeliest(struct ground *g, double least_s, double most_s, int threads)
{
    struct tries v = {.g = g};
    size_t best = 0;
    for (size_t k = 0; k < (g->frames == 2 ? PARTS_OF_TWO : PARTS); k++) {
        double p = least_s;
        for (size_t i = 0; i < PERIODS && p <= most_s; i++, p *= model.step) {
            v.v[v.n].period_s = p;
            v.v[v.n++].part = parts[k];
        }
    }
    fl_parallel(v.n, threads, try_one, &v);
    for (size_t i = 1; i < v.n; i++)
        if (v.v[i].nats > v.v[best].nats)
            best = i;
    for (size_t i = 0; i < v.n; i++)
        if (fabs(log(v.v[i].period_s / v.v[best].period_s)) > log(model.clear_ratio) &&
            v.v[i].nats > v.v[best].nats - model.clear_nats)
            return FL_UNKNOWN;
    share_out(g->share, g->frames, v.v[best].part);
    return v.n ? v.v[best].period_s : FL_UNKNOWN;
}

/* ---- its rhythm ---- */

static bool is_marked(const struct stretch *s, size_t i, size_t by)
{
    return s->step[i] >= model.marked && i >= by && i + by < s->n &&
           s->step[i] - s->step[i - by] >= model.marked &&
           s->step[i] - s->step[i + by] >= model.marked;
}

/* The flips of a stretch's best train, back from its last one, as base periods counted back. */
static void add_train(struct fl_stretches *out, const struct ground *g, const struct stretch *s,
                      const struct gap_law law[KINDS])
{
    const size_t by = (size_t)(g->e->slots_a_frame / model.part) + 1;
    struct train t;
    size_t i;
    int kind;
    train_open(&t, s->n, g->frames);
    if (run_train(&t, s, law, g->frames, &i, &kind) > 0) {
        double at = 0, last = 0;
        for (uint32_t gap = 1; gap; i -= gap) {
            if (at - last > model.lost)
                fl_stretch_end(out);
            if (is_marked(s, i, by)) {
                fl_stretch_flip(out, at, -(double)i * g->e->slot_s);
                last = at;
            }
            gap = t.back[kind][i];
            kind = before(kind, g->frames);
            at += g->share[kind];
        }
    }
    fl_stretch_end(out);
    train_close(&t);
}

static struct fl_rhythm rhythm_of(const struct ground *g, double period_s)
{
    struct fl_stretches all = {0};
    struct fl_rhythm out;
    struct gap_law law[KINDS];
    laws_open(law, g, period_s, g->share);
    for (size_t k = 0; k < g->n; k++)
        add_train(&all, g, &g->v[k], law);
    laws_close(law);
    fl_stretches_finish(&out, &all);
    return out;
}

/* ---- all together ---- */

/* Well enough to find flips by. */
static bool counted(const struct fl_rhythm *r, int frames, const struct fl_rates_given *given)
{
    const double hz = 1 / r->period_s, flips = frames * given->capture_period_s / r->period_s;
    return r->flips >= ENOUGH_MARKED / 2 && r->error < 2 * model.error && hz >= FL_BASE_LEAST_HZ &&
           hz <= FL_BASE_MOST_HZ && fabs(flips - 1) > model.unlike;
}

/* Well enough to state it. */
static bool stated(const struct fl_rhythm *r)
{
    return r->flips >= ENOUGH_MARKED && r->error < model.error && r->lasts_s > model.enough_s;
}

/* False where no period stands out. */
static bool count(struct fl_rates_found *f, struct ground *g, const struct fl_rates_given *given)
{
    const double about_s = f->saw_off ? f->rates.off_period_s : f->rates.on_period_s;
    const double most_s = fmin(about_s * model.most_ratio, 1 / FL_BASE_LEAST_HZ),
                 least_s = fmax(about_s / model.most_ratio, 1 / FL_BASE_MOST_HZ);
    struct fl_rhythm r = {likeliest(g, least_s, most_s, given->threads), 0, 0, 0};
    for (int i = 0; i < ROUNDS && fl_known(r.period_s); i++)
        r = rhythm_of(g, r.period_s);
    if (!fl_known(r.period_s) || !counted(&r, g->frames, given))
        return false;
    f->rates.on_period_s = r.period_s;
    for (int k = 0; k < g->frames; k++)
        f->rates.share[k] = g->share[k];
    f->on_counted = true;
    f->rendered_on_s = stated(&r) ? r.period_s : FL_UNKNOWN;
    return true;
}

/* On-state flips so far apart that rows stand still between them, which counts them as well. */
static bool leaves_still_rows(const struct fl_rates *r, double capture_period_s)
{
    double most = 0;
    for (int k = 0; k < r->frames; k++)
        most = fmax(most, r->share[k]);
    return most * r->on_period_s > model.still * capture_period_s;
}

/* Of a long take, segments all along it: moved to the front of s; how many. */
static size_t thin_out(struct fl_segment *s, size_t n, double slot_s)
{
    double sum_s = 0;
    size_t kept = 0;
    for (size_t k = 0; k < n; k++)
        sum_s += (double)(s[k].to - s[k].from) * slot_s;
    const size_t every = (size_t)fmax(1, ceil(sum_s / model.segments_s));
    for (size_t k = 0; k < n; k += every)
        s[kept++] = s[k];
    return kept;
}

void fl_count_on(struct fl_rates_found *f, const struct fl_evidence *e, const struct fl_rows *rows,
                 const struct fl_rates_given *given)
{
    if (f->ambiguous || !f->saw_on || fl_known(given->pin_hz) || e->local ||
        f->rates.quantum_s > 0 || f->rates.fewer)
        return;
    struct ground g = {.e = e, .frames = f->rates.frames};
    struct fl_segment *segments;
    struct fl_renewal r;
    size_t n = fl_segments(e, &segments);
    n = thin_out(segments, n, e->slot_s);
    fl_renewal_solve(&r, e, segments, n, &f->rates, given->threads);
    collect(&g, &r, rows);
    if (!count(f, &g, given) && !leaves_still_rows(&f->rates, given->capture_period_s)) {
        f->rendered_on_s = FL_UNKNOWN; /* what the search says of it is little more than a guess, */
        f->possible = f->possible_uncounted; /* and so is what follows for N */
    }
    ground_finish(&g);
    fl_renewal_finish(&r);
    free(segments);
}
