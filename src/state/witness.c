/* Runs that their rate calls off, heard again: are they on at half the base rate?
 *
 * A heavy scene halves the base rate, and then the flips of state on come as those of state off do.
 * Steps and detail (half_rate_test.c) tell the two apart; where they say neither, nothing is said.
 */
#include "state/witness.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "state/half_rate_test.h"

/* When the second witness is believed. Ratios are ln likelihoods; choices. */
static const struct {
    double clear;        /* of one run: twelve to one */
    double sure;         /* over a take: no chance, several chains at their most (6 each) */
    double against_both; /* times `sure` that contradict a take in which off is seen as well */
    double faster;       /* of the period that was ruled out, where the search goes on */
    double rest_periods; /* a rest longer than this, off periods, ends a run: nothing shows there */
    double near_s; /* of a halved run, what says neither may be either: a heavy scene lasts for
                      a second or two */
} model = {
    .clear = 2.5, .sure = 15, .against_both = 2, .faster = 0.7, .rest_periods = 3, .near_s = 1.5};
enum { LEAST_GAPS = 4 }; /* fewer steps than that could pair by chance */

/* Kinds of the pictures that the gaps of an alternating run show: the sharper ones are rendered. */
static void name_kinds(enum fl_kind *kind, size_t first, size_t last, bool second_is_rendered)
{
    for (size_t i = first; i < last; i++)
        kind[i] =
            ((i - first) % 2 == 1) == second_is_rendered ? FL_KIND_RENDERED : FL_KIND_SYNTHESISED;
}

/* Learns what the runs on look like, and names their kinds, where synthesised and rendered pictures
 * alternate. */
static void heed_on(struct fl_softness *softness, const struct fl_runs *runs, enum fl_kind *kind,
                    const struct fl_renewal *r, const struct fl_evidence *e,
                    const struct fl_rows *rows, bool pairs)
{
    struct fl_alternation *on = FL_NEW(struct fl_alternation, runs->n);
    size_t n = 0, last;
    for (size_t k = 0; k < runs->n && pairs; k++)
        if (runs->v[k].state == FL_STATE_ON) {
            size_t first = fl_run_gaps(&runs->v[k], r, e, &last);
            fl_alternation_measure(&on[n++], e, rows, r->gap, first, last);
        }
    fl_softness_learn(softness, on, n);
    n = 0;
    for (size_t k = 0; k < runs->n && pairs; k++)
        if (runs->v[k].state == FL_STATE_ON) {
            const struct fl_alternation *a = &on[n++];
            size_t first = fl_run_gaps(&runs->v[k], r, e, &last);
            if (fl_alternation_log_odds(a, softness) > model.clear)
                name_kinds(kind, first, last, a->mean > 0);
        }
    free(on);
}

/* What is expected of N before the steps are asked. Choices. */
static const struct {
    double more; /* ln chance of two or three synthesised frames for each rendered one, against one,
                    the usual case: one in eight */
    double ratio;  /* base rate on over off, the usual: synthesis costs rendering time, ... */
    double spread; /* ... sd of its logarithm: no more, or a third of it */
    double clear;  /* ln odds at which another N is ruled out: twenty to one */
} frames_of = {.more = -2, .ratio = 0.95, .spread = 0.15, .clear = 3};

/* What the second witness goes by; finish with input_close. */
static struct fl_half_rate_input input_open(const struct fl_renewal *r, const struct fl_evidence *e,
                                            const struct fl_rows *rows,
                                            const struct fl_rates *rates)
{
    size_t n = r->n_gaps;
    struct fl_step_change *change = FL_NEW(struct fl_step_change, n);
    double *contrast = FL_NEW(double, n);
    fl_steps_compare(change, e, rows, r->gap, n);
    for (size_t i = 0; i < n; i++)
        contrast[i] = i ? fl_alternation_contrast(e, rows, &r->gap[i]) : NAN;
    return (struct fl_half_rate_input){r->gap, n, e->slot_s, *rates, change, contrast};
}

static void input_close(struct fl_half_rate_input *in)
{
    free((void *)in->change);
    free((void *)in->contrast);
}

/* By N: ln likelihood ratios that steps come in N-tuples, of the take's most telling stretches. */
struct says {
    double on[FL_FRAMES_MOST + 1], off[FL_FRAMES_MOST + 1];
};

static int likeliest(const double *v)
{
    int best = FL_FRAMES_LEAST;
    for (int n = best + 1; n <= FL_FRAMES_MOST; n++)
        best = v[n] > v[best] ? n : best;
    return best;
}

static struct says ask(const struct fl_rates_found *f, const struct fl_evidence *e,
                       const struct fl_rows *rows, int threads)
{
    struct fl_renewal r;
    struct fl_segment *segments;
    size_t n = fl_segments(e, &segments);
    fl_renewal_solve(&r, e, segments, fl_segments_telling(segments, n, e->slot_s), &f->rates,
                     threads);
    struct fl_half_rate_input in = input_open(&r, e, rows, &f->rates);
    struct says v = {{0}, {0}};
    for (int k = FL_FRAMES_LEAST; k <= FL_FRAMES_MOST; k++) {
        v.on[k] = fl_cycle_ratio(&in, f->rates.frames, k);
        v.off[k] = fl_cycle_ratio(&in, 0, k);
    }
    input_close(&in);
    fl_renewal_finish(&r);
    free(segments);
    return v;
}

/* ln odds of N from the flips' rates alone: on-state flips come N times as often as off-state ones,
 * but for what synthesis costs. Where they are too many to count, they are so many at least. */
static double by_rates(const struct fl_rates_found *f, int n, double capture_period_s, bool counted)
{
    double odds = n > FL_FRAMES_LEAST ? frames_of.more : 0;
    if (!f->saw_on || !f->saw_off)
        return odds;
    double apart_s = counted ? f->rates.on_period_s / f->rates.frames : capture_period_s;
    double z = log(f->rates.off_period_s / (n * apart_s) / frames_of.ratio) / frames_of.spread;
    return odds - (counted || z > 0 ? z * z / 2 : 0);
}

/* Which N may be, as bits, by the rates and the steps; the likeliest by them. counted: the rate of
 * on-state flips is taken at its word. */
static unsigned possible(const struct fl_rates_found *f, const struct says *v,
                         double capture_period_s, bool counted, int *best)
{
    double odds[FL_FRAMES_MOST + 1];
    unsigned bits = 0;
    /* Steps that go with no N were not measured well enough to tell one from another. */
    const bool told = v->on[likeliest(v->on)] > -frames_of.clear;
    for (int n = FL_FRAMES_LEAST; n <= FL_FRAMES_MOST; n++)
        odds[n] = by_rates(f, n, capture_period_s, counted) + (told ? v->on[n] : 0);
    *best = likeliest(odds);
    for (int n = FL_FRAMES_LEAST; n <= FL_FRAMES_MOST; n++)
        bits |= odds[n] > odds[*best] - frames_of.clear ? 1u << n : 0;
    return bits;
}

/* Flips that pass for on come one a rendered picture: on was another rate, or there was none. */
static bool contradicted(const struct fl_rates_found *f, const struct says *v)
{
    return f->saw_on && f->on_counted &&
           v->on[likeliest(v->on)] < -(f->saw_off ? model.against_both : 1) * model.sure;
}

/* What passed for off is on, with n flips for each rendered frame. */
static void on_at(struct fl_rates *r, int n)
{
    const struct fl_rates was = *r;
    *r = fl_rates_even(n * was.off_period_s, n * was.off_period_s, n);
    r->quantum_s = was.quantum_s;
    r->missed = was.missed;
    r->missed_again = was.missed_again;
    for (int k = 0; n == was.frames && k < n; k++)
        r->share[k] = was.share[k];
}

static void judge(struct fl_rates_found *f, const struct says *v)
{
    const int on = likeliest(v->on), off = likeliest(v->off);
    if (f->saw_on && !f->saw_off && !f->on_counted && v->on[on] < model.sure) {
        f->ambiguous = "rates"; /* every row is new in every frame: that may be off, too */
    } else if (f->saw_on && !f->saw_off && v->on[on] > model.sure) {
        f->ambiguous = NULL;
    } else if (f->saw_off && !f->saw_on && v->off[off] < -model.sure) {
        f->ambiguous = NULL;
    } else if (f->saw_off && !f->saw_on && v->off[off] > model.sure) {
        on_at(&f->rates, off);
        f->rendered_on_s = f->rates.on_period_s;
        f->saw_on = f->on_counted = true;
        f->saw_off = false;
        f->possible = 1u << off;
        f->ambiguous = NULL;
    }
}

void fl_witness_resolve(struct fl_rates_found *f, const struct fl_evidence *e,
                        const struct fl_rows *rows, const struct fl_rates_given *given)
{
    if (!f->saw_on && !f->saw_off)
        return;
    struct fl_rates_given next = *given;
    struct says v = ask(f, e, rows, given->threads);
    int best;
    if (contradicted(f, &v)) {
        next.longest_on_s = model.faster * f->rates.on_period_s / f->rates.frames;
        fl_rates_find(f, e, &next);
        v = ask(f, e, rows, given->threads);
    }
    unsigned bits = f->saw_on ? possible(f, &v, given->capture_period_s, f->on_counted, &best) : 0;
    if (f->saw_on && !(bits >> f->rates.frames & 1)) {
        next.frames = best;
        fl_rates_find(f, e, &next);
        v = ask(f, e, rows, given->threads);
        bits = f->saw_on ? possible(f, &v, given->capture_period_s, f->on_counted, &best) : 0;
    }
    f->possible = given->frames && bits >> given->frames & 1 ? 1u << given->frames : bits;
    f->possible_uncounted = bits ? possible(f, &v, given->capture_period_s, false, &best) : 0;
    judge(f, &v);
}

/* A run closes over a missed flip, but not over a stretch in which nothing shows. */
static bool long_rest(const struct fl_gap *g, const struct fl_evidence *e,
                      const struct fl_rates *rates)
{
    return g->mode == FL_GAP_REST &&
           (double)(g->to - g->from) * e->slot_s > model.rest_periods * rates->off_period_s;
}

/* The gaps [from, to) of a run as a run of their own. Where it begins or ends inside the run, or
 * beside a rest, that is at a flip. */
static void push_part(struct fl_runs *out, const struct fl_run *whole, const struct fl_renewal *r,
                      const struct fl_evidence *e, const struct fl_rates *rates, size_t from,
                      size_t to, const struct fl_half_rate *h)
{
    assert(from < to && to <= r->n_gaps);
    struct fl_run v = *whole;
    double ratio = h[from].log_ratio;
    bool inner_from =
        from > 0 && (r->gap[from - 1].from >= v.from || long_rest(&r->gap[from - 1], e, rates));
    bool inner_to = to < r->n_gaps && (r->gap[to].to <= v.to || long_rest(&r->gap[to], e, rates));
    if (inner_from && r->gap[from].from > v.from) {
        v.from = r->gap[from].from;
        v.from_s = fl_slot_edge_s(e, v.from);
    }
    if (inner_to && r->gap[to - 1].to < v.to) {
        v.to = r->gap[to - 1].to;
        v.to_s = fl_slot_edge_s(e, v.to);
    }
    v.halved = h[from].halved;
    v.confirmed = ratio < -model.clear && h[from].gaps >= LEAST_GAPS;
    v.undecided = !v.halved && !v.confirmed;
    if (v.halved)
        v.confidence = fmin(v.confidence, 1 / (1 + exp(-ratio)));
    FL_PUSH(out->v, out->n, out->cap, v);
}

/* One run, parted where its gaps change sides. Where flips wait for the capture's clock, a gap of
 * one tick may be of either state, and a stretch of such gaps runs on into the state beside it:
 * what its steps say of half the rate leaves it unseen. */
static void part_run(struct fl_runs *out, const struct fl_run *v, const struct fl_renewal *r,
                     const struct fl_evidence *e, const struct fl_rates *rates,
                     const struct fl_half_rate *h, enum fl_kind *kind)
{
    size_t last, first = fl_run_gaps(v, r, e, &last);
    bool in_rest = first == last && first > 0 && long_rest(&r->gap[first - 1], e, rates);
    if (v->state != FL_STATE_OFF || (first == last && !in_rest)) {
        FL_PUSH(out->v, out->n, out->cap, *v);
        return;
    }
    for (size_t i = first; i < last;) {
        size_t end = i + 1;
        bool halved = h[i].halved, rest = long_rest(&r->gap[i], e, rates);
        while (end < last && h[end].halved == halved && long_rest(&r->gap[end], e, rates) == rest)
            end++;
        if (!rest && !(halved && rates->quantum_s > 0))
            push_part(out, v, r, e, rates, i, end, h);
        for (size_t k = i; k < end; k++)
            kind[k] = halved ? h[k].kind : kind[k];
        i = end;
    }
}

/* Gaps that lie in a run by most of their length, which in a short one need not begin and end at a
 * flip: the first; *end is one past the last. */
static size_t gaps_within(const struct fl_run *v, const struct fl_renewal *r, size_t *end)
{
    size_t first = 0, after = r->n_gaps;
    while (first < after) { /* bisect: gaps are in time order */
        const size_t middle = (first + after) / 2;
        if ((r->gap[middle].from + r->gap[middle].to) / 2 < v->from)
            first = middle + 1;
        else
            after = middle;
    }
    *end = first;
    while (*end < r->n_gaps && (r->gap[*end].from + r->gap[*end].to) / 2 < v->to)
        ++*end;
    return first;
}

/* Runs off so short that one base period on may be as long: no more gaps off follow. */
static void ask_short(struct fl_runs *runs, const struct fl_renewal *r,
                      const struct fl_half_rate_input *in, const struct fl_softness *softness)
{
    for (size_t k = 0; k < runs->n; k++) {
        struct fl_run *v = &runs->v[k];
        size_t end, first = gaps_within(v, r, &end);
        if (v->state != FL_STATE_OFF || v->halved || v->confirmed || first == end)
            continue;
        size_t after = end;
        while (after < r->n_gaps && r->gap[after].mode == FL_GAP_OFF &&
               r->gap[after].from == r->gap[after - 1].to)
            after++;
        if (after - first >= LEAST_GAPS)
            continue;
        bool on_again = after < r->n_gaps && r->gap[after].mode < FL_GAP_OFF &&
                        r->gap[after].from == r->gap[after - 1].to;
        v->hitch = fl_hitch_ratio(in, first, end, softness);
        v->whole = on_again && (end - first) % (size_t)in->rates.frames == 0;
    }
}

/* How common hitches are among the take's short runs off, as ln odds: the share that makes what
 * their steps say likeliest, and one run of either kind beside them. */
static double hitch_odds(const struct fl_runs *runs)
{
    double odds = 0;
    for (int round = 0; round < 20; round++) {
        double hitches = 1, n = 2;
        for (size_t k = 0; k < runs->n; k++)
            if (fl_known(runs->v[k].hitch)) {
                hitches += 1 / (1 + exp(-runs->v[k].hitch - odds));
                n++;
            }
        odds = log(hitches / (n - hitches));
    }
    return odds;
}

/* A base period on that lasts twice as long shows the flips of as many off. A short run is off only
 * if its steps speak against that; the more so where it has all flips of such a hitch and on
 * follows, and in a take of hitches. */
static void settle_short(struct fl_runs *runs)
{
    const double odds = hitch_odds(runs);
    size_t n = 0;
    for (size_t k = 0; k < runs->n; k++) {
        struct fl_run v = runs->v[k];
        const double hitch = v.hitch + odds;
        if (fl_known(v.hitch) && hitch > (v.whole ? -model.clear : 0) && hitch < model.clear)
            continue;
        if (fl_known(v.hitch)) {
            v.state = hitch >= model.clear ? FL_STATE_ON : FL_STATE_OFF;
            v.confirmed = hitch <= -model.clear;
            v.undecided = v.state == FL_STATE_OFF && !v.confirmed;
        }
        runs->v[n++] = v;
    }
    runs->n = n;
}

static bool beside_halved(const struct fl_runs *runs, const struct fl_run *v, double within_s)
{
    for (size_t i = 0; i < runs->n; i++)
        if (runs->v[i].halved && runs->v[i].from_s - v->to_s < within_s &&
            v->from_s - runs->v[i].to_s < within_s)
            return true;
    return false;
}

static bool any_confirmed(const struct fl_runs *runs)
{
    for (size_t i = 0; i < runs->n; i++)
        if (runs->v[i].confirmed)
            return true;
    return false;
}

/* Halved runs are on; what lies about them and shows too little to decide may be either, and so may
 * all such runs of a take in which nothing is off beyond doubt. So may runs off that neither
 * witness is sure of. */
static void settle_halved(struct fl_runs *runs)
{
    const double near_s = any_confirmed(runs) ? model.near_s : INFINITY;
    size_t n = 0;
    for (size_t k = 0; k < runs->n; k++) {
        const struct fl_run *v = &runs->v[k];
        bool unsure =
            v->state == FL_STATE_OFF && v->peak < FL_RUN_CERTAIN && !v->confirmed && !v->halved;
        if (!unsure && !(v->undecided && beside_halved(runs, v, near_s)))
            runs->v[n++] = *v;
    }
    runs->n = n;
    for (size_t k = 0; k < n; k++)
        if (runs->v[k].halved)
            runs->v[k].state = FL_STATE_ON;
}

void fl_witness_heed(struct fl_runs *runs, enum fl_kind *kind, const struct fl_renewal *r,
                     const struct fl_evidence *e, const struct fl_rows *rows,
                     const struct fl_rates *rates)
{
    struct fl_softness softness;
    struct fl_runs parted = {0};
    heed_on(&softness, runs, kind, r, e, rows, rates->frames == FL_FRAMES_LEAST && !rates->fewer);
    struct fl_half_rate *h = FL_NEW(struct fl_half_rate, r->n_gaps);
    struct fl_half_rate_input in = input_open(r, e, rows, rates);
    fl_half_rate_test(h, &in, &softness);
    for (size_t k = 0; k < runs->n; k++)
        part_run(&parted, &runs->v[k], r, e, rates, h, kind);
    free(h);
    fl_runs_finish(runs);
    *runs = parted;
    ask_short(runs, r, &in, &softness);
    input_close(&in);
    settle_short(runs);
    settle_halved(runs);
}
