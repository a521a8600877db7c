/* Likelihood ratio of a stretch of flips: on at half the base rate, against off.
 *
 * Three kinds of evidence add up, as they are independent given the state: how steps change from
 * flip to flip, how detail alternates, how gaps alternate. Each is a mixture with a wide part, so
 * that one wild measurement decides nothing; what is not known beforehand (how fast the camera
 * speeds up, how soft synthesised pictures are) is summed over a few scales. Dynamic programming
 * over the flips of a chain then finds the best parting into stretches. */
#include "state/half_rate_test.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "maths/robust.h"

/* What steps are known to. The first is what the rows' search leaves (signal/bands.c: parts of a
 * pixel); the others are choices. */
static const struct {
    double least_error_px;  /* of a change of steps, working px, at best */
    double error_share;     /* of the step itself: near things move further and come and go */
    double elsewhere_share; /* of the step, where other rows show it, and see other distances */
    double bands_alike;     /* bands side by side see the same things: one in so many is new */
    double blunder;         /* chance that a measurement is wrong altogether, 0..1 */
    double step_spread;     /* variance of such a change, in squared errors */
    double contrast_spread; /* of such a contrast, in variances */
} measured = {.least_error_px = 0.1,
              .error_share = 0.015,
              .elsewhere_share = 0.05,
              .bands_alike = 4,
              .blunder = 0.05,
              .step_spread = 100,
              .contrast_spread = 25};

/* Variance of true changes from one step to the next, in squared errors: from steady motion to a
 * flick's start. Powers of four: the mixture has no gap between two. */
static const double growths[] = {0, 1, 4, 16, 64, 256, 1024};
enum { GROWTHS = sizeof growths / sizeof *growths };

/* What synthesised pictures look like, ln contrast, where the take's own on-state does not tell.
 * Choices; a take with sure runs on replaces the first two (state/alternation.c). */
static const struct {
    double contrast;     /* by which detail alternates: synthesised pictures are blends, and
                            coding leaves little of the difference, 0.01 to 0.3 */
    double least_spread; /* sd of one contrast at best */
} usual = {.contrast = 0.04, .least_spread = 0.03};
/* The contrast varies with the scene: these multiples of it are tried alike. */
static const double softness_multiples[] = {0.5, 1, 2};
enum { MULTIPLES = sizeof softness_multiples / sizeof *softness_multiples };

/* How gaps' lengths speak. Choices. */
static const struct {
    double spread;   /* of ln length: a wandering rate, and flips placed by a few rows */
    double far;      /* spreads beyond which a length says no more */
    double longer;   /* a gap this many times the longest expected is never on: a heavy scene may be
                        off as well, and then shows gaps twice as long */
    double long_gap; /* ln ratio of such a gap, finite as a missed flip makes one, too */
} lengths = {.spread = 0.2, .far = 3, .longer = 1.5, .long_gap = -4};

/* How heavy scenes come and go: ln chances beside the likelihoods, and their reach. Choices, on the
 * careful side: a lapse taken for a heavy scene is a lapse missed. */
static const struct {
    double enter_alone; /* one begins in a chain: one in four hundred, ... */
    double enter_near;  /* ... in one in twenty near another, ... */
    double near_s;      /* ... that is, within this time, s: they last for a second or two */
    double leave;       /* it ends at a flip: one in a hundred */
    double go_on;       /* a stretch follows one of its own side: the camera's speed-up differs */
    double slip;        /* ... or of the other, where a flip was missed */
} scenes = {
    .enter_alone = -6, .enter_near = -3, .near_s = 1.5, .leave = -4.6, .go_on = -1, .slip = -3};
/* Gaps of a stretch: fewer could pair by chance; more bound the work, and a second holds fewer. */
enum { LEAST_GAPS = 4, MOST_GAPS = 100 };

/* Chance that what one short run shows is wrong altogether, as nothing else bears it out: so did
 * steps on 2 of 15 staged hitches. */
static const double short_blunder = 0.1;

/* A take's cycle is voted on by stretches of about this many gaps, each with at most so many nats:
 * one in which a flip was missed must not outvote the rest. */
enum { STRETCH_GAPS = 20 };
static const double most_of_stretch = 6;

/* Shifts, by band, of the rows that show the picture of gap[0] for the first time and showed that
 * of gap[-1] a frame ago; NaN elsewhere. */
static void steps_at(float *shift, const struct fl_evidence *e, const struct fl_rows *r,
                     const struct fl_gap *g)
{
    size_t per = (size_t)e->slots_a_frame, to = g->from + per < g->to ? g->from + per : g->to;
    for (int b = 0; b < r->bands; b++)
        shift[b] = NAN;
    size_t from = g[-1].from + per > g->from ? g[-1].from + per : g->from;
    for (size_t k = from; k < to && k < e->n; k++)
        if (k % per) {
            float v = r->shift[(size_t)e->slot[k].frame * (size_t)r->bands + k % per - 1];
            shift[k % per - 1] = v > 0 ? v : NAN;
        }
}

/* A local recording holds whole pictures: the step is the frame's own move. */
static void whole_steps_at(float *shift, const struct fl_evidence *e, const struct fl_rows *r,
                           const struct fl_gap *g)
{
    size_t frame = (size_t)e->slot[g->from].frame;
    for (int b = 0; b < r->bands; b++) {
        float v = r->shift[frame * (size_t)r->bands + (size_t)b];
        shift[b] = v > 0 ? v : NAN;
    }
}

/* Median and its error of n values, which the call reorders; bands side by side see the same
 * things, so one in four counts. */
static struct fl_step_change middle_of(double *v, size_t n)
{
    const double to_deviation = 1.4826; /* of a median absolute deviation, normal law */
    double middle = fl_median(v, n);
    for (size_t i = 0; i < n; i++)
        v[i] = fabs(v[i] - middle);
    return (struct fl_step_change){middle, to_deviation * fl_median(v, n) /
                                               sqrt(fmax(1, (double)n / measured.bands_alike))};
}

/* By the bands that show both steps, so that near and far things cancel. */
static struct fl_step_change compare_bands(const float *before, const float *after, int bands,
                                           double *work)
{
    size_t n = 0;
    double step = 0;
    for (int b = 0; b < bands; b++)
        if (!isnan(before[b]) && !isnan(after[b])) {
            work[n++] = (double)after[b] - (double)before[b];
            step += fmax((double)after[b], (double)before[b]);
        }
    if (4 * n < (size_t)bands || n < 3)
        return (struct fl_step_change){NAN, NAN};
    struct fl_step_change c = middle_of(work, n);
    c.error =
        fmax(c.error, hypot(measured.least_error_px, measured.error_share * step / (double)n));
    return c;
}

static struct fl_step_change step_of(const float *shift, int bands, double *work)
{
    size_t n = 0;
    for (int b = 0; b < bands; b++)
        if (!isnan(shift[b]))
            work[n++] = (double)shift[b];
    return n < 3 ? (struct fl_step_change){NAN, NAN} : middle_of(work, n);
}

/* Uneven pairs show one step in one part of the picture, the next in another. */
static struct fl_step_change compare(const float *before, const float *after, int bands,
                                     double *work)
{
    struct fl_step_change c = compare_bands(before, after, bands, work);
    if (!isnan(c.px))
        return c;
    struct fl_step_change a = step_of(before, bands, work), b = step_of(after, bands, work);
    double floor = hypot(measured.least_error_px, measured.elsewhere_share * fmax(a.px, b.px));
    return (struct fl_step_change){b.px - a.px, hypot(hypot(a.error, b.error), floor)};
}

void fl_steps_compare(struct fl_step_change *out, const struct fl_evidence *e,
                      const struct fl_rows *r, const struct fl_gap *gap, size_t n)
{
    float *one = FL_NEW(float, (size_t)r->bands), *other = FL_NEW(float, (size_t)r->bands);
    double *work = FL_NEW(double, (size_t)r->bands);
    bool known = false;
    for (size_t i = 0; i < n; i++) {
        float *swap = one;
        bool linked = i && gap[i].from == gap[i - 1].to;
        one = other;
        other = swap;
        if (linked)
            (e->local ? whole_steps_at : steps_at)(other, e, r, &gap[i]);
        if (i)
            out[i - 1] = linked && known ? compare(one, other, r->bands, work)
                                         : (struct fl_step_change){NAN, NAN};
        known = linked;
    }
    if (n)
        out[n - 1] = (struct fl_step_change){NAN, NAN};
    free(one);
    free(other);
    free(work);
}

static double log_mean_exp(const double *v, size_t n)
{
    double top = v[0], sum = 0;
    for (size_t i = 1; i < n; i++)
        top = fmax(top, v[i]);
    for (size_t i = 0; i < n; i++)
        sum += exp(v[i] - top);
    return top + log(sum / (double)n);
}

/* ln density of a change of steps, in units of its error. */
static double change_density(double z, double growth)
{
    double plain = 1 + growth, wild = plain + measured.step_spread;
    return log((1 - measured.blunder) * exp(-z * z / (2 * plain)) / sqrt(plain) +
               measured.blunder * exp(-z * z / (2 * wild)) / sqrt(wild));
}

/* ln ratio of a contrast's densities with an alternating mean and without; wild ones say nothing.
 */
static double contrast_ratio(double c, double expected, double variance)
{
    const double wild = measured.contrast_spread, true_share = 1 - measured.blunder;
    double far = measured.blunder * exp(-c * c / (2 * wild * variance)) / sqrt(wild);
    double d = c - expected;
    return log((true_share * exp(-d * d / (2 * variance)) + far) /
               (true_share * exp(-c * c / (2 * variance)) + far));
}

/* Running sums over a chain, by place in the cycle: index i speaks of gap i and, for steps, of the
 * change to i
 * + 1. */
struct sums {
    double *change[FL_FRAMES_MOST][GROWTHS];   /* up to gap i */
    double *detail[FL_FRAMES_MOST][MULTIPLES]; /* ln ratio of the contrasts, if pictures of this
                                                  place are the sharper ones */
    double *length[FL_FRAMES_MOST]; /* ln ratio of the gaps' lengths, if they are rendered */
    int cycle;                      /* N: places are gaps' numbers modulo it */
};

static void sums_open(struct sums *s, int cycle, size_t n)
{
    *s = (struct sums){.cycle = cycle};
    for (int p = 0; p < cycle; p++) {
        for (int k = 0; k < GROWTHS; k++)
            s->change[p][k] = FL_NEW(double, n + 1);
        for (int k = 0; k < MULTIPLES; k++)
            s->detail[p][k] = FL_NEW(double, n + 1);
        s->length[p] = FL_NEW(double, n + 1);
    }
}

static void sums_close(struct sums *s)
{
    for (int p = 0; p < s->cycle; p++) {
        for (int k = 0; k < GROWTHS; k++)
            free(s->change[p][k]);
        for (int k = 0; k < MULTIPLES; k++)
            free(s->detail[p][k]);
        free(s->length[p]);
    }
}

static double spreads_from(double length_s, double usual_s)
{
    return fmin(fabs(log(length_s / usual_s)) / lengths.spread, lengths.far);
}

/* ln ratio of a gap's length: of this picture of the N at a half of the rate (or, with N above 2,
 * down to an N-th), against off. A heavy scene may be off, too: then gaps are twice as long, which
 * they never are with synthesis on. */
static double length_ratio(const struct fl_gap *g, const struct fl_half_rate_input *in, int picture)
{
    double length_s = (double)(g->to - g->from) * in->slot_s, whole_s = in->rates.off_period_s,
           part_s = in->rates.share[picture] * in->rates.on_period_s, on = lengths.far;
    if (length_s > lengths.longer * fmax(whole_s, in->rates.frames * part_s))
        return lengths.long_gap;
    for (int slower = 2; slower <= in->rates.frames; slower++)
        on = fmin(on, spreads_from(length_s, slower * part_s));
    double off = spreads_from(length_s, whole_s);
    return (off * off - on * on) / 2;
}

/* Sign of the contrast to the picture before: the rendered one is sharper than those about it. */
static int contrast_sign(int picture)
{
    return picture == 0 ? 1 : picture == 1 ? -1 : 0;
}

/* Which of the N a place of the cycle shows, if the rendered one is at `rendered`. */
static int picture(const struct sums *s, int place, int rendered)
{
    return (place - rendered + s->cycle) % s->cycle;
}

static void sums_fill(struct sums *s, const struct fl_half_rate_input *in, size_t first, size_t n,
                      const struct fl_softness *soft)
{
    double contrast_of = soft->seen ? soft->contrast : usual.contrast;
    double variance = 2 * pow(fmax(soft->spread, usual.least_spread),
                              2); /* neighbouring contrasts share a picture */
    const struct fl_step_change *change = in->change + first;
    const double *contrast = in->contrast + first;
    const struct fl_gap *gap = in->gap + first;
    for (size_t i = 0; i < n; i++) {
        bool known = i + 1 < n && !isnan(change[i].px);
        const int at = (int)(i % (size_t)s->cycle);
        for (int p = 0; p < s->cycle; p++)
            for (int k = 0; k < GROWTHS; k++) {
                bool told = known && at == p;
                s->change[p][k][i + 1] =
                    s->change[p][k][i] +
                    (told ? change_density(change[i].px / change[i].error, growths[k]) : 0);
            }
        for (int p = 0; p < s->cycle; p++)
            for (int k = 0; k < MULTIPLES; k++) {
                double expected =
                    softness_multiples[k] * contrast_of * contrast_sign(picture(s, at, p));
                s->detail[p][k][i + 1] =
                    s->detail[p][k][i] +
                    (isnan(contrast[i]) ? 0 : contrast_ratio(contrast[i], expected, variance));
            }
        for (int p = 0; p < s->cycle; p++)
            s->length[p][i + 1] =
                s->length[p][i] +
                (gap[i].mode == FL_GAP_OFF ? length_ratio(&gap[i], in, picture(s, at, p)) : 0);
    }
}

/* Changes within [a, b): the last gap's change leads out of it. */
static double changes(const struct sums *s, int place, int growth, size_t a, size_t b)
{
    assert(a < b);
    return s->change[place][growth][b - 1] - s->change[place][growth][a];
}

/* ln likelihood ratio that the changes but for one place's lie within N equal steps, against none:
 * the change at a rendered picture is free. */
static double step_odds(const struct sums *s, int rendered, size_t a, size_t b)
{
    double off[GROWTHS] = {0}, on[GROWTHS] = {0};
    for (int k = 0; k < GROWTHS; k++)
        for (int p = 0; p < s->cycle; p++) {
            off[k] += changes(s, p, k, a, b);
            on[k] += changes(s, p, p == rendered ? k : 0, a, b);
        }
    return log_mean_exp(on, GROWTHS) - log_mean_exp(off, GROWTHS);
}

/* The same for detail that is higher in gaps of one place. */
static double detail_odds(const struct sums *s, int sharp, size_t a, size_t b)
{
    double odds[MULTIPLES];
    for (int k = 0; k < MULTIPLES; k++)
        odds[k] = s->detail[sharp][k][b] - s->detail[sharp][k][a];
    return log_mean_exp(odds, MULTIPLES);
}

/* ln likelihood ratio that [a, b) is on at half the rate, by the place of its rendered pictures:
 * the steps to the synthesised pictures and to the next rendered one are equal. Of what they show,
 */
static double picture_ratio(const struct sums *s, size_t a, size_t b, int rendered)
{
    return step_odds(s, rendered, a, b) + detail_odds(s, rendered, a, b);
}

/* and of that and the gaps' lengths. */
static double stretch_ratio(const struct sums *s, size_t a, size_t b, int rendered)
{
    return picture_ratio(s, a, b, rendered) + s->length[rendered][b] - s->length[rendered][a];
}

/* Sides: on, by the place of the rendered pictures in the cycle (0 to N - 1), or off. */
enum { OFF = FL_FRAMES_MOST, SIDES };

/* The best parting of the gaps before here, by the side of the last one. */
struct best {
    double weight[SIDES];
    size_t from[SIDES];  /* where its stretch began */
    int before[SIDES];   /* side of the stretch before; SIDES: none */
    double ratio[SIDES]; /* of that stretch alone */
};

static void best_off(struct best *b, int cycle, size_t i)
{
    b[i].weight[OFF] = b[i - 1].weight[OFF];
    b[i].from[OFF] = b[i - 1].from[OFF];
    b[i].before[OFF] = b[i - 1].before[OFF];
    for (int side = 0; side < cycle; side++)
        if (b[i - 1].weight[side] + scenes.leave > b[i].weight[OFF]) {
            b[i].weight[OFF] = b[i - 1].weight[side] + scenes.leave;
            b[i].from[OFF] = i - 1;
            b[i].before[OFF] = side;
        }
}

/* The likeliest way for a stretch of one side to begin at j. How fast the camera's speed changes
 * differs along a flick, so a stretch may follow one of its own side, or of the other where a flip
 * was missed. */
static double begin_on(const struct best *b, int cycle, int side, double enter, int *before)
{
    double best = b->weight[side] + scenes.go_on;
    *before = side;
    for (int k = 1; k <= cycle; k++) {
        const int from = k < cycle ? (side + k) % cycle : OFF;
        const double start = b->weight[from] + (from == OFF ? enter : scenes.slip);
        if (start > best) {
            best = start;
            *before = from;
        }
    }
    return best;
}

static void best_on(struct best *b, size_t i, int side, double enter, const struct sums *s)
{
    b[i].weight[side] = -INFINITY;
    for (size_t j = i > MOST_GAPS ? i - MOST_GAPS : 0; j + LEAST_GAPS <= i; j++) {
        int before;
        double start = begin_on(&b[j], s->cycle, side, enter, &before),
               ratio = stretch_ratio(s, j, i, side);
        if (start + ratio > b[i].weight[side]) {
            b[i].weight[side] = start + ratio;
            b[i].from[side] = j;
            b[i].before[side] = before;
            b[i].ratio[side] = ratio;
        }
    }
}

static void mark(struct fl_half_rate *out, size_t from, size_t to, int side, int cycle,
                 double ratio)
{
    for (size_t i = from; i < to; i++)
        out[i] = (struct fl_half_rate){side != OFF, ratio, to - from,
                                       (int)(i % (size_t)cycle) == side ? FL_KIND_RENDERED
                                                                        : FL_KIND_SYNTHESISED};
}

/* What speaks for the likelier side on against a stretch off. */
static double off_ratio(const struct sums *s, size_t a, size_t b)
{
    double best = picture_ratio(s, a, b, 0);
    for (int p = 1; p < s->cycle; p++)
        best = fmax(best, picture_ratio(s, a, b, p));
    return best - log(s->cycle);
}

/* Stretches on that follow one another speak together. */
static void join_stretches(struct fl_half_rate *out, size_t n)
{
    for (size_t i = 0; i < n;) {
        size_t end = i;
        double ratio = -scenes.go_on;
        while (end < n && out[end].halved == out[i].halved) {
            ratio += out[end].log_ratio + (out[i].halved ? scenes.go_on : 0);
            end += out[end].gaps;
        }
        for (size_t k = i; out[i].halved && k < end; k++) {
            out[k].log_ratio = ratio;
            out[k].gaps = end - i;
        }
        i = end;
    }
}

static void judge_chain(struct fl_half_rate *out, const struct fl_half_rate_input *in, size_t first,
                        size_t end, double enter, const struct fl_softness *soft)
{
    size_t n = end - first;
    struct sums s;
    struct best *b = FL_NEW(struct best, n + 1);
    sums_open(&s, in->rates.frames, n);
    sums_fill(&s, in, first, n, soft);
    for (int side = 0; side < OFF; side++)
        b[0].weight[side] = -INFINITY;
    for (size_t i = 1; i <= n; i++) {
        best_off(b, s.cycle, i);
        for (int side = 0; side < s.cycle; side++)
            best_on(b, i, side, enter, &s);
    }
    int side = OFF;
    for (int k = s.cycle; k-- > 0;)
        side = b[n].weight[k] > b[n].weight[side] ? k : side;
    for (size_t i = n; i > 0;) {
        size_t from = b[i].from[side];
        assert(side < SIDES && from < i);
        int before = b[i].before[side];
        mark(out + first, from, i, side, s.cycle,
             side == OFF ? off_ratio(&s, from, i) : b[i].ratio[side]);
        i = from;
        side = before;
    }
    join_stretches(out + first, n);
    sums_close(&s);
    free(b);
}

/* Gaps on with this N (off with 0) that follow one another; any other gap stands alone. */
static bool linked(const struct fl_gap *g, int frames)
{
    return frames ? fl_gap_frames(g->mode) == frames : g->mode == FL_GAP_OFF;
}

static size_t chain_end(const struct fl_gap *gap, size_t n, size_t i, int frames)
{
    size_t end = i + 1;
    while (linked(&gap[i], frames) && end < n && linked(&gap[end], frames) &&
           gap[end].from == gap[end - 1].to)
        end++;
    return end;
}

/* ln likelihood ratio of n changes, of which every cycle-th is free and the others lie within a
 * rendered picture's own, against all free. */
static double cycle_odds(const struct fl_step_change *change, size_t n, int cycle, int free_at)
{
    double on[GROWTHS] = {0}, off[GROWTHS] = {0};
    for (size_t i = 0; i < n; i++)
        for (int k = 0; k < GROWTHS && !isnan(change[i].px); k++) {
            double z = change[i].px / change[i].error;
            off[k] += change_density(z, growths[k]);
            on[k] +=
                change_density(z, (int)(i % (size_t)cycle) == free_at ? growths[k] : growths[0]);
        }
    return log_mean_exp(on, GROWTHS) - log_mean_exp(off, GROWTHS);
}

static double stretch_cycle(const struct fl_step_change *change, size_t n, int cycle)
{
    double odds[FL_CYCLE_MOST] = {0};
    assert(cycle <= FL_CYCLE_MOST);
    for (int k = 0; k < cycle; k++)
        odds[k] = cycle_odds(change, n, cycle, k);
    return log_mean_exp(odds, (size_t)cycle);
}

/* With at most so many nats for the likeliest cycle; others keep their distance to it. */
static double capped_cycle(const struct fl_step_change *change, size_t n, int cycle)
{
    double top = -INFINITY;
    for (int k = 2; k <= FL_CYCLE_MOST; k++)
        top = fmax(top, stretch_cycle(change, n, k));
    double over = fmax(0, top - most_of_stretch);
    return fmax(-most_of_stretch, stretch_cycle(change, n, cycle) - over);
}

double fl_cycle_ratio(const struct fl_half_rate_input *in, int frames, int cycle)
{
    double sum = 0;
    if (cycle < 2 || cycle > FL_CYCLE_MOST)
        return NAN;
    for (size_t i = 0, end; i < in->n; i = end) {
        end = chain_end(in->gap, in->n, i, frames);
        for (size_t from = i, to; from + LEAST_GAPS <= end; from = to) {
            to = end - from > 2 * STRETCH_GAPS ? from + STRETCH_GAPS : end;
            sum += capped_cycle(in->change + from, to - from - 1, cycle);
        }
    }
    return sum;
}

double fl_hitch_ratio(const struct fl_half_rate_input *in, size_t first, size_t end,
                      const struct fl_softness *soft)
{
    const size_t n = end - first;
    struct sums s;
    double odds[FL_FRAMES_MOST] = {0};
    assert(first < end && end <= in->n);
    sums_open(&s, in->rates.frames, n);
    sums_fill(&s, in, first, n, soft);
    for (int p = 0; p < s.cycle; p++)
        odds[p] = cycle_odds(in->change + first, n, s.cycle, p) + detail_odds(&s, p, 0, n);
    const double ratio = log_mean_exp(odds, (size_t)s.cycle);
    sums_close(&s);
    return log((1 - short_blunder) * exp(ratio) + short_blunder);
}

/* Time from the gaps [a, b) to the nearest halved one outside them. */
static double to_halved_s(const struct fl_half_rate *h, const struct fl_half_rate_input *in,
                          size_t a, size_t b)
{
    const struct fl_gap *gap = in->gap;
    double nearest = INFINITY, slot_s = in->slot_s;
    for (size_t i = a; i-- > 0 && (double)(gap[a].from - gap[i].to) * slot_s < scenes.near_s;)
        if (h[i].halved)
            nearest = fmin(nearest, (double)(gap[a].from - gap[i].to) * slot_s);
    for (size_t i = b; i < in->n && (double)(gap[i].from - gap[b - 1].to) * slot_s < scenes.near_s;
         i++)
        if (h[i].halved)
            nearest = fmin(nearest, (double)(gap[i].from - gap[b - 1].to) * slot_s);
    return nearest;
}

void fl_half_rate_test(struct fl_half_rate *out, const struct fl_half_rate_input *in,
                       const struct fl_softness *soft)
{
    const struct fl_gap *gap = in->gap;
    for (size_t i = 0, end; i < in->n; i = end) {
        end = chain_end(gap, in->n, i, 0);
        if (gap[i].mode == FL_GAP_OFF)
            judge_chain(out, in, i, end, scenes.enter_alone, soft);
        else
            out[i] = (struct fl_half_rate){false, NAN, 1, FL_KIND_UNKNOWN};
    }
    for (size_t i = 0, end; i < in->n; i = end) { /* a heavy scene often spans several chains */
        end = chain_end(gap, in->n, i, 0);
        if (gap[i].mode == FL_GAP_OFF && to_halved_s(out, in, i, end) < scenes.near_s)
            judge_chain(out, in, i, end, scenes.enter_near, soft);
    }
}
