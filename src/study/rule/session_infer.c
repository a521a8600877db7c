/* Setting by setting: what is harmless, which return rules agree, what they make of each take. */
#include "study/rule/session_infer.h"

#include <stdlib.h>
#include <string.h>

#include "maths/robust.h"
#include "study/curve/setting.h"
#include "study/rule/lapse_list.h"
#include "study/rule/off_share.h"
#include "study/take/exposure.h"

#define OPEN_MOST 0.1
#define TAIL 0.025 /* on either side of an interval */

static const char never_on[] = "synthesis was never seen on";
static const char trips_at_rest[] =
    "it was off where nothing can have tripped it, so rest may be off as well as on";
static const char starts_off[] =
    "it was off before anything had moved, so rest may be off as well as on";
static const char too_open[] = "too much of the time can be neither seen nor inferred";

/* ---- the take's figures ---- */

static void keep_parts(struct fl_take *t, struct fl_off_time *o)
{
    free(t->inferred);
    t->inferred = o->part;
    t->n_inferred = o->n_parts;
    o->part = NULL;
}

static void note_share(struct fl_exposure *e, const struct fl_off_share *o)
{
    e->inferred_on_s = o->time.inferred_on_s;
    e->inferred_off_s = o->time.inferred_off_s;
    e->open_s = o->time.open_s;
    e->off_share_of_take = fl_off_time_share(&o->time);
    e->off_share_of_take_low = o->low;
    e->off_share_of_take_high = o->high;
    e->lapses_low = o->lapses_low;
    e->lapses_high = o->lapses_high;
}

/* Off before anything moved, for longer than any return takes. */
static bool began_off(const struct fl_return_view *v, const struct fl_off_share *o)
{
    const struct fl_sightings *s = &v->seen;
    if (!s->n || s->v[0].state != FL_STATE_OFF)
        return false;
    return v->calm_since_s[0] <= o->start_s && o->start_return_s < s->v[0].start_s;
}

struct verdict {
    size_t calm_offs; /* off again although nothing can have tripped it */
    bool began_off;
};

static struct verdict settle_take(struct fl_take *t, const struct fl_return_view *v,
                                  const struct fl_return_fit *f)
{
    struct fl_off_share o;
    fl_off_share_find(&o, v, f);
    keep_parts(t, &o.time);
    fl_lapse_list_make(&t->states, v, &o.returns, o.end_s);
    fl_expose(t);
    note_share(&t->exposure, &o);
    fl_smooth(t);
    struct verdict out = {0, began_off(v, &o)};
    for (size_t i = 0; i < o.returns.n; i++)
        out.calm_offs += o.returns.v[i].next == FL_NEXT_OFF_CALM;
    fl_off_share_finish(&o);
    return out;
}

/* ---- what cannot be said ---- */

static void refuse(struct fl_take *t, const char *why)
{
    struct fl_exposure *e = &t->exposure;
    e->off_share_of_take_refused = why;
    e->off_share_of_take = FL_UNKNOWN;
    e->off_share_of_take_low = e->off_share_low;
    e->off_share_of_take_high = e->off_share_high;
}

/* Rest says nothing of this setting: all that was inferred is open, and off-unseen-off may be one
 * lapse or two. */
static void forget_inference(struct fl_take *t, const struct fl_return_view *v)
{
    struct fl_exposure *e = &t->exposure;
    for (size_t i = 0; i < t->n_inferred; i++) {
        t->inferred[i].state = FL_STATE_UNSEEN;
        t->inferred[i].why = "refused";
    }
    fl_expose_motion(t);
    e->inferred_on_s = e->inferred_off_s = 0;
    e->open_s = e->unseen_s;
    e->lapses_low = e->lapses_high = 0;
    for (size_t i = 0; i < v->seen.n && v->seen.on_s > 0; i++) {
        bool off = v->seen.v[i].state == FL_STATE_OFF;
        e->lapses_high += off;
        e->lapses_low += off && !(i && v->seen.v[i - 1].state == FL_STATE_OFF);
    }
}

static void judge_take(struct fl_take *t, const struct fl_return_view *v,
                       const struct verdict *verdict, bool latches)
{
    struct fl_exposure *e = &t->exposure;
    double all = e->on_s + e->off_s + e->unseen_s;
    bool blind = !(e->on_s > 0) || latches || verdict->began_off;
    if (blind) {
        refuse(t, !(e->on_s > 0) ? never_on : latches ? trips_at_rest : starts_off);
        forget_inference(t, v);
    } else if (e->open_s > OPEN_MOST * all) {
        refuse(t, too_open);
    }
}

/* ---- a setting ---- */

static double weighted_quantile(const struct fl_return_fit *f, int quantity, double p)
{
    double *theta = FL_NEW(double, f->n_draws + 1);
    size_t n = 0;
    for (size_t i = 0; i < f->n_draws; i++)
        if (f->draw[i].quantity == quantity)
            theta[n++] = f->draw[i].theta_on;
    double q = fl_quantile(theta, n, p);
    free(theta);
    return q;
}

static void note_rule(struct fl_return_study *r, const struct fl_return_fit *f)
{
    int lead = 0;
    for (int k = 1; k < FL_HARMLESS_QUANTITIES; k++)
        lead = f->weight[k] > f->weight[lead] ? k : lead;
    r->any = true;
    r->quantity = fl_harmless_quantity[lead];
    r->quantity_weight = f->weight[lead];
    r->theta_on = weighted_quantile(f, lead, 0.5);
    r->theta_on_low = weighted_quantile(f, lead, TAIL);
    r->theta_on_high = weighted_quantile(f, lead, 1 - TAIL);
    r->d_on_s = f->d_on_s;
    r->d_on_low_s = f->d_on_low_s;
    r->d_on_high_s = f->d_on_high_s;
}

static void note_setting(struct fl_return_study *r, const struct fl_setting *c, size_t takes,
                         const struct fl_harmless *h)
{
    *r = (struct fl_return_study){.game = c->game,
                                  .condition = c->condition,
                                  .counts_per_inch = c->counts_per_inch,
                                  .degrees_per_count = c->degrees_per_count,
                                  .takes = takes,
                                  .trips = h->trips,
                                  .harmless_trips = h->harmless_trips};
    for (int k = 0; k < FL_HARMLESS_QUANTITIES; k++)
        r->harmless_level[k] = h->level[k];
}

/* A setting at work: its takes that hold states, what is seen of each, how well rules agree. */
struct work {
    const struct fl_setting *setting;
    struct fl_take **take;
    struct fl_sightings *seen;
    struct fl_return_view *view;
    struct verdict *verdict;
    size_t n;
    struct fl_harmless harmless;
};

static void work_open(struct work *w, const struct fl_setting *c)
{
    *w = (struct work){.setting = c,
                       .take = FL_NEW(struct fl_take *, c->n + 1),
                       .seen = FL_NEW(struct fl_sightings, c->n + 1),
                       .view = FL_NEW(struct fl_return_view, c->n + 1),
                       .verdict = FL_NEW(struct verdict, c->n + 1)};
    for (size_t i = 0; i < c->n; i++)
        if (c->takes[i]->states.n_spans && c->takes[i]->frames > 0 && c->takes[i]->time_s) {
            w->take[w->n] = c->takes[i];
            fl_sightings_find(&w->seen[w->n++], &c->takes[i]->states);
        }
    fl_harmless_learn(&w->harmless, w->take, w->seen, w->n);
    for (size_t i = 0; i < w->n; i++)
        fl_return_view_make(&w->view[i], w->take[i], &w->seen[i], &w->harmless);
}

static void work_close(struct work *w)
{
    for (size_t i = 0; i < w->n; i++)
        fl_return_view_finish(&w->view[i]);
    free(w->take);
    free(w->seen);
    free(w->view);
    free(w->verdict);
}

static size_t brackets_of(const struct fl_return_view *v)
{
    size_t n = 0;
    for (size_t p = 0; p < v->seen.n_parts; p++)
        for (size_t k = 1; k < v->seen.part[p].n; k++) {
            const struct fl_sighting *a = &v->seen.v[v->seen.part[p].first + k];
            n += a->state == FL_STATE_ON && a[-1].state == FL_STATE_OFF;
        }
    return n;
}

/* fit NULL: off was never seen. */
static void infer_setting(struct fl_return_study *r, struct work *w,
                          const struct fl_return_fit *fit)
{
    note_setting(r, w->setting, w->n, &w->harmless);
    for (size_t i = 0; i < w->n; i++) {
        w->verdict[i] = settle_take(w->take[i], &w->view[i], fit);
        r->trips += w->verdict[i].calm_offs;
        r->harmless_trips += w->verdict[i].calm_offs;
        r->brackets += brackets_of(&w->view[i]);
    }
    bool latches = (double)r->harmless_trips > FL_HARMLESS_TRIPS * (double)r->trips;
    for (size_t i = 0; i < w->n; i++)
        judge_take(w->take[i], &w->view[i], &w->verdict[i], latches);
    if (fit)
        note_rule(r, fit);
}

/* ---- a game ---- */

static double shortest_frame(const struct work *w, size_t n)
{
    double frame = INFINITY;
    for (size_t k = 0; k < n; k++)
        for (size_t i = 0; i < w[k].n; i++)
            frame = fmin(frame, w[k].view[i].frame_s);
    return frame;
}

static void infer_one(struct fl_return_study *r, struct work *w, const struct fl_return_grid *g,
                      size_t n, size_t own)
{
    struct fl_return_fit fit;
    if (!g[own].n_thresholds) {
        infer_setting(r, w, NULL);
        return;
    }
    double *prior = FL_NEW(double, g[own].n_delays);
    fl_return_prior(prior, g, n, own);
    fl_return_fit_make(&fit, &g[own], prior);
    infer_setting(r, w, &fit);
    fl_return_fit_finish(&fit);
    free(prior);
}

/* Settings of one game and condition, all controls or none. r: of each. */
static void infer_game(struct fl_return_study *const *r, const struct fl_setting *const *c,
                       size_t n)
{
    struct work *w = FL_NEW(struct work, n);
    struct fl_return_grid *g = FL_NEW(struct fl_return_grid, n);
    for (size_t k = 0; k < n; k++)
        work_open(&w[k], c[k]);
    for (size_t k = 0; k < n; k++)
        fl_return_grid_make(&g[k], w[k].view, w[k].n, shortest_frame(w, n));
    for (size_t k = 0; k < n; k++)
        infer_one(r[k], &w[k], g, n, k);
    for (size_t k = 0; k < n; k++) {
        fl_return_grid_finish(&g[k]);
        work_close(&w[k]);
    }
    free(g);
    free(w);
}

static bool same_game(const struct fl_setting *a, const struct fl_setting *b)
{
    return !strcmp(a->game, b->game) && !strcmp(a->condition, b->condition) &&
           a->control == b->control;
}

void fl_session_infer(struct fl_session *s)
{
    struct fl_setting *cells;
    size_t n = fl_settings(s, false, &cells);
    const struct fl_setting **c = FL_NEW(const struct fl_setting *, n + 1);
    struct fl_return_study **r = FL_NEW(struct fl_return_study *, n + 1);
    free(s->returns);
    s->returns = FL_NEW(struct fl_return_study, n + 1);
    s->n_returns = n;
    for (size_t i = 0; i < n; i++) {
        size_t members = 0, first = 0;
        while (!same_game(&cells[first], &cells[i]))
            first++;
        for (size_t k = i; k < n && first == i; k++)
            if (same_game(&cells[k], &cells[i])) {
                c[members] = &cells[k];
                r[members++] = &s->returns[k];
            }
        if (members)
            infer_game(r, c, members);
    }
    free(c);
    free(r);
}
