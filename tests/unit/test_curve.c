#include "study/curve/curve.h"

#include <stdlib.h>

#include "fake_take.h"
#include "maths/robust.h"
#include "study/curve/setting.h"
#include "study/curve/take_spread.h"
#include "test.h"

/* A take with flicks of given camera speeds and outcomes, all at risk. */
static struct fl_take *take_of(const double *v, const bool *tripped, size_t n)
{
    struct fl_take *t = fl_take_new();
    t->spec.id = t->spec.game = "g";
    t->kernel_ms = 14;
    t->flicks = FL_ARENA(t->arena, struct fl_flick, n);
    t->n_flicks = n;
    for (size_t i = 0; i < n; i++) {
        for (int q = 0; q < FL_QUANTITIES; q++)
            t->flicks[i].peak[q] = FL_UNKNOWN;
        t->flicks[i].peak[FL_CAMERA_SPEED] = v[i];
        t->flicks[i].at_risk = FL_YES;
        t->flicks[i].tripped = tripped[i] ? FL_YES : FL_NO;
        t->flicks[i].start_s = (double)i;
    }
    return t;
}

static struct fl_curve fit_one(struct fl_take *t)
{
    struct fl_curve c;
    fl_curve_fit(&c, &t, 1, FL_CAMERA_SPEED, t->arena);
    return c;
}

/* CHECKS C-3 (Heinze & Schemper's profile on x = 1..10, y = 0 up to 5, recomputed twice): V50
 * 5.5 exactly, profile 2.91850321 to 8.08149679. Here x is log2 of the speed. */
static void separated_flicks_give_v50_and_the_two_speeds(void **state)
{
    (void)state;
    double v[10];
    bool y[10];
    for (int i = 0; i < 10; i++) {
        v[i] = exp2(i + 1);
        y[i] = i >= 5;
    }
    struct fl_take *t = take_of(v, y, 10);
    struct fl_curve c = fit_one(t);
    assert_near(log2(c.v50), 5.5, 1e-6);
    assert_near(log2(c.v50_low), 2.91850321, 1e-5);
    assert_near(log2(c.v50_high), 8.08149679, 1e-5);
    assert_true(c.separated);
    assert_true(isnan(c.slope) && isnan(c.v10) && isnan(c.v90));
    assert_near(c.held_max, 32, 0);
    assert_near(c.tripped_min, 64, 0);
    assert_int_equal(c.bound, FL_BOUND_NONE);
    assert_string_equal(c.interval_method, "one_take");
    assert_int_equal(c.flicks, 10);
    assert_int_equal(c.trips, 5);
    fl_take_free(&t);
}

/* CHECKS C-5 (small, overlapping): Firth -3.1685860178, 0.7041302262, profile of V50
 * -4.96255417 to 13.96255417. P = 0.1 and 0.9 lie ln 9 / β to either side (definition). */
static void overlapping_flicks_give_a_slope(void **state)
{
    (void)state;
    const bool y[8] = {0, 0, 0, 1, 0, 1, 1, 1};
    double v[8];
    for (int i = 0; i < 8; i++)
        v[i] = exp2(i + 1);
    struct fl_take *t = take_of(v, y, 8);
    struct fl_curve c = fit_one(t);
    assert_near(c.alpha, -3.1685860178, 1e-6);
    assert_near(c.slope, 0.7041302262, 1e-6);
    assert_near(log2(c.v50), 4.5, 1e-6);
    assert_near(log2(c.v90) - log2(c.v50), 2.1972245773 / 0.7041302262, 1e-6);
    assert_near(log2(c.v50) - log2(c.v10), 2.1972245773 / 0.7041302262, 1e-6);
    assert_near(log2(c.v50_low), -4.96255417, 1e-4);
    assert_near(log2(c.v50_high), 13.96255417, 1e-4);
    assert_false(c.separated);
    fl_take_free(&t);
}

/* CHECKS §0, trap 7: one outcome alone has a finite fit with slope 0 (C-6) and no threshold; here
 * it is a bound or nothing. 0.5^5 = 3 %: with V50 below the five fastest, all five held by a chance
 * of 3 % at most. */
static void none_tripped_bounds_from_below(void **state)
{
    (void)state;
    const double v[7] = {300, 100, 700, 200, 600, 400, 500};
    const bool none[7] = {0}, all[7] = {1, 1, 1, 1, 1, 1, 1};
    struct fl_take *t = take_of(v, none, 7);
    struct fl_curve c = fit_one(t);
    assert_int_equal(c.bound, FL_BOUND_ABOVE);
    assert_near(c.bound_at, 300, 0);
    assert_true(isnan(c.v50) && isnan(c.v50_low) && isnan(c.v50_high) && isnan(c.slope));
    fl_take_free(&t);
    t = take_of(v, all, 7);
    c = fit_one(t);
    assert_int_equal(c.bound, FL_BOUND_BELOW);
    assert_near(c.bound_at, 500, 0);
    fl_take_free(&t);
    t = take_of(v, none, 4);
    c = fit_one(t);
    assert_int_equal(c.bound, FL_BOUND_TOO_FEW);
    assert_true(isnan(c.bound_at));
    fl_take_free(&t);
}

static void a_wrong_sign_is_no_relation(void **state)
{
    (void)state;
    const double v[8] = {10, 20, 40, 80, 160, 320, 640, 1280};
    const bool y[8] = {1, 1, 1, 0, 1, 0, 0, 0};
    struct fl_take *t = take_of(v, y, 8);
    struct fl_curve c = fit_one(t);
    assert_int_equal(c.bound, FL_BOUND_NO_RELATION);
    assert_true(isnan(c.v50) && isnan(c.v50_low) && isnan(c.v10));
    fl_take_free(&t);
}

static void a_v50_below_what_can_be_seen_is_a_bound(void **state)
{
    (void)state;
    const double v[8] = {10, 20, 40, 80, 160, 320, 640, 1280};
    const bool y[8] = {0, 0, 0, 1, 0, 1, 1, 1};
    struct fl_take *t = take_of(v, y, 8);
    t->visible_floor_deg_s = 150;
    struct fl_curve c = fit_one(t);
    assert_int_equal(c.bound, FL_BOUND_BELOW);
    assert_near(c.bound_at, 150, 1e-12);
    assert_true(isnan(c.v50));
    t->visible_floor_deg_s = 50;
    c = fit_one(t);
    assert_int_equal(c.bound, FL_BOUND_NONE);
    fl_take_free(&t);
}

static void what_is_not_fitted_is_counted_with_the_reason(void **state)
{
    (void)state;
    const double v[9] = {10, 20, 40, 80, 160, 320, 640, 1280, 2560};
    const bool y[9] = {0, 0, 0, 1, 0, 1, 1, 1, 1};
    struct fl_take *t = take_of(v, y, 9);
    t->flicks[0].at_risk = FL_NO;
    t->flicks[1].at_risk = FL_ANSWER_UNKNOWN;
    t->flicks[2].at_risk = FL_ANSWER_UNKNOWN;
    t->flicks[3].tripped = FL_ANSWER_UNKNOWN;
    t->flicks[4].peak[FL_CAMERA_SPEED] = FL_UNKNOWN;
    struct fl_curve c = fit_one(t);
    assert_int_equal(c.flicks, 4);
    assert_int_equal(c.not_fitted, 5);
    assert_int_equal(c.not_fitted_no_risk, 1);
    assert_int_equal(c.not_fitted_unknown_risk, 2);
    assert_int_equal(c.not_fitted_no_outcome, 1);
    assert_int_equal(c.not_fitted_no_value, 1);
    fl_take_free(&t);
}

static struct fake_settings plain(uint64_t seed)
{
    return (struct fake_settings){.id = "t",
                                  .game = "g",
                                  .counts_per_inch = 800,
                                  .degrees_per_count = 0.044,
                                  .v50_deg_s = 250,
                                  .slope = 3,
                                  .flicks = 30,
                                  .flicks_only = true,
                                  .seed = seed};
}

/* Property: a unit changes nothing but the unit. */
static void scaling_all_speeds_scales_v50(void **state)
{
    (void)state;
    struct fl_take *t[3];
    struct fl_curve a, b;
    for (uint64_t k = 0; k < 3; k++) {
        struct fake_settings s = plain(k + 1);
        t[k] = fake_take(&s);
    }
    fl_curve_fit(&a, t, 3, FL_CAMERA_SPEED, t[0]->arena);
    for (int k = 0; k < 3; k++) {
        t[k]->visible_floor_deg_s *= 7;
        for (size_t i = 0; i < t[k]->n_flicks; i++)
            t[k]->flicks[i].peak[FL_CAMERA_SPEED] *= 7;
    }
    fl_curve_fit(&b, t, 3, FL_CAMERA_SPEED, t[0]->arena);
    assert_near(b.v50 / a.v50, 7, 1e-5);
    assert_near(b.v50_low / a.v50_low, 7, 1e-4);
    assert_near(b.v50_high / a.v50_high, 7, 1e-4);
    assert_near(b.slope, a.slope, 1e-5);
    assert_string_equal(a.interval_method, "takes_t");
    /* CHECKS L-4: 0.044 degrees a count. */
    fl_curve_fit(&b, t, 3, FL_COUNT_RATE, t[0]->arena);
    assert_near(b.v50 * 0.044, a.v50, 1e-5);
    for (int k = 0; k < 3; k++)
        fl_take_free(&t[k]);
}

/* Firth in one unknown, from its definition: for one cell of k of n the estimate is the log odds
 * of (k + ½)/(n - k + ½) (CHECKS C-2: add ½ to every cell). */
static void the_own_theta_adds_half_a_flick(void **state)
{
    (void)state;
    const double x[5] = {3, 3, 3, 3, 3};
    for (size_t k = 0; k <= 5; k++) {
        bool y[5];
        for (size_t i = 0; i < 5; i++)
            y[i] = i < k;
        double logit = log((k + 0.5) / (5 - k + 0.5));
        assert_near(fl_spread_own_theta(x, y, 5, 2), 3 - logit / 2, 1e-9);
    }
}

/* Takes that agree to the last flick have no spread of their own: the profile interval stays.
 * Takes far apart widen it. */
static void takes_apart_widen_the_interval(void **state)
{
    (void)state;
    struct fake_settings s = plain(5);
    struct fl_take *same[2] = {fake_take(&s), fake_take(&s)};
    struct fl_curve a, b;
    fl_curve_fit(&a, same, 2, FL_CAMERA_SPEED, same[0]->arena);
    assert_near(a.take_variance, 0, 1e-9);
    assert_near(log2(a.v50_low), a.flick_low, 1e-12);
    assert_near(a.effective_takes, 2, 1e-9);
    s.v50_deg_s = 500;
    struct fl_take *apart[2] = {same[0], fake_take(&s)};
    fl_curve_fit(&b, apart, 2, FL_CAMERA_SPEED, same[0]->arena);
    assert_true(log2(b.v50_low) < b.flick_low);
    assert_true(b.take_variance > 0.1);
    fl_take_free(&apart[1]);
    fl_take_free(&same[0]);
    fl_take_free(&same[1]);
}

/* Simulated studies: does the 95 % interval hold the true V50? Tolerance: of 200 studies with a
 * true coverage of 0.94, fewer than 180 hold with a chance of 2 % (binomial). */
static int covered(int takes, int flicks, double take_sd, double slope, int studies, int *known,
                   double *width)
{
    int hits = 0;
    double widths[200];
    *known = 0;
    for (int k = 0; k < studies; k++) {
        struct fl_take *t[8];
        for (int i = 0; i < takes; i++) {
            struct fake_settings s = plain((uint64_t)(1000 * k + i + 1));
            s.take_sd_octaves = take_sd;
            s.flicks = flicks;
            s.slope = slope;
            t[i] = fake_take(&s);
        }
        struct fl_curve c;
        fl_curve_fit(&c, t, (size_t)takes, FL_CAMERA_SPEED, t[0]->arena);
        widths[k] = log2(c.v50_high / c.v50_low);
        *known += c.bound == FL_BOUND_NONE;
        /* an open end holds everything */
        hits += c.bound == FL_BOUND_NONE && !(c.v50_low > 250) && !(c.v50_high < 250);
        for (int i = 0; i < takes; i++)
            fl_take_free(&t[i]);
    }
    *width = fl_median(widths, (size_t)studies);
    return hits;
}

static void intervals_cover_the_truth(void **state)
{
    (void)state;
    const struct {
        int takes, flicks, studies;
        double sd, slope;
    } c[] = {{1, 30, 200, 0, 3},
             {2, 25, 200, 0.2, 3},
             {3, 25, 200, 0.2, 8},
             {4, 15, 200, 0.3, 3},
             {6, 20, 60, 0.2, 3}};
    for (size_t i = 0; i < sizeof c / sizeof *c; i++) {
        double width;
        int known, hits = covered(c[i].takes, c[i].flicks, c[i].sd, c[i].slope, c[i].studies,
                                  &known, &width);
        print_message("%d takes of %d flicks, %.1f octaves between takes, slope %g: %d of %d hold, "
                      "median width %.2f octaves\n",
                      c[i].takes, c[i].flicks, c[i].sd, c[i].slope, hits, known, width);
        assert_true(known >= 0.95 * c[i].studies);
        assert_true(hits >= 0.9 * known);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(separated_flicks_give_v50_and_the_two_speeds),
        cmocka_unit_test(overlapping_flicks_give_a_slope),
        cmocka_unit_test(none_tripped_bounds_from_below),
        cmocka_unit_test(a_wrong_sign_is_no_relation),
        cmocka_unit_test(a_v50_below_what_can_be_seen_is_a_bound),
        cmocka_unit_test(what_is_not_fitted_is_counted_with_the_reason),
        cmocka_unit_test(scaling_all_speeds_scales_v50),
        cmocka_unit_test(the_own_theta_adds_half_a_flick),
        cmocka_unit_test(takes_apart_widen_the_interval),
        cmocka_unit_test(intervals_cover_the_truth),
    };
    return RUN_TESTS(tests);
}
