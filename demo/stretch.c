#include "stretch.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "rng.h"

static const double RAMP_S = 0.15; /* to zoom in or out, from memory of how such views feel */
static const double CUT_DEG = 137;

static void plan_heavy(struct st_stretches *p, const struct st_scenario *s, struct st_rng *rng)
{
    for (double t = 2.5; s->heavy && t < s->seconds - 2; t += st_uniform(rng, 4, 6)) {
        struct fl_span span = {t, t + st_uniform(rng, 1, 2)};
        FL_PUSH(p->heavy, p->n_heavy, p->cap_heavy, span);
    }
}

/* Every third flick or so has its rate halved from somewhere in its middle. */
static void plan_heavy_flicks(struct st_stretches *p, const struct st_hand *h, struct st_rng *rng)
{
    for (size_t i = 1; i < h->n_flicks; i += 3) {
        const struct st_flick *f = h->flicks + i;
        double at = f->start_s + (f->end_s - f->start_s) * st_uniform(rng, 0.3, 0.6);
        if (p->n_heavy && at < p->heavy[p->n_heavy - 1].end_s + 0.5)
            continue;
        struct fl_span span = {at, at + st_uniform(rng, 1, 1.6)};
        FL_PUSH(p->heavy, p->n_heavy, p->cap_heavy, span);
    }
}

/* One base period in the middle of every flick lasts twice as long. */
static void plan_hitches(struct st_stretches *p, const struct st_scenario *s,
                         const struct st_hand *h, struct st_rng *rng)
{
    for (size_t i = 0; i < h->n_flicks; i++) {
        const struct st_flick *f = h->flicks + i;
        double at = f->start_s + (f->end_s - f->start_s) * st_uniform(rng, 0.2, 0.8);
        struct fl_span span = {at, at + 1 / st_base_on(s)};
        FL_PUSH(p->heavy, p->n_heavy, p->cap_heavy, span);
    }
}

static void plan_aim(struct st_stretches *p, const struct st_scenario *s, uint64_t seed)
{
    struct st_rng rng = st_rng(seed, 6);
    for (double t = 1.5; s->zoom > 0 && t < s->seconds - 2; t += st_uniform(&rng, 2, 3.5)) {
        struct fl_span span = {t, t + st_uniform(&rng, 1, 1.8)};
        FL_PUSH(p->aim, p->n_aim, p->cap_aim, span);
        t = span.end_s;
    }
}

/* One after another, each kind that the scenario has in turn. */
static void plan_events(struct st_stretches *p, const struct st_scenario *s, uint64_t seed)
{
    static const double length[] = {0, 0.15, 0.8}; /* of ST_CUTS, ST_FLASHES, ST_FADES */
    struct st_rng rng = st_rng(seed, 7);
    int k = 0;
    for (double t = 1.1; s->events && t < s->seconds - 1; k = (k + 1) % 3) {
        if (!(s->events & 1u << k))
            continue;
        struct st_event e = {1u << k, {t, t + length[k]}};
        FL_PUSH(p->event, p->n_event, p->cap_event, e);
        t += st_uniform(&rng, 1.1, 1.9);
    }
}

void st_stretches_init(struct st_stretches *p, const struct st_scenario *s, const struct st_hand *h,
                       uint64_t seed)
{
    struct st_rng rng = st_rng(seed, 4);
    *p = (struct st_stretches){0};
    plan_heavy(p, s, &rng);
    if (s->heavy_in_flicks)
        plan_heavy_flicks(p, h, &rng);
    if (s->hitches)
        plan_hitches(p, s, h, &rng);
    plan_aim(p, s, seed);
    plan_events(p, s, seed);
}

void st_stretches_finish(struct st_stretches *p)
{
    free(p->heavy);
    free(p->aim);
    free(p->event);
    *p = (struct st_stretches){0};
}

static bool within(const struct fl_span *span, double t)
{
    return t >= span->start_s && t < span->end_s;
}

bool st_heavy_at(const struct st_stretches *p, double t)
{
    for (size_t i = 0; i < p->n_heavy; i++)
        if (within(p->heavy + i, t))
            return true;
    return false;
}

double st_zoom_at(const struct st_stretches *p, const struct st_scenario *s, double t)
{
    for (size_t i = 0; i < p->n_aim; i++)
        if (within(p->aim + i, t)) {
            double deep = fmin(t - p->aim[i].start_s, p->aim[i].end_s - t) / RAMP_S;
            return 1 + (s->zoom - 1) * fmin(1, deep);
        }
    return 1;
}

double st_cut_deg(const struct st_stretches *p, double t)
{
    double turned = 0;
    for (size_t i = 0; i < p->n_event; i++)
        if (p->event[i].kind == ST_CUTS && p->event[i].span.start_s <= t)
            turned += CUT_DEG;
    return turned;
}

struct st_light st_light_at(const struct st_stretches *p, double t)
{
    for (size_t i = 0; i < p->n_event; i++) {
        const struct st_event *e = p->event + i;
        if (!within(&e->span, t))
            continue;
        double u = (t - e->span.start_s) / (e->span.end_s - e->span.start_s);
        if (e->kind == ST_FLASHES)
            return (struct st_light){u, 1 - u}; /* white at once, then back */
        if (e->kind == ST_FADES)                /* to black within 0.3 s, as long back */
            return (struct st_light){fl_clamp((fabs(2 * u - 1) - 0.25) / 0.75, 0, 1), 0};
    }
    return (struct st_light){1, 0};
}
