/* How many flicks and takes a wanted width needs: forecasts of growing size until it is reached. */
#include "study/plan/plan.h"

#include <stdlib.h>
#include <string.h>

#include "study/curve/curve.h"
#include "study/curve/curves.h"
#include "study/curve/setting.h"

/* 30 flicks a take: 25 at least, 40 are better (docs/recording.md; common practice) */
#define TENS_A_TAKE 3
#define LEAST_TAKES 3 /* of a setting, old ones included (docs/recording.md; common practice) */
#define CANDIDATES 41
#define REACH 1.0  /* octaves above the fastest flick so far that a hand may be asked for */
#define MARGIN 1.0 /* octaves beyond where V50 may lie that are worth a look */
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
    double fastest = 0;
    for (int i = 0; i < c->flicks; i++)
        fastest = fmax(fastest, c->points[i].v);
    double low = fmax(p->theta[0] - MARGIN, log2(floor_of(c))), most = log2(fastest) + REACH;
    double high = fmin(p->theta[p->n_theta - 1] + MARGIN, most);
    low = fmin(low, high - MARGIN);
    for (int i = 0; i < CANDIDATES; i++)
        out[i] = low + (high - low) * i / (CANDIDATES - 1);
}

static void choose_speeds(struct fl_plan_setting *t, const struct fl_posterior *p)
{
    double x[CANDIDATES];
    size_t chosen[FL_PLAN_SPEEDS];
    if (t->curve) {
        candidates(t->curve, p, x);
        fl_posterior_choose(p, x, CANDIDATES, chosen, FL_PLAN_SPEEDS);
    }
    for (int i = 0; i < FL_PLAN_SPEEDS; i++)
        t->speed[i] =
            tidy(t->curve ? exp2(x[chosen[i]])
                          : SLOWEST * pow(FASTEST / SLOWEST, (double)i / (FL_PLAN_SPEEDS - 1)));
}

/* ---- how many flicks ---- */

/* Takes for so many tens of flicks; an even number where settings are compared, so that A B B A
 * comes out even. */
static void share_out(const struct fl_plan_setting *t, int tens, bool even, int *takes, int *flicks)
{
    int least = LEAST_TAKES - (t->curve ? t->curve->takes : 0),
        n = (tens + TENS_A_TAKE - 1) / TENS_A_TAKE;
    n = n > least ? n : least;
    n += even && n % 2;
    *takes = n;
    *flicks = 10 * ((tens + n - 1) / n);
}

static void try_tens(struct fl_plan_setting *t, const struct fl_posterior *p, int tens, bool even)
{
    double x[FL_PLAN_SPEEDS];
    for (int i = 0; i < FL_PLAN_SPEEDS; i++)
        x[i] = log2(t->speed[i]);
    share_out(t, tens, even, &t->takes, &t->flicks_a_take);
    fl_forecast(&t->forecast, t->curve, p, &t->takes_differ,
                &(struct fl_flicks_ahead){x, FL_PLAN_SPEEDS, t->takes, t->flicks_a_take});
}

/* The fewest tens of flicks that do: doubled until they do, then halved between. */
static void find_flicks(struct fl_plan_setting *t, const struct fl_posterior *p, double wanted,
                        bool even)
{
    int most = FL_PLAN_MOST_FLICKS / 10, low = 0, high = 3;
    try_tens(t, p, high, even);
    while (!(t->forecast.width <= wanted) && high < most) {
        low = high;
        high = 2 * high < most ? 2 * high : most;
        try_tens(t, p, high, even);
    }
    t->reached = t->forecast.width <= wanted;
    while (t->reached && high - low > 1) {
        int middle = (low + high) / 2;
        try_tens(t, p, middle, even);
        *(t->forecast.width <= wanted ? &high : &low) = middle;
    }
    if (t->reached)
        try_tens(t, p, high, even);
}

static void plan_setting(struct fl_plan_setting *t, double wanted, bool even)
{
    struct fl_posterior p;
    fl_forecast_posterior(&p, t->curve);
    t->takes_differ = fl_forecast_takes_differ(t->curve);
    t->width_now = fl_forecast_width_now(t->curve);
    t->enough = t->width_now <= wanted;
    t->searching = t->curve && !fl_known(t->width_now);
    choose_speeds(t, &p);
    if (t->enough) {
        t->reached = true;
        t->forecast = (struct fl_forecast){t->width_now, t->width_now, t->width_now};
    } else if (t->searching) {
        try_tens(t, &p, TENS_A_TAKE, even);
        t->reached = t->forecast.width <= wanted;
    } else {
        find_flicks(t, &p, wanted, even);
    }
    fl_posterior_finish(&p);
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
