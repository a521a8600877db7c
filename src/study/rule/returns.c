/* The rule's clock run over the motion of one take (DESIGN: cut-off rule). */
#include "study/rule/returns.h"

#include <stdlib.h>

#define AFTER_FRAMES 1.5 /* an edge is known to about a base period */

/* ---- the take ---- */

static void find_calm(struct fl_return_view *v)
{
    v->calm_since_s = FL_NEW(double, v->seen.n + 1);
    for (size_t i = 0, c = 0; i < v->seen.n; i++) {
        double start = v->seen.v[i].start_s, until = start + AFTER_FRAMES * v->frame_s;
        while (c < v->calm.n && v->calm.v[c].end_s < until)
            c++;
        bool calm = c < v->calm.n && v->calm.v[c].start_s <= start;
        v->calm_since_s[i] = calm ? v->calm.v[c].start_s : INFINITY;
    }
}

void fl_return_view_make(struct fl_return_view *v, const struct fl_take *t,
                         struct fl_sightings *seen, const struct fl_harmless *h)
{
    double usual_hz = 60;
    *v = (struct fl_return_view){.take = t, .seen = *seen};
    *seen = (struct fl_sightings){0};
    v->frame_s = t->kernel_ms > 0 ? t->kernel_ms / 1000 : 1 / usual_hz;
    v->edge_s = 0.5 / (t->capture_rate_hz > 0 ? t->capture_rate_hz : usual_hz);
    for (int k = 0; k < FL_HARMLESS_QUANTITIES; k++)
        v->has[k] = fl_track_make(&v->track[k], t, fl_harmless_quantity[k]);
    fl_harmless_spans(h, t, &v->calm);
    find_calm(v);
}

void fl_return_view_finish(struct fl_return_view *v)
{
    for (int k = 0; k < FL_HARMLESS_QUANTITIES; k++)
        if (v->has[k])
            fl_track_finish(&v->track[k]);
    fl_sightings_finish(&v->seen);
    free(v->calm.v);
    free(v->calm_since_s);
    *v = (struct fl_return_view){0};
}

/* ---- one threshold ---- */

void fl_quiet_find(struct fl_quiet *q, const struct fl_return_view *v, int k, double theta_on)
{
    const struct fl_track *t = v->has[k] && fl_known(theta_on) ? &v->track[k] : NULL;
    q->track = t;
    q->below.n = 0;
    for (size_t i = 0; t && i < t->n_parts; i++)
        fl_crossings(&t->speeds, t->part[i].from, t->part[i].to, t->part[i].end_s, theta_on, false,
                     &q->below);
}

/* The part of the track that holds t; NULL: the quantity is unknown there. Before the first frame
 * it is as in that frame. */
static const struct fl_track_part *part_at(const struct fl_track *t, double t_s)
{
    size_t lo = 0, hi = t->n_parts;
    while (lo < hi) {
        size_t mid = (lo + hi) / 2;
        if (t->part[mid].end_s <= t_s)
            lo = mid + 1;
        else
            hi = mid;
    }
    const struct fl_track_part *p = lo < t->n_parts ? &t->part[lo] : NULL;
    return p && (p->from == 0 || t->take->time_s[p->from] <= t_s) ? p : NULL;
}

static size_t first_after(const struct fl_span_list *l, double t_s)
{
    size_t lo = 0, hi = l->n;
    while (lo < hi) {
        size_t mid = (lo + hi) / 2;
        if (l->v[mid].end_s <= t_s)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo;
}

double fl_return_after(const struct fl_quiet *q, double t_s, double d_on_s)
{
    const struct fl_track_part *p = q->track ? part_at(q->track, t_s) : NULL;
    if (!p)
        return FL_UNKNOWN;
    for (size_t i = first_after(&q->below, t_s); i < q->below.n; i++) {
        const struct fl_span *b = &q->below.v[i];
        double at = fmax(b->start_s, t_s) + d_on_s;
        if (b->start_s >= p->end_s)
            break;
        if (at <= b->end_s)
            return at;
    }
    return p->to == q->track->speeds.n ? INFINITY : FL_UNKNOWN;
}

/* ---- lapses ---- */

static double wait_until(struct fl_return *r, const struct fl_return_view *v,
                         const struct fl_quiet *q, double from_s, double d_on_s)
{
    double at = fl_return_after(q, from_s, d_on_s);
    r->unknown = isnan(at);
    return r->unknown ? v->seen.v[r->last].end_s + d_on_s : at;
}

static struct fl_return one_return(const struct fl_return_view *v, const struct fl_measured *part,
                                   const struct fl_quiet *q, size_t first, double d_on_s)
{
    const struct fl_sighting *s = v->seen.v;
    size_t end = part->first + part->n;
    struct fl_return r = {.first = first, .last = first};
    r.at_s = wait_until(&r, v, q, s[first].start_s, d_on_s);
    while (r.last + 1 < end && s[r.last + 1].state == FL_STATE_OFF &&
           r.at_s > s[r.last + 1].start_s) {
        r.last++;
        if (r.unknown)
            r.at_s = wait_until(&r, v, q, s[first].start_s, d_on_s);
    }
    if (r.at_s < s[r.last].start_s) /* it was off again all the same: the wait begins anew */
        r.at_s = wait_until(&r, v, q, s[r.last].start_s, d_on_s);
    bool more = r.last + 1 < end;
    r.low_s = s[r.last].end_s;
    r.high_s = more ? s[r.last + 1].start_s : part->end_s;
    r.next = !more                                                  ? FL_NEXT_NONE
             : s[r.last + 1].state == FL_STATE_ON                   ? FL_NEXT_ON
             : v->calm_since_s[r.last + 1] <= fmax(r.at_s, r.low_s) ? FL_NEXT_OFF_CALM
                                                                    : FL_NEXT_OFF;
    bool trips = r.next == FL_NEXT_OFF && q->track;
    r.peak = trips ? fl_track_most(q->track, r.at_s, r.high_s + v->frame_s) : FL_UNKNOWN;
    return r;
}

double fl_return_unseen_edge(const struct fl_return *r, const struct fl_return_view *v)
{
    return r->high_s - r->low_s > v->frame_s ? v->frame_s : 0;
}

void fl_returns_find(struct fl_returns *out, const struct fl_return_view *v,
                     const struct fl_quiet *q, double d_on_s)
{
    out->n = 0;
    for (size_t k = 0; k < v->seen.n_parts; k++) {
        const struct fl_measured *part = &v->seen.part[k];
        for (size_t i = part->first; i < part->first + part->n; i++) {
            if (v->seen.v[i].state != FL_STATE_OFF)
                continue;
            struct fl_return r = one_return(v, part, q, i, d_on_s);
            FL_PUSH(out->v, out->n, out->cap, r);
            i = r.last;
        }
    }
}
