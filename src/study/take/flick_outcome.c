/* At risk? Tripped? (DESIGN: flick.) States and lapses against the times of the flicks. */
#include "study/take/flick.h"

#include "study/take/carriage.h"

#define TAIL_S 0.15 /* a trip this long after the flick still belongs to it */

/* ---- states around a flick ---- */

static const struct fl_state_span *span_at(const struct fl_states *s, double t_s)
{
    size_t lo = 0, hi = s->n_spans; /* last span that starts at or before t */
    while (lo < hi) {
        size_t mid = lo + (hi - lo) / 2;
        if (s->span[mid].start_s <= t_s)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo ? &s->span[lo - 1] : NULL;
}

/* The last state that was seen before t. */
static enum fl_state seen_before(const struct fl_states *s, double t_s)
{
    const struct fl_state_span *a = span_at(s, t_s);
    if (a && a->start_s >= t_s)
        a = a > s->span ? a - 1 : NULL;
    while (a && a->state == FL_STATE_UNSEEN)
        a = a > s->span ? a - 1 : NULL;
    return a ? a->state : FL_STATE_UNSEEN;
}

/* First start of a span in `state` within [from, to], not before from; NaN if there is none. */
static double first_seen(const struct fl_states *s, enum fl_state state, double from, double to)
{
    const struct fl_state_span *a = span_at(s, from), *end = s->span + s->n_spans;
    for (a = a ? a : s->span; a < end && a->start_s <= to; a++)
        if (a->state == state && a->end_s > from)
            return fmax(from, a->start_s);
    return FL_UNKNOWN;
}

/* The unseen stretch about t; of no length where the state was seen. */
static struct fl_span unseen_about(const struct fl_states *s, double t_s)
{
    const struct fl_state_span *a = span_at(s, t_s), *end = s->span + s->n_spans, *b = a;
    if (!a || a->state != FL_STATE_UNSEEN)
        return (struct fl_span){t_s, t_s};
    while (a > s->span && a[-1].state == FL_STATE_UNSEEN)
        a--;
    while (b + 1 < end && b[1].state == FL_STATE_UNSEEN)
        b++;
    return (struct fl_span){a->start_s, b->end_s};
}

static bool in_lapse(const struct fl_states *s, double t_s)
{
    for (size_t i = 0; i < s->n_lapses && s->lapse[i].start_s < t_s; i++)
        if (t_s < fmin(s->lapse[i].end_range_s[0], s->lapse[i].end_s))
            return true;
    return false;
}

/* Start of the first lapse that trips within [from, to]; NaN if none does. */
static double first_trip(const struct fl_states *s, double from, double to)
{
    for (size_t i = 0; i < s->n_lapses; i++)
        if (s->lapse[i].has_trip && s->lapse[i].start_s >= from && s->lapse[i].start_s <= to)
            return s->lapse[i].start_s;
    return FL_UNKNOWN;
}

/* ---- answers ---- */

/* An edge is known to about a base period: off that begins so shortly before a flick rises over
 * the floor is its own trip, not a state it found. */
static double risk_begins(const struct fl_take *t, const struct fl_flick *f)
{
    return f->start_s - (fl_known(t->kernel_ms) ? t->kernel_ms / 1000 : 0);
}

static enum fl_answer at_risk(const struct fl_take *t, size_t i)
{
    const struct fl_flick *f = &t->flicks[i];
    double begin = risk_begins(t, f);
    const struct fl_state_span *now = span_at(&t->states, begin);
    if ((now && now->state == FL_STATE_OFF) || in_lapse(&t->states, begin))
        return FL_NO;
    if (seen_before(&t->states, begin) == FL_STATE_ON)
        return FL_YES;
    double rest = f->start_s - (i ? t->flicks[i - 1].end_s : 0);
    return rest >= t->return_delay_p95_s ? FL_YES : FL_ANSWER_UNKNOWN;
}

/* Unseen where it was fastest, for long enough to hide a lapse: that on was seen later says
 * nothing. */
static bool rests_on_the_unseen(const struct fl_take *t, const struct fl_flick *f)
{
    struct fl_span u = unseen_about(&t->states, f->peak_s);
    double shortest_s = fl_known(t->kernel_ms) ? 2 * t->kernel_ms / 1000 : 0;
    return u.end_s - u.start_s > shortest_s;
}

static void outcome(struct fl_take *t, struct fl_flick *f)
{
    const struct fl_states *s = &t->states;
    double to = f->end_s + TAIL_S;
    double trip = first_trip(s, risk_begins(t, f), to),
           off = first_seen(s, FL_STATE_OFF, f->start_s, to);
    double on_late = first_seen(s, FL_STATE_ON, f->peak_s, to);
    if (fl_known(trip) || fl_known(off)) {
        f->tripped = FL_YES;
        f->trip_delay_s = trip - f->start_s; /* NaN when the lapse's start was not seen */
    } else if (fl_known(on_late) && !rests_on_the_unseen(t, f)) {
        f->tripped = FL_NO;
    }
}

/* What first tells of a trip: a lapse's start, or where that was not seen, off. */
static double first_sign(const struct fl_take *t, const struct fl_flick *f)
{
    double to = f->end_s + TAIL_S, trip = first_trip(&t->states, risk_begins(t, f), to);
    return fl_known(trip) ? trip : first_seen(&t->states, FL_STATE_OFF, f->start_s, to);
}

/* A trip in the tail of one flick and within the next has one cause: the faster of the two keeps
 * it, of the other nothing is known. */
static void share_trip(const struct fl_take *t, struct fl_flick *a, struct fl_flick *b,
                       enum fl_quantity by)
{
    if (a->tripped != FL_YES || b->tripped != FL_YES || first_sign(t, a) < risk_begins(t, b))
        return;
    struct fl_flick *slower = a->peak[by] < b->peak[by] ? a : b;
    slower->tripped = FL_ANSWER_UNKNOWN;
    slower->trip_delay_s = FL_UNKNOWN;
}

static enum fl_quantity speed_known(const struct fl_flick *f)
{
    return fl_known(f->peak[FL_CAMERA_SPEED]) ? FL_CAMERA_SPEED
           : fl_known(f->peak[FL_COUNT_RATE]) ? FL_COUNT_RATE
                                              : FL_IMAGE_STEP;
}

void fl_flick_outcomes(struct fl_take *t)
{
    t->carried_flicks = 0;
    for (size_t i = 0; i < t->n_flicks; i++) {
        struct fl_flick *f = &t->flicks[i];
        f->at_risk = at_risk(t, i);
        outcome(t, f);
        if (fl_carriage_touches(t, f->start_s, f->end_s)) {
            f->at_risk = FL_ANSWER_UNKNOWN;
            t->carried_flicks++;
        }
    }
    for (size_t i = 1; i < t->n_flicks; i++)
        share_trip(t, &t->flicks[i - 1], &t->flicks[i], speed_known(&t->flicks[i]));
    for (size_t i = 0; i < t->n_flicks; i++)
        if (t->flicks[i].trip_delay_s < 0)
            t->flicks[i].trip_delay_s = 0;
}
