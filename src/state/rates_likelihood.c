/* The forward sums of renewal.c in plain numbers instead of logarithms.
 *
 * So a sum over gaps is a product of two rows of numbers, without an exponential in it. What
 * depends on the evidence alone is prepared once for all rates. Weights grow and shrink by
 * thousands of nats along a segment, but within the longest gap by hundreds at most, which a double
 * holds: so all weights that are still needed are scaled together wherever the largest has strayed.
 * Should that not do, sums are taken in logarithms after all. */
#include "state/rates_likelihood.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "state/switching.h"

enum { MODES = FL_GAP_MODES };

/* A double holds 700 nats either way. Choices. */
static const struct {
    double strays;  /* nats of evidence after which another level is taken */
    double largest; /* weight from which, or from the inverse of which, all are scaled */
} model = {.strays = 100, .largest = 1e40};

/* Along the n slots of a segment. Evidence is summed up from the segment's start, and taken against
 * a level that follows the sum: `still` for rows that stood, `either` for rests, in which rows may
 * do anything. */
struct fl_heard {
    size_t n;
    size_t *claims;      /* gaps that end here and began before this slot claim unchanged rows */
    double *flip;        /* e^evidence of a flip here */
    double *gain, *loss; /* e^evidence that rows stood: up to here, and, inverse, up to where a flip
                            here leaves them unchanged */
    double *either, *rest_gain, *rest_loss; /* e^either: of the slot, up to past it, its inverse */
    double *level, *rest_level;             /* what weights from before are multiplied by here */
};

static void hear(struct fl_heard *h, const struct fl_evidence *e, const struct fl_segment *s)
{
    const struct fl_slot *slot = e->slot + s->from;
    const size_t n = s->to - s->from;
    size_t *unchanged = FL_NEW(size_t, n);
    double *still = FL_NEW(double, n + 1), either = 0, level = 0, rest_level = 0;
    double **const arrays[] = {&h->flip,      &h->gain,      &h->loss,  &h->either,
                               &h->rest_gain, &h->rest_loss, &h->level, &h->rest_level};
    h->n = n;
    h->claims = FL_NEW(size_t, n);
    for (size_t i = 0; i < sizeof arrays / sizeof *arrays; i++)
        *arrays[i] = FL_NEW(double, n);
    fl_evidence_reach(slot, n, unchanged, h->claims);
    for (size_t i = 0; i < n; i++)
        still[i + 1] = still[i] + (double)slot[i].still;
    for (size_t i = 0; i < n; i++) {
        const bool strays = fabs(still[i] - level) > model.strays,
                   rest_strays = fabs(either - rest_level) > model.strays;
        h->level[i] = strays ? exp(still[i] - level) : 1;
        h->rest_level[i] = rest_strays ? exp(either - rest_level) : 1;
        level = strays ? still[i] : level;
        rest_level = rest_strays ? either : rest_level;
        h->flip[i] = exp((double)slot[i].flip);
        h->gain[i] = exp(still[i] - level);
        h->loss[i] = unchanged[i] < n ? exp(level - still[unchanged[i]]) : 0;
        h->either[i] = (1 + exp((double)slot[i].still + (double)slot[i].flip)) / 2;
        either += log(h->either[i]);
        h->rest_gain[i] = exp(either - rest_level);
        h->rest_loss[i] = 1 / h->rest_gain[i];
    }
    free(unchanged);
    free(still);
}

void fl_rates_likelihood_open(struct fl_rates_likelihood *l, const struct fl_evidence *e,
                              const struct fl_segment *segments, size_t n)
{
    *l = (struct fl_rates_likelihood){FL_NEW(struct fl_heard, n ? n : 1), n, e, segments};
    for (size_t i = 0; i < n; i++)
        hear(&l->heard[i], e, &segments[i]);
}

void fl_rates_likelihood_close(struct fl_rates_likelihood *l)
{
    for (size_t i = 0; i < l->n_heard; i++) {
        const struct fl_heard *h = &l->heard[i];
        free(h->claims);
        free(h->flip);
        free(h->gain);
        free(h->loss);
        free(h->either);
        free(h->rest_gain);
        free(h->rest_loss);
        free(h->level);
        free(h->rest_level);
    }
    free(l->heard);
    *l = (struct fl_rates_likelihood){0};
}

/* What rates say, in plain numbers. */
struct law {
    struct fl_gap_table table;
    double *length[MODES]; /* chances of a mode's gaps, the longest first */
    double trans[MODES][MODES], opens[MODES], rest_stay, rest_leave;
    int mode[MODES], modes; /* those that take part; the last is rest */
    size_t reach;           /* slots that a gap, or the shortest rest, reaches back */
};

static void law_open(struct law *w, const struct fl_rates *rates, double slot_s)
{
    float trans[MODES][MODES];
    *w = (struct law){0};
    fl_gap_table_init(&w->table, rates, slot_s);
    fl_switching(trans, rates);
    for (int m = 0; m < MODES; m++) {
        const struct fl_gap_density *d = &w->table.mode[m];
        if (!fl_gap_used(rates, (enum fl_gap_mode)m))
            continue;
        w->mode[w->modes++] = m;
        w->opens[m] = exp((double)fl_switching_opens((enum fl_gap_mode)m));
        for (int b = 0; b < MODES; b++)
            w->trans[m][b] = exp((double)trans[m][b]);
        if (m == FL_GAP_REST)
            continue;
        const size_t n = d->most - d->least + 1;
        w->length[m] = FL_NEW(double, n);
        for (size_t i = 0; i < n; i++)
            w->length[m][i] = exp((double)d->backward[i]);
    }
    w->rest_stay = exp((double)w->table.rest_stay);
    w->rest_leave = exp((double)w->table.rest_leave);
    w->reach = w->table.longest > w->table.rest_least ? w->table.longest : w->table.rest_least;
}

static void law_close(struct law *w)
{
    for (int m = 0; m < MODES; m++)
        free(w->length[m]);
    fl_gap_table_finish(&w->table);
}

/* Weights of all paths, against `level`, of the slots from `origin` to the one at hand: those that
 * are still needed, and some before. */
struct past {
    double *plain[MODES]; /* with a flip here, by the mode of the gap that it starts */
    double *claim[MODES]; /* the same by `loss`; of rest, by rest_loss */
    double resting;       /* a rest that may end here */
    double open;          /* of a path that begins here */
    double sum;           /* of all that have ended */
    double level;         /* nats */
    size_t origin, room, reach;
};

static void past_open(struct past *p, const struct law *w)
{
    enum { TIMES = 8 };
    assert(w->modes > 1 && w->mode[w->modes - 1] == FL_GAP_REST);
    *p = (struct past){.open = 1, .reach = w->reach, .room = TIMES * (w->reach + 1)};
    for (int u = 0; u < w->modes; u++) {
        p->plain[w->mode[u]] = FL_NEW(double, p->room);
        p->claim[w->mode[u]] = FL_NEW(double, p->room);
    }
}

static void past_close(struct past *p)
{
    for (int m = 0; m < MODES; m++) {
        free(p->plain[m]);
        free(p->claim[m]);
    }
}

/* Room for slot t. */
static void forget(struct past *p, const struct law *w, size_t t)
{
    if (t - p->origin < p->room)
        return;
    const size_t gone = t - p->reach - p->origin, bytes = p->reach * sizeof(double);
    for (int u = 0; u < w->modes; u++) {
        memcpy(p->plain[w->mode[u]], p->plain[w->mode[u]] + gone, bytes);
        memcpy(p->claim[w->mode[u]], p->claim[w->mode[u]] + gone, bytes);
    }
    p->origin += gone;
}

/* Multiplies what is needed of the slots before t. */
static void scale(const struct past *p, double *v, size_t t, double by)
{
    const size_t to = t - p->origin;
    for (size_t i = to > p->reach ? to - p->reach : 0; i < to; i++)
        v[i] *= by;
}

static void follow_evidence(const struct past *p, const struct law *w, const struct fl_heard *h,
                            size_t t)
{
    for (int u = 0; u < w->modes; u++) {
        const int m = w->mode[u];
        const double by = m == FL_GAP_REST ? h->rest_level[t] : h->level[t];
        if (by != 1)
            scale(p, p->claim[m], t, by);
    }
}

/* Sums in lanes, so that they run in vectors. */
static double product(const double *restrict a, const double *restrict b, size_t n)
{
    enum { LANES = 8 };
    double lane[LANES] = {0}, sum = 0;
    size_t i = 0;
    for (; i + LANES <= n; i += LANES)
        for (int k = 0; k < LANES; k++)
            lane[k] += a[i + (size_t)k] * b[i + (size_t)k];
    for (; i < n; i++)
        sum += a[i] * b[i];
    for (int k = 0; k < LANES; k++)
        sum += lane[k];
    return sum;
}

/* All gaps of a mode that end at t. */
static double gaps_to(const struct past *p, const struct law *w, const struct fl_heard *h, size_t t,
                      int mode)
{
    const struct fl_gap_density *d = &w->table.mode[mode];
    if (t < d->least)
        return 0;
    const size_t from = t > d->most ? t - d->most : 0, to = t - d->least + 1;
    const size_t claims = h->claims[t], split = claims < from ? from : claims > to ? to : claims;
    const double *length = w->length[mode] + (d->most - (t - from));
    return h->flip[t] *
           (h->gain[t] * product(p->claim[mode] + (from - p->origin), length, split - from) +
            product(p->plain[mode] + (split - p->origin), length + (split - from), to - split));
}

static double rests_to(struct past *p, const struct law *w, const struct fl_heard *h, size_t t)
{
    p->resting *= h->either[t] * w->rest_stay;
    if (t >= w->table.rest_least)
        p->resting += p->claim[FL_GAP_REST][t - w->table.rest_least - p->origin] * h->rest_gain[t];
    return p->resting * w->rest_leave;
}

/* The largest weight is near 1 again. */
static void settle_level(struct past *p, const struct law *w, size_t t, double top)
{
    if (!(top > model.largest) && !(top < 1 / model.largest && top > 0))
        return;
    for (int u = 0; u < w->modes; u++) {
        scale(p, p->plain[w->mode[u]], t + 1, 1 / top);
        scale(p, p->claim[w->mode[u]], t + 1, 1 / top);
    }
    p->resting /= top;
    p->open /= top;
    p->sum /= top;
    p->level += log(top);
}

static void step(struct past *p, const struct law *w, const struct fl_heard *h, size_t t)
{
    double end[MODES], top = 0;
    forget(p, w, t);
    follow_evidence(p, w, h, t);
    const size_t at = t - p->origin;
    for (int u = 0; u < w->modes - 1; u++)
        end[u] = gaps_to(p, w, h, t, w->mode[u]);
    end[w->modes - 1] = rests_to(p, w, h, t);
    for (int u = 0; u < w->modes; u++) {
        const int m = w->mode[u];
        double v = t < w->table.longest ? p->open * w->opens[m] : 0;
        for (int k = 0; k < w->modes; k++)
            v += end[k] * w->trans[w->mode[k]][m];
        p->plain[m][at] = v;
        p->claim[m][at] = v * (m == FL_GAP_REST ? h->rest_loss[t] : h->loss[t]);
        top = v > top ? v : top;
        if (h->n - 1 - t < w->table.longest)
            p->sum += end[u];
    }
    settle_level(p, w, t, top);
}

/* NaN or infinite where plain numbers do not do. */
static double loglik_of(const struct law *w, const struct fl_heard *h)
{
    struct past p;
    past_open(&p, w);
    for (size_t t = 0; t < h->n; t++)
        step(&p, w, h, t);
    past_close(&p);
    return p.level + log(p.sum);
}

double fl_rates_likelihood_at(const struct fl_rates_likelihood *l, const struct fl_rates *rates)
{
    struct law w;
    double sum = 0;
    law_open(&w, rates, l->e->slot_s);
    for (size_t i = 0; i < l->n_heard; i++) {
        const double v = loglik_of(&w, &l->heard[i]);
        sum += isfinite(v) ? v : fl_renewal_loglik(l->e, &l->segments[i], 1, rates);
    }
    law_close(&w);
    return sum;
}
