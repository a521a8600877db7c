/* Waits until trip and return: Kaplan-Meier where brackets are tight, else Turnbull (1976);
 * slowing first competes. */
#include "study/rule/delay.h"

#include <stdlib.h>
#include <string.h>

#include "maths/interval.h"
#include "maths/random.h"
#include "maths/robust.h"
#include "study/curve/setting.h"
#include "study/rule/delay_cases.h"
#include "study/rule/rule.h"
#include "study/rule/rules.h"

#define LEVEL 0.95
#define RESAMPLES 200
#define TAKES_FROM 6

/* Columns as the maths room takes them: crossing back is no end of the wait for a switch. */
struct columns {
    double *low, *high, *middle;
    bool *event;
    int *cause;
    size_t n;
};

static struct columns columns_of(const struct fl_delay_case *c, size_t n)
{
    struct columns k = {FL_NEW(double, n + 1), FL_NEW(double, n + 1), FL_NEW(double, n + 1),
                        FL_NEW(bool, n + 1),   FL_NEW(int, n + 1),    n};
    for (size_t i = 0; i < n; i++) {
        k.event[i] = c[i].outcome == FL_DELAY_SWITCHED;
        k.cause[i] = c[i].outcome;
        k.low[i] = c[i].low_s;
        k.high[i] = k.event[i] ? c[i].high_s : INFINITY;
        k.middle[i] = (c[i].low_s + c[i].high_s) / 2;
    }
    return k;
}

static void free_columns(struct columns *k)
{
    free(k->low);
    free(k->high);
    free(k->middle);
    free(k->event);
    free(k->cause);
}

/* The bracket that the median lies in. */
static void median_range(const struct fl_delay_case *c, size_t n, double *low, double *high)
{
    struct columns k = columns_of(c, n);
    struct fl_turnbull t;
    fl_turnbull_fit(&t, k.low, k.high, n);
    fl_turnbull_quantile(&t, 0.5, low, high);
    fl_turnbull_finish(&t);
    free_columns(&k);
}

/* Cases drawn with replacement, or all those of takes drawn with replacement. */
static size_t redraw(const struct fl_delay *d, struct fl_take *const *takes, size_t n_takes,
                     struct fl_random *rng, struct fl_delay_case *out)
{
    size_t n = 0;
    for (size_t i = 0; i < d->n_cases && !n_takes; i++)
        out[n++] = d->cases[fl_random_below(rng, d->n_cases)];
    for (size_t i = 0; i < n_takes; i++) {
        const struct fl_take *t = takes[fl_random_below(rng, n_takes)];
        for (size_t k = 0; k < d->n_cases; k++)
            if (d->cases[k].take == t)
                out[n++] = d->cases[k];
    }
    return n;
}

/* n_takes 0: cases are drawn. */
static void resample(struct fl_delay *d, struct fl_take *const *takes, size_t n_takes)
{
    struct fl_delay_case *c =
        FL_NEW(struct fl_delay_case, d->n_cases * (n_takes ? n_takes : 1) + 1);
    double low[RESAMPLES], high[RESAMPLES];
    struct fl_random rng;
    fl_random_seed(&rng, 1);
    for (int i = 0; i < RESAMPLES; i++) {
        size_t n = redraw(d, takes, n_takes, &rng, c);
        median_range(c, n, &low[i], &high[i]);
        if (!n) {
            low[i] = 0;
            high[i] = INFINITY;
        }
    }
    double end = fl_quantile(high, RESAMPLES, (1 + LEVEL) / 2);
    d->low_s = fl_quantile(low, RESAMPLES, (1 - LEVEL) / 2);
    d->high_s = isfinite(end) ? end : FL_UNKNOWN;
    d->low_s = isfinite(d->low_s) ? d->low_s : FL_UNKNOWN;
    d->interval_method = n_takes ? "takes_bootstrap" : "cases_bootstrap";
    free(c);
}

static bool tight(const struct fl_delay *d, double frame_s)
{
    for (size_t i = 0; i < d->n_cases; i++)
        if (d->cases[i].outcome == FL_DELAY_SWITCHED &&
            !(d->cases[i].high_s - d->cases[i].low_s < frame_s))
            return false;
    return true;
}

static void kaplan_meier(struct fl_delay *d)
{
    struct columns k = columns_of(d->cases, d->n_cases);
    struct fl_km km;
    fl_km_fit(&km, k.middle, k.event, k.n, LEVEL);
    d->median_s = km.median;
    d->low_s = km.median_low;
    d->high_s = km.median_high;
    d->method = "kaplan_meier";
    d->interval_method = "log_log";
    fl_km_finish(&km);
    free_columns(&k);
}

static void turnbull(struct fl_delay *d)
{
    double low, high;
    median_range(d->cases, d->n_cases, &low, &high);
    d->median_s = isfinite(high) ? (low + high) / 2 : FL_UNKNOWN;
    d->method = "turnbull";
}

static void count_outcomes(struct fl_delay *d)
{
    struct columns k = columns_of(d->cases, d->n_cases);
    double share[2];
    for (size_t i = 0; i < d->n_cases; i++)
        ++*(k.cause[i] == FL_DELAY_SWITCHED ? &d->switched
            : k.cause[i] == FL_DELAY_LEFT   ? &d->left
                                            : &d->censored);
    fl_incidence(k.middle, k.cause, k.n, share);
    d->left_share = d->n_cases ? share[FL_DELAY_LEFT - 1] : FL_UNKNOWN;
    free_columns(&k);
}

static void measure(struct fl_delay *d, const struct fl_rule *r, const struct fl_setting *cell,
                    struct fl_arena *arena)
{
    struct fl_delay_list list = {0};
    double frame = r->kernel_ms > 0 ? r->kernel_ms / 1000 : 0;
    for (size_t i = 0; i < cell->n; i++) {
        struct fl_track k;
        if (!fl_track_make(&k, cell->takes[i], r->quantity))
            continue;
        if (d->trip)
            fl_trip_cases(&k, d->threshold, frame, &list);
        else
            fl_return_cases(&k, d->threshold, frame, &list);
        fl_track_finish(&k);
    }
    d->cases = FL_ARENA(arena, struct fl_delay_case, list.n + 1);
    d->n_cases = list.n;
    d->unmatched = list.unmatched;
    if (list.n)
        memcpy(d->cases, list.v, list.n * sizeof *list.v);
    free(list.v);
    count_outcomes(d);
    if (!d->switched)
        return;
    if (tight(d, frame))
        kaplan_meier(d);
    else
        turnbull(d);
    bool takes = cell->n >= TAKES_FROM;
    if (takes || !strcmp(d->method, "turnbull"))
        resample(d, cell->takes, takes ? cell->n : 0);
}

/* ---- in rendered frames ---- */

static double worst_clock_s(const struct fl_setting *cell)
{
    double worst = FL_UNKNOWN;
    for (size_t i = 0; i < cell->n; i++)
        worst = fmax(worst, cell->takes[i]->clock.error_ms / 1000); /* fmax skips NaN */
    return worst;
}

static void count_frames(struct fl_delay *d, const struct fl_setting *cell)
{
    double clock = worst_clock_s(cell), slack = fl_known(clock) ? clock : 0;
    d->clock_s = clock;
    d->low_frames = d->high_frames = FL_UNKNOWN;
    if (!(d->frame_s > 0) || !fl_known(d->median_s))
        return;
    double low = fmin(d->low_s, d->median_s), high = fmax(d->high_s, d->median_s);
    d->low_frames = fl_known(d->low_s) ? floor(fmax(low - slack, 0) / d->frame_s) : FL_UNKNOWN;
    d->high_frames = fl_known(d->high_s) ? ceil((high + slack) / d->frame_s) : FL_UNKNOWN;
}

const char *fl_delay_frames_text(const struct fl_delay *d, struct fl_arena *arena)
{
    if (!fl_known(d->low_frames) || !fl_known(d->high_frames))
        return NULL;
    if (d->low_frames == 0)
        return d->high_frames <= 1
                   ? "within one rendered frame"
                   : fl_arena_printf(arena, "within %.0f rendered frames", d->high_frames);
    return fl_arena_printf(arena, "%.0f to %.0f rendered frames", d->low_frames, d->high_frames);
}

/* ---- the session ---- */

static const struct fl_rule *rule_of(const struct fl_session *s, const struct fl_setting *c)
{
    return c->control ? NULL : fl_rule_of(s, c->game, c->condition);
}

static void add_delays(struct fl_session *s)
{
    struct fl_setting *cells;
    size_t n = fl_settings(s, true, &cells);
    s->delays = FL_NEW(struct fl_delay, 2 * n + 1);
    for (size_t i = 0; i < n; i++) {
        const struct fl_rule *r = rule_of(s, &cells[i]);
        for (int trip = 1; r && trip >= 0; trip--) {
            struct fl_delay *d = &s->delays[s->n_delays++];
            *d = (struct fl_delay){.game = r->game,
                                   .condition = r->condition,
                                   .trip = trip,
                                   .quantity = r->quantity,
                                   .threshold = trip ? r->fit.theta_off : r->fit.theta_on,
                                   .median_s = FL_UNKNOWN,
                                   .low_s = FL_UNKNOWN,
                                   .high_s = FL_UNKNOWN,
                                   .left_share = FL_UNKNOWN};
            measure(d, r, &cells[i], s->arena);
            d->frame_s = r->kernel_ms > 0 ? r->kernel_ms / 1000 : FL_UNKNOWN;
            count_frames(d, &cells[i]);
        }
    }
}

/* ---- two conditions ---- */

static void test_waits(struct fl_delay_comparison *c)
{
    struct columns a = columns_of(c->a->cases, c->a->n_cases),
                   b = columns_of(c->b->cases, c->b->n_cases);
    const struct fl_waits wait[2] = {{a.middle, a.event, a.n}, {b.middle, b.event, b.n}};
    struct fl_log_rank test;
    fl_log_rank(&test, &wait[0], &wait[1]);
    c->chi2 = test.chi2;
    c->p = test.p;
    free_columns(&a);
    free_columns(&b);
}

bool fl_delay_apart(const struct fl_delay *a, const struct fl_delay *b)
{
    return a->high_s < b->low_s || b->high_s < a->low_s; /* false for NaN */
}

void fl_delay_compare(struct fl_delay_comparison *c, const struct fl_delay *a,
                      const struct fl_delay *b)
{
    bool both = !strcmp(a->method, "kaplan_meier") && !strcmp(b->method, "kaplan_meier");
    *c = (struct fl_delay_comparison){
        a, b, both ? "log_rank" : "intervals", FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN, NULL};
    if (both)
        test_waits(c);
}

static void judge(struct fl_delay_comparison *c, struct fl_arena *arena)
{
    bool tested = !strcmp(c->method, "log_rank"),
         differ = tested ? c->p_adjusted < 1 - LEVEL : fl_delay_apart(c->a, c->b);
    const char *what = c->a->trip ? "trips" : "returns";
    if (differ && fl_known(c->a->median_s) && fl_known(c->b->median_s) &&
        c->a->median_s != c->b->median_s)
        c->verdict = fl_arena_printf(
            arena, "%s %s sooner than %s: after %.0f against %.0f ms",
            c->a->median_s < c->b->median_s ? c->a->condition : c->b->condition, what,
            c->a->median_s < c->b->median_s ? c->b->condition : c->a->condition,
            1000 * fmin(c->a->median_s, c->b->median_s),
            1000 * fmax(c->a->median_s, c->b->median_s));
    else
        c->verdict = fl_arena_printf(arena, "no difference in how soon it %s is shown", what);
}

static void compare(struct fl_session *s)
{
    size_t n = s->n_delays, m = 0;
    s->delay_comparisons = FL_NEW(struct fl_delay_comparison, n * n / 2 + 1);
    double *p = FL_NEW(double, n *n / 2 + 1);
    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 1; j < n; j++) {
            const struct fl_delay *a = &s->delays[i], *b = &s->delays[j];
            if (strcmp(a->game, b->game) || a->trip != b->trip || a->quantity != b->quantity ||
                !a->method || !b->method)
                continue;
            fl_delay_compare(&s->delay_comparisons[m], a, b);
            p[m] = s->delay_comparisons[m].p;
            m++;
        }
    fl_holm(p, m);
    for (size_t i = 0; i < m; i++) {
        s->delay_comparisons[i].p_adjusted = p[i];
        judge(&s->delay_comparisons[i], s->arena);
    }
    s->n_delay_comparisons = m;
    free(p);
}

void fl_study_delays(struct fl_session *s)
{
    add_delays(s);
    compare(s);
}
