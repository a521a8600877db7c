/* Best path → N, stretch by stretch, of a take in which it may fall without reaching one.
 *
 * Flips that come two a base period where four came before are a reduction, or the base rate has
 * halved: steps tell, since they come in pairs in the one case and in fours in the other. Where
 * they do not, N of the stretch is unknown. */
#include "state/frames.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "state/half_rate_test.h"
#include "state/runs.h"

/* Choices. */
static const struct {
    double clear;           /* ln likelihood by which steps must bear out an N: twelve to one */
    double shortest_period; /* base periods of a stretch with an N of its own: fewer steps could
                               pair by chance */
} model = {.clear = 2.5, .shortest_period = 3};

struct work {
    const struct fl_renewal *r;
    const struct fl_evidence *e;
    const struct fl_rates *rates;
    struct fl_half_rate_input steps;
    int frames; /* of the take; 0: unknown */
};

/* Gaps [first, last) of the best path, all of one N but for those that miss frames. */
struct part {
    size_t first, last;
    int n;
};

static double length_s(const struct work *w, const struct part *p)
{
    return (double)(w->r->gap[p->last - 1].to - w->r->gap[p->first].from) * w->e->slot_s;
}

/* Parts of the gaps [first, last); one too short to speak for itself belongs to the one before. */
static struct part *part_gaps(const struct work *w, size_t first, size_t last, size_t *n)
{
    struct part *v = NULL;
    size_t cap = 0;
    *n = 0;
    for (size_t i = first; i < last; i++) {
        int of = fl_gap_frames(w->r->gap[i].mode);
        struct part *now = *n ? &v[*n - 1] : NULL;
        if (now && (of == now->n || !of)) {
            now->last = i + 1;
        } else if (now && length_s(w, now) < model.shortest_period * w->rates->on_period_s) {
            now->last = i + 1;
            now->n = of;
        } else {
            FL_PUSH(v, *n, cap, ((struct part){i, i + 1, of}));
        }
    }
    return v;
}

/* What the steps of a part say for N = n. */
static double said(const struct work *w, const struct part *p, int n)
{
    struct fl_half_rate_input in = w->steps;
    in.gap += p->first;
    in.change += p->first;
    in.contrast = NULL;
    in.n = p->last - p->first;
    return fl_cycle_ratio(&in, p->n, n);
}

/* Flips that come as N of the take says are taken at their word; others must be borne out. */
static int frames_of(const struct work *w, const struct part *p)
{
    if (!w->frames || p->n == w->frames)
        return w->frames;
    return p->n && said(w, p, p->n) > said(w, p, w->frames) + model.clear ? p->n : 0;
}

static void push_reduction(struct fl_states *s, size_t *cap, const struct fl_state_span *a,
                           int from)
{
    struct fl_reduction *last = s->n_reductions ? &s->reduction[s->n_reductions - 1] : NULL;
    if (last && last->to == a->frames_per_rendered && last->end_s >= a->start_s - 1e-9)
        last->end_s = a->end_s;
    else
        FL_PUSH(s->reduction, s->n_reductions, *cap,
                ((struct fl_reduction){a->start_s, a->end_s, from, a->frames_per_rendered}));
}

/* A span on, parted where N changes; its edges stay. */
static void part_span(struct fl_states *out, size_t caps[2], const struct fl_state_span *span,
                      const struct work *w)
{
    const struct fl_run run = {.from_s = span->start_s, .to_s = span->end_s};
    size_t last, first = fl_run_gaps(&run, w->r, w->e, &last), n;
    struct part *v = part_gaps(w, first, last, &n);
    for (size_t k = 0; k < n || k == 0; k++) {
        struct fl_state_span a = *span;
        if (n) {
            a.start_s = k ? fl_slot_edge_s(w->e, w->r->gap[v[k].first].from) : span->start_s;
            a.end_s =
                k + 1 < n ? fl_slot_edge_s(w->e, w->r->gap[v[k + 1].first].from) : span->end_s;
        }
        a.frames_per_rendered = n ? frames_of(w, &v[k]) : w->frames;
        FL_PUSH(out->span, out->n_spans, caps[0], a);
        if (a.frames_per_rendered && a.frames_per_rendered < w->frames)
            push_reduction(out, &caps[1], &a, w->frames);
    }
    free(v);
}

static void part_spans(struct fl_states *s, const struct work *w)
{
    struct fl_state_span *whole = s->span;
    size_t n = s->n_spans, caps[2] = {0, 0};
    s->span = NULL;
    s->n_spans = 0;
    for (size_t i = 0; i < n; i++)
        if (whole[i].state == FL_STATE_ON)
            part_span(s, caps, &whole[i], w);
        else
            FL_PUSH(s->span, s->n_spans, caps[0], whole[i]);
    free(whole);
}

/* On, but in too few flips to ask. */
static const unsigned any_n = 1u << 2 | 1u << 3 | 1u << 4;

static bool any_on(const struct fl_states *s)
{
    for (size_t i = 0; i < s->n_spans; i++)
        if (s->span[i].state == FL_STATE_ON)
            return true;
    return false;
}

void fl_frames_find(struct fl_states *s, const struct fl_rates_found *f, const struct fl_renewal *r,
                    const struct fl_evidence *e, const struct fl_rows *rows)
{
    const bool on = any_on(s);
    s->frames_per_rendered = on ? fl_rates_frames(f) : 0;
    s->frames_possible = !on ? 0 : f->possible ? f->possible : any_n;
    for (size_t i = 0; i < s->n_spans; i++)
        s->span[i].frames_per_rendered = s->span[i].state == FL_STATE_ON    ? s->frames_per_rendered
                                         : s->span[i].state == FL_STATE_OFF ? 1
                                                                            : 0;
    if (!on || !f->rates.fewer || !r->n_gaps)
        return;
    struct fl_step_change *change = FL_NEW(struct fl_step_change, r->n_gaps);
    fl_steps_compare(change, e, rows, r->gap, r->n_gaps);
    const struct work w = {r,
                           e,
                           &f->rates,
                           {r->gap, r->n_gaps, e->slot_s, f->rates, change, NULL},
                           s->frames_per_rendered};
    part_spans(s, &w);
    free(change);
}
