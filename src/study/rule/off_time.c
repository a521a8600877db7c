/* Every unseen stretch is walked once: first off until the rule's return, then harmless time as on,
 * all else open. */
#include "study/rule/off_time.h"

#include <stdlib.h>

struct walk {
    struct fl_off_time *out;
    const struct fl_return_view *view;
    const struct fl_quiet *quiet;
    const struct fl_return_rule *rule;
    bool list;
    size_t calm; /* harmless spans before it have ended */
};

static void add(struct walk *w, double from, double to, enum fl_state state, const char *why)
{
    struct fl_off_time *o = w->out;
    if (!(to > from))
        return;
    *(state == FL_STATE_OFF  ? &o->inferred_off_s
      : state == FL_STATE_ON ? &o->inferred_on_s
                             : &o->open_s) += to - from;
    if (!w->list)
        return;
    struct fl_inferred *last = o->n_parts ? &o->part[o->n_parts - 1] : NULL;
    if (last && last->end_s == from && last->state == state && last->why == why)
        last->end_s = to;
    else
        FL_PUSH(o->part, o->n_parts, o->cap_parts, ((struct fl_inferred){from, to, state, why}));
}

/* How long after t a lapse may still last that nothing showed. */
static double hold_after(const struct walk *w, double t_s)
{
    if (!w->rule)
        return 0;
    double at = w->quiet ? fl_return_after(w->quiet, t_s, w->rule->d_on_s) : FL_UNKNOWN;
    return isnan(at) ? w->rule->d_on_s : at - t_s;
}

/* A stretch in which nothing says that it is off: harmless or open. */
static void settle(struct walk *w, double from, double to)
{
    const struct fl_span_list *calm = &w->view->calm;
    double at = from;
    while (w->calm < calm->n && calm->v[w->calm].end_s <= from)
        w->calm++;
    for (size_t i = w->calm; i < calm->n && calm->v[i].start_s < to; i++) {
        double a = fmax(calm->v[i].start_s, at), b = fmin(calm->v[i].end_s, to);
        add(w, at, a, FL_STATE_UNSEEN, "motion");
        if (a > from)
            w->out->hidden_s += fmin(b - a, hold_after(w, a));
        add(w, a, b, FL_STATE_ON, "harmless");
        at = fmax(at, b);
    }
    add(w, at, to, FL_STATE_UNSEEN, "motion");
}

/* Before anything was seen it may still be off from before; where on does not come first, nothing
 * says since when. */
static void settle_first(struct walk *w, double from, double to, bool on_next)
{
    double until = on_next ? fmin(to, from + hold_after(w, from)) : to;
    add(w, from, until, FL_STATE_UNSEEN, "start");
    settle(w, until, to);
}

static void count_seen(struct fl_off_time *o, const struct fl_return_view *v)
{
    o->off_s = v->seen.off_s;
    o->on_s = v->seen.on_s;
}

/* The return whose lapse holds sighting i; NULL: it is on. */
static const struct fl_return *return_of(const struct fl_returns *r, size_t *at, size_t i)
{
    while (*at < r->n && r->v[*at].last < i)
        ++*at;
    return *at < r->n && r->v[*at].first <= i ? &r->v[*at] : NULL;
}

static void walk_part(struct walk *w, const struct fl_measured *part, const struct fl_returns *r,
                      const double *end_s, size_t *at)
{
    const struct fl_sighting *s = w->view->seen.v;
    size_t end = part->first + part->n;
    double from = part->n ? s[part->first].start_s : part->end_s;
    bool on_next = part->n && s[part->first].state == FL_STATE_ON;
    settle_first(w, part->start_s, from, on_next);
    for (size_t i = part->first; i < end; i++) {
        double a = s[i].end_s, b = i + 1 < end ? s[i + 1].start_s : part->end_s;
        const struct fl_return *lapse = return_of(r, at, i);
        if (lapse) {
            double off = lapse->last > i ? b : fl_clamp(end_s[lapse - r->v], a, b);
            add(w, a, off, FL_STATE_OFF, "rule");
            a = off;
        }
        settle(w, a, b);
    }
}

void fl_off_time_find(struct fl_off_time *out, const struct fl_return_view *v,
                      const struct fl_returns *r, const double *end_s, const struct fl_quiet *quiet,
                      const struct fl_return_rule *rule, bool list)
{
    struct walk w = {out, v, quiet, rule, list, 0};
    size_t at = 0;
    *out = (struct fl_off_time){0};
    count_seen(out, v);
    for (size_t k = 0; k < v->seen.n_parts; k++)
        walk_part(&w, &v->seen.part[k], r, end_s, &at);
}

static double all(const struct fl_off_time *o)
{
    return o->on_s + o->off_s + o->inferred_on_s + o->inferred_off_s + o->open_s;
}

double fl_off_time_share(const struct fl_off_time *o)
{
    return (o->off_s + o->inferred_off_s) / (all(o) - o->open_s);
}

double fl_off_time_low(const struct fl_off_time *o)
{
    return (o->off_s + o->inferred_off_s) / all(o);
}

double fl_off_time_high(const struct fl_off_time *o)
{
    return (o->off_s + o->inferred_off_s + o->open_s + o->hidden_s) / all(o);
}
