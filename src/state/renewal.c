/* Forward, backward and best-path sums over a hidden semi-Markov chain of gaps between flips.
 *
 * The explicit-duration forward-backward and Viterbi recursions of a renewal process with hidden
 * modes (after Ferguson 1980; Yu, "Hidden semi-Markov models", 2010), written along scan slots:
 * weights of paths with a flip at each slot, by mode. Evidence enters as prefix sums, so a gap of
 * any length costs one subtraction; work is slots × modes × lengths. */
#include "state/renewal.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/parallel.h"
#include "base/units.h"
#include "state/gaps.h"
#include "state/switching.h"

#define NEVER FL_NEVER

enum { MODES = FL_GAP_MODES };

/* Choices. */
static const struct {
    double bridge_s;   /* evidence closer than this is one segment, s: a pause in a flick */
    double pad_s;      /* a segment reaches this far past its evidence, s: over a base period at
                          the lowest rate, as its first gap began before */
    double longest_s;  /* segments are cut here, s: bounds the work space */
    double negligible; /* ln chance below which a gap adds nothing to a posterior of 0..1 */
} model = {.bridge_s = 0.3, .pad_s = 0.1, .longest_s = 30, .negligible = -14};

/* Work space of one segment; index 0 is slot `from`. Arrays by mode run along the slots. */
struct work {
    size_t n, from;
    const struct fl_slot *slot;
    double *still;        /* prefix sums of the evidence, n + 1 */
    double *either;       /* prefix sums of ln((1 + e^still)/2), n + 1 */
    size_t *unchanged;    /* first slot that a flip here leaves unchanged if none follows */
    size_t *claims;       /* gaps that end here and began before this slot claim unchanged rows */
    double *start[MODES]; /* ln weight of all paths with a flip here, by the mode of the gap it
                             starts */
    double *start_claim[MODES]; /* the same, less the evidence up to `unchanged` */
    double *end[MODES];         /* by the mode of the gap it ends */
    double *after[MODES];       /* backward: by the mode of the gap that ended here */
    double *after_claim[MODES]; /* the same, plus the evidence up to here */
    double *resting;            /* a rest that may end here */
    float *buffer;              /* weights of gaps, less `level` */
    float *chance;              /* of log_sum's own: e to the power of these, less the largest */
    /* near the weights about here: sums grow by thousands, singles hold differences */
    double level;
    struct fl_gap_table table;
    float trans[MODES][MODES];
    int mode[MODES], modes; /* those that take part; the last is rest */
};

/* e^x to about 1e-5, in a form that compilers turn into vector code: 2^(x log2 e), the whole part
 * as exponent bits, the rest by the power series of 2^f. */
static inline float quick_exp(float x)
{
    float y = (x > -80 ? x : -80) * 1.44269504f + 127; /* fmaxf is a call */
    int k = (int)y;
    float f = y - (float)k;
    const int bits = k << 23;
    float power;
    memcpy(&power, &bits, sizeof power); /* a union would keep loops from running in vectors */
    return power *
           (1 + f * (0.69314718f +
                     f * (0.24022651f + f * (0.05550411f + f * (0.00961813f + f * 0.00134f)))));
}

static double log_add(double a, double b)
{
    double hi = a > b ? a : b, lo = a > b ? b : a;
    return lo < hi - 17 ? hi : hi + (double)log1pf(expf((float)(lo - hi)));
}

/* In lanes, so that it runs in vectors. */
static float largest(const float *v, size_t n)
{
    enum { LANES = 8 };
    float lane[LANES], top = NEVER;
    size_t i = 0;
    for (int k = 0; k < LANES; k++)
        lane[k] = NEVER;
    for (; i + LANES <= n; i += LANES)
        for (int k = 0; k < LANES; k++)
            lane[k] = v[i + (size_t)k] > lane[k] ? v[i + (size_t)k] : lane[k];
    for (; i < n; i++)
        top = v[i] > top ? v[i] : top;
    for (int k = 0; k < LANES; k++)
        top = lane[k] > top ? lane[k] : top;
    return top;
}

/* Sum over the buffer, as a whole weight. Exponentials apart from their sum, whose order is part of
 * the figure: so they run in vectors. */
static double log_sum(const struct work *w, size_t n)
{
    const float *restrict v = w->buffer;
    float *restrict chance = w->chance;
    const float top = largest(v, n);
    float sum = 0;
    if (top <= NEVER / 2)
        return NEVER;
    for (size_t i = 0; i < n; i++)
        chance[i] = quick_exp(v[i] - top);
    for (size_t i = 0; i < n; i++)
        sum += chance[i];
    return w->level + (double)(top + logf(sum));
}

static void work_open(struct work *w, const struct fl_evidence *e, const struct fl_segment *s,
                      const struct fl_rates *rates)
{
    assert(s->from < s->to && s->to <= e->n);
    size_t n = s->to - s->from;
    *w = (struct work){.n = n, .from = s->from, .slot = e->slot + s->from};
    w->still = FL_NEW(double, n + 1);
    w->either = FL_NEW(double, n + 1);
    w->unchanged = FL_NEW(size_t, n);
    w->claims = FL_NEW(size_t, n);
    for (int m = 0; m < MODES; m++)
        if (fl_gap_used(rates, (enum fl_gap_mode)m))
            w->mode[w->modes++] = m;
    for (int u = 0; u < w->modes; u++) {
        int m = w->mode[u];
        w->start[m] = FL_NEW(double, n);
        w->start_claim[m] = FL_NEW(double, n);
        w->end[m] = FL_NEW(double, n);
        w->after[m] = FL_NEW(double, n);
        w->after_claim[m] = FL_NEW(double, n);
    }
    w->resting = FL_NEW(double, n);
    fl_gap_table_init(&w->table, rates, e->slot_s);
    w->buffer = FL_NEW(float, w->table.longest + 1);
    w->chance = FL_NEW(float, w->table.longest + 1);
    fl_switching(w->trans, rates);
    for (size_t i = 0; i < n; i++) {
        w->still[i + 1] = w->still[i] + w->slot[i].still;
        w->either[i + 1] =
            w->either[i] + log1p(exp((double)w->slot[i].still + (double)w->slot[i].flip)) - M_LN2;
    }
    fl_evidence_reach(w->slot, n, w->unchanged, w->claims);
}

static void work_close(struct work *w)
{
    free(w->still);
    free(w->either);
    free(w->unchanged);
    free(w->claims);
    for (int m = 0; m < MODES; m++) {
        free(w->start[m]);
        free(w->start_claim[m]);
        free(w->end[m]);
        free(w->after[m]);
        free(w->after_claim[m]);
    }
    free(w->resting);
    free(w->buffer);
    free(w->chance);
    fl_gap_table_finish(&w->table);
}

/* Before the segment's evidence begins any mode may run, and any flip may be the last one. */
static double opening(const struct work *w, size_t i, int mode)
{
    return i < w->table.longest ? fl_switching_opens((enum fl_gap_mode)mode) : NEVER;
}

static bool may_close(const struct work *w, size_t t)
{
    return w->n - 1 - t < w->table.longest;
}

/* Fills the buffer with the weights of all gaps of a mode that end at t; returns how many, the
 * first of which began at *first. */
static size_t gaps_to(const struct work *w, size_t t, int mode, size_t *first)
{
    const struct fl_gap_density *d = &w->table.mode[mode];
    if (t < d->least)
        return 0;
    size_t from = t > d->most ? t - d->most : 0, to = t - d->least + 1, split = w->claims[t];
    split = split < from ? from : split > to ? to : split;
    assert(from <= split && split <= to && to - from <= w->table.longest);
    const float *density = d->backward + (d->most - (t - from));
    const double *claimed = w->start_claim[mode] + from, *plain = w->start[mode] + from;
    double evidence = w->still[t] - w->level;
    for (size_t k = 0; k < split - from; k++)
        w->buffer[k] = (float)(claimed[k] + evidence) + density[k];
    for (size_t k = split - from; k < to - from; k++)
        w->buffer[k] = (float)(plain[k] - w->level) + density[k];
    *first = from;
    return to - from;
}

/* The same for all gaps of a mode that begin at s. */
static size_t gaps_from(const struct work *w, size_t s, int mode, size_t *first)
{
    const struct fl_gap_density *d = &w->table.mode[mode];
    if (s + d->least >= w->n)
        return 0;
    size_t from = s + d->least, to = s + d->most + 1 < w->n ? s + d->most + 1 : w->n;
    size_t split = w->unchanged[s] + 1;
    split = split < from ? from : split > to ? to : split;
    assert(from <= split && split <= to && to <= w->n && to - from <= w->table.longest);
    const float *density = d->forward;
    const double *plain = w->after[mode] + from, *claimed = w->after_claim[mode] + from;
    double evidence = (w->unchanged[s] < w->n ? w->still[w->unchanged[s]] : 0) + w->level;
    for (size_t k = 0; k < split - from; k++)
        w->buffer[k] = (float)(plain[k] - w->level) + density[k];
    for (size_t k = split - from; k < to - from; k++)
        w->buffer[k] = (float)(claimed[k] - evidence) + density[k];
    *first = from;
    return to - from;
}

static void set_start(struct work *w, size_t t, int mode, double v)
{
    size_t q = w->unchanged[t];
    w->start[mode][t] = v;
    w->start_claim[mode][t] = q < w->n && v > NEVER / 2 ? v - w->still[q] : v;
}

/* What a rest that goes on from the slot before t, or begins the least rest before t, weighs. */
static double rest_on(const struct work *w, size_t t)
{
    return t ? w->resting[t - 1] + w->either[t + 1] - w->either[t] + (double)w->table.rest_stay
             : NEVER;
}

static double rest_enter(const struct work *w, size_t t)
{
    if (t < w->table.rest_least)
        return NEVER;
    size_t s = t - w->table.rest_least;
    return w->start[FL_GAP_REST][s] + w->either[t + 1] - w->either[s + 1];
}

/* ---- sums over all paths ---- */

/* The level follows the largest weight. */
static void settle_level(struct work *w, double *const *v, size_t t)
{
    double top = NEVER;
    for (int u = 0; u < w->modes; u++)
        top = fmax(top, v[w->mode[u]][t]);
    w->level = top > NEVER / 2 ? top : w->level;
}

static double starts(const struct work *w, size_t t, int mode)
{
    double v = opening(w, t, mode);
    for (int u = 0; u < w->modes; u++) {
        int a = w->mode[u];
        if (w->trans[a][mode] > NEVER / 2 && w->end[a][t] > NEVER / 2)
            v = log_add(v, w->end[a][t] + (double)w->trans[a][mode]);
    }
    return v;
}

static void forward(struct work *w)
{
    w->level = 0;
    for (size_t t = 0; t < w->n; t++) {
        size_t first;
        w->resting[t] = log_add(rest_on(w, t), rest_enter(w, t));
        for (int u = 0; u < w->modes - 1; u++) {
            int m = w->mode[u];
            w->end[m][t] = log_sum(w, gaps_to(w, t, m, &first)) + (double)w->slot[t].flip;
        }
        w->end[FL_GAP_REST][t] = w->resting[t] + (double)w->table.rest_leave;
        for (int u = 0; u < w->modes; u++)
            set_start(w, t, w->mode[u], starts(w, t, w->mode[u]));
        settle_level(w, w->start, t);
    }
}

static double total(const struct work *w)
{
    double z = NEVER;
    for (size_t t = w->n; t-- > 0 && may_close(w, t);)
        for (int u = 0; u < w->modes; u++)
            z = log_add(z, w->end[w->mode[u]][t]);
    return z;
}

/* Probability of each gap in the buffer, added to the slots that it covers. */
static void spread_gaps(const struct work *w, size_t s, size_t first, size_t n, float weight,
                        float *steps)
{
    const float *restrict v = w->buffer;
    float *restrict chance = w->chance, *restrict covered = steps + first;
    float sum = 0;
    assert(first > s && first + n <= w->n);
    for (size_t k = 0; k < n; k++) {
        const float p = v[k] + weight, e = quick_exp(p);
        chance[k] = p > (float)model.negligible ? e : 0;
    }
    for (size_t k = 0; k < n; k++)
        covered[k] -= chance[k];
    for (size_t k = 0; k < n; k++)
        sum += chance[k];
    steps[s] += sum;
}

static double goes_on(const struct work *w, size_t s, int mode, const double *begin)
{
    double v = may_close(w, s) ? 0 : NEVER;
    for (int u = 0; u < w->modes; u++) {
        int m = w->mode[u];
        if (w->trans[mode][m] > NEVER / 2 && begin[m] > NEVER / 2)
            v = log_add(v, (double)w->trans[mode][m] + begin[m]);
    }
    return v;
}

static void backward(struct work *w, double z, float *p_on, float *p_off)
{
    double *rests = FL_NEW(double, w->n); /* backward weight of a rest that has come to here */
    float *on = FL_NEW(float, w->n + 1), *off = FL_NEW(float, w->n + 1);
    w->level = 0;
    for (size_t s = w->n; s-- > 0;) {
        double begin[MODES];
        size_t first = 0, ends = s + w->table.rest_least;
        for (int u = 0; u < w->modes - 1; u++) {
            int m = w->mode[u];
            size_t n = gaps_from(w, s, m, &first);
            begin[m] = log_sum(w, n);
            if (w->start[m][s] + begin[m] - z > model.negligible)
                spread_gaps(w, s, first, n, (float)(w->start[m][s] + w->level - z),
                            m == FL_GAP_OFF ? off : on);
        }
        begin[FL_GAP_REST] =
            ends < w->n ? w->either[ends + 1] - w->either[s + 1] + rests[ends] : NEVER;
        for (int u = 0; u < w->modes; u++) {
            int a = w->mode[u];
            double v = goes_on(w, s, a, begin) + (a == FL_GAP_REST ? 0 : (double)w->slot[s].flip);
            w->after[a][s] = v;
            w->after_claim[a][s] = v > NEVER / 2 ? v + w->still[s] : v;
        }
        double go_on = s + 1 < w->n ? rests[s + 1] + (double)w->table.rest_stay + w->either[s + 2] -
                                          w->either[s + 1]
                                    : NEVER;
        settle_level(w, w->after, s);
        rests[s] = log_add(w->after[FL_GAP_REST][s] + (double)w->table.rest_leave, go_on);
    }
    double sum_on = 0, sum_off = 0;
    for (size_t i = 0; i < w->n; i++) {
        p_on[i] = (float)fl_clamp(sum_on += (double)on[i], 0, 1);
        p_off[i] = (float)fl_clamp(sum_off += (double)off[i], 0, 1);
    }
    free(rests);
    free(on);
    free(off);
}

/* ---- the best path ---- */

/* The best path of one segment, and the log-likelihood of all. */
struct path {
    double loglik;
    struct fl_gap *gap;
    size_t n, cap;
};

struct best {
    uint32_t *from[MODES];  /* slot where the gap that ends here began; UINT32_MAX: none */
    uint8_t *before[MODES]; /* mode that ended where this one starts; MODES: the path begins here */
};

static void best_gap(struct work *w, const struct best *b, size_t t, int mode)
{
    size_t first, n = gaps_to(w, t, mode, &first);
    const float top = largest(w->buffer, n);
    b->from[mode][t] = UINT32_MAX;
    if (top > NEVER) {
        size_t k = 0;
        while (w->buffer[k] != top) /* the first of the best */
            k++;
        b->from[mode][t] = (uint32_t)(first + k);
    }
    w->end[mode][t] = top > NEVER / 2 ? w->level + (double)top + (double)w->slot[t].flip : NEVER;
}

static void best_rest(struct work *w, const struct best *b, size_t t)
{
    double on = rest_on(w, t), enter = rest_enter(w, t);
    b->from[FL_GAP_REST][t] = enter > on ? (uint32_t)(t - w->table.rest_least)
                              : t        ? b->from[FL_GAP_REST][t - 1]
                                         : UINT32_MAX;
    w->resting[t] = enter > on ? enter : on;
    w->end[FL_GAP_REST][t] = w->resting[t] + (double)w->table.rest_leave;
}

static void best_start(struct work *w, const struct best *b, size_t t)
{
    for (int u = 0; u < w->modes; u++) {
        int m = w->mode[u];
        double top = opening(w, t, m);
        b->before[m][t] = MODES;
        for (int k = 0; k < w->modes; k++) {
            int a = w->mode[k];
            if (w->end[a][t] + (double)w->trans[a][m] > top) {
                top = w->end[a][t] + (double)w->trans[a][m];
                b->before[m][t] = (uint8_t)a;
            }
        }
        set_start(w, t, m, top);
    }
}

static void trace_back(const struct work *w, const struct best *b, struct path *out)
{
    double top = NEVER;
    size_t at = 0;
    int mode = MODES;
    for (size_t t = w->n; t-- > 0 && may_close(w, t);)
        for (int u = 0; u < w->modes; u++)
            if (w->end[w->mode[u]][t] > top) {
                mode = w->mode[u];
                top = w->end[mode][t];
                at = t;
            }
    while (mode < MODES && b->from[mode][at] != UINT32_MAX) {
        size_t from = b->from[mode][at];
        assert(from < at);
        struct fl_gap gap = {w->from + from, w->from + at, (enum fl_gap_mode)mode};
        FL_PUSH(out->gap, out->n, out->cap, gap);
        mode = b->before[mode][from];
        at = from;
    }
    for (size_t i = 0, j = out->n; i + 1 < j; i++) { /* found last first */
        struct fl_gap swap = out->gap[i];
        out->gap[i] = out->gap[--j];
        out->gap[j] = swap;
    }
}

static void best_path(struct work *w, struct path *out)
{
    struct best b = {0};
    assert(w->modes > 1 && w->mode[w->modes - 1] == FL_GAP_REST);
    for (int u = 0; u < w->modes; u++) {
        int m = w->mode[u];
        b.from[m] = FL_NEW(uint32_t, w->n);
        b.before[m] = FL_NEW(uint8_t, w->n);
    }
    w->level = 0;
    for (size_t t = 0; t < w->n; t++) {
        best_rest(w, &b, t);
        for (int u = 0; u < w->modes - 1; u++)
            best_gap(w, &b, t, w->mode[u]);
        best_start(w, &b, t);
        settle_level(w, w->start, t);
    }
    trace_back(w, &b, out);
    for (int m = 0; m < MODES; m++) {
        free(b.from[m]);
        free(b.before[m]);
    }
}

/* ---- segments ---- */

size_t fl_segments(const struct fl_evidence *e, struct fl_segment **out)
{
    size_t n = 0, cap = 0;
    struct fl_segment *v = NULL;
    for (size_t i = 0; i < e->n; i++) {
        double nats = fabs(e->slot[i].still) + fabs(e->slot[i].flip);
        if (nats == 0)
            continue;
        if (!n || e->slot[i].time_s - e->slot[v[n - 1].to - 1].time_s > model.bridge_s ||
            e->slot[i].time_s - e->slot[v[n - 1].from].time_s > model.longest_s)
            FL_PUSH(v, n, cap, ((struct fl_segment){i, i + 1, 0}));
        v[n - 1].to = i + 1;
        v[n - 1].nats += nats;
    }
    for (size_t k = 0; k < n; k++) {
        double from = e->slot[v[k].from].time_s - model.pad_s,
               to = e->slot[v[k].to - 1].time_s + model.pad_s;
        size_t least = k ? v[k - 1].to : 0, most = k + 1 < n ? v[k + 1].from : e->n;
        while (v[k].from > least && e->slot[v[k].from - 1].time_s > from)
            v[k].from--;
        while (v[k].to < most && e->slot[v[k].to].time_s < to)
            v[k].to++;
    }
    *out = v;
    return n;
}

double fl_renewal_loglik(const struct fl_evidence *e, const struct fl_segment *segments, size_t n,
                         const struct fl_rates *rates)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        struct work w;
        work_open(&w, e, &segments[i], rates);
        forward(&w);
        sum += total(&w);
        work_close(&w);
    }
    return sum;
}

struct solving {
    const struct fl_evidence *e;
    const struct fl_segment *segments;
    const struct fl_rates *rates;
    struct fl_renewal *out;
    struct path *path; /* a segment */
};

static void solve_one(void *ctx, size_t i)
{
    const struct solving *s = ctx;
    struct path *path = &s->path[i];
    struct work w;
    work_open(&w, s->e, &s->segments[i], s->rates);
    forward(&w);
    path->loglik = total(&w);
    if (path->loglik > NEVER / 2)
        backward(&w, path->loglik, s->out->p_on + w.from, s->out->p_off + w.from);
    best_path(&w, path);
    work_close(&w);
}

static void join_paths(struct fl_renewal *out, struct path *path, size_t n)
{
    size_t cap = 0;
    for (size_t i = 0; i < n; i++) {
        out->loglik += path[i].loglik;
        for (size_t k = 0; k < path[i].n; k++)
            FL_PUSH(out->gap, out->n_gaps, cap, path[i].gap[k]);
        free(path[i].gap);
    }
}

void fl_renewal_solve(struct fl_renewal *out, const struct fl_evidence *e,
                      const struct fl_segment *segments, size_t n, const struct fl_rates *rates,
                      int threads)
{
    *out = (struct fl_renewal){.p_on = FL_NEW(float, e->n), .p_off = FL_NEW(float, e->n)};
    struct solving s = {e, segments, rates, out, FL_NEW(struct path, n ? n : 1)};
    fl_parallel(n, threads, solve_one, &s);
    join_paths(out, s.path, n);
    free(s.path);
}

void fl_renewal_finish(struct fl_renewal *r)
{
    free(r->p_on);
    free(r->p_off);
    free(r->gap);
    *r = (struct fl_renewal){0};
}
