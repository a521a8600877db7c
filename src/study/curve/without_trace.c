/* Keeps the picture's own answer beside the one that the trace helped with, and says where they
 * part. */
#include "study/curve/without_trace.h"

#include <math.h>

#include "study/curve/curve.h"
#include "study/curve/curve_fit.h"

static const double same_lapse = 0.5; /* of the union */

/* The take's own threshold; NaN without one. */
static struct fl_take_v50 fit_alone(struct fl_take *t)
{
    const struct fl_take_v50 none = {t, 0, 0, FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN};
    struct fl_curve c;
    if (t->spec.synthesis_disabled || !t->quantity[FL_CAMERA_SPEED])
        return none;
    fl_curve_fit_one(&c, &t, 1, FL_CAMERA_SPEED, t->arena);
    return c.bound == FL_BOUND_NONE ? c.by_take[0] : none;
}

void fl_without_trace_keep(struct fl_take *t, struct fl_take *alone)
{
    const struct fl_exposure *e = &alone->exposure;
    struct fl_take_v50 own = fit_alone(alone);
    t->without_trace = (struct fl_without_trace){.known = true,
                                                 .on_s = e->on_s,
                                                 .off_s = e->off_s,
                                                 .unseen_s = e->unseen_s,
                                                 .off_share = e->off_share,
                                                 .off_share_low = e->off_share_low,
                                                 .off_share_high = e->off_share_high,
                                                 .lapses = (long)alone->states.n_lapses,
                                                 .v50_deg_s = own.v50,
                                                 .v50_low_deg_s = own.low,
                                                 .v50_high_deg_s = own.high};
}

static double likeness(const struct fl_lapse *a, const struct fl_lapse *b)
{
    double common = fmin(a->end_s, b->end_s) - fmax(a->start_s, b->start_s);
    return fmax(common, 0) / (fmax(a->end_s, b->end_s) - fmin(a->start_s, b->start_s));
}

static void mark(struct fl_states *s, struct fl_lapse *l)
{
    l->evidence |= FL_EVIDENCE_TRACE;
    for (size_t i = 0; i < s->n_spans; i++)
        if (s->span[i].state == FL_STATE_OFF && s->span[i].start_s < l->end_s &&
            s->span[i].end_s > l->start_s)
            s->span[i].evidence |= FL_EVIDENCE_TRACE;
}

void fl_without_trace_mark(struct fl_states *now, const struct fl_states *before)
{
    for (size_t i = 0; i < now->n_lapses; i++) {
        bool seen = false;
        for (size_t k = 0; k < before->n_lapses && !seen; k++)
            seen = likeness(&now->lapse[i], &before->lapse[k]) >= same_lapse;
        if (!seen)
            mark(now, &now->lapse[i]);
    }
}

/* Outside [low, high]; an end that is not known is open. */
static bool leaves(double x, double low, double high)
{
    const double slack = 1e-9;
    return fl_known(x) &&
           ((fl_known(low) && x < low - slack) || (fl_known(high) && x > high + slack));
}

static void warn_share(struct fl_take *t)
{
    const struct fl_without_trace *p = &t->without_trace;
    fl_take_warn(
        t, "trace_moves_share",
        "With the trace's help to see, synthesis is off for %.0f %% of the seen time (%.0f to "
        "%.0f %% of all time); by the picture alone for %.0f %% (%.0f to %.0f %%). Both "
        "are given.",
        100 * t->exposure.off_share, 100 * t->exposure.off_share_low,
        100 * t->exposure.off_share_high, 100 * p->off_share, 100 * p->off_share_low,
        100 * p->off_share_high);
}

void fl_without_trace_compare(struct fl_take *t)
{
    struct fl_without_trace *p = &t->without_trace;
    if (!p->known)
        return;
    struct fl_take_v50 own = fit_alone(t);
    bool share = fl_known(p->off_share) &&
                 leaves(t->exposure.off_share, p->off_share_low, p->off_share_high);
    bool v50 = fl_known(p->v50_deg_s) && leaves(own.v50, p->v50_low_deg_s, p->v50_high_deg_s);
    p->differs = share || v50;
    if (share)
        warn_share(t);
    if (v50)
        fl_take_warn(t, "trace_moves_v50",
                     "With the trace's help to see, V50 of this take is %.0f deg/s; by the picture "
                     "alone %.0f. Both are "
                     "given.",
                     own.v50, p->v50_deg_s);
}
