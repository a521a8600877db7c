#include "state/halved.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "maths/robust.h"

/* Changes of steps are known to a tenth of a working pixel at best, and a part of the step itself: near
 * things move further and come and go. */
static const double least_error_px = 0.1, error_share = 0.015;
/* Spread of changes from one step to the next, in units of that error: from none to a flick's. */
static const double growths[] = {0, 1, 4, 16, 64, 256, 1024};
enum { GROWTHS = sizeof growths / sizeof *growths };
/* A step is measured wrong altogether now and then. */
static const double blunder = 0.05, blunder_spread = 100;
/* Contrasts of synthesised pictures, ln, where the take's own on-state does not tell. */
static const double long_gap = -4; /* ln ratio */
static const double usual_contrast = 0.04, least_spread = 0.03;
static const double softness_multiples[] = {0.5, 1, 2};
enum { MULTIPLES = sizeof softness_multiples / sizeof *softness_multiples };
/* A heavy scene begins in one chain in four hundred, in one in twenty near another, and ends in one flip
 * in a hundred. It lasts for a second or two. */
static const double enter_alone = -6, enter_near = -3, leave = -4.6, go_on = -1, near_s = 1.5;
enum { LEAST_GAPS = 4, MOST_GAPS = 100 };

/* Shifts, by band, of the rows that were scanned for the first time since the flip that starts a gap; NaN
 * where unknown. */
static void steps_at(float *shift, const struct fl_evidence *e, const struct fl_rows *r, const struct fl_gap *g)
{
    size_t per = (size_t)e->slots_a_frame, to = g->from + per < g->to ? g->from + per : g->to;
    for (int b = 0; b < r->bands; b++)
        shift[b] = NAN;
    for (size_t k = g->from; k < to && k < e->n; k++)
        if (k % per) {
            float v = r->shift[(size_t)e->slot[k].frame * (size_t)r->bands + k % per - 1];
            shift[k % per - 1] = v > 0 ? v : NAN;
        }
}

/* A local recording holds whole pictures: the step is the frame's own move. */
static void whole_steps_at(float *shift, const struct fl_evidence *e, const struct fl_rows *r, const struct fl_gap *g)
{
    size_t frame = (size_t)e->slot[g->from].frame;
    for (int b = 0; b < r->bands; b++) {
        float v = r->shift[frame * (size_t)r->bands + (size_t)b];
        shift[b] = v > 0 ? v : NAN;
    }
}

static struct fl_step_change compare(const float *before, const float *after, int bands, double *work)
{
    const double to_deviation = 1.4826; /* of a median absolute deviation, normal law */
    size_t n = 0;
    double step = 0;
    for (int b = 0; b < bands; b++)
        if (!isnan(before[b]) && !isnan(after[b])) {
            work[n++] = (double)after[b] - (double)before[b];
            step += fmax((double)after[b], (double)before[b]);
        }
    if (4 * n < (size_t)bands || n < 3)
        return (struct fl_step_change){NAN, NAN};
    double middle = fl_median(work, n);
    for (size_t i = 0; i < n; i++)
        work[i] = fabs(work[i] - middle);
    /* Bands side by side see the same things: count one in four. */
    double scatter = to_deviation * fl_median(work, n) / sqrt(fmax(1, (double)n / 4));
    return (struct fl_step_change){middle, fmax(scatter, hypot(least_error_px, error_share * step / (double)n))};
}

void fl_steps_compare(struct fl_step_change *out, const struct fl_evidence *e, const struct fl_rows *r,
                      const struct fl_gap *gap, size_t n)
{
    float *one = FL_NEW(float, (size_t)r->bands), *other = FL_NEW(float, (size_t)r->bands);
    double *work = FL_NEW(double, (size_t)r->bands);
    for (size_t i = 0; i < n; i++) {
        float *swap = one;
        one = other;
        other = swap;
        (e->local ? whole_steps_at : steps_at)(other, e, r, &gap[i]);
        if (i)
            out[i - 1] = gap[i].from == gap[i - 1].to ? compare(one, other, r->bands, work)
                                                      : (struct fl_step_change){NAN, NAN};
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
    double plain = 1 + growth, wild = plain + blunder_spread;
    return log((1 - blunder) * exp(-z * z / (2 * plain)) / sqrt(plain) + blunder * exp(-z * z / (2 * wild)) / sqrt(wild));
}

/* ln ratio of a contrast's densities with an alternating mean and without; wild ones say nothing. */
static double contrast_ratio(double c, double expected, double variance)
{
    const double wild = 25;
    double far = blunder * exp(-c * c / (2 * wild * variance)) / sqrt(wild), d = c - expected;
    return log(((1 - blunder) * exp(-d * d / (2 * variance)) + far) / ((1 - blunder) * exp(-c * c / (2 * variance)) + far));
}

/* Running sums over a chain, by parity: index i speaks of gap i and, for steps, of the change to i + 1. */
struct sums {
    double *change[2][GROWTHS]; /* up to gap i */
    double *detail[2][MULTIPLES]; /* ln ratio of the contrasts, if pictures of this parity are the sharper ones */
    double *longer;             /* ln ratio of the gaps' lengths */
};

static void sums_open(struct sums *s, size_t n)
{
    for (int p = 0; p < 2; p++)
        for (int k = 0; k < GROWTHS; k++)
            s->change[p][k] = FL_NEW(double, n + 1);
    for (int p = 0; p < 2; p++)
        for (int k = 0; k < MULTIPLES; k++)
            s->detail[p][k] = FL_NEW(double, n + 1);
    s->longer = FL_NEW(double, n + 1);
}

static void sums_close(struct sums *s)
{
    for (int p = 0; p < 2; p++)
        for (int k = 0; k < GROWTHS; k++)
            free(s->change[p][k]);
    for (int p = 0; p < 2; p++)
        for (int k = 0; k < MULTIPLES; k++)
            free(s->detail[p][k]);
    free(s->longer);
}

/* A heavy scene may be off, too: then gaps are twice as long, which they never are with synthesis on. */
static bool too_long(const struct fl_gap *g, const struct fl_halving_input *in)
{
    return (double)(g->to - g->from) * in->slot_s > 1.5 * in->off_period_s;
}

static void sums_fill(struct sums *s, const struct fl_halving_input *in, size_t first, size_t n,
                      const struct fl_softness *soft)
{
    double usual = soft->seen ? soft->contrast : usual_contrast;
    double variance = 2 * pow(fmax(soft->spread, least_spread), 2); /* neighbouring contrasts share a picture */
    const struct fl_step_change *change = in->change + first;
    const double *contrast = in->contrast + first;
    const struct fl_gap *gap = in->gap + first;
    for (size_t i = 0; i < n; i++) {
        bool known = i + 1 < n && !isnan(change[i].px);
        for (int p = 0; p < 2; p++)
            for (int k = 0; k < GROWTHS; k++) {
                bool told = known && (int)(i % 2) == p;
                s->change[p][k][i + 1] =
                    s->change[p][k][i] + (told ? change_density(change[i].px / change[i].error, growths[k]) : 0);
            }
        for (int p = 0; p < 2; p++)
            for (int k = 0; k < MULTIPLES; k++) {
                double expected = softness_multiples[k] * usual * ((int)(i % 2) == p ? 1 : -1);
                s->detail[p][k][i + 1] =
                    s->detail[p][k][i] + (isnan(contrast[i]) ? 0 : contrast_ratio(contrast[i], expected, variance));
            }
        s->longer[i + 1] = s->longer[i] + (too_long(&gap[i], in) ? long_gap : 0);
    }
}

/* Changes within [a, b): the last gap's change leads out of it. */
static double changes(const struct sums *s, int parity, int growth, size_t a, size_t b)
{
    return s->change[parity][growth][b - 1] - s->change[parity][growth][a];
}

/* ln likelihood ratio that the changes of one parity lie within a pair, against none. */
static double step_odds(const struct sums *s, int within, size_t a, size_t b)
{
    double off[GROWTHS], on[GROWTHS];
    for (int k = 0; k < GROWTHS; k++) {
        off[k] = changes(s, 0, k, a, b) + changes(s, 1, k, a, b);
        on[k] = changes(s, within, 0, a, b) + changes(s, !within, k, a, b);
    }
    return log_mean_exp(on, GROWTHS) - log_mean_exp(off, GROWTHS);
}

/* The same for detail that is higher in gaps of one parity. */
static double detail_odds(const struct sums *s, int sharp, size_t a, size_t b)
{
    double odds[MULTIPLES];
    for (int k = 0; k < MULTIPLES; k++)
        odds[k] = s->detail[sharp][k][b] - s->detail[sharp][k][a];
    return log_mean_exp(odds, MULTIPLES);
}

/* ln likelihood ratio that [a, b) is on at half the rate, by the parity of its rendered pictures: a
 * synthesised picture and the rendered one after it make a pair. */
static double stretch_ratio(const struct sums *s, size_t a, size_t b, int rendered)
{
    return step_odds(s, !rendered, a, b) + detail_odds(s, rendered, a, b) + s->longer[b] - s->longer[a];
}

enum { ON_EVEN, ON_ODD, OFF, SIDES }; /* on, by the parity of the rendered pictures */

/* The best parting of the gaps before here, by the side of the last one. */
struct best {
    double weight[SIDES];
    size_t from[SIDES]; /* where its stretch began */
    int before[SIDES];  /* side of the stretch before; SIDES: none */
    double ratio[SIDES]; /* of that stretch alone */
};

static void best_off(struct best *b, size_t i)
{
    b[i].weight[OFF] = b[i - 1].weight[OFF];
    b[i].from[OFF] = b[i - 1].from[OFF];
    b[i].before[OFF] = b[i - 1].before[OFF];
    for (int side = 0; side < OFF; side++)
        if (b[i - 1].weight[side] + leave > b[i].weight[OFF]) {
            b[i].weight[OFF] = b[i - 1].weight[side] + leave;
            b[i].from[OFF] = i - 1;
            b[i].before[OFF] = side;
        }
}

/* How fast the camera's speed changes differs along a flick: a stretch may follow one of its own side. */
static void best_on(struct best *b, size_t i, int side, double enter, const struct sums *s)
{
    b[i].weight[side] = -INFINITY;
    for (size_t j = i > MOST_GAPS ? i - MOST_GAPS : 0; j + LEAST_GAPS <= i; j++) {
        bool again = b[j].weight[side] + go_on > b[j].weight[OFF] + enter;
        double ratio = stretch_ratio(s, j, i, side);
        double v = ratio + (again ? b[j].weight[side] + go_on : b[j].weight[OFF] + enter);
        if (v > b[i].weight[side]) {
            b[i].weight[side] = v;
            b[i].from[side] = j;
            b[i].before[side] = again ? side : OFF;
            b[i].ratio[side] = ratio;
        }
    }
}

static void mark(struct fl_halving *out, size_t from, size_t to, int side, double ratio)
{
    for (size_t i = from; i < to; i++)
        out[i] = (struct fl_halving){side != OFF, ratio, to - from,
                                     (int)(i % 2) == side ? FL_KIND_RENDERED : FL_KIND_SYNTHESISED};
}

/* What speaks for the likelier side on against a stretch off. */
static double off_ratio(const struct sums *s, size_t a, size_t b)
{
    return fmax(stretch_ratio(s, a, b, ON_EVEN), stretch_ratio(s, a, b, ON_ODD)) - M_LN2;
}

static void judge_chain(struct fl_halving *out, const struct fl_halving_input *in, size_t first, size_t end, double enter,
                        const struct fl_softness *soft)
{
    size_t n = end - first;
    struct sums s;
    struct best *b = FL_NEW(struct best, n + 1);
    sums_open(&s, n);
    sums_fill(&s, in, first, n, soft);
    b[0] = (struct best){.weight = {-INFINITY, -INFINITY, 0}};
    for (size_t i = 1; i <= n; i++) {
        best_off(b, i);
        for (int side = 0; side < OFF; side++)
            best_on(b, i, side, enter, &s);
    }
    int side = b[n].weight[ON_EVEN] > b[n].weight[ON_ODD] ? ON_EVEN : ON_ODD;
    if (b[n].weight[OFF] >= b[n].weight[side])
        side = OFF;
    for (size_t i = n; i > 0;) {
        size_t from = b[i].from[side];
        int before = b[i].before[side];
        double ratio = side == OFF ? off_ratio(&s, from, i) : b[i].ratio[side];
        for (; before == side && from > 0; from = b[from].from[side]) {
            ratio += go_on + b[from].ratio[side];
            before = b[from].before[side];
        }
        mark(out + first, from, i, side, ratio);
        i = from;
        side = before;
    }
    sums_close(&s);
    free(b);
}

/* Gaps off that follow one another; any other gap stands alone. */
static size_t chain_end(const struct fl_gap *gap, size_t n, size_t i)
{
    size_t end = i + 1;
    while (gap[i].mode == FL_GAP_OFF && end < n && gap[end].mode == FL_GAP_OFF && gap[end].from == gap[end - 1].to)
        end++;
    return end;
}

/* Time from the gaps [a, b) to the nearest halved one outside them. */
static double to_halved_s(const struct fl_halving *h, const struct fl_halving_input *in, size_t a, size_t b)
{
    const struct fl_gap *gap = in->gap;
    double nearest = INFINITY, slot_s = in->slot_s;
    for (size_t i = a; i-- > 0 && (double)(gap[a].from - gap[i].to) * slot_s < near_s;)
        if (h[i].halved)
            nearest = fmin(nearest, (double)(gap[a].from - gap[i].to) * slot_s);
    for (size_t i = b; i < in->n && (double)(gap[i].from - gap[b - 1].to) * slot_s < near_s; i++)
        if (h[i].halved)
            nearest = fmin(nearest, (double)(gap[i].from - gap[b - 1].to) * slot_s);
    return nearest;
}

void fl_halved_judge(struct fl_halving *out, const struct fl_halving_input *in, const struct fl_softness *soft)
{
    const struct fl_gap *gap = in->gap;
    for (size_t i = 0, end; i < in->n; i = end) {
        end = chain_end(gap, in->n, i);
        if (gap[i].mode == FL_GAP_OFF)
            judge_chain(out, in, i, end, enter_alone, soft);
        else
            out[i] = (struct fl_halving){false, NAN, 1, FL_KIND_UNKNOWN};
    }
    for (size_t i = 0, end; i < in->n; i = end) { /* a heavy scene often spans several chains */
        end = chain_end(gap, in->n, i);
        if (gap[i].mode == FL_GAP_OFF && to_halved_s(out, in, i, end) < near_s)
            judge_chain(out, in, i, end, enter_near, soft);
    }
}
