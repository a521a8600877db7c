/* Which lapses there are is said by one rule: of those that find as many as most rules do, the one
 * in the middle. When each ends is said by all of them: the middle of their times, as one rule
 * alone may be the best fit by little and far off. All give the interval, one rendered frame in
 * common put on top, as a game judges frame by frame. */
#include "study/rule/off_share.h"

#include <stdlib.h>

#include "maths/random.h"
#include "maths/robust.h"

#define TAIL 0.025 /* on either side of an interval */
#define MIDDLE 0.5
#define DRAWN (-1)

/* ---- one rule ---- */

/* Kept from rule to rule: neighbours share their threshold. */
struct bench {
    const struct fl_return_view *view;
    struct fl_quiet quiet;
    int quantity; /* that quiet is of; -1: none yet */
    double theta_on;
    struct fl_returns returns;
    double *end_s;
    size_t cap_ends;
    struct fl_random random;
};

static void bench_open(struct bench *b, const struct fl_return_view *v)
{
    *b = (struct bench){.view = v, .quantity = -1};
    fl_random_seed(&b->random, 1);
}

static void bench_close(struct bench *b)
{
    free(b->quiet.below.v);
    free(b->returns.v);
    free(b->end_s);
}

/* rule NULL: off was never seen. */
static void set_rule(struct bench *b, const struct fl_return_rule *rule)
{
    b->returns.n = 0;
    if (!rule)
        return;
    if (b->quantity != rule->quantity || b->theta_on != rule->theta_on) {
        fl_quiet_find(&b->quiet, b->view, rule->quantity, rule->theta_on);
        b->quantity = rule->quantity;
        b->theta_on = rule->theta_on;
    }
    fl_returns_find(&b->returns, b->view, &b->quiet, rule->d_on_s);
    if (b->returns.n > b->cap_ends) {
        b->cap_ends = 2 * b->returns.n;
        b->end_s = fl_realloc(b->end_s, b->cap_ends, sizeof *b->end_s);
    }
}

/* u: quantile of each return's law; below 0: drawn. */
static void off_time(struct bench *b, const struct fl_return_rule *rule, double u, bool list,
                     struct fl_off_time *out)
{
    for (size_t i = 0; i < b->returns.n; i++) {
        double p = u < 0 ? fl_random_uniform(&b->random) : u;
        b->end_s[i] = fl_return_time(&b->returns.v[i], rule, p);
    }
    fl_off_time_find(out, b->view, &b->returns, b->end_s, &b->quiet, rule, list);
}

/* Of all of the take: one rendered frame at each return that was not seen to one. */
static double frames_share(const struct bench *b)
{
    size_t n = 0;
    for (size_t i = 0; i < b->returns.n; i++)
        n += b->returns.v[i].high_s - b->returns.v[i].low_s > b->view->frame_s;
    return (double)n * b->view->frame_s / b->view->seen.measured_s;
}

/* ---- all rules ---- */

struct outcomes {
    double *share, *low, *high, *lapses; /* a draw each */
    size_t n;
    double least, most; /* of the rules that agree as well */
};

static void try_draw(struct outcomes *o, struct bench *b, const struct fl_return_rule *rule)
{
    struct fl_off_time t;
    size_t k = o->n++;
    set_rule(b, rule);
    off_time(b, rule, MIDDLE, false, &t);
    o->share[k] = fl_off_time_share(&t);
    o->lapses[k] = (double)b->returns.n;
    off_time(b, rule, DRAWN, false, &t);
    o->low[k] = fl_off_time_low(&t) - frames_share(b);
    o->high[k] = fl_off_time_high(&t) + frames_share(b);
}

static void try_alike(struct outcomes *o, struct bench *b, const struct fl_return_rule *rule)
{
    struct fl_off_time t;
    set_rule(b, rule);
    off_time(b, rule, MIDDLE, false, &t);
    o->least = fmin(o->least, fl_off_time_low(&t) - frames_share(b));
    o->most = fmax(o->most, fl_off_time_high(&t) + frames_share(b));
}

static void outcomes_of(struct outcomes *o, struct bench *b, const struct fl_return_fit *f)
{
    size_t n = f ? f->n_draws : 1;
    *o = (struct outcomes){.share = FL_NEW(double, n),
                           .low = FL_NEW(double, n),
                           .high = FL_NEW(double, n),
                           .lapses = FL_NEW(double, n),
                           .least = INFINITY,
                           .most = -INFINITY};
    for (size_t i = 0; i < n; i++)
        try_draw(o, b, f ? &f->draw[i] : NULL);
    for (size_t i = 0; f && i < f->n_alike; i++)
        try_alike(o, b, &f->alike[i]);
}

static void outcomes_free(struct outcomes *o)
{
    free(o->share);
    free(o->low);
    free(o->high);
    free(o->lapses);
}

/* Draws that find as many lapses as draw i. */
static size_t as_many(const struct outcomes *o, size_t i)
{
    size_t n = 0;
    for (size_t k = 0; k < o->n; k++)
        n += o->lapses[k] == o->lapses[i];
    return n;
}

static size_t usual_draw(const struct outcomes *o)
{
    size_t usual = 0;
    for (size_t i = 1; i < o->n; i++)
        if (as_many(o, i) > as_many(o, usual))
            usual = i;
    return usual;
}

/* Of the draws that find the usual number of lapses, the one with as many shares below it as
 * above. */
static size_t middle_draw(const struct outcomes *o)
{
    double lapses = o->lapses[usual_draw(o)];
    size_t best = 0, most = 0;
    for (size_t i = 0; i < o->n; i++) {
        size_t below = 0, above = 0;
        for (size_t k = 0; k < o->n; k++) {
            below += o->lapses[k] == lapses && o->share[k] < o->share[i];
            above += o->lapses[k] == lapses && o->share[k] > o->share[i];
        }
        size_t less = below < above ? o->n - above : o->n - below;
        if (o->lapses[i] == lapses && less > most) {
            most = less;
            best = i;
        }
    }
    return best;
}

/* ---- best times ---- */

/* Base-2 digits of k mirrored about the point: evenly spread, whatever runs of k are looked at. */
static double spread(size_t k)
{
    double u = 0, part = 0.5;
    for (; k; k >>= 1, part /= 2)
        u += part * (double)(k & 1);
    return u;
}

/* Times at which each of `of` returns by one draw, a quantile of its law. */
static void gather_times(double *time, size_t *n, const struct fl_returns *of, struct bench *b,
                         const struct fl_return_rule *rule, double u, size_t stride)
{
    set_rule(b, rule);
    for (size_t i = 0, k = 0; i < of->n; i++) {
        while (k < b->returns.n && b->returns.v[k].last < of->v[i].last)
            k++;
        if (k < b->returns.n && b->returns.v[k].last == of->v[i].last)
            time[i * stride + n[i]++] = fl_return_time(&b->returns.v[k], rule, u);
    }
}

/* Each return of the bench: the middle of when it falls by all rules that agree. */
static void settle_ends(struct bench *b, const struct fl_return_fit *f)
{
    struct bench other;
    size_t n = b->returns.n;
    double *time = FL_NEW(double, n * f->n_draws + 1);
    size_t *have = FL_NEW(size_t, n + 1);
    bench_open(&other, b->view);
    for (size_t k = 0; k < f->n_draws; k++)
        gather_times(time, have, &b->returns, &other, &f->draw[k], spread(k + 1), f->n_draws);
    for (size_t i = 0; i < n; i++)
        b->end_s[i] = fl_median(time + i * f->n_draws, have[i]);
    bench_close(&other);
    free(time);
    free(have);
}

/* ---- the take ---- */

static double first_look(const struct fl_return_view *v)
{
    size_t k = 0;
    while (k < v->seen.n_parts && !v->seen.part[k].n)
        k++;
    return k < v->seen.n_parts ? v->seen.part[k].start_s : INFINITY;
}

/* Without the motion the delay alone tells. */
static double return_from(const struct bench *b, const struct fl_return_rule *rule, double t_s)
{
    double at = rule ? fl_return_after(&b->quiet, t_s, rule->d_on_s) : INFINITY;
    return isnan(at) ? t_s + rule->d_on_s : at;
}

void fl_off_share_find(struct fl_off_share *out, const struct fl_return_view *v,
                       const struct fl_return_fit *f)
{
    struct bench b;
    struct outcomes o;
    bench_open(&b, v);
    outcomes_of(&o, &b, f);
    const struct fl_return_rule *rule = f ? &f->draw[middle_draw(&o)] : NULL;
    *out = (struct fl_off_share){0};
    set_rule(&b, rule);
    if (f)
        settle_ends(&b, f);
    fl_off_time_find(&out->time, v, &b.returns, b.end_s, &b.quiet, rule, true);
    const struct fl_off_time *t = &out->time;
    /* what was seen stays seen */
    double all = v->seen.measured_s, least = t->off_s / all, most = 1 - t->on_s / all;
    out->low = fl_clamp(fmin(fl_quantile(o.low, o.n, TAIL), o.least), least, most);
    out->high = fl_clamp(fmax(fl_quantile(o.high, o.n, 1 - TAIL), o.most), least, most);
    out->lapses_low = (size_t)floor(fl_quantile(o.lapses, o.n, TAIL));
    out->lapses_high = (size_t)ceil(fl_quantile(o.lapses, o.n, 1 - TAIL));
    out->start_s = first_look(v);
    out->start_return_s = return_from(&b, rule, out->start_s);
    out->returns = b.returns;
    out->end_s = b.end_s;
    free(b.quiet.below.v);
    outcomes_free(&o);
}

void fl_off_share_finish(struct fl_off_share *o)
{
    free(o->returns.v);
    free(o->end_s);
    free(o->time.part);
    *o = (struct fl_off_share){0};
}
