/* Base rates by maximum likelihood of the renewal model.
 *
 * A coarse scan of one period for both states, then of their ratio, on the most telling seconds;
 * the winner is refined by the lengths of the gaps that its own posterior is sure of (an
 * expectation step and a robust maximisation, a few rounds). What one rate alone cannot settle is
 * said. */
#include "state/rates.h"

#include <assert.h>
#include <math.h>

#include <stdlib.h>

#include "base/mem.h"
#include "base/parallel.h"
#include "base/units.h"
#include "maths/robust.h"
#include "state/rates_likelihood.h"
#include "state/rendered.h"

/* The search. Choices; costs are in nats, as a prior would take off. */
static const struct {
    double most_telling_s; /* looked at, of the take's most telling footage, s: a hundred base
                              periods and more of either state */
    double shortest_seen;  /* capture periods: off shows still rows only if its period is longer by
                              a few per cent; shorter ones cannot be told from on */
    double period_step;    /* ratio of one period tried to the next: half a gap's narrow spread */
    double odd_cost;       /* of uneven pairs, flips that wait for a clock, or states of two rates:
                              they must earn their place beside the plain case */
    double closest;        /* capture periods between on-state flips, or as close as at the fastest
                              base rate and N = 2 */
    double more_cost;      /* of two or three synthesised frames for each rendered one: more than
                              steps of the grid bring */
    double uneven_share;   /* of the rendered frame, tried beside even ones: this part of twice an
                              even one */
    double whole_frames;   /* share of mixed frames under which output ran with the capture */
    double missed;         /* chance that a synthesised frame is missing */
    double missed_local;   /* the same in a local recording: its recorder drops some */
    double likely_slower;  /* off periods up to this much longer than on: beyond, a heavy scene that
                              trips; no game is that much slower without synthesis */
    int coarse_slots;      /* of a frame */
} search_by = {.most_telling_s = 8,
               .shortest_seen = 1.06,
               .period_step = 1.045,
               .odd_cost = 6,
               .closest = 0.65,
               .more_cost = 20,
               .uneven_share = 0.35,
               .whole_frames = 0.1,
               .missed = 0.004,
               .missed_local = 0.08,
               .likely_slower = 1.25,
               .coarse_slots = 12};
/* Off over on period, or on over off, tried: synthesis costs rendering time (below 1), a frame cap
 * holds the rate down while it is on (above). */
static const double ratios[] = {0.67, 0.74, 0.82, 0.9, 1.1, 1.2, 1.35, 1.5};
enum { RATIOS = sizeof ratios / sizeof *ratios };

/* What of the best path is counted. Choices. */
static const struct {
    float sure;        /* posterior of a gap that counts */
    float marked;      /* nats of a flip whose tear shows */
    float telling;     /* nats a frame of a slot that tells */
    double held;       /* capture periods: a gap longer than this leaves rows unchanged */
    int held_of_ten;   /* so many of ten gaps off must be held, or what passes for off may be on */
    int marked_of_ten; /* so many of ten flips where a tear could show must have one */
    double usual;      /* lengths within this ratio of their median are of usual pictures: a heavy
                          scene's, and gaps over a missed flip, are twice as long */
    double usual_part; /* so many must be, or the plain mean is taken */
    double stride;     /* most that a round moves a period, as a ratio */
} counted = {.sure = 0.9f,
             .marked = 0.5f,
             .telling = 4,
             .held = 1.02,
             .held_of_ten = 3,
             .marked_of_ten = 6,
             .usual = 1.35,
             .usual_part = 0.75,
             .stride = 1.15};
enum { ROUNDS = 3, ENOUGH_GAPS = 4, ENOUGH_MARKABLE = 16, ENOUGH_SETTLED = 16 };
/* Most that a rendered period's standard error may be, relative: rates wander by some per cent. A
 * choice. */
static const double most_error = 0.02;

/* Every row changed in every frame: on is above the capture rate, whatever it is; only where that
 * leaves no base rate for off is it sure. */
static const double near_fastest = 0.95;

static int by_density(const void *a, const void *b)
{
    const struct fl_segment *x = a, *y = b;
    double dx = x->nats / (double)(x->to - x->from), dy = y->nats / (double)(y->to - y->from);
    return dx < dy ? 1 : dx > dy ? -1 : 0;
}

size_t fl_segments_telling(struct fl_segment *s, size_t n, double slot_s)
{
    double sum_s = 0;
    size_t k = 0;
    if (n) /* s is NULL when there is none */
        qsort(s, n, sizeof *s, by_density);
    while (k < n && sum_s < search_by.most_telling_s)
        sum_s += (double)(s[k].to - s[k].from) * slot_s, k++;
    return k;
}

/* What rates are searched on: coarse evidence, the most telling segments. */
struct ground {
    struct fl_evidence e;
    struct fl_segment *segments;
    struct fl_rates_likelihood likelihood;
};

/* Rates to try, and what speaks for each: its log-likelihood less the cost of being no plain case.
 */
struct
try {
    struct fl_rates rates;
    double cost, value;
};
struct tries {
    const struct ground *g;
    struct try *v;
    size_t n, cap;
};

static void add_try(struct tries *t, struct fl_rates r, double cost)
{
    FL_PUSH(t->v, t->n, t->cap, ((struct try){r, cost, 0}));
}

static void try_one(void *ctx, size_t i)
{
    const struct tries *t = ctx;
    t->v[i].value = fl_rates_likelihood_at(&t->g->likelihood, &t->v[i].rates) - t->v[i].cost;
}

/* Takes over the first of the best, if it beats *top. */
static void try_all(struct tries *t, int threads, struct fl_rates *best, double *top)
{
    fl_parallel(t->n, threads, try_one, t);
    for (size_t i = 0; i < t->n; i++)
        if (t->v[i].value > *top) {
            *top = t->v[i].value;
            *best = t->v[i].rates;
        }
    free(t->v);
}

/* What all rates tried for a take share. */
struct plain {
    double least_s, most_s; /* base periods */
    double missed, missed_again;
};

/* On-state flips closer than that are not tried: more tears a frame than can be told apart pass for
 * noise, which any rate explains. */
static double closest_s(const struct fl_rates_given *given)
{
    return fmin(0.5 / FL_BASE_MOST_HZ, search_by.closest * given->capture_period_s);
}

static struct plain plain_of(const struct fl_evidence *e, const struct fl_rates_given *given,
                             int frames)
{
    struct plain p = {.most_s = 1 / FL_BASE_LEAST_HZ,
                      .missed = e->local ? search_by.missed_local : search_by.missed,
                      .missed_again = e->local ? search_by.missed_local : 0};
    p.least_s =
        fmax(1 / FL_BASE_MOST_HZ, e->local ? 0 : search_by.shortest_seen * given->capture_period_s);
    if (frames > FL_FRAMES_LEAST)
        p.least_s = fmax(p.least_s, frames * closest_s(given));
    if (given->longest_on_s > 0)
        p.most_s = fmax(p.least_s, fmin(p.most_s, given->longest_on_s * frames));
    if (fl_known(given->pin_hz))
        p.least_s = p.most_s = 1 / given->pin_hz;
    return p;
}

/* `part` of twice an even share is the rendered frame's; the others are alike. */
static struct fl_rates plain_rates(const struct plain *p, double period_s, int frames, double part)
{
    struct fl_rates r = fl_rates_even(period_s, period_s, frames);
    r.missed = p->missed;
    r.missed_again = p->missed_again;
    r.share[0] = 2 * part / frames;
    for (int k = 1; k < frames; k++)
        r.share[k] = (1 - r.share[0]) / (frames - 1);
    return r;
}

/* One base period for both states, and the shares, for one N. */
static double search_period(const struct ground *g, const struct fl_evidence *e,
                            const struct fl_rates_given *given, int frames, struct fl_rates *best)
{
    struct tries tries = {.g = g};
    struct plain p = plain_of(e, given, frames);
    double top = -INFINITY;
    /* Footage in which frames change whole or not at all was synchronised to the capture. */
    double quantum_s = e->mixed < search_by.whole_frames && !e->local ? given->capture_period_s : 0;
    /* Even flips that wait for nothing are the plain case; others must earn their place. */
    const struct {
        double part, quantum_s, cost;
    } kinds[] = {{0.5, 0, 0},
                 {search_by.uneven_share, 0, search_by.odd_cost},
                 {0.5, quantum_s, search_by.odd_cost}};
    size_t n_kinds = quantum_s > 0 ? 3 : 2;
    for (double s = p.least_s; s <= p.most_s * 1.0001; s *= search_by.period_step)
        for (size_t k = 0; k < n_kinds; k++) {
            struct fl_rates r = plain_rates(&p, s, frames, kinds[k].part);
            r.quantum_s = kinds[k].quantum_s;
            add_try(&tries, r, kinds[k].cost);
        }
    try_all(&tries, given->threads, best, &top);
    return top;
}

static bool is_base_period(double s)
{
    return 1 / s >= FL_BASE_LEAST_HZ && 1 / s <= FL_BASE_MOST_HZ;
}

/* N may fall within the take without reaching one: which other N's does it hold? */
static double search_fewer(const struct ground *g, int threads, double top, struct fl_rates *best)
{
    struct tries tries = {.g = g};
    for (unsigned fewer = 1u << FL_FRAMES_LEAST; fewer < 1u << best->frames;
         fewer += 1u << FL_FRAMES_LEAST) {
        struct fl_rates r = *best;
        r.fewer = fewer;
        add_try(&tries, r, search_by.odd_cost * __builtin_popcount(fewer));
    }
    try_all(&tries, threads, best, &top);
    return top;
}

/* The base rate may differ between the states: synthesis costs rendering time, a frame cap holds it
 * down. */
static double search_apart(const struct ground *g, double least_off_s,
                           const struct fl_rates_given *given, double top, struct fl_rates *best)
{
    struct tries tries = {.g = g};
    const struct fl_rates even = *best;
    for (size_t i = 0; i < RATIOS; i++) {
        /* The one rate for both may be that of either. */
        const double on_s[] = {even.on_period_s * ratios[i], even.on_period_s},
                     off_s[] = {even.off_period_s, even.off_period_s * ratios[i]};
        for (int k = 0; k < 2; k++) {
            struct fl_rates r = even;
            r.on_period_s = on_s[k];
            r.off_period_s = off_s[k];
            /* A heavy scene that trips halves the rate off: no game is that much slower without
             * synthesis. */
            bool likely = (k == 0 || ratios[i] < search_by.likely_slower) &&
                          on_s[k] >= even.frames * closest_s(given);
            if (likely && is_base_period(on_s[k]) && off_s[k] >= least_off_s &&
                is_base_period(off_s[k]))
                add_try(&tries, r, search_by.odd_cost);
        }
    }
    try_all(&tries, given->threads, best, &top);
    return top;
}

/* The same rates with other N's in the take, and of two base rates. */
static double search_around(const struct ground *g, const struct fl_evidence *e,
                            const struct fl_rates_given *given, double top, struct fl_rates *best)
{
    if (best->frames > FL_FRAMES_LEAST)
        top = search_fewer(g, given->threads, top, best);
    if (!fl_known(given->pin_hz))
        top = search_apart(g, e->local ? 0 : search_by.shortest_seen * given->capture_period_s,
                           given, top, best);
    return top;
}

/* The likeliest rates with this N, and how likely. */
static double search_frames(const struct ground *g, const struct fl_evidence *e,
                            const struct fl_rates_given *given, int frames, struct fl_rates *best)
{
    return search_around(g, e, given, search_period(g, e, given, frames, best), best);
}

/* Takes over other N's in their plainest case, as quick, and N that falls to two, if they beat
 * `top` by more than the grid's steps may bring. Steps and rates tell of N later (witness.h); what
 * matters here is that on-state flips come so much faster than off-state ones. */
static bool search_more(const struct ground *g, const struct fl_evidence *e,
                        const struct fl_rates_given *given, double *top, struct fl_rates *best)
{
    struct tries tries = {.g = g};
    double least = *top + search_by.more_cost, v = least;
    for (int n = FL_FRAMES_LEAST + 1; n <= FL_FRAMES_MOST; n++) {
        struct plain p = plain_of(e, given, n);
        for (double s = p.least_s; s <= p.most_s * 1.0001; s *= pow(search_by.period_step, 2)) {
            struct fl_rates r = plain_rates(&p, s, n, 0.5);
            add_try(&tries, r, 0);
            r.fewer = 1u << FL_FRAMES_LEAST;
            add_try(&tries, r, search_by.more_cost);
        }
    }
    try_all(&tries, given->threads, best, &v);
    *top = v > least ? v : *top;
    return v > least;
}

static struct fl_rates search(const struct fl_evidence *e, const struct fl_rates_given *given)
{
    struct ground g;
    struct fl_rates best = {0};
    int by = e->slots_a_frame / search_by.coarse_slots,
        n = given->frames ? given->frames : FL_FRAMES_LEAST;
    fl_evidence_coarsen(&g.e, e, by > 1 ? by : 1);
    size_t segments = fl_segments(&g.e, &g.segments);
    segments = fl_segments_telling(g.segments, segments, g.e.slot_s);
    fl_rates_likelihood_open(&g.likelihood, &g.e, g.segments, segments);
    double top = search_frames(&g, e, given, n, &best);
    if (!given->frames && search_more(&g, e, given, &top, &best))
        search_around(&g, e, given, top, &best);
    fl_rates_likelihood_close(&g.likelihood);
    free(g.segments);
    fl_evidence_finish(&g.e);
    return best;
}

struct lengths {
    double *on, *off, *sharp; /* sharp: on, with a tear seen at both ends */
    size_t n_on, n_off, n_sharp, cap_on, cap_off, cap_sharp;
    size_t n_still;          /* off gaps long enough to leave rows unchanged */
    size_t marked, markable; /* on-state flips where a tear shows, of those where one could */
};

/* Half of the slots say something. Where nothing shows, the best path takes the likeliest lengths,
 * whose mean is not that of all. */
static bool told(const struct fl_evidence *e, size_t from, size_t to)
{
    size_t n = 0;
    for (size_t i = from; i < to; i++)
        n += fabsf(e->slot[i].still) * (float)e->slots_a_frame > counted.telling;
    return e->local || 2 * n >= to - from;
}

/* Gaps of the whole base period on that begins at gap i of the best path; 0 if none does. */
static int base_period_at(const struct fl_renewal *r, size_t i)
{
    const struct fl_gap *g = &r->gap[i];
    int n = fl_gap_frames(g->mode);
    if (!n || g->mode != fl_gap_on(n, 0) || i + (size_t)n > r->n_gaps)
        return 0;
    for (int k = 1; k < n; k++)
        if (g[k].from != g[k - 1].to || g[k].mode != fl_gap_on(n, k))
            return 0;
    return n;
}

/* Lengths of whole base periods on and of off gaps of which the posterior is sure. */
static void collect(struct lengths *l, const struct fl_renewal *r, const struct fl_evidence *e,
                    double capture_period_s)
{
    double slot_s = e->slot_s;
    for (size_t i = 0; i < r->n_gaps; i++) {
        const struct fl_gap *g = &r->gap[i];
        size_t middle = (g->from + g->to) / 2;
        if (g->mode == FL_GAP_OFF && r->p_off[middle] > counted.sure && told(e, g->from, g->to)) {
            FL_PUSH(l->off, l->n_off, l->cap_off, (double)(g->to - g->from) * slot_s);
            l->n_still += (double)(g->to - g->from) * slot_s > counted.held * capture_period_s;
        }
        if (g->mode < FL_GAP_OFF && r->p_on[middle] > counted.sure && e->slot[g->from].flip != 0) {
            l->markable++;
            l->marked += e->slot[g->from].flip > counted.marked;
        }
        int n = base_period_at(r, i);
        if (n && r->p_on[middle] > counted.sure && told(e, g->from, g[n - 1].to)) {
            double length_s = (double)(g[n - 1].to - g->from) * slot_s;
            FL_PUSH(l->on, l->n_on, l->cap_on, length_s);
            if (e->slot[g->from].flip > counted.marked &&
                e->slot[g[n - 1].to].flip > counted.marked)
                FL_PUSH(l->sharp, l->n_sharp, l->cap_sharp, length_s);
        }
    }
}

/* Mean of the usual lengths: a heavy scene's, and gaps over a missed flip, are twice as long.
 * Lengths in whole ticks of a clock scatter as much by themselves: of those all count. */
static double usual_mean(double *v, size_t n, double quantum_s)
{
    double mean = fl_mean(v, n), middle = fl_median(v, n), sum = 0;
    size_t used = 0;
    for (size_t i = 0; i < n; i++)
        if (quantum_s > 0 || (v[i] < middle * counted.usual && v[i] > middle / counted.usual)) {
            sum += v[i];
            used++;
        }
    return (double)used > counted.usual_part * (double)n ? sum / (double)used : mean;
}

static double towards(double now, double seen)
{
    return fl_known(seen) ? fl_clamp(seen, now / counted.stride, now * counted.stride) : now;
}

static double longest_share(const struct fl_rates *r)
{
    double most = 0;
    for (int k = 0; k < r->frames; k++)
        most = fmax(most, r->share[k]);
    return most;
}

/* Where no state switches and every frame shows, pictures are shown as they are rendered. */
static void note_rendered(struct fl_rates_found *f, const struct fl_renewal *r,
                          const struct fl_evidence *e)
{
    struct fl_rhythm off;
    fl_rendered_off(&off, r, e, &f->rates);
    if (off.flips >= ENOUGH_SETTLED && off.error < most_error)
        f->rendered_off_s = off.period_s;
    else if (!f->saw_on)
        f->rendered_off_s = f->rates.off_period_s;
}

static void refine(struct fl_rates_found *f, const struct fl_evidence *e, double capture_period_s,
                   int threads)
{
    struct fl_segment *segments;
    size_t n = fl_segments(e, &segments);
    n = fl_segments_telling(segments, n, e->slot_s);
    for (int round = 0; round < ROUNDS; round++) {
        struct fl_renewal r;
        struct lengths l = {0};
        fl_renewal_solve(&r, e, segments, n, &f->rates, threads);
        collect(&l, &r, e, capture_period_s);
        /* Gaps of a capture period change every row of every frame, as on may. */
        bool still = e->local || 10 * l.n_still >= (size_t)counted.held_of_ten * l.n_off;
        f->saw_on = l.n_on >= 2 * ENOUGH_GAPS || (l.n_off >= ENOUGH_GAPS && !still);
        f->saw_off = l.n_off >= ENOUGH_GAPS && still;
        /* Flips closer than a capture period leave no row unchanged: unless their tears show, such
         * gaps only echo the guess. */
        double longest = longest_share(&f->rates) * f->rates.on_period_s;
        bool torn = f->rates.quantum_s == 0 && l.markable >= ENOUGH_MARKABLE &&
                    10 * l.marked >= (size_t)counted.marked_of_ten * l.markable;
        /* A picture in every tick of a clock is as many as can show, or more. */
        bool filled = f->rates.quantum_s > 0 &&
                      fl_mean(l.on, l.n_on) < counted.held * f->rates.frames * f->rates.quantum_s;
        f->on_counted =
            f->saw_on && !filled && (e->local || torn || longest > counted.held * capture_period_s);
        if (f->saw_off)
            f->rates.off_period_s =
                towards(f->rates.off_period_s, usual_mean(l.off, l.n_off, f->rates.quantum_s));
        if (f->on_counted)
            f->rates.on_period_s = towards(f->rates.on_period_s, l.n_sharp >= 2 * ENOUGH_GAPS
                                                                     ? fl_mean(l.sharp, l.n_sharp)
                                                                     : fl_mean(l.on, l.n_on));
        else if (f->saw_off)
            f->rates.on_period_s = f->rates.off_period_s;
        free(l.on);
        free(l.off);
        free(l.sharp);
        if (round == ROUNDS - 1 && f->saw_off)
            note_rendered(f, &r, e);
        /* Of whole ticks, pairs that are sure are not as long as all are. */
        f->rendered_on_s =
            f->on_counted && f->rates.quantum_s == 0 ? f->rates.on_period_s : FL_UNKNOWN;
        fl_renewal_finish(&r);
    }
    free(segments);
}

/* A take that shows a single rate: is it on at half of it, or off? */
static const char *doubt(const struct fl_rates_found *f, double capture_period_s, double pin_hz,
                         bool disabled)
{
    if (f->saw_on && f->saw_off)
        return NULL;
    if (!f->saw_on && !f->saw_off)
        return "still";
    if (disabled || fl_known(pin_hz))
        return NULL;
    if (f->saw_off) {
        double rate = 1 / f->rates.off_period_s;
        return rate / 2 >= FL_BASE_LEAST_HZ ? "ambiguous" : NULL;
    }
    if (f->on_counted) {
        double rate = f->rates.frames / f->rates.on_period_s;
        return rate <= FL_BASE_MOST_HZ ? "ambiguous" : NULL;
    }
    /* Every row changed in every frame: the rate is above the capture rate, no more is known. */
    return 1 / capture_period_s < near_fastest * FL_BASE_MOST_HZ ? "rates" : NULL;
}

int fl_rates_frames(const struct fl_rates_found *f)
{
    return f->possible == 1u << f->rates.frames ? f->rates.frames : 0;
}

void fl_rates_find(struct fl_rates_found *f, const struct fl_evidence *e,
                   const struct fl_rates_given *given)
{
    assert(given->capture_period_s > 0);
    *f = (struct fl_rates_found){.rendered_off_s = FL_UNKNOWN, .rendered_on_s = FL_UNKNOWN};
    if (!e->local && search_by.shortest_seen * given->capture_period_s > 1 / FL_BASE_LEAST_HZ) {
        f->rates = fl_rates_even(1 / FL_BASE_LEAST_HZ, 1 / FL_BASE_LEAST_HZ, FL_FRAMES_LEAST);
        f->rates.missed = search_by.missed;
        f->ambiguous = "rates"; /* the capture is slower than any base rate */
        return;
    }
    f->rates = search(e, given);
    refine(f, e, given->capture_period_s, given->threads);
    f->ambiguous = doubt(f, given->capture_period_s, given->pin_hz, given->disabled);
}
