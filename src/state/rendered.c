/* Gaps off of the best path → stretches of flips that are held in place → a period.
 *
 * Where nothing holds a flip, the path puts it where its rates would have it, and its gaps repeat
 * what it was told. */
#include "state/rendered.h"

#include <math.h>

#include "base/units.h"

/* Choices, but for the slide: delays that change with the state do so within 35 to 100 ms (as the
 * clock allows for, clock/exposure_rows.h). */
static const struct {
    float sure;      /* posterior of a gap that counts */
    double settle_s; /* from the first sure gap on */
    double nats;     /* that moving a flip either way costs where it is held: seven to one */
    int part;        /* of a frame, by which it is moved */
    double usual;    /* lengths within this ratio of the period are one: a heavy scene's, and those
                        over a missed flip, are twice as long */
} model = {.sure = 0.9f, .settle_s = 0.1, .nats = 2, .part = 6, .usual = 1.35};

/* First slot whose rows a flip at slot t leaves unchanged, if none follows. */
static size_t unchanged_by(const struct fl_evidence *e, size_t t)
{
    size_t j = t;
    while (j < e->n && (long)j - e->slot[j].lag < (long)t)
        j++;
    return j;
}

/* ln evidence that rows [from, to) stood still. */
static double still_between(const struct fl_evidence *e, size_t from, size_t to)
{
    double sum = 0;
    for (size_t k = from; k < to; k++)
        sum += (double)e->slot[k].still;
    return sum;
}

/* What the flip between two gaps would gain by lying at slot `at`. Rows up to it stood still from a
 * frame after the flip before; rows from a frame after it on, up to the next. */
static double gain_at(const struct fl_evidence *e, const struct fl_gap *before,
                      const struct fl_gap *after, size_t at)
{
    const size_t t = after->from, low = at < t ? at : t, high = at < t ? t : at;
    size_t stood = before ? unchanged_by(e, before->from) : high;
    size_t stand = unchanged_by(e, low), end = unchanged_by(e, high);
    stood = stood < low ? low : stood;
    end = end < after->to ? end : after->to;
    const double later = still_between(e, stood, high) - still_between(e, stand, end);
    return (at < t ? -later : later) + (double)e->slot[at].flip - (double)e->slot[t].flip;
}

/* Do the rows hold the flip that starts a gap where it is? before: the gap that ends there, NULL if
 * none does. Flips that wait for the capture's clock are held to a whole frame. */
static bool held(const struct fl_evidence *e, const struct fl_rates *rates,
                 const struct fl_gap *before, const struct fl_gap *after)
{
    const size_t t = after->from,
                 by = (size_t)(e->slots_a_frame / (rates->quantum_s > 0 ? 1 : model.part)) + 1;
    return t >= by && t + by < e->n && gain_at(e, before, after, t - by) < -model.nats &&
           gain_at(e, before, after, t + by) < -model.nats;
}

/* A gap off, sure and whole. */
static bool counts(const struct fl_renewal *r, const struct fl_evidence *e,
                   const struct fl_rates *rates, const struct fl_gap *g)
{
    if (g->mode != FL_GAP_OFF || r->p_off[(g->from + g->to) / 2] < model.sure)
        return false;
    const double ratio = (double)(g->to - g->from) * e->slot_s / rates->off_period_s;
    return rates->quantum_s > 0 || (ratio < model.usual && ratio > 1 / model.usual);
}

void fl_rendered_off(struct fl_rhythm *out, const struct fl_renewal *r, const struct fl_evidence *e,
                     const struct fl_rates *rates)
{
    struct fl_stretches s = {0};
    double sure_s = INFINITY, at = 0;
    for (size_t i = 0; i < r->n_gaps; i++) {
        const struct fl_gap *g = &r->gap[i], *before = i && g[-1].to == g->from ? g - 1 : NULL;
        const double time_s = (double)g->from * e->slot_s;
        const bool own = counts(r, e, rates, g), follows = before && counts(r, e, rates, before);
        if (!follows) {
            fl_stretch_end(&s);
            sure_s = time_s; /* it may have switched just now */
        }
        if ((own || follows) && time_s >= sure_s + model.settle_s && held(e, rates, before, g))
            fl_stretch_flip(&s, at, time_s);
        at += own;
    }
    fl_stretches_finish(out, &s);
}
