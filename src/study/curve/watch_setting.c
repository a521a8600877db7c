/* Settings as far as they part motion quantities, their curves, and tests that V50 agrees
 * between them. */
#include "study/curve/watch_setting.h"

#include <string.h>

#include "study/curve/contrast.h"
#include "study/curve/curve.h"
#include "study/curve/curve_fit.h"
#include "study/curve/setting.h"
#include "study/curve/setting_gain.h"

#define SAME_RATE 0.1 /* relative; measured base rates stray by a few per cent */

static bool same_rate(double a, double b)
{
    return !fl_known(a) || !fl_known(b) || fabs(a / b - 1) <= SAME_RATE;
}

static bool belongs(const struct fl_watch_setting *g, const struct fl_take *t, double degrees)
{
    const struct fl_take_spec *s = &t->spec;
    return !strcmp(g->condition, s->condition) &&
           fl_same_number(g->counts_per_inch, s->counts_per_inch) &&
           fl_same_number(g->degrees_per_count, degrees) &&
           fl_same_number(g->horizontal_fov_deg, s->horizontal_fov_deg) &&
           fl_same_number(g->cap_hz, s->cap_hz) && same_rate(g->kernel_ms, t->kernel_ms);
}

static struct fl_watch_setting *setting_of(struct fl_watch_settings *out, const struct fl_take *t,
                                           struct fl_session *s)
{
    const double degrees = fl_setting_gain(s, t).degrees;
    for (size_t i = 0; i < out->n; i++)
        if (belongs(&out->v[i], t, degrees))
            return &out->v[i];
    struct fl_watch_setting *g = &out->v[out->n++];
    *g = (struct fl_watch_setting){.condition = t->spec.condition,
                                   .counts_per_inch = t->spec.counts_per_inch,
                                   .degrees_per_count = degrees,
                                   .horizontal_fov_deg = t->spec.horizontal_fov_deg,
                                   .cap_hz = t->spec.cap_hz,
                                   .kernel_ms = t->kernel_ms,
                                   .takes = FL_ARENA(s->arena, struct fl_take *, s->n_takes)};
    return g;
}

static double level_of(const struct fl_curve *c)
{
    double sum = 0;
    for (int i = 0; i < c->flicks; i++)
        sum += log2(c->points[i].v);
    return c->flicks ? sum / c->flicks : FL_UNKNOWN;
}

static void fit(struct fl_watch_settings *out, enum fl_quantity q, struct fl_arena *arena)
{
    const struct fl_hierarchy_prior prior = {FL_SPREAD_SCALE, NULL, true};
    struct fl_curve *curves = FL_ARENA(arena, struct fl_curve, out->n + 1);
    struct fl_curve_takes *of = FL_ARENA(arena, struct fl_curve_takes, out->n + 1);
    for (size_t i = 0; i < out->n; i++)
        of[i] = (struct fl_curve_takes){out->v[i].takes, out->v[i].n};
    struct fl_curve_fit *f = fl_curve_fit_new(curves, of, out->n, q, &prior, arena);
    fl_curve_fit_free(&f);
    for (size_t i = 0; i < out->n; i++) {
        curves[i].game = out->game;
        curves[i].condition = out->v[i].condition;
        out->v[i].level[q] = level_of(&curves[i]);
        out->v[i].curve[q] = curves[i];
    }
}

static void compare(struct fl_watch_pair *p, enum fl_quantity q)
{
    const struct fl_curve *a = &p->a->curve[q], *b = &p->b->curve[q];
    struct fl_contrast c = {FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN};
    if (a->flicks && b->flicks)
        fl_contrast_v50(&c, a, b);
    bool enough = a->takes >= FL_AGREEMENT_TAKES && b->takes >= FL_AGREEMENT_TAKES;
    p->ratio[q] = c.ratio;
    p->low[q] = enough ? c.low : FL_UNKNOWN;
    p->high[q] = enough ? c.high : FL_UNKNOWN;
    p->p[q] = enough ? c.p : FL_UNKNOWN;
}

static void make_pairs(struct fl_watch_settings *out, struct fl_arena *arena)
{
    out->pair = FL_ARENA(arena, struct fl_watch_pair, out->n * out->n + 1);
    for (size_t i = 0; i < out->n; i++)
        for (size_t k = i + 1; k < out->n; k++) {
            struct fl_watch_pair *p = &out->pair[out->n_pairs++];
            p->a = &out->v[i];
            p->b = &out->v[k];
            for (int q = 0; q < FL_QUANTITIES; q++)
                compare(p, q);
        }
}

struct fl_watch_settings fl_watch_settings_of(struct fl_session *s, const char *game,
                                              const bool *quantity)
{
    struct fl_watch_settings out = {
        game, FL_ARENA(s->arena, struct fl_watch_setting, s->n_takes + 1), 0, NULL, 0};
    for (size_t i = 0; i < s->n_takes; i++) {
        if (s->takes[i]->spec.synthesis_disabled || strcmp(s->takes[i]->spec.game, game))
            continue;
        struct fl_watch_setting *g = setting_of(&out, s->takes[i], s);
        g->takes[g->n++] = s->takes[i];
    }
    for (int q = 0; q < FL_QUANTITIES; q++) {
        for (size_t i = 0; i < out.n; i++)
            out.v[i].level[q] = FL_UNKNOWN;
        if (quantity[q])
            fit(&out, q, s->arena);
    }
    make_pairs(&out, s->arena);
    return out;
}

double fl_watch_moves(const struct fl_watch_pair *p, enum fl_quantity q, enum fl_quantity r)
{
    double moved = fabs((p->a->level[q] - p->a->level[r]) - (p->b->level[q] - p->b->level[r]));
    return fl_known(moved) ? moved : 0;
}

int fl_watch_tested(const struct fl_watch_settings *s, enum fl_quantity q)
{
    int tests = 0;
    for (size_t i = 0; i < s->n_pairs; i++)
        tests += fl_known(s->pair[i].p[q]);
    return tests;
}

double fl_watch_agreement(const struct fl_watch_settings *s, enum fl_quantity q)
{
    double least = FL_UNKNOWN;
    for (size_t i = 0; i < s->n_pairs; i++)
        least = fmin(least, s->pair[i].p[q]); /* fmin skips NaN */
    return fl_known(least) ? fmin(1, least * fl_watch_tested(s, q)) : FL_UNKNOWN;
}
