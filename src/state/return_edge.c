/* Off, then on → the bracket of what flips show of the return.
 *
 * After a rest the renewal model takes either state to be as it is, and a return at a later flip to
 * be rare. That is right for telling which state a stretch is in. It is wrong for telling when the
 * state changed: where motion sets in so slowly that the first flips show nothing, on would begin
 * with them. So the flips about a return are heard again by the same model, with one as likely at
 * any flip as at any other, or as none. */
#include "state/return_edge.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"

/* Lengths are in base periods off. Choices. */
static const struct {
    double inside, between; /* heard again of each run, and of the time between: all that can bear
                               on the return, and little more, as it is work */
    double one_gap;         /* ends that move by less are left at the flip where they were */
    float shown;            /* posterior of a state at its end of the bracket, which is to hold
                               in 95 of 100 cases */
} model = {.inside = 16, .between = 8, .one_gap = 1.5, .shown = 0.95f};

struct work {
    const struct fl_evidence *e;
    struct fl_renewal r;
    size_t inside, between, one_gap; /* as above, slots */
};

static size_t slots_in(double periods, const struct fl_evidence *e, const struct fl_rates *rates)
{
    return (size_t)(periods * rates->off_period_s / e->slot_s);
}

static bool returns(const struct fl_run *a)
{
    return a[0].state == FL_STATE_OFF && a[1].state == FL_STATE_ON;
}

/* Where the last of off and the first of on are heard again: one stretch if they meet. */
static size_t first_heard(const struct work *w, const struct fl_run *a)
{
    return a->to - a->from > w->inside ? a->to - w->inside : a->from;
}

static size_t last_heard(const struct work *w, const struct fl_run *on)
{
    return on->to - on->from > w->inside ? on->from + w->inside : on->to;
}

static size_t push_heard(struct fl_segment *out, const struct work *w, const struct fl_run *a)
{
    const struct fl_run *on = a + 1;
    assert(a->from < a->to && a->to <= on->from && on->from < on->to);
    out[0] = (struct fl_segment){.from = first_heard(w, a), .to = last_heard(w, on)};
    if (on->from - a->to <= 2 * w->between)
        return 1;
    out[1] = (struct fl_segment){.from = on->from - w->between, .to = out[0].to};
    out[0].to = a->to + w->between;
    return 2;
}

static size_t first_shown(const struct work *w, const struct fl_run *on)
{
    size_t at = on->from;
    const size_t end = last_heard(w, on);
    while (at < end && w->r.p_on[at] < model.shown)
        at++;
    return at < end ? at : on->from; /* what told the run lies farther on */
}

static size_t last_shown(const struct work *w, const struct fl_run *a)
{
    size_t at = a->to;
    const size_t first = first_heard(w, a);
    while (at > first && w->r.p_off[at - 1] < model.shown)
        at--;
    return at > first ? at : a->to;
}

/* Runs that share an edge share it still if that is known to a gap. */
static void settle(const struct work *w, struct fl_run *a)
{
    struct fl_run *on = a + 1;
    const size_t low = last_shown(w, a), high = first_shown(w, on);
    const bool shared = on->from_s <= a->to_s;
    if (shared && high - low <= w->one_gap)
        return;
    if (shared || high > on->from) {
        on->from = high;
        on->from_s = fl_slot_edge_s(w->e, high);
    }
    if (shared || a->to - low > w->one_gap) {
        a->to = low;
        a->to_s = fl_slot_edge_s(w->e, low);
    }
}

void fl_return_edges(struct fl_runs *runs, const struct fl_evidence *e,
                     const struct fl_rates *rates, int threads)
{
    struct work w = {.e = e,
                     .inside = slots_in(model.inside, e, rates),
                     .between = slots_in(model.between, e, rates),
                     .one_gap = slots_in(model.one_gap, e, rates)};
    struct fl_segment *heard = FL_NEW(struct fl_segment, 2 * runs->n + 1);
    struct fl_rates open = *rates;
    size_t n = 0;
    open.any_return = true;
    for (size_t k = 0; k + 1 < runs->n; k++)
        if (returns(&runs->v[k]))
            n += push_heard(heard + n, &w, &runs->v[k]);
    fl_renewal_solve(&w.r, e, heard, n, &open, threads);
    for (size_t k = 0; k + 1 < runs->n; k++)
        if (returns(&runs->v[k]))
            settle(&w, &runs->v[k]);
    fl_renewal_finish(&w.r);
    free(heard);
}
