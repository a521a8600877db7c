/* Recovery study: does flinch find the trip speeds that were put in? A line of figures a scenario.
 *
 *   recovery [--quick] [--sessions N] [--watched N] [-j N] [SCENARIO] */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/parallel.h"
#include "maths/robust.h"
#include "scenarios.h"
#include "study/compare/comparison.h"
#include "study/compare/comparisons.h"
#include "study/curve/curve.h"
#include "study/curve/curves.h"
#include "target.h"
#include "watched.h"

#define FULL 1000
#define QUICK 24
#define WATCHED 200 /* sessions a scenario in which a quantity is watched: they are larger */
#define WATCHED_QUICK 3
#define TARGET 0.94 /* of the intervals hold the truth */
#define OWN_TARGET 0.9
#define FALSE_CLAIMS 0.05
#define BOUND_TARGET 0.95

struct counts {
    int numbers, held, open, bounds, bounds_right, neither; /* V50 */
    int strays, others;        /* curves with a flick marked, with a second opinion shown */
    int takes, takes_held;     /* takes' own V50 */
    int another, another_held; /* where a further take's V50 would lie */
    int tested, claims, claims_right, ratio_held; /* ratios */
    int false_sessions; /* with any difference claimed where there is none */
};

/* What came of one session. */
struct found {
    struct counts n;
    double width[MOST_SETTINGS], error[MOST_SETTINGS], own[MOST_SETTINGS * MOST_TAKES];
    int widths, owns;
};

struct tally {
    int sessions;
    struct counts n;
    double *width, *error, *own;
    size_t widths, owns;
};

/* ---- one session ---- */

static bool holds(double low, double high, double truth)
{
    return !(low > truth) && !(high < truth);
}

static void add_number(struct found *f, const struct fl_curve *c, double v50, double another)
{
    bool open = !fl_known(c->v50_low) || !fl_known(c->v50_high);
    f->n.numbers++;
    f->n.held += holds(c->v50_low, c->v50_high, v50);
    f->n.open += open;
    f->n.another++;
    f->n.another_held += holds(c->another_low, c->another_high, another);
    f->width[f->widths] = open ? INFINITY : log2(c->v50_high / c->v50_low);
    f->error[f->widths++] = fabs(log2(c->v50 / v50));
}

static void add_takes(struct found *f, const struct fl_curve *c, const double *truth)
{
    for (int t = 0; t < c->takes; t++) {
        const struct fl_take_v50 *own = &c->by_take[t];
        if (!fl_known(own->v50))
            continue;
        f->n.takes++;
        f->n.takes_held += holds(own->low, own->high, exp2(truth[t]));
        bool open = !fl_known(own->low) || !fl_known(own->high);
        f->own[f->owns++] = open ? INFINITY : log2(own->high / own->low);
    }
}

static void add_curve(struct found *f, const struct fl_curve *c, const struct truth *truth, int i,
                      double offset)
{
    double v50 = exp2(truth->setting[i] + offset);
    f->n.strays += c->strays > 0;
    f->n.others += fl_known(c->other_v50);
    if (c->bound == FL_BOUND_ABOVE || c->bound == FL_BOUND_BELOW) {
        f->n.bounds++;
        f->n.bounds_right += c->bound == FL_BOUND_ABOVE ? v50 > c->bound_at : v50 < c->bound_at;
    } else if (c->bound == FL_BOUND_NONE) {
        add_number(f, c, v50, exp2(truth->another[i] + offset));
        if (offset == 0)
            add_takes(f, c, truth->take[i]);
    } else {
        f->n.neither++;
    }
}

static int setting_of(const struct fl_curve *c)
{
    return (int)lround(log2(c->counts_per_inch / 400));
}

static void add_comparison(struct found *f, const struct fl_comparison *c, const struct truth *t)
{
    if (!fl_known(c->p_adjusted))
        return;
    double ratio = exp2(t->setting[setting_of(c->a)] - t->setting[setting_of(c->b)]);
    bool claim = c->p_adjusted < 0.05, same = fabs(ratio - 1) < 1e-9;
    f->n.tested++;
    f->n.claims += claim;
    f->n.claims_right += claim && !same && (c->ratio < 1) == (ratio < 1);
    f->n.ratio_held += holds(c->low, c->high, ratio);
    f->n.false_sessions |= claim && same;
}

static bool asked(const struct scenario *s, int setting)
{
    return s->whose == ALL || (s->whose == ODD) == (setting == 0);
}

struct run {
    const struct scenario *s;
    double offset;
    struct found *found;
};

static void run_session(void *ctx, size_t k)
{
    const struct run *r = ctx;
    struct found *f = &r->found[k];
    struct truth truth;
    struct fl_session *session = simulate(r->s, k, &truth);
    const struct fl_hierarchy_prior prior = {
        r->s->prior_scale > 0 ? r->s->prior_scale : FL_SPREAD_SCALE, NULL, false};
    fl_study_curves_with(session, &prior);
    for (size_t i = 0; i < session->n_curves; i++) {
        const struct fl_curve *c = &session->curves[i];
        if (!c->pooled && c->quantity == FL_CAMERA_SPEED && asked(r->s, setting_of(c)))
            add_curve(f, c, &truth, setting_of(c), r->offset);
    }
    if (r->s->settings > 1)
        fl_study_comparisons(session);
    for (size_t i = 0; i < session->n_comparisons; i++)
        add_comparison(f, &session->comparisons[i], &truth);
    fl_session_free(&session);
}

/* ---- all sessions ---- */

static void add_counts(struct counts *sum, const struct counts *c)
{
    int *to = (int *)sum;
    const int *from = (const int *)c;
    for (size_t i = 0; i < sizeof *sum / sizeof *to; i++)
        to[i] += from[i];
}

static void add_found(struct tally *t, const struct found *f)
{
    add_counts(&t->n, &f->n);
    for (int i = 0; i < f->widths; i++) {
        t->width[t->widths] = f->width[i];
        t->error[t->widths++] = f->error[i];
    }
    for (int i = 0; i < f->owns; i++)
        t->own[t->owns++] = f->own[i];
}

static struct tally run(const struct scenario *s, int sessions, int jobs)
{
    size_t n = (size_t)sessions;
    struct run r = {s, s->blur > 0 ? offset_of_many(s) : 0, FL_NEW(struct found, n)};
    struct tally t = {.sessions = sessions,
                      .width = FL_NEW(double, n *MOST_SETTINGS),
                      .error = FL_NEW(double, n *MOST_SETTINGS),
                      .own = FL_NEW(double, n *MOST_SETTINGS *MOST_TAKES)};
    fl_parallel(n, jobs, run_session, &r);
    for (size_t k = 0; k < n; k++)
        add_found(&t, &r.found[k]);
    free(r.found);
    return t;
}

static void tally_free(struct tally *t)
{
    free(t->width);
    free(t->error);
    free(t->own);
}

/* ---- targets ---- */

static double quantile(const double *v, size_t n, double p)
{
    return n ? fl_quantile(v, n, p) : FL_UNKNOWN;
}

/* What the figures of one scenario say against the targets (DESIGN: targets); NULL: nothing. */
static const char *missed(const struct scenario *s, const struct tally *t)
{
    double target = s->target > 0 ? s->target : TARGET;
    if (too_few(t->n.held, t->n.numbers, target))
        return "intervals hold the truth too seldom";
    if (s->most_wide > 0 && fl_median(t->width, t->widths) > log2(s->most_wide) + 0.05)
        return "intervals are too wide";
    double own = s->own_target > 0 ? s->own_target : OWN_TARGET;
    if (!(s->stray > 0) && too_few(t->n.takes_held, t->n.takes, own))
        return "takes' own intervals hold the truth too seldom";
    if (s->own_wide > 0 && (quantile(t->own, t->owns, 0.5) > log2(s->own_wide) ||
                            quantile(t->own, t->owns, 0.99) > log2(s->own_most)))
        return "takes' own intervals are too wide";
    if (too_few(t->n.bounds_right, t->n.bounds, BOUND_TARGET))
        return "bounds lie on the wrong side too often";
    if (s->ratio == 1 && too_many(t->n.false_sessions, t->sessions, FALSE_CLAIMS))
        return "a resolution effect is claimed without cause too often";
    if (s->ratio > 0 && too_few(t->n.ratio_held, t->n.tested, target))
        return "ratio intervals hold the truth too seldom";
    if (s->ratio != 1 && t->n.claims != t->n.claims_right)
        return "an effect is claimed with the wrong sign";
    return NULL;
}

static void print(const struct scenario *s, struct tally *t)
{
    const struct counts *n = &t->n;
    printf("%s\t%s\t%d\t%d\t%d\t%d\t%d", s->name, s->text, s->settings, t->sessions, n->numbers,
           n->held, n->open);
    printf("\t%.4f\t%.4f", quantile(t->width, t->widths, 0.5), quantile(t->error, t->widths, 0.5));
    printf("\t%d\t%d\t%d\t%d\t%d", n->bounds, n->bounds_right, n->neither, n->strays, n->others);
    printf("\t%d\t%d\t%.4f\t%.4f", n->takes, n->takes_held, quantile(t->own, t->owns, 0.5),
           quantile(t->own, t->owns, 0.99));
    printf("\t%d\t%d\t%d\t%d\t%d\t%d\t%g\t%g\t%g\n", n->another, n->another_held, n->tested,
           n->claims, n->ratio_held, n->false_sessions, s->ratio,
           s->target > 0 ? s->target : TARGET, s->most_wide);
    fflush(stdout);
}

/* ---- options ---- */

struct options {
    int sessions, watched, jobs;
    const char *only;
};

static struct options parse(int argc, char **argv)
{
    struct options o = {FULL, WATCHED, 0, NULL};
    for (int i = 1; i < argc; i++) {
        int *number = !strcmp(argv[i], "--sessions")  ? &o.sessions
                      : !strcmp(argv[i], "--watched") ? &o.watched
                      : !strcmp(argv[i], "-j")        ? &o.jobs
                                                      : NULL;
        if (number && i + 1 < argc)
            *number = atoi(argv[++i]);
        else if (!strcmp(argv[i], "--quick"))
            o = (struct options){QUICK, WATCHED_QUICK, o.jobs, o.only};
        else
            o.only = argv[i];
    }
    return o;
}

int main(int argc, char **argv)
{
    struct options o = parse(argc, argv);
    int failures = 0;
    for (size_t i = 0; i < n_scenarios && o.sessions > 0; i++) {
        const struct scenario *s = &scenarios[i];
        if (o.only && strcmp(o.only, s->name))
            continue;
        struct tally t = run(s, o.sessions, o.jobs);
        print(s, &t);
        const char *why = missed(s, &t);
        if (why)
            fprintf(stderr, "%s: %s\n", s->name, why);
        failures += why != NULL;
        tally_free(&t);
    }
    failures += watched(o.watched, o.only, o.jobs);
    return failures > 0;
}
