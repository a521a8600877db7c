/* One lapse a return; its figures are those of the spans that it is made of. */
#include "study/rule/lapse_list.h"

#include <stdlib.h>

static const struct fl_sighting *before(const struct fl_return_view *v,
                                        const struct fl_measured *part, size_t i)
{
    return i > part->first ? &v->seen.v[i - 1] : NULL;
}

static const struct fl_measured *part_of(const struct fl_return_view *v, size_t i)
{
    const struct fl_measured *p = v->seen.part;
    while (i >= p->first + p->n)
        p++;
    return p;
}

/* Means over the spans, by their length. */
static void describe(struct fl_lapse *l, const struct fl_states *s, const struct fl_return_view *v,
                     const struct fl_return *r)
{
    double seconds = 0, counted_s = 0, flips = 0, confidence = 0;
    for (size_t i = r->first; i <= r->last; i++) {
        const struct fl_state_span *a = &s->span[v->seen.v[i].span];
        double length = a->end_s - a->start_s;
        seconds += length;
        confidence += length * a->confidence;
        l->evidence |= a->evidence;
        if (fl_known(a->unique_rate_hz)) {
            counted_s += length;
            flips += length * a->unique_rate_hz;
        }
    }
    l->confidence = confidence / seconds;
    l->unique_rate_hz = counted_s > 0 ? flips / counted_s : FL_UNKNOWN;
}

static enum fl_end_found end_found(const struct fl_return *r, double frame_s)
{
    bool tight = r->high_s - r->low_s <= frame_s;
    return tight ? FL_END_SEEN : r->unknown ? FL_END_DELAY : FL_END_RULE;
}

/* Spans off before sighting i. */
static size_t runs_before(const struct fl_return_view *v, size_t i)
{
    size_t off = 0;
    for (size_t k = 0; k < i; k++)
        off += v->seen.v[k].state == FL_STATE_OFF;
    return off;
}

static struct fl_lapse lapse_of(const struct fl_states *s, const struct fl_return_view *v,
                                const struct fl_return *r, double end_s)
{
    const struct fl_measured *part = part_of(v, r->first);
    const struct fl_sighting *last = before(v, part, r->first);
    double start = v->seen.v[r->first].start_s, edge = fl_return_unseen_edge(r, v);
    struct fl_lapse l = {
        .start_s = start,
        .end_s = end_s,
        .start_range_s = {last ? last->end_s : part->start_s, start},
        .end_range_s = {fmax(r->low_s - edge, start),
                        r->next == FL_NEXT_NONE ? r->high_s : r->high_s + edge},
        .end_found = end_found(r, v->frame_s),
        .has_trip = last && last->state == FL_STATE_ON,
        .has_return = r->next == FL_NEXT_ON,
        .parted_before = last && last->state == FL_STATE_OFF,
        .parted_after = r->next == FL_NEXT_OFF || r->next == FL_NEXT_OFF_CALM,
        .run = runs_before(v, r->first),
        .runs = runs_before(v, r->last + 1) - runs_before(v, r->first),
    };
    describe(&l, s, v, r);
    return l;
}

void fl_lapse_list_make(struct fl_states *s, const struct fl_return_view *v,
                        const struct fl_returns *r, const double *end_s)
{
    free(s->lapse);
    s->lapse = FL_NEW(struct fl_lapse, r->n + 1);
    s->n_lapses = v->seen.on_s > 0 ? r->n : 0;
    for (size_t i = 0; i < s->n_lapses; i++)
        s->lapse[i] = lapse_of(s, v, &r->v[i], end_s[i]);
}
