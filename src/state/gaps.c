/* Lengths of gaps between flips as tables of log densities, one a mode of the renewal model.
 *
 * A gap is log-normal about its mode's period: frame times have a long upper tail, and pacing
 * errors are relative to the period (common practice, no source). Where flips wait for a clock,
 * both ends of a gap are rounded up to its ticks, so the length is the convolution of the density
 * with a triangle of two ticks. */
#include "state/gaps.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"

/* The model of lengths. Values without a source are choices: wide enough for any game's pacing, as
 * a narrower law would call a wandering base rate a lapse. */
static const struct {
    double narrow;       /* sd of ln length of a paced gap: a few per cent to a tenth */
    double wide;         /* sd of ln length of the others: a base rate that wanders, a hitch */
    double wide_share;   /* chance of those, 0..1 */
    double reach;        /* lengths are tabled this many wide sd from the period: 3 leave out 1e-4
                            of a tenth */
    double off_tick;     /* chance that a gap keeps no tick of a clock that flips wait for, 0..1:
                            keeps odd gaps possible, does not make them likely */
    double least;        /* least chance in a table: a floor for logarithms */
    double mean_rest_s;  /* of an exponential rest, s: pauses between flicks last 0.1 to 1 s */
    double rest_least_s; /* shortest rest, s, ... */
    double rest_periods; /* ... and in off periods: just over one, so that a missed flip in state
                            off is a gap of two, and not cheaper as a rest */
} model = {.narrow = 0.08,
           .wide = 0.25,
           .wide_share = 0.1,
           .reach = 3,
           .off_tick = 1e-3,
           .least = 1e-12,
           .mean_rest_s = 0.3,
           .rest_least_s = 0.03,
           .rest_periods = 1.8};

static double log_normal(double x, double middle, double spread)
{
    if (x <= 0)
        return 0;
    double z = log(x / middle) / spread;
    return exp(-0.5 * z * z) / (x * spread * sqrt(2 * FL_PI));
}

static double density(double x, double middle)
{
    return (1 - model.wide_share) * log_normal(x, middle, model.narrow) +
           model.wide_share * log_normal(x, middle, model.wide);
}

/* Both ends of a gap wait for the next tick of a clock: the chance that it lasts k ticks. */
static double ticks_share(long k, double middle, double quantum_s)
{
    enum { N = 16 }; /* points of the integral on each side */
    double sum = 0;
    for (int i = -N + 1; i < N; i++) {
        double u = (double)i / N;
        sum += (1 - fabs(u)) / N * density(((double)k + u) * quantum_s, middle) * quantum_s;
    }
    return sum;
}

/* Chance of a length of n slots. Ticks need not fall on slots: a slot either way shares a tick's
 * chance. */
static double slots_share(size_t n, double middle, double quantum_s, double slot_s)
{
    if (quantum_s <= 0)
        return density((double)n * slot_s, middle) * slot_s;
    double length_s = (double)n * slot_s;
    long k = lround(length_s / quantum_s);
    double tick = (double)k * quantum_s / slot_s, sharers = floor(tick + 1) - ceil(tick - 1) + 1;
    bool on_tick = k > 0 && (double)n >= ceil(tick - 1) && (double)n <= floor(tick + 1);
    return (on_tick ? (1 - model.off_tick) * ticks_share(k, middle, quantum_s) / sharers : 0) +
           model.off_tick * density(length_s, middle) * slot_s;
}

static void fill(struct fl_gap_density *d, double middle, double quantum_s, double slot_s)
{
    double least_s = middle * exp(-model.reach * model.wide) - quantum_s,
           most_s = middle * exp(model.reach * model.wide) + quantum_s;
    d->least = least_s > slot_s ? (size_t)(least_s / slot_s) : 1;
    d->most = (size_t)(most_s / slot_s) + 1;
    assert(d->least >= 1 && d->most >= d->least);
    size_t n = d->most - d->least + 1;
    d->forward = FL_NEW(float, n);
    d->backward = FL_NEW(float, n);
    for (size_t i = 0; i < n; i++) {
        double p = slots_share(d->least + i, middle, quantum_s, slot_s);
        d->forward[i] = d->backward[n - 1 - i] = (float)log(fmax(p, model.least));
    }
}

struct fl_rates fl_rates_even(double on_period_s, double off_period_s, int frames)
{
    struct fl_rates r = {
        .on_period_s = on_period_s, .off_period_s = off_period_s, .frames = frames};
    assert(frames >= FL_FRAMES_LEAST && frames <= FL_FRAMES_MOST);
    for (int k = 0; k < frames; k++)
        r.share[k] = 1.0 / frames;
    return r;
}

static const enum fl_gap_mode first_of[] = {
    [2] = FL_GAP_AFTER_RENDERED, [3] = FL_GAP_OF_THREE, [4] = FL_GAP_OF_FOUR};

enum fl_gap_mode fl_gap_on(int n, int k)
{
    assert(n >= FL_FRAMES_LEAST && n <= FL_FRAMES_MOST && k >= 0 && k < n);
    return (enum fl_gap_mode)((int)first_of[n] + k);
}

int fl_gap_frames(enum fl_gap_mode mode)
{
    return mode < FL_GAP_OF_THREE ? 2 : mode < FL_GAP_OF_FOUR ? 3 : mode < FL_GAP_MISSED ? 4 : 0;
}

int fl_gap_picture(enum fl_gap_mode mode)
{
    assert(mode < FL_GAP_MISSED);
    return (int)mode - (int)first_of[fl_gap_frames(mode)];
}

bool fl_gap_used(const struct fl_rates *r, enum fl_gap_mode mode)
{
    int n = fl_gap_frames(mode);
    return mode >= FL_GAP_MISSED || n == r->frames || (r->fewer >> n & 1);
}

/* The length of a mode's gap as paced. */
static double usual_s(const struct fl_rates *r, enum fl_gap_mode mode)
{
    int n = fl_gap_frames(mode);
    if (!n)
        return mode == FL_GAP_OFF ? r->off_period_s : r->on_period_s;
    return (n == r->frames ? r->share[fl_gap_picture(mode)] : 1.0 / n) * r->on_period_s;
}

void fl_gap_table_init(struct fl_gap_table *t, const struct fl_rates *r, double slot_s)
{
    *t = (struct fl_gap_table){0};
    for (int m = 0; m < FL_GAP_REST; m++)
        if (fl_gap_used(r, (enum fl_gap_mode)m)) {
            fill(&t->mode[m], usual_s(r, (enum fl_gap_mode)m), r->quantum_s, slot_s);
            t->longest = t->mode[m].most > t->longest ? t->mode[m].most : t->longest;
        }
    t->rest_least =
        (size_t)(fmax(model.rest_least_s, model.rest_periods * r->off_period_s) / slot_s) + 1;
    t->rest_stay = (float)(-slot_s / model.mean_rest_s);
    t->rest_leave = (float)log(slot_s / model.mean_rest_s);
}

void fl_gap_table_finish(struct fl_gap_table *t)
{
    for (int m = 0; m < FL_GAP_MODES; m++) {
        free(t->mode[m].forward);
        free(t->mode[m].backward);
    }
}
