#include "study/compare/repeat.h"
#include "study/curve/curves.h"

#include <stdlib.h>
#include <string.h>

#include "fake_take.h"
#include "maths/interval.h"
#include "maths/outlier.h"
#include "maths/robust.h"
#include "study/curve/setting.h"
#include "study/curve/take_threshold.h"
#include "test.h"
#include "study/compare/session_study.h"
#include "study/curve/curve.h"

/* ---- the pieces, against handbooks ---- */

/* Grubbs' test: NIST/SEMATECH handbook 1.3.5.17.1, mass spectrometer readings on uranium isotopes
 * (data, G = 2.4687 and the critical value 2.032 at 0.05, one-sided, from memory; both follow from
 * the data here). A value's p left out, over n, is that test. */
static void one_value_against_the_others_is_grubbs_test(void **state)
{
    (void)state;
    const double x[] = {199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57};
    enum { N = 8 };
    struct fl_member m[N];
    for (int i = 0; i < N; i++)
        m[i] = (struct fl_member){0, x[i], 0, 0, true};
    struct fl_left_out o = fl_leave_out(m, N, N - 1);
    double t = o.difference / o.sd, g = (N - 1) / sqrt(N) * sqrt(t * t / (o.df + t * t));
    assert_near(g, (245.57 - fl_mean(x, N)) / fl_sd(x, N), 1e-12);
    assert_near(g, 2.4687, 1e-4);
    assert_near(o.df, N - 2, 0);
    double critical = fl_t_quantile(1 - 0.05 / N, N - 2);
    assert_near((N - 1) / sqrt(N) * sqrt(critical * critical / (N - 2 + critical * critical)),
                2.032, 3e-4);
    assert_true(N * o.p < 0.05);
    for (int i = 0; i < N - 1; i++)
        assert_true(N * fl_leave_out(m, N, (size_t)i).p >
                    0.05); /* masked by the one that stands out */
}

/* NIST/SEMATECH handbook 7.2.3.1, by its table of chi-square, 1.3.6.7.4: 19.023 and 2.700 for 9
 * degrees, 5.024 and 0.000982 for 1. */
static void the_interval_of_a_spread_is_chi_square(void **state)
{
    (void)state;
    double low, high;
    fl_sd_limits(2, 9, 0.95, &low, &high);
    assert_near(low, 2 * sqrt(9 / 19.023), 2e-4);
    assert_near(high, 2 * sqrt(9 / 2.700), 2e-4);
    fl_sd_limits(1, 1, 0.95, &low, &high);
    assert_near(low, 1 / sqrt(5.024), 2e-4);
    assert_near(high, 1 / sqrt(0.000982), 2e-4); /* two takes: next to nothing */
    fl_sd_limits(1, 0, 0.95, &low, &high);
    assert_true(isnan(low) && isnan(high));
}

/* By hand: two groups of three with sums of squares 2 and 8 share 10/4; without one value of the
 * first, 0.5 and 8 over 3 degrees. */
static void groups_share_their_scatter_and_errors_widen_it(void **state)
{
    (void)state;
    struct fl_member m[] = {{0, 1, 0, 0, true},  {0, 2, 0, 0, true},  {0, 3, 0, 0, true},
                            {1, 10, 0, 0, true}, {1, 12, 0, 0, true}, {1, 14, 0, 0, true}};
    struct fl_left_out o = fl_leave_out(m, 6, 2);
    assert_near(o.difference, 1.5, 1e-12);
    assert_near(o.df, 3, 0);
    assert_near(o.sd, sqrt(8.5 / 3 * 1.5), 1e-12);
    m[2].down = 2; /* its own error, towards the others; towards higher values it does not matter */
    m[2].up = 9;
    o = fl_leave_out(m, 6, 2);
    assert_near(o.sd, sqrt(8.5 / 3 * 1.5 + 4), 1e-12);
    m[2].down = NAN;
    assert_true(isnan(fl_leave_out(m, 6, 2).p));
    m[2].down = 0;
    for (int i = 0; i < 6; i++)
        m[i].down = m[i].up = 3; /* scatter below the errors is luck: then they decide */
    o = fl_leave_out(m, 6, 2);
    assert_near(o.error, sqrt(9 * 1.5), 1e-12);
    assert_near(o.p, 2 * fl_normal_cdf(-1.5 / o.error), 1e-12);
    o.sd = 0.1;
    o.difference = fl_left_out_needs(&o, 0.01);
    assert_near(2 * fl_normal_cdf(-o.difference / o.error), 0.01, 1e-9);
    m[1].reference = false; /* leaves one to compare with */
    assert_true(isnan(fl_leave_out(m, 6, 2).p));
}

/* With one flick either side at -1 and 1 and the slope 2, by symmetry and the likelihood written
 * out. */
static double loglik(const double *x, const bool *y, size_t n, double beta, double theta)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum -= log1p(exp((y[i] ? -1 : 1) * beta * (x[i] - theta)));
    return sum;
}

static void a_take_has_a_trip_speed_of_its_own(void **state)
{
    (void)state;
    const double x[] = {-3, -2, -1, 1, 2, 3};
    const bool y[] = {false, false, false, true, true, true};
    struct fl_take_threshold o;
    fl_take_threshold_fit(&o, x, y, 6, 2);
    assert_true(o.mixed);
    assert_near(o.theta, 0, 1e-9);
    assert_near(o.down, o.up, 1e-9);
    double at = loglik(x, y, 6, 2, 1.959963984540054 * o.up);
    assert_near(loglik(x, y, 6, 2, 0) - at, 3.841458820694 / 2,
                1e-9);                       /* CHECKS M: chi-square, 1 degree */
    fl_take_threshold_fit(&o, x, y, 6, 500); /* a sharp threshold leaves all of the gap open */
    assert_near(o.theta, 0, 1e-9);
    assert_true(1.96 * o.up > 0.99 && 1.96 * o.up < 1.05);
    const double far[] = {3, 3, 3, -3, -3, -3};
    const bool wrong[] = {false, false, false, true, true, true};
    fl_take_threshold_fit(&o, far, wrong, 6, 2); /* against the slope: still finite, and wide */
    assert_near(o.theta, 0, 1e-9);
    fl_take_threshold_fit(&o, x, y, 4, 2);
    assert_true(isnan(o.theta)); /* four flicks say nothing of a take */
}

/* All held: nothing limits V50 from above, and one flick, the fastest, may be a stray. */
static void one_outcome_limits_one_side(void **state)
{
    (void)state;
    const double x[] = {0, 1, 2, 3, 4, 9};
    const bool held[6] = {false}, tripped[] = {true, true, true, true, true, true};
    struct fl_take_threshold o;
    fl_take_threshold_fit(&o, x, held, 6, 4);
    assert_false(o.mixed);
    assert_true(isnan(o.up) && o.down > 0);
    assert_true(o.theta < 6); /* the flick at 9 does not count */
    assert_near(loglik(x, held, 5, 4, o.theta - o.down), -0.5, 1e-9);
    assert_near(loglik(x, held, 5, 4, o.theta - 2 * o.down), -2, 1e-9);
    fl_take_threshold_fit(&o, x, tripped, 6, 4);
    assert_true(isnan(o.down) && o.up > 0 && o.theta < 1);
}

/* ---- whole sessions ---- */

struct makes {
    int takes, cells, flicks;
    double slope, sd, v50;
    double slowest, fastest;
};

static struct fl_session *alike(const struct makes *m, uint64_t seed)
{
    static const char *const id[] = {"a", "b", "c", "d", "e", "f", "g", "h"};
    struct fl_session *s = fl_session_new("alike");
    for (int i = 0; i < m->takes * m->cells; i++)
        fl_session_add(s,
                       fake_take(&(struct fake_settings){.id = id[i % 8],
                                                         .game = "G",
                                                         .counts_per_inch = 400 << (i / m->takes),
                                                         .degrees_per_count = 0.044,
                                                         .v50_deg_s = m->v50 > 0 ? m->v50 : 250,
                                                         .slope = m->slope,
                                                         .take_sd_octaves = m->sd,
                                                         .flicks = m->flicks,
                                                         .slowest = m->slowest,
                                                         .fastest = m->fastest,
                                                         .camera_only = true,
                                                         .flicks_only = true,
                                                         .seed = seed * 1000 + 17 * (uint64_t)i}));
    return s;
}

static void replace(struct fl_session *s, size_t i, struct fake_settings f)
{
    fl_take_free(&s->takes[i]);
    s->takes[i] = fake_take(&f);
}

static void study(struct fl_session *s)
{
    fl_session_forget_study(s);
    fl_study_curves(s);
    fl_study_repeats(s);
}

static bool any_stands_out(const struct fl_session *s)
{
    bool any = false;
    for (size_t i = 0; i < s->n_repeats; i++)
        any |= s->repeats[i].stands_out;
    return any;
}

/* Takes alike but for their spread: a session has a take that stands out in at most 5 %
 * (FL_REPEAT_LEVEL). Over all 800 sessions at most 40 are expected; 58 is three standard deviations
 * of chance beyond. */
static void takes_alike_seldom_stand_out(void **state)
{
    (void)state;
    const struct makes kinds[] = {{3, 1, 30, 6, 0.05, 0, 0, 0}, {3, 3, 20, 8, 0.1, 0, 0, 0},
                                  {4, 1, 12, 4, 0, 0, 0, 0},    {4, 2, 25, 60, 0.03, 0, 0, 0},
                                  {5, 1, 20, 200, 0, 0, 0, 0},  {5, 1, 40, 3, 0.2, 0, 0, 0},
                                  {4, 2, 8, 10, 0.1, 0, 0, 0},  {3, 2, 15, 20, 0.02, 450, 0, 0}};
    enum { KINDS = sizeof kinds / sizeof *kinds, EACH = 100 };
    int flagged = 0, most = 0;
    for (int k = 0; k < KINDS; k++) {
        int here = 0;
        for (uint64_t seed = 1; seed <= EACH; seed++) {
            struct fl_session *s = alike(&kinds[k], seed + 5000 * (uint64_t)k);
            study(s);
            here += any_stands_out(s);
            fl_session_free(&s);
        }
        print_message("alike, kind %d: %d of %d sessions flagged\n", k, here, EACH);
        flagged += here;
        most = here > most ? here : most;
    }
    assert_true(flagged <= 58);
    assert_true(most <= 12); /* the same for each: 5 and three standard deviations */
}

/* One take of a setting displaced by an octave. */
static void a_take_an_octave_off_stands_out(void **state)
{
    (void)state;
    const struct {
        struct makes m;
        int least;
    } kinds[] = {{{5, 2, 30, 8, 0.05, 0, 0, 0}, 60},
                 {{4, 2, 30, 20, 0.05, 0, 0, 0}, 60},
                 {{3, 3, 30, 60, 0.03, 0, 0, 0}, 50}};
    for (size_t k = 0; k < 3; k++) {
        int found = 0, wrong = 0;
        const struct makes *m = &kinds[k].m;
        for (uint64_t seed = 1; seed <= 20; seed++) {
            struct fl_session *s = alike(m, seed);
            replace(s, 1,
                    (struct fake_settings){.id = "odd",
                                           .game = "G",
                                           .counts_per_inch = 400,
                                           .degrees_per_count = 0.044,
                                           .v50_deg_s = 500,
                                           .slope = m->slope,
                                           .flicks = m->flicks,
                                           .camera_only = true,
                                           .flicks_only = true,
                                           .seed = seed});
            study(s);
            for (size_t i = 0; i < s->n_repeats; i++)
                for (size_t t = 0; t < s->repeats[i].n; t++) {
                    const struct fl_repeat_take *r = &s->repeats[i].takes[t];
                    bool odd = !strcmp(r->take->spec.id, "odd");
                    found += odd && r->stands_out;
                    wrong += !odd && r->stands_out;
                }
            fl_session_free(&s);
        }
        print_message("an octave off, kind %zu: %d of 20 found, %d others\n", k, found, wrong);
        assert_true(100 * found >= 20 * kinds[k].least);
        assert_true(wrong <= 3);
    }
}

/* A take in which nothing trips, among takes in which half does. */
static void a_take_that_never_trips_stands_out(void **state)
{
    (void)state;
    struct fl_session *s = alike(&(struct makes){5, 2, 30, 10, 0.05, 0, 0, 0}, 3);
    replace(s, 2,
            (struct fake_settings){.id = "dead",
                                   .game = "G",
                                   .counts_per_inch = 400,
                                   .degrees_per_count = 0.044,
                                   .v50_deg_s = 1e9,
                                   .slope = 10,
                                   .flicks = 30,
                                   .camera_only = true,
                                   .flicks_only = true,
                                   .seed = 8});
    study(s);
    const struct fl_repeat *r = &s->repeats[0];
    assert_true(r->takes[2].stands_out && r->stands_out);
    assert_true(isnan(r->takes[2].v50) && isnan(r->takes[2].v50_high) && r->takes[2].v50_low > 500);
    assert_non_null(strstr(r->takes[2].warning, "none of its 30 flicks tripped"));
    assert_non_null(strstr(r->verdict, "1 take stands out"));
    assert_int_equal(r->v50.takes, 4);
    for (size_t i = 0; i < r->n; i++)
        assert_true(i == 2 || (!r->takes[i].stands_out && !r->takes[i].warning));
    /* Flicks too slow to trip say nothing against the others. */
    replace(s, 2,
            (struct fake_settings){.id = "slow",
                                   .game = "G",
                                   .counts_per_inch = 400,
                                   .degrees_per_count = 0.044,
                                   .v50_deg_s = 250,
                                   .slope = 10,
                                   .flicks = 30,
                                   .slowest = 20,
                                   .fastest = 90,
                                   .camera_only = true,
                                   .flicks_only = true,
                                   .seed = 8});
    fl_session_study(s);
    assert_false(any_stands_out(s));
    fl_session_free(&s);
}

static void the_spread_is_that_of_the_takes(void **state)
{
    (void)state;
    struct fl_session *s = alike(&(struct makes){5, 1, 40, 12, 0.15, 0, 0, 0}, 4);
    study(s);
    const struct fl_repeat *r = &s->repeats[0];
    double log_v50[5];
    for (size_t i = 0; i < 5; i++) {
        log_v50[i] = log2(r->takes[i].v50);
        assert_true(r->takes[i].v50_low < r->takes[i].v50 &&
                    r->takes[i].v50 < r->takes[i].v50_high);
        assert_true(r->takes[i].v50_p_adjusted >= r->takes[i].v50_p);
        assert_int_equal(r->takes[i].flicks, 40);
    }
    assert_near(r->v50.sd, fl_sd(log_v50, 5), 1e-9);
    assert_near(r->v50.df, 4, 0);
    assert_near(r->v50.low, r->v50.sd * sqrt(4 / 11.143),
                1e-4); /* chi-square table, 0.975 and 0.025, 4 degrees */
    assert_near(r->v50.high, r->v50.sd * sqrt(4 / 0.484), 1e-3);
    assert_true(r->told_ratio > 1 && r->flick_error > 0);
    assert_non_null(strstr(r->verdict, "V50 of 5 takes scatters by"));
    fl_session_free(&s);
}

/* Two takes, however far apart, never stand out; one has nothing beside it. */
static void two_takes_are_too_few_to_tell(void **state)
{
    (void)state;
    struct fl_session *s = alike(&(struct makes){2, 1, 60, 30, 0, 0, 0, 0}, 5);
    replace(s, 1,
            (struct fake_settings){.id = "odd",
                                   .game = "G",
                                   .counts_per_inch = 400,
                                   .degrees_per_count = 0.044,
                                   .v50_deg_s = 900,
                                   .slope = 30,
                                   .flicks = 60,
                                   .camera_only = true,
                                   .seed = 6});
    study(s);
    const struct fl_repeat *r = &s->repeats[0];
    assert_false(r->stands_out);
    assert_true(isnan(r->takes[0].v50_p) && isnan(r->takes[1].v50_p) && isnan(r->told_ratio));
    assert_near(r->v50.df, 1, 0);
    assert_non_null(strstr(r->verdict, "too few takes to tell"));
    fl_session_free(&s);
    s = alike(&(struct makes){1, 1, 60, 30, 0, 0, 0, 0}, 5);
    study(s);
    assert_string_equal(s->repeats[0].verdict, "one take: how well it repeats is not known");
    assert_true(isnan(s->repeats[0].v50.sd));
    fl_session_free(&s);
}

static void nothing_to_repeat_gives_no_figure(void **state)
{
    (void)state;
    struct fl_session *s = alike(&(struct makes){4, 1, 20, 30, 0, 1e9, 0, 0}, 5); /* none trips */
    study(s);
    assert_true(isnan(s->repeats[0].v50.sd) && !s->repeats[0].stands_out);
    assert_non_null(strstr(s->repeats[0].verdict, "no take has a V50 of its own"));
    fl_session_free(&s);
    s = alike(&(struct makes){4, 1, 0, 30, 0, 0, 0, 0}, 5); /* no flick */
    fl_session_add(s, fl_take_new());
    s->takes[4]->spec.id = s->takes[4]->spec.game = "blank";
    study(s);
    for (size_t i = 0; i < s->n_repeats; i++) {
        assert_true(isnan(s->repeats[i].v50.sd) && isnan(s->repeats[i].share.sd) &&
                    !s->repeats[i].stands_out);
        assert_null(s->repeats[i].rate.text);
    }
    fl_session_free(&s);
    s = fl_session_new("empty");
    study(s);
    assert_int_equal(s->n_repeats, 0);
    fl_session_free(&s);
}

/* Off shares come from the states: takes alike share one law, the odd one trips two octaves early.
 */
static struct fl_session *with_states(double odd_v50, uint64_t seed)
{
    static const char *const id[] = {"a", "b", "c", "d", "e", "f"};
    struct fl_session *s = fl_session_new("shares");
    for (int i = 0; i < 6; i++)
        fl_session_add(s, fake_take(&(struct fake_settings){.id = id[i],
                                                            .game = "G",
                                                            .counts_per_inch = 800,
                                                            .degrees_per_count = 0.044,
                                                            .v50_deg_s = i == 3 ? odd_v50 : 400,
                                                            .slope = 6,
                                                            .flicks = 40,
                                                            .camera_only = true,
                                                            .seed = 100 * seed + (uint64_t)i}));
    study(s);
    return s;
}

static void off_shares_are_compared_for_like_flicks(void **state)
{
    (void)state;
    int found = 0, wrong = 0, alone = 0;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        struct fl_session *s = with_states(100, seed);
        const struct fl_repeat *r = &s->repeats[0];
        assert_null(r->share_refused);
        assert_near(r->share.df, 5, 0);
        found += r->takes[3].share_p_adjusted < FL_REPEAT_LEVEL;
        assert_true(r->takes[3].share > r->takes[3].share_of_others);
        for (size_t i = 0; i < 6; i++)
            wrong += i != 3 && r->takes[i].share_p_adjusted < FL_REPEAT_LEVEL;
        fl_session_free(&s);
        s = with_states(400, seed);
        alone += any_stands_out(s);
        fl_session_free(&s);
    }
    print_message("off share: %d of 40 found, %d others, %d of 40 alike flagged\n", found, wrong,
                  alone);
    assert_true(found >= 32 && wrong <= 4);
    assert_true(alone <= 6); /* 2 expected, three standard deviations more */
}

static void shares_are_refused_with_a_reason(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("thin");
    for (int i = 0; i < 3; i++)
        fl_session_add(s, fake_take(&(struct fake_settings){.id = i ? "full" : "thin",
                                                            .game = "G",
                                                            .counts_per_inch = 800,
                                                            .degrees_per_count = 0.044,
                                                            .v50_deg_s = 300,
                                                            .slope = 6,
                                                            .flicks = i ? 30 : 4,
                                                            .camera_only = true,
                                                            .seed = 9 + (uint64_t)i}));
    study(s);
    assert_non_null(strstr(s->repeats[0].share_refused, "thin has 4 flicks"));
    assert_true(isnan(s->repeats[0].share.sd));
    fl_session_free(&s);
}

/* Rates 2^x with x Student's sleep data (CHECKS O-5), taken as two samples: difference -1.58, 95 %
 * limits with one variance -3.363874 and 0.203874 (R help of t.test, from memory; by hand 2.100922
 * of the table of t at 18 degrees times 0.849091). */
static void rates_stand_beside_the_controls(void **state)
{
    (void)state;
    const double a[] = {.7, -1.6, -.2, -1.2, -.1, 3.4, 3.7, .8, 0, 2},
                 b[] = {1.9, .8, 1.1, .1, -.1, 4.4, 5.5, 1.6, 4.6, 3.4};
    struct fl_session *s = fl_session_new("rates");
    for (int i = 0; i < 20; i++) {
        struct fl_take *t = fl_take_new();
        t->spec.id = "t";
        t->spec.game = "G";
        t->spec.synthesis_disabled = i >= 10;
        t->spec.condition = i >= 10 ? "synthesis disabled" : "default";
        t->states.base_rate_off_hz = exp2(i < 10 ? a[i] : b[i - 10]);
        t->states.base_rate_on_hz = i < 10 ? 0.9 * t->states.base_rate_off_hz : FL_UNKNOWN;
        fl_session_add(s, t);
    }
    study(s);
    assert_int_equal(s->n_repeats, 1);
    const struct fl_repeat_rate *r = &s->repeats[0].rate;
    assert_int_equal(r->controls, 10);
    assert_near(r->off_ratio, exp2(-1.58), 1e-12);
    assert_near(log2(r->off_low), -3.363874, 1e-6);
    assert_near(log2(r->off_high), 0.203874, 2e-6);
    assert_near(r->on_ratio, 0.9 * r->off_ratio, 1e-12);
    assert_non_null(strstr(r->text, "10 controls render"));
    fl_session_free(&s);
}

/* One control and one take give a ratio without an interval; a control of the condition itself
 * comes before one of another, and one under another cap serves nobody. */
static void a_control_serves_its_like(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("controls");
    const struct {
        const char *id, *condition;
        double rate, cap;
        bool control;
    } all[] = {
        {"a", "default", 70, FL_UNKNOWN, false}, {"b", "capped", 50, 50, false},
        {"c", "plain", 75, FL_UNKNOWN, true},    {"d", "capped", 51, 50, true},
        {"e", "other", 40, 60, false},
    };
    for (int i = 0; i < 5; i++) {
        struct fl_take *t = fl_take_new();
        t->spec.id = all[i].id;
        t->spec.game = "G";
        t->spec.condition = all[i].condition;
        t->spec.cap_hz = all[i].cap;
        t->spec.synthesis_disabled = all[i].control;
        t->states.base_rate_off_hz = all[i].rate;
        fl_session_add(s, t);
    }
    study(s);
    assert_int_equal(s->n_repeats, 3);
    const struct fl_repeat_rate *a = &s->repeats[0].rate, *b = &s->repeats[1].rate,
                                *e = &s->repeats[2].rate;
    assert_string_equal(a->control[0]->spec.id, "c");
    assert_near(a->off_ratio, 70.0 / 75, 1e-12);
    assert_true(isnan(a->off_low) && isnan(a->on_ratio));
    assert_non_null(strstr(a->text, "the control c renders 75.0 frames/s"));
    assert_non_null(strstr(a->text, "at an unknown rate with it on"));
    assert_int_equal(b->controls, 1);
    assert_string_equal(b->control[0]->spec.id, "d");
    assert_int_equal(e->controls, 0);
    assert_null(e->text);
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_value_against_the_others_is_grubbs_test),
        cmocka_unit_test(the_interval_of_a_spread_is_chi_square),
        cmocka_unit_test(groups_share_their_scatter_and_errors_widen_it),
        cmocka_unit_test(a_take_has_a_trip_speed_of_its_own),
        cmocka_unit_test(one_outcome_limits_one_side),
        cmocka_unit_test(takes_alike_seldom_stand_out),
        cmocka_unit_test(a_take_an_octave_off_stands_out),
        cmocka_unit_test(a_take_that_never_trips_stands_out),
        cmocka_unit_test(the_spread_is_that_of_the_takes),
        cmocka_unit_test(two_takes_are_too_few_to_tell),
        cmocka_unit_test(nothing_to_repeat_gives_no_figure),
        cmocka_unit_test(off_shares_are_compared_for_like_flicks),
        cmocka_unit_test(shares_are_refused_with_a_reason),
        cmocka_unit_test(rates_stand_beside_the_controls),
        cmocka_unit_test(a_control_serves_its_like),
    };
    return RUN_TESTS(tests);
}
