#include "study/plan/plan.h"

#include "fake_take.h"
#include "maths/random.h"
#include "maths/robust.h"
#include "study/curve/curve.h"
#include "study/plan/recording_schedule.h"
#include "test.h"

struct game {
    double v50, slope, take_sd;
    struct fl_random rng;
};

/* Somewhere in the band that the flick has, as a hand hits it. */
static double in_band(struct game *g, const struct fl_plan_band *band, int flick)
{
    int at = flick % FL_PLAN_BLOCK, k = 0;
    while (at >= band[k].share)
        at -= band[k++].share;
    double aim = band[k].low * pow(band[k].high / band[k].low, fl_random_uniform(&g->rng));
    return aim * exp2(FL_HAND_SCATTER * fl_random_normal(&g->rng));
}

/* A take whose flicks go by the bands; NULL: anything from 40 to 1200. */
static struct fl_take *record(struct game *g, const struct fl_plan_band *band, int flicks)
{
    struct fl_take *t = fl_take_new();
    t->spec.id = t->spec.game = "g";
    t->spec.condition = "default";
    t->spec.counts_per_inch = 800;
    t->spec.degrees_per_count = 0.044;
    t->kernel_ms = 14;
    t->visible_floor_deg_s = 15;
    t->n_flicks = (size_t)flicks;
    t->flicks = FL_ARENA(t->arena, struct fl_flick, t->n_flicks);
    double own = g->v50 * exp2(g->take_sd * fl_random_normal(&g->rng));
    for (int i = 0; i < flicks; i++) {
        struct fl_flick *f = &t->flicks[i];
        double v = band ? in_band(g, band, i) : 40 * pow(30, fl_random_uniform(&g->rng));
        for (int q = 0; q < FL_QUANTITIES; q++)
            f->peak[q] = FL_UNKNOWN;
        f->peak[FL_CAMERA_SPEED] = v;
        f->peak[FL_COUNT_RATE] = v / 0.044;
        f->start_s = 1.5 * i;
        f->at_risk = FL_YES;
        f->tripped =
            fl_random_uniform(&g->rng) < 1 / (1 + exp(-g->slope * log2(v / own))) ? FL_YES : FL_NO;
    }
    return t;
}

#define WANTED 0.2
enum { GAMES = 24 };

static struct fl_session *first_session(struct game *g, int takes, int flicks)
{
    struct fl_session *s = fl_session_new("simulated");
    for (int i = 0; i < takes; i++)
        fl_session_add(s, record(g, NULL, flicks));
    fl_plan_study(s);
    return s;
}

/* Games as they may be: V50 100 to 600 deg/s, slope 2 to 32 logits an octave, takes that differ by
 * 0 to 10 %. */
static struct game game_of(uint64_t seed)
{
    struct game g = {0};
    fl_random_seed(&g.rng, seed);
    g.v50 = 100 * pow(6, fl_random_uniform(&g.rng));
    g.slope = 2 * pow(16, fl_random_uniform(&g.rng));
    g.take_sd = 0.14 * fl_random_uniform(&g.rng);
    return g;
}

struct outcome {
    double width, forecast;
    bool in_range;
};

/* Records what is planned for the only setting, and fits. */
static struct outcome follow(struct fl_session *s, struct game *g, const struct fl_plan_setting *t)
{
    struct outcome o = {FL_UNKNOWN, t->forecast.width, false};
    for (int i = 0; i < t->takes; i++)
        fl_session_add(s, record(g, t->band, t->flicks_a_take));
    fl_plan_study(s);
    for (size_t i = 0; i < s->n_curves; i++)
        if (s->curves[i].quantity == FL_CAMERA_SPEED && !s->curves[i].pooled)
            o.width = fl_forecast_width_now(&s->curves[i]);
    o.in_range = o.width >= t->forecast.low && o.width <= t->forecast.high;
    return o;
}

/* A game with `takes` takes so far; first: the plan to follow where there are none. */
static struct outcome play(uint64_t seed, int takes, const struct fl_plan *first)
{
    struct game g = game_of(seed);
    struct fl_session *s = first_session(&g, takes, 25);
    struct fl_arena *arena = fl_arena_new();
    struct fl_plan plan = *first;
    if (takes)
        fl_plan_make(&plan, s, WANTED, 1, arena);
    assert_int_equal(plan.n, 1);
    struct fl_plan_setting t = plan.setting[0];
    struct outcome o = follow(s, &g, &t);
    fl_session_free(&s);
    fl_arena_free(&arena);
    return o;
}

/* Medians over 24 games of how wide the interval came out; how many within the forecast's 80 %
 * range. */
static int play_all(int takes_from, int takes_to, double *ratio, double *percent)
{
    double r[GAMES], apart[GAMES], w[GAMES];
    int held = 0;
    struct fl_arena *arena = fl_arena_new();
    struct fl_plan first;
    fl_plan_make(&first, NULL, WANTED, 1, arena);
    for (int i = 0; i < GAMES; i++) {
        struct outcome o =
            play(500 + (uint64_t)i, takes_from + i % (takes_to - takes_from + 1), &first);
        r[i] = o.width / o.forecast;
        apart[i] = fabs(r[i] - 1);
        w[i] = fl_octaves_to_percent(o.width);
        held += o.in_range;
    }
    fl_arena_free(&arena);
    *ratio = fl_median(r, GAMES);
    *percent = fl_median(w, GAMES);
    print_message("%d games: width over forecast %.2f in the median, off by %.0f %%; interval "
                  "±%.1f %%; %d in the 80 %% range\n",
                  GAMES, *ratio, 100 * fl_median(apart, GAMES), *percent, held);
    return held;
}

/* The plan's promise: the width that it forecasts holds within 25 %, in the median over simulated
 * games, and the width asked for, ±20 %, is reached as well. The truth is this file's own
 * simulation; seeds are fixed. Of 24 games with a chance of 0.8, fewer than 15 hold with a chance
 * of 1 % (binomial); spreads and
 * slopes here are not drawn as the forecast draws them, so 22. */
static void forecasts_hold(void **state)
{
    (void)state;
    double ratio, percent;
    int held = play_all(2, 4, &ratio, &percent);
    assert_true(fabs(ratio - 1) <= 0.25);
    assert_true(percent <= 100 * WANTED * 1.25);
    assert_true(held >= 13);
}

/* A first session fits an afternoon: six takes of a setting at most. Games here are sharper and
 * calmer than the forecast fears, so that the interval comes out narrower. */
static void the_first_plan_holds_too(void **state)
{
    (void)state;
    double ratio, percent;
    struct fl_arena *arena = fl_arena_new();
    struct fl_plan first;
    for (int settings = 1; settings <= 2; settings++) {
        fl_plan_make(&first, NULL, WANTED, settings, arena);
        assert_true(first.setting[0].reached && first.setting[0].takes <= 6);
    }
    fl_arena_free(&arena);
    play_all(0, 0, &ratio, &percent);
    assert_true(ratio <= 1.25);
    assert_true(percent <= 100 * WANTED * 1.25);
}

/* Bands that a hand can hit: each at least as wide as its scatter to either side, one beginning
 * where another ends, and none so narrow that 48, 51 and 53 deg/s would be told apart. */
static void bands_can_be_hit(void **state)
{
    (void)state;
    struct fl_arena *arena = fl_arena_new();
    for (int takes = 0; takes < 6; takes++) {
        struct game g = {250, 40, 0.02, {{0}}};
        fl_random_seed(&g.rng, 3);
        struct fl_session *s = first_session(&g, takes, 40);
        struct fl_plan plan;
        fl_plan_make(&plan, takes ? s : NULL, 0.01, 1, arena);
        const struct fl_plan_band *b = plan.setting[0].band;
        for (int k = 0; k < FL_PLAN_BANDS; k++) {
            assert_true(b[k].high / b[k].low > 1.25); /* ±15 %, to two digits */
            assert_true(!k || b[k].low == b[k - 1].high);
        }
        fl_session_free(&s);
    }
    fl_arena_free(&arena);
}

/* Wanted: with A B B A whatever drifts evenly in time falls on both alike (common practice, no
 * source), that is, every setting has the same mean place. */
static void settings_alternate_and_balance(void **state)
{
    (void)state;
    static const int cases[][4] = {
        {2, 2, 0, 0}, {2, 2, 2, 0}, {4, 2, 0, 0}, {6, 2, 4, 2}, {0, 2, 0, 2}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        size_t order[16], n = fl_schedule_order(cases[c], 4, order);
        double place[4] = {0};
        int count[4] = {0};
        for (size_t k = 0; k < n; k++) {
            place[order[k]] += (double)k;
            count[order[k]]++;
        }
        for (int i = 0; i < 4; i++) {
            assert_int_equal(count[i], cases[c][i]);
            if (count[i])
                assert_near(place[i] / count[i], ((double)n - 1) / 2, 1e-12);
        }
    }
    size_t order[16];
    const int two[2] = {2, 2};
    assert_int_equal(fl_schedule_order(two, 2, order), 4);
    assert_true(order[0] == 0 && order[1] == 1 && order[2] == 1 && order[3] == 0);
}

/* Cautions come first; controls stand at both ends of the takes; no stretch of flicks is longer
 * than ten minutes, no sitting longer than an hour (docs/recording.md; common practice, no source);
 * each take has a quarter of its flicks slow, half in the middle, a quarter fast. */
static void check_desk(const struct fl_schedule *d)
{
    double stretch = 0, all = 0;
    int takes = 0, first = -1, last = -1;
    assert_int_equal(d->step[0].kind, FL_STEP_CAUTION);
    assert_int_equal(d->step[1].kind, FL_STEP_CAUTION);
    for (size_t i = 0; i < d->n; i++) {
        const struct fl_step *s = &d->step[i];
        stretch = s->kind == FL_STEP_REST ? 0 : stretch + s->flicks * 4.5 / 60;
        all += s->flicks * 4.5 / 60;
        assert_true(stretch <= 10);
        if (s->kind == FL_STEP_TAKE || s->kind == FL_STEP_CONTROL) {
            first = first < 0 ? (int)i : first;
            last = (int)i;
        }
        if (s->kind != FL_STEP_TAKE)
            continue;
        takes++;
        int times[FL_PLAN_BANDS + 1] = {0};
        for (int k = 0; k < s->flicks; k++)
            times[s->order[k]]++;
        for (int k = 1; k <= FL_PLAN_BANDS; k++)
            assert_int_equal(times[k], s->flicks * (k == 2 ? 2 : 1) / 4);
    }
    assert_int_equal(takes, d->takes);
    assert_int_equal(d->step[first].kind, FL_STEP_CONTROL);
    assert_int_equal(d->step[last].kind, FL_STEP_CONTROL);
    assert_true(all <= 75);
}

static void steps_keep_to_the_rules(void **state)
{
    (void)state;
    struct fl_arena *arena = fl_arena_new();
    struct fl_session *s = fake_session();
    struct fl_plan plan;
    struct fl_schedule d;
    fl_plan_study(s);
    for (int i = 0; i < 3; i++) {
        fl_plan_make(&plan, i ? s : NULL, i == 1 ? 0.3 : 0.15, 3, arena);
        assert_int_equal(plan.n, i ? 4 : 3);
        fl_schedule_make(&d, &plan, arena);
        check_desk(&d);
        for (size_t k = 0; k < plan.n; k++)
            assert_int_equal(plan.setting[k].takes % 2, 0);
    }
    fl_session_free(&s);
    fl_arena_free(&arena);
}

/* A narrower wish never asks for fewer flicks; one that is met asks for none, and has no steps. */
static void a_narrower_wish_costs_more(void **state)
{
    (void)state;
    struct fl_arena *arena = fl_arena_new();
    struct game g = {250, 8, 0.05, {{0}}};
    fl_random_seed(&g.rng, 9);
    struct fl_session *s = first_session(&g, 3, 40);
    int before = 0;
    static const double wish[] = {1, 0.2, 0.1, 0.05};
    for (int i = 0; i < 4; i++) {
        struct fl_plan plan;
        struct fl_schedule d;
        fl_plan_make(&plan, s, wish[i], 1, arena);
        fl_schedule_make(&d, &plan, arena);
        const struct fl_plan_setting *t = &plan.setting[0];
        assert_true(t->takes * t->flicks_a_take >= before);
        before = t->takes * t->flicks_a_take;
        assert_true(t->enough == (t->width_now <= log2(1 + wish[i])));
        assert_true(t->enough == !before && !before == !d.n);
        assert_true(t->band[0].low > 250 / 4.0 && t->band[2].high < 250 * 4.0);
        assert_true(t->band[0].low < 250 && t->band[2].high > 250);
    }
    assert_true(before > 0);
    fl_session_free(&s);
    fl_arena_free(&arena);
}

/* While every flick held, the next bands reach beyond the fastest so far; nothing can be said of
 * the width. */
static void none_tripped_asks_for_faster_flicks(void **state)
{
    (void)state;
    struct fl_arena *arena = fl_arena_new();
    struct game g = {1e6, 8, 0, {{0}}};
    fl_random_seed(&g.rng, 2);
    struct fl_session *s = first_session(&g, 2, 20);
    struct fl_plan plan;
    fl_plan_make(&plan, s, 0.1, 1, arena);
    const struct fl_plan_setting *t = &plan.setting[0];
    assert_true(isnan(t->width_now));
    assert_true(t->searching && t->takes == 1);
    assert_true(t->band[0].low > 500 && t->band[2].high > 1200 && t->band[2].high <= 3000);
    fl_session_free(&s);
    fl_arena_free(&arena);
}

static void no_flick_no_plan(void **state)
{
    (void)state;
    struct fl_arena *arena = fl_arena_new();
    struct fl_session *s = fl_session_new("empty");
    struct fl_plan plan;
    fl_plan_study(s);
    fl_plan_make(&plan, s, 0.1, 1, arena);
    assert_int_equal(plan.n, 0);
    fl_session_free(&s);
    fl_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(settings_alternate_and_balance),
        cmocka_unit_test(steps_keep_to_the_rules),
        cmocka_unit_test(a_narrower_wish_costs_more),
        cmocka_unit_test(none_tripped_asks_for_faster_flicks),
        cmocka_unit_test(no_flick_no_plan),
        cmocka_unit_test(bands_can_be_hit),
        cmocka_unit_test(forecasts_hold),
        cmocka_unit_test(the_first_plan_holds_too),
    };
    return RUN_TESTS(tests);
}
