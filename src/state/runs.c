/* Posterior → runs: slots of one sure state in a row, tidied.
 *
 * The posterior says how sure a state is, the best path where its flips lie: a run's ends are taken
 * from the path, its being there from the posterior. */
#include "state/runs.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"

/* What makes a run. Lengths are in base periods of the run's own state, or of off between runs;
 * choices, of which the shortest lapse of interest (two base periods) sets the scale. */
static const struct {
    double shortest_off; /* two gaps, a little short as paced */
    double shortest_on;  /* one pair, the same */
    double bridged;      /* neighbours of one state closer than this are one */
    double beside;       /* on and off closer than this share an edge at a flip, ... */
    double edge_reach;   /* ... sought this far on either side */
} model = {.shortest_off = 1.5, .shortest_on = 0.75, .bridged = 2, .beside = 3, .edge_reach = 4};

double fl_slot_edge_s(const struct fl_evidence *e, size_t slot)
{
    assert(e->n > 0 && slot <= e->n);
    return slot < e->n ? e->slot[slot].time_s - e->slot_s / 2
                       : e->slot[e->n - 1].time_s + e->slot_s / 2;
}

static enum fl_state slot_state(const struct fl_renewal *r, size_t i)
{
    return r->p_on[i] >= FL_RUN_SURE    ? FL_STATE_ON
           : r->p_off[i] >= FL_RUN_SURE ? FL_STATE_OFF
                                        : FL_STATE_UNSEEN;
}

static void collect_runs(struct fl_runs *runs, const struct fl_renewal *r,
                         const struct fl_evidence *e)
{
    for (size_t i = 0; i < e->n; i++) {
        enum fl_state s = slot_state(r, i);
        if (s == FL_STATE_UNSEEN)
            continue;
        struct fl_run *last = runs->n ? &runs->v[runs->n - 1] : NULL;
        if (!last || last->state != s || last->to != i) {
            FL_PUSH(runs->v, runs->n, runs->cap,
                    ((struct fl_run){.state = s, .from = i, .to = i, .hitch = FL_UNKNOWN}));
            last = &runs->v[runs->n - 1];
        }
        last->to = i + 1;
        float p = s == FL_STATE_ON ? r->p_on[i] : r->p_off[i];
        last->confidence += p;
        last->peak = fmaxf(last->peak, p);
    }
    for (size_t k = 0; k < runs->n; k++) {
        struct fl_run *v = &runs->v[k];
        v->confidence /= (double)(v->to - v->from);
        v->from_s = fl_slot_edge_s(e, v->from);
        v->to_s = fl_slot_edge_s(e, v->to);
    }
}

static bool tells(const struct fl_evidence *e, size_t i)
{
    return e->slot[i].still != 0 || e->slot[i].flip != 0;
}

/* The posterior lingers where nothing more is seen: a run ends with the gap of its last evidence.
 */
static void trim_runs(struct fl_runs *runs, const struct fl_renewal *r, const struct fl_evidence *e)
{
    size_t n = 0, g = 0;
    for (size_t k = 0; k < runs->n; k++) {
        struct fl_run v = runs->v[k];
        size_t first = v.from, last = v.to;
        while (first < v.to && !tells(e, first))
            first++;
        while (last > first && !tells(e, last - 1))
            last--;
        if (first == last)
            continue;
        while (g < r->n_gaps && r->gap[g].to <= first)
            g++;
        if (g < r->n_gaps && r->gap[g].from < first)
            first = r->gap[g].from;
        size_t h = g;
        while (h < r->n_gaps && r->gap[h].to < last)
            h++;
        if (h < r->n_gaps && r->gap[h].from < last)
            last = r->gap[h].to;
        v.from = first > v.from ? first : v.from;
        v.to = last < v.to ? last : v.to;
        assert(v.from < v.to);
        v.from_s = fl_slot_edge_s(e, v.from);
        v.to_s = fl_slot_edge_s(e, v.to);
        runs->v[n++] = v;
    }
    runs->n = n;
}

/* Takes v, which follows on, into the run a: confidence is a mean over the slots of both. */
static void close_over(struct fl_run *a, const struct fl_run *v)
{
    double own = (double)(a->to - a->from), more = (double)(v->to - v->from);
    a->confidence += (v->confidence - a->confidence) * more / (own + more);
    a->to = v->to;
    a->to_s = v->to_s;
    a->peak = fmaxf(a->peak, v->peak);
}

/* Runs too short to hold two gaps prove nothing; of runs off that nothing makes certain steps and
 * detail have the last say (witness.h); neighbours of one state close over a doubt of less
 * than two base periods. */
static void tidy_runs(struct fl_runs *runs, const struct fl_rates *rates)
{
    size_t n = 0;
    for (size_t k = 0; k < runs->n; k++) {
        struct fl_run v = runs->v[k];
        double least = v.state == FL_STATE_OFF ? model.shortest_off * rates->off_period_s
                                               : model.shortest_on * rates->on_period_s;
        if (v.to_s - v.from_s < least || (v.state == FL_STATE_ON && v.peak < FL_RUN_CERTAIN))
            continue;
        struct fl_run *last = n ? &runs->v[n - 1] : NULL;
        if (last && last->state == v.state &&
            v.from_s - last->to_s < model.bridged * rates->off_period_s)
            close_over(last, &v);
        else
            runs->v[n++] = v;
    }
    runs->n = n;
}

/* Where on gives way to off (or back) within a few base periods, the edge is a flip of the best
 * path: the first that a gap of the new mode follows. */
static void settle_edges(struct fl_runs *runs, const struct fl_renewal *r,
                         const struct fl_evidence *e, const struct fl_rates *rates)
{
    size_t g = 0;
    for (size_t k = 0; k + 1 < runs->n; k++) {
        struct fl_run *a = &runs->v[k], *b = &runs->v[k + 1];
        if (a->state == b->state || b->from_s - a->to_s > model.beside * rates->off_period_s)
            continue;
        double best = INFINITY, middle = (a->to_s + b->from_s) / 2, at = middle;
        while (g < r->n_gaps &&
               fl_slot_edge_s(e, r->gap[g].to) < a->to_s - model.edge_reach * rates->off_period_s)
            g++;
        for (size_t i = g; i < r->n_gaps && fl_slot_edge_s(e, r->gap[i].from) <
                                                b->from_s + model.edge_reach * rates->off_period_s;
             i++) {
            bool off = r->gap[i].mode == FL_GAP_OFF;
            bool was_off = i && r->gap[i - 1].mode == FL_GAP_OFF;
            if (!i || r->gap[i - 1].to != r->gap[i].from || off == was_off ||
                off != (b->state == FL_STATE_OFF))
                continue;
            double t = fl_slot_edge_s(e, r->gap[i].from);
            if (fabs(t - middle) < best) {
                best = fabs(t - middle);
                at = t;
            }
        }
        a->to_s = b->from_s = at;
    }
}

size_t fl_run_gaps(const struct fl_run *v, const struct fl_renewal *r, const struct fl_evidence *e,
                   size_t *last)
{
    size_t first = 0, end = r->n_gaps;
    while (first < end) { /* bisect: gaps are in time order */
        size_t middle = (first + end) / 2;
        if (fl_slot_edge_s(e, r->gap[middle].from) < v->from_s - 1e-6)
            first = middle + 1;
        else
            end = middle;
    }
    *last = first;
    while (*last < r->n_gaps && fl_slot_edge_s(e, r->gap[*last].to) < v->to_s + 1e-6)
        ++*last;
    return first;
}

void fl_runs_collect(struct fl_runs *out, const struct fl_renewal *r, const struct fl_evidence *e,
                     const struct fl_rates *rates)
{
    *out = (struct fl_runs){0};
    collect_runs(out, r, e);
    trim_runs(out, r, e);
    tidy_runs(out, rates);
    settle_edges(out, r, e, rates);
}

void fl_runs_finish(struct fl_runs *r)
{
    free(r->v);
    *r = (struct fl_runs){0};
}
