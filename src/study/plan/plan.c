/* How many flicks and takes a wanted width needs: forecasts of growing size until it is reached. */
#include "study/plan/plan.h"

#include <stdlib.h>
#include <string.h>

#include "study/curve/curve.h"
#include "study/curve/curves.h"
#include "study/curve/setting.h"

#define LEAST_TAKES 3 /* of a setting, old ones included (docs/recording.md; common practice) */
#define CANDIDATES 31
#define REACH 1.0  /* octaves above the fastest flick so far that a hand may be asked for */
#define MARGIN 0.5 /* octaves beyond where a take's V50 may lie that are worth a look */
#define UNLIKELY 0.01
/* Bands as wide as a hand's scatter about one speed, to either side: narrower could not be hit. */
#define APART (2 * FL_HAND_SCATTER)
/* From nothing: from a slow turn to nearly as fast as a hand goes. Common practice, no source. */
#define SLOWEST 50.0
#define FASTEST 1000.0

void fl_plan_study(struct fl_session *s)
{
    free(s->curves);
    s->curves = NULL;
    s->n_curves = 0;
    fl_study_curves(s);
}

/* ---- which speeds ---- */

/* A speed that a person can read: two digits. */
static double tidy(double v)
{
    double unit = pow(10, floor(log10(v)) - 1);
    return round(v / unit) * unit;
}

static double floor_of(const struct fl_curve *c)
{
    double floor = 0;
    for (int i = 0; i < c->flicks && c->quantity == FL_CAMERA_SPEED; i++)
        floor = fmax(floor, c->points[i].take->visible_floor_deg_s); /* fmax skips NaN */
    return floor;
}

/* Where on and off can be told, and a hand can go. */
static void candidates(const struct fl_curve *c, const struct fl_posterior *p, double *out)
{
    double low = log2(SLOWEST), high = log2(FASTEST), fastest = 0;
    if (c) {
        for (int i = 0; i < c->flicks; i++)
            fastest = fmax(fastest, c->points[i].v);
        fl_posterior_theta_range(p, UNLIKELY, &low, &high);
        low = fmax(low - MARGIN, log2(floor_of(c)));
        high = fmin(high + MARGIN, log2(fastest) + REACH);
        low = fmin(low, high - 2 * APART);
    }
    for (int i = 0; i < CANDIDATES; i++)
        out[i] = low + (high - low) * i / (CANDIDATES - 1);
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The three speeds that tell most, and bands about them that meet halfway between. */
void fl_plan_choose_bands(struct fl_plan_setting *t, const struct fl_outlook *o)
{
    struct fl_posterior p;
    double x[CANDIDATES], aim[FL_PLAN_BANDS];
    size_t chosen[FL_PLAN_BANDS];
    fl_outlook_posterior(o, &p);
    p.scatter = FL_HAND_SCATTER;
    candidates(t->curve, &p, x);
    fl_posterior_choose(&p, x, CANDIDATES, APART, chosen, FL_PLAN_BANDS);
    fl_posterior_finish(&p);
    for (int i = 0; i < FL_PLAN_BANDS; i++)
        aim[i] = x[chosen[i]];
    qsort(aim, FL_PLAN_BANDS, sizeof *aim, ascending);
    double lower = (aim[0] + aim[1]) / 2, upper = (aim[1] + aim[2]) / 2;
    double edge[] = {2 * aim[0] - lower, lower, upper, 2 * aim[2] - upper};
    for (int i = 0; i < FL_PLAN_BANDS; i++)
        t->band[i] = (struct fl_plan_band){tidy(exp2(edge[i])), tidy(exp2(edge[i + 1])),
                                           i == 1 ? FL_PLAN_BLOCK - 2 : 1};
}

/* ---- how many takes ---- */

void fl_plan_aims(const struct fl_plan_setting *t, int flicks, double *speed)
{
    int at = 0;
    for (int i = 0; i < FL_PLAN_BANDS; i++) {
        int n = flicks * t->band[i].share / FL_PLAN_BLOCK;
        double low = log2(t->band[i].low), high = log2(t->band[i].high);
        for (int k = 0; k < n; k++)
            speed[at++] = low + (high - low) * (k + 0.5) / n;
    }
}

#define FEW_TAKES 6 /* mostly enough: more are reckoned only where these are not */

/* Fewest takes that do, an even number where settings are compared, so that A B B A comes out
 * even. */
static void find_takes(struct fl_plan_setting *t, const struct fl_outlook *o, double wanted,
                       bool even)
{
    struct fl_forecast f[FL_FORECAST_TAKES];
    double speed[FL_PLAN_FLICKS];
    struct fl_flicks_ahead ahead = {speed, FL_PLAN_FLICKS, FEW_TAKES};
    fl_plan_aims(t, FL_PLAN_FLICKS, speed);
    fl_forecast(f, o, &ahead);
    if (!t->searching && !(f[FEW_TAKES - 1].width <= wanted)) {
        ahead.takes = FL_FORECAST_TAKES;
        fl_forecast(f, o, &ahead);
    }
    int least = LEAST_TAKES - (t->curve ? t->curve->takes : 0), step = even ? 2 : 1;
    least = least < step ? step : least + (even && least % 2);
    t->takes = least;
    while (!t->searching && !(f[t->takes - 1].width <= wanted) && t->takes + step <= ahead.takes)
        t->takes += step;
    t->forecast = f[t->takes - 1];
    t->reached = t->forecast.width <= wanted;
}

static void plan_setting(struct fl_plan_setting *t, double wanted, bool even)
{
    struct fl_outlook o;
    fl_outlook_init(&o, t->curve);
    t->takes_differ = fl_outlook_takes_differ(&o);
    t->width_now = fl_forecast_width_now(t->curve);
    t->enough = t->width_now <= wanted;
    t->searching = t->curve && !fl_known(t->width_now);
    fl_plan_choose_bands(t, &o);
    if (t->enough) {
        t->reached = true;
        t->forecast = (struct fl_forecast){t->width_now, t->width_now, t->width_now, 0};
    } else {
        t->flicks_a_take = FL_PLAN_FLICKS;
        find_takes(t, &o, wanted, even);
    }
    fl_outlook_finish(&o);
}

/* ---- which settings ---- */

/* Camera speed compares best; the others stand in where it is not measured. */
static int preference(enum fl_quantity q)
{
    static const enum fl_quantity order[] = {FL_CAMERA_SPEED, FL_COUNT_RATE, FL_IMAGE_STEP,
                                             FL_STICK_DEFLECTION, FL_IMAGE_CHANGE};
    int k = 0;
    while (k < 5 && order[k] != q)
        k++;
    return k;
}

static bool one_setting(const struct fl_curve *a, const struct fl_curve *b)
{
    return !strcmp(a->game, b->game) && !strcmp(a->condition, b->condition) &&
           fl_same_number(a->counts_per_inch, b->counts_per_inch) &&
           fl_same_number(a->degrees_per_count, b->degrees_per_count);
}

/* The curve to plan its setting by. */
static bool leads(const struct fl_session *s, const struct fl_curve *c)
{
    if (c->pooled || !c->flicks || preference(c->quantity) == 5)
        return false;
    for (size_t i = 0; i < s->n_curves; i++) {
        const struct fl_curve *r = &s->curves[i];
        if (!r->pooled && r->flicks && one_setting(r, c) &&
            preference(r->quantity) < preference(c->quantity))
            return false;
    }
    return true;
}

static bool compared(const struct fl_plan *plan, const char *game)
{
    int n = 0;
    for (size_t i = 0; i < plan->n; i++)
        n += !strcmp(plan->setting[i].game, game);
    return n > 1;
}

static void from_session(struct fl_plan *plan, const struct fl_session *s, struct fl_arena *arena)
{
    plan->setting = FL_ARENA(arena, struct fl_plan_setting, s->n_curves + 1);
    for (size_t i = 0; i < s->n_curves; i++) {
        const struct fl_curve *c = &s->curves[i];
        if (leads(s, c))
            plan->setting[plan->n++] =
                (struct fl_plan_setting){.game = c->game,
                                         .condition = c->condition,
                                         .counts_per_inch = c->counts_per_inch,
                                         .degrees_per_count = c->degrees_per_count,
                                         .degrees_found = c->degrees_found,
                                         .quantity = c->quantity,
                                         .curve = c};
    }
    for (size_t i = 0; i < plan->n; i++)
        plan_setting(&plan->setting[i], plan->wanted, compared(plan, plan->setting[i].game));
}

static void from_nothing(struct fl_plan *plan, int n_settings, struct fl_arena *arena)
{
    plan->from_nothing = true;
    plan->n = (size_t)n_settings;
    plan->setting = FL_ARENA(arena, struct fl_plan_setting, plan->n);
    plan->setting[0] = (struct fl_plan_setting){.counts_per_inch = FL_UNKNOWN,
                                                .degrees_per_count = FL_UNKNOWN,
                                                .quantity = FL_CAMERA_SPEED};
    plan_setting(&plan->setting[0], plan->wanted, n_settings > 1);
    for (size_t i = 0; i < plan->n; i++) {
        plan->setting[i] = plan->setting[0];
        plan->setting[i].condition = fl_arena_printf(arena, "%c", (char)('A' + i));
    }
}

void fl_plan_make(struct fl_plan *plan, const struct fl_session *s, double wanted, int n_settings,
                  struct fl_arena *arena)
{
    *plan = (struct fl_plan){.wanted = log2(1 + wanted)};
    if (s)
        from_session(plan, s, arena);
    else
        from_nothing(plan, n_settings, arena);
}
