/* One figure before and now: ratio or difference, interval and p. */
#include <stdlib.h>
#include <string.h>

#include "maths/welch.h"
#include "study/compare/against.h"
#include "study/compare/standard_share.h"
#include "study/compare/verdict.h"
#include "study/curve/contrast.h"
#include "study/curve/curve.h"

#define LEVEL 0.95

struct fl_change fl_change_unknown(const char *refused)
{
    return (struct fl_change){FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN,
                              FL_UNKNOWN, FL_UNKNOWN, refused,    NULL,       FL_FOUND_NONE};
}

void fl_change_v50(struct fl_change *c, const struct fl_curve *before, const struct fl_curve *now,
                   struct fl_arena *arena)
{
    struct fl_contrast contrast;
    fl_contrast_v50(&contrast, now, before);
    *c = fl_change_unknown(NULL);
    c->before = before->v50;
    c->now = now->v50;
    c->change = contrast.ratio;
    c->low = contrast.low;
    c->high = contrast.high;
    c->p = contrast.p;
    if (!fl_known(c->change))
        fl_contrast_bounds(&c->low, &c->high, now, before);
    c->unsure = fl_verdict_untested(arena, before, "before");
    if (!c->unsure)
        c->unsure = fl_verdict_untested(arena, now, "now");
}

/* ---- figures that each take has one of ---- */

struct figures {
    double *v;
    size_t n;
};

static struct figures figures_of(const struct fl_setting *s,
                                 double (*figure)(const struct fl_take *), struct fl_arena *arena)
{
    struct figures f = {FL_ARENA(arena, double, s->n + 1), 0};
    for (size_t i = 0; i < s->n; i++) {
        double v = figure(s->takes[i]);
        if (fl_known(v))
            f.v[f.n++] = v;
    }
    return f;
}

static void logarithms(struct figures *f)
{
    for (size_t i = 0; i < f->n; i++)
        f->v[i] = log(f->v[i]);
}

static double mean(const struct figures *f)
{
    double sum = 0;
    for (size_t i = 0; i < f->n; i++)
        sum += f->v[i];
    return f->n ? sum / (double)f->n : FL_UNKNOWN;
}

static const char *why_unsure(size_t before, size_t now)
{
    return before < 2 ? "one take before, so how much takes differ is unknown"
           : now < 2  ? "one take now, so how much takes differ is unknown"
                      : "takes do not differ at all, so how much they may is unknown";
}

static void compare(struct fl_change *c, const struct figures *before, const struct figures *now)
{
    struct fl_difference d;
    fl_welch(&d, now->v, now->n, before->v, before->n, LEVEL);
    c->before = mean(before);
    c->now = mean(now);
    c->change = c->now - c->before;
    c->low = d.low;
    c->high = d.high;
    c->p = d.p;
    if (!before->n || !now->n)
        c->refused = !before->n && !now->n ? "not known on either side"
                     : !before->n          ? "not known before"
                                           : "not known now";
    else if (!fl_known(d.p))
        c->unsure = why_unsure(before->n, now->n);
}

void fl_change_difference(struct fl_change *c, const struct fl_setting *before,
                          const struct fl_setting *now, double (*figure)(const struct fl_take *),
                          struct fl_arena *arena)
{
    struct figures a = figures_of(before, figure, arena), b = figures_of(now, figure, arena);
    *c = fl_change_unknown(NULL);
    compare(c, &a, &b);
}

void fl_change_ratio(struct fl_change *c, const struct fl_setting *before,
                     const struct fl_setting *now, double (*figure)(const struct fl_take *),
                     struct fl_arena *arena)
{
    struct figures a = figures_of(before, figure, arena), b = figures_of(now, figure, arena);
    *c = fl_change_unknown(NULL);
    logarithms(&a);
    logarithms(&b);
    compare(c, &a, &b);
    double *log_figure[] = {&c->before, &c->now, &c->change, &c->low, &c->high};
    for (size_t i = 0; i < sizeof log_figure / sizeof *log_figure; i++)
        *log_figure[i] = exp(*log_figure[i]);
}

/* ---- off-share of common flicks ---- */

struct group {
    struct fl_take **takes;
    size_t n;
};

/* Takes with a flick of known q: others have no say. */
static struct group informing(const struct fl_setting *s, enum fl_quantity q,
                              struct fl_arena *arena)
{
    struct group g = {FL_ARENA(arena, struct fl_take *, s->n + 1), 0};
    for (size_t i = 0; i < s->n; i++)
        for (size_t k = 0; k < s->takes[i]->n_flicks; k++)
            if (s->takes[i]->flicks[k].peak[q] > 0) {
                g.takes[g.n++] = s->takes[i];
                break;
            }
    return g;
}

/* Shares of both groups; returns why there are none, or NULL. */
static const char *shares(double share[2], const struct group *before, const struct group *now,
                          enum fl_quantity q, struct fl_arena *arena)
{
    struct fl_share_group g[2] = {{.name = "before", .takes = before->takes, .n = before->n},
                                  {.name = "now", .takes = now->takes, .n = now->n}};
    const char *why = fl_standardise_shares(g, 2, q, arena);
    share[0] = g[0].share;
    share[1] = g[1].share;
    return why;
}

/* Variance of now minus before by leaving out each take of one side in turn (Efron & Tibshirani
 * 1993, An Introduction to the Bootstrap, ch. 11); NaN under two takes, or when a rest has too few
 * flicks. */
static double jackknife(const struct group *side, const struct group *other, bool side_is_now,
                        enum fl_quantity q, struct fl_arena *arena)
{
    double *d = FL_ARENA(arena, double, side->n + 1), sum = 0, squares = 0, n = (double)side->n;
    struct group rest = {FL_ARENA(arena, struct fl_take *, side->n + 1), side->n - 1};
    for (size_t i = 0; i < side->n; i++) {
        double share[2];
        for (size_t k = 0, m = 0; k < side->n; k++)
            if (k != i)
                rest.takes[m++] = side->takes[k];
        if (side->n < 2 ||
            shares(share, side_is_now ? other : &rest, side_is_now ? &rest : other, q, arena))
            return FL_UNKNOWN;
        d[i] = share[1] - share[0];
        sum += d[i];
    }
    for (size_t i = 0; i < side->n; i++)
        squares += (d[i] - sum / n) * (d[i] - sum / n);
    return (n - 1) / n * squares;
}

static void spread(struct fl_change *c, const struct group *before, const struct group *now,
                   enum fl_quantity q, struct fl_arena *arena)
{
    double va = jackknife(now, before, true, q, arena),
           vb = jackknife(before, now, false, q, arena);
    struct fl_difference d;
    fl_welch_satterthwaite(&d, c->change, va, (double)now->n - 1, vb, (double)before->n - 1, LEVEL);
    c->low = d.low < -1 ? -1 : d.low;
    c->high = d.high > 1 ? 1 : d.high;
    c->p = d.p;
    if (before->n > 1 && now->n > 1 && !(fl_known(va) && fl_known(vb)))
        c->unsure =
            "without one of the takes too few flicks are left, so how much takes differ is unknown";
    else if (!fl_known(d.p))
        c->unsure = why_unsure(before->n, now->n);
}

void fl_change_off_share(struct fl_change *c, const struct fl_setting *before,
                         const struct fl_setting *now, enum fl_quantity by, struct fl_arena *arena)
{
    struct fl_arena *scratch = fl_arena_new();
    struct group a = informing(before, by, scratch), b = informing(now, by, scratch);
    double share[2];
    *c = fl_change_unknown(NULL);
    const char *why = shares(share, &a, &b, by, scratch);
    if (why) {
        c->refused = fl_arena_strdup(arena, why);
    } else {
        c->before = share[0];
        c->now = share[1];
        c->change = share[1] - share[0];
        spread(c, &a, &b, by, scratch);
    }
    fl_arena_free(&scratch);
}

/* ---- delays ---- */

void fl_change_delay(struct fl_against_delay *d)
{
    struct fl_delay_comparison c;
    fl_delay_compare(&c, d->before, d->now);
    d->method = c.method;
    d->change = fl_change_unknown(NULL);
    d->change.before = d->before->median_s;
    d->change.now = d->now->median_s;
    d->change.change = d->now->median_s - d->before->median_s;
    double thresholds = d->now->threshold / d->before->threshold;
    if (thresholds >= FL_EQUAL_LOW && thresholds <= FL_EQUAL_HIGH)
        d->change.p = c.p;
    else
        d->change.unsure = "each side counts from its own fitted threshold, and the two are too "
                           "far apart for one clock";
}
