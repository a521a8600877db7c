/* Where the picture's turn and the trace's part for long, the picture decides if it turns as one.
 */
#include "study/take/trace_mismatch.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "clock/parting.h"

#define LONG_S 0.5
#define BRIDGE_S 0.1
/* Choices. */
static const struct {
    double along; /* turns of real engines have 0.8 and more, rides past things nearby 0.3 to 0.7 */
    double rest;  /* share of the other's motion up to which one of the two rests */
    double scaled; /* correlation from which the trace is the picture's turn on another scale */
} model = {.rest = 0.1, .scaled = 0.8};

struct pairs {
    const struct fl_pair_series *trace, *picture;
};

static bool pair_at(const void *ctx, size_t i, struct fl_motion_pair *out)
{
    const struct fl_pair_series *t = ((const struct pairs *)ctx)->trace,
                                *p = ((const struct pairs *)ctx)->picture;
    *out = (struct fl_motion_pair){{t->x[i], t->y[i]}, {p->x[i], p->y[i]}};
    return !isnan(t->x[i]) && !isnan(t->y[i]) && !isnan(p->x[i]) && !isnan(p->y[i]);
}

/* Ends of the run that starts at i: the last differing frame with no long pause before it. */
static size_t run_end(const enum fl_parting *parting, const double *time_s, size_t n, size_t i)
{
    size_t last = i;
    for (size_t k = i; k < n && time_s[k] - time_s[last] < BRIDGE_S; k++)
        if (parting[k] == FL_APART)
            last = k;
    return last;
}

/* What both did in a stretch. */
struct sums {
    double trace, picture;         /* lengths */
    double both, trace2, picture2; /* products */
    struct fl_view_sums view;
};

static struct sums sum_up(const struct pairs *p, const struct fl_view_motion *view, size_t from,
                          size_t to)
{
    struct sums s = {0};
    struct fl_motion_pair m;
    for (size_t i = from; i <= to; i++) {
        if (view)
            fl_view_sums_add(&s.view, &view[i], 1);
        if (!pair_at(p, i, &m))
            continue;
        double t = hypot(m.trace[0], m.trace[1]), q = hypot(m.picture[0], m.picture[1]);
        s.trace += t;
        s.picture += q;
        s.trace2 += t * t;
        s.picture2 += q * q;
        s.both += m.trace[0] * m.picture[0] + m.trace[1] * m.picture[1];
    }
    return s;
}

static enum fl_word whose(const struct sums *s)
{
    bool turns = fl_view_turns(&s->view);
    bool rests = s->trace <= model.rest * s->picture;
    if (s->picture <= model.rest * s->trace)
        return FL_WORD_PICTURE;
    bool scaled = s->both >= model.scaled * sqrt(s->trace2 * s->picture2);
    return turns && (rests || scaled) ? FL_WORD_PICTURE : FL_WORD_NOBODY;
}

void fl_trace_mismatch(enum fl_word *word, const double *time_s, const struct fl_pair_series *trace,
                       const struct fl_pair_series *picture, const struct fl_view_motion *view)
{
    size_t n = trace->n;
    const struct pairs pairs = {trace, picture};
    enum fl_parting *parting = FL_NEW(enum fl_parting, n + 1);
    fl_parting_find(parting, time_s, n, &fl_parting_for_speed, pair_at, &pairs);
    for (size_t i = 0; i < n; i++) {
        word[i] = FL_WORD_TRACE;
        if (parting[i] != FL_APART)
            continue;
        size_t end = run_end(parting, time_s, n, i);
        const struct sums s = sum_up(&pairs, view, i, end);
        const enum fl_word whole = time_s[end] - time_s[i] >= LONG_S ? whose(&s) : FL_WORD_TRACE;
        for (; i < end; i++)
            word[i] = whole;
        word[end] = whole;
    }
    free(parting);
}
