#include "study/curve/curve.h"

#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "fake_take.h"
#include "maths/robust.h"
#include "study/curve/contrast.h"
#include "study/curve/curve_fit.h"
#include "study/curve/curve_words.h"
#include "study/curve/curves.h"
#include "study/curve/setting.h"
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
    fl_curve_fit_one(&c, &t, 1, FL_CAMERA_SPEED, t->arena);
    return c;
}

/* The flicks of CHECKS C-3: x = 1..10, y = 0 up to 5. By symmetry V50 is 5.5 octaves, and the
 * limits lie as far to either side. Firth's profile, 2.91850321 to 8.08149679, says the same. */
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
    assert_near(log2(c.v50), 5.5, 1e-3);
    assert_near(log2(c.v50_low) + log2(c.v50_high), 11, 2e-3);
    assert_near(log2(c.by_take[0].v50), 5.5, 1e-3);
    assert_true(c.by_take[0].low > c.v50_low && c.by_take[0].high < c.v50_high);
    assert_true(log2(c.by_take[0].low) > 4 && log2(c.by_take[0].high) < 7);
    assert_true(c.another_low < c.v50_low && c.another_high > c.v50_high);
    assert_true(c.separated);
    assert_true(isnan(c.slope) && isnan(c.v10) && isnan(c.v90));
    assert_near(c.held_max, 32, 0);
    assert_near(c.tripped_min, 64, 0);
    assert_int_equal(c.bound, FL_BOUND_NONE);
    assert_string_equal(c.interval_method, "hierarchical_grid");
    assert_int_equal(c.flicks, 10);
    assert_int_equal(c.trips, 5);
    assert_true(isnan(c.other_v50));
    fl_take_free(&t);
}

/* The flicks of CHECKS C-5 (small, overlapping): by symmetry V50 is 4.5 octaves. P = 0.1 and 0.9
 * lie ln 9 / β to either side (definition). */
static void overlapping_flicks_give_a_slope(void **state)
{
    (void)state;
    const bool y[8] = {0, 0, 0, 1, 0, 1, 1, 1};
    double v[8];
    for (int i = 0; i < 8; i++)
        v[i] = exp2(i + 1);
    struct fl_take *t = take_of(v, y, 8);
    struct fl_curve c = fit_one(t);
    assert_near(log2(c.v50), 4.5, 1e-3);
    assert_true(c.slope_low < c.slope && c.slope < c.slope_high);
    assert_near(log2(c.v90) - log2(c.v50), 2.1972245773 / c.slope, 1e-9);
    assert_near(log2(c.v50) - log2(c.v10), 2.1972245773 / c.slope, 1e-9);
    assert_near(c.alpha, -c.slope * log2(c.v50), 1e-9);
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
    fl_curve_fit_one(&a, t, 3, FL_CAMERA_SPEED, t[0]->arena);
    for (int k = 0; k < 3; k++) {
        t[k]->visible_floor_deg_s *= 7;
        for (size_t i = 0; i < t[k]->n_flicks; i++)
            t[k]->flicks[i].peak[FL_CAMERA_SPEED] *= 7;
    }
    fl_curve_fit_one(&b, t, 3, FL_CAMERA_SPEED, t[0]->arena);
    assert_near(b.v50 / a.v50, 7, 1e-9);
    assert_near(b.v50_low / a.v50_low, 7, 1e-9);
    assert_near(b.v50_high / a.v50_high, 7, 1e-9);
    assert_near(b.slope, a.slope, 1e-9);
    /* CHECKS L-4: 0.044 degrees a count. */
    fl_curve_fit_one(&b, t, 3, FL_COUNT_RATE, t[0]->arena);
    assert_near(b.v50 * 0.044, a.v50, 1e-9);
    for (int k = 0; k < 3; k++)
        fl_take_free(&t[k]);
}

/* Takes that agree narrow the interval of one, takes far apart widen that of two. */
static void takes_apart_widen_the_interval(void **state)
{
    (void)state;
    struct fake_settings s = plain(5);
    struct fl_take *same[2] = {fake_take(&s), fake_take(&s)};
    struct fl_curve one, a, b;
    fl_curve_fit_one(&one, same, 1, FL_CAMERA_SPEED, same[0]->arena);
    fl_curve_fit_one(&a, same, 2, FL_CAMERA_SPEED, same[0]->arena);
    s.v50_deg_s = 500;
    struct fl_take *apart[2] = {same[0], fake_take(&s)};
    fl_curve_fit_one(&b, apart, 2, FL_CAMERA_SPEED, same[0]->arena);
    assert_true(a.v50_high / a.v50_low < one.v50_high / one.v50_low);
    assert_true(b.v50_high / b.v50_low > a.v50_high / a.v50_low);
    assert_true(b.spread > a.spread && b.spread_low > a.spread_low);
    assert_true(b.by_take[0].v50 < b.v50 && b.v50 < b.by_take[1].v50);
    fl_take_free(&apart[1]);
    fl_take_free(&same[0]);
    fl_take_free(&same[1]);
}

/* A take in which none tripped has no V50 of its own, and says so by null. */
static void by_take_is_null_where_none_tripped(void **state)
{
    (void)state;
    const double slow[6] = {20, 30, 40, 50, 60, 70}, all[6] = {50, 100, 150, 300, 400, 500};
    const bool none[6] = {0}, some[6] = {0, 0, 0, 1, 1, 1};
    struct fl_take *t[2] = {take_of(slow, none, 6), take_of(all, some, 6)};
    struct fl_curve c;
    fl_curve_fit_one(&c, t, 2, FL_CAMERA_SPEED, t[0]->arena);
    assert_int_equal(c.takes, 2);
    assert_ptr_equal(c.by_take[0].take, t[0]);
    assert_true(isnan(c.by_take[0].v50) && isnan(c.by_take[0].low) && isnan(c.by_take[0].high));
    assert_int_equal(c.by_take[0].flicks, 6);
    assert_true(c.by_take[1].v50 > 150 && c.by_take[1].v50 < 300);
    fl_take_free(&t[0]);
    fl_take_free(&t[1]);
}

/* Firth's fit knows no takes: of two far apart it makes one soft curve, which is surer of its V50
 * than the takes allow; of strays it makes a soft curve whose V50 they drag. The first says the
 * same within what is known, the second does not. */
static void the_second_opinion_is_shown_where_it_differs(void **state)
{
    (void)state;
    double v[60];
    bool y[60];
    for (int i = 0; i < 60; i++) {
        v[i] = 100 * exp2((double)i / 12);
        y[i] = i >= 30;
    }
    struct fl_take *t = take_of(v, y, 60);
    struct fl_curve c = fit_one(t);
    assert_true(isnan(c.other_v50) && !c.strays);
    assert_null(fl_stray_note(&c, t->arena));
    fl_take_free(&t);
    for (int i = 50; i < 60; i++)
        y[i] = i % 2; /* every other of the fastest held */
    struct fl_take *odd[3];
    for (int k = 0; k < 3; k++)
        odd[k] = take_of(v, y, 60);
    fl_curve_fit_one(&c, odd, 3, FL_CAMERA_SPEED, odd[0]->arena);
    assert_true(c.other_v50 > c.v50_high || c.other_low > c.v50);
    for (int k = 0; k < 3; k++)
        fl_take_free(&odd[k]);
}

/* ---- a session ---- */

static struct fl_session *two_settings(int takes_a, int takes_b, double v50_a, double v50_b)
{
    struct fl_session *s = fl_session_new("invented");
    for (int i = 0; i < takes_a + takes_b; i++) {
        struct fake_settings f = plain(40 + (uint64_t)i);
        f.slope = 20;
        f.v50_deg_s = i < takes_a ? v50_a : v50_b;
        f.counts_per_inch = i < takes_a ? 800 : 1600;
        fl_session_add(s, fake_take(&f));
    }
    fl_study_curves(s);
    return s;
}

static const struct fl_curve *find(const struct fl_session *s, bool pooled, double cpi)
{
    for (size_t i = 0; i < s->n_curves; i++) {
        const struct fl_curve *c = &s->curves[i];
        if (c->quantity == FL_CAMERA_SPEED && c->pooled == pooled &&
            (pooled || c->counts_per_inch == cpi))
            return c;
    }
    return NULL;
}

static void settings_are_pooled_only_where_they_agree(void **state)
{
    (void)state;
    struct fl_session *s = two_settings(3, 3, 250, 250);
    const struct fl_curve *c = find(s, true, 0), *one = find(s, false, 800);
    assert_int_equal(c->bound, FL_BOUND_NONE);
    assert_null(c->not_pooled);
    assert_int_equal(c->pool_settings, 2);
    assert_int_equal(c->takes, 6);
    assert_true(c->pool_p >= 0.05 && c->pool_ratio > 0.8 && c->pool_ratio < 1.25);
    assert_true(isnan(c->counts_per_inch) && c->degrees_per_count == 0.044);
    assert_true(c->v50_high / c->v50_low < one->v50_high / one->v50_low);
    fl_session_free(&s);
    s = two_settings(3, 3, 400, 100);
    c = find(s, true, 0);
    assert_int_equal(c->bound, FL_BOUND_NOT_POOLED);
    assert_true(isnan(c->v50) && isnan(c->v50_low) && !c->interval_method);
    assert_true(c->pool_p < 0.05 && c->pool_ratio > 3 && c->pool_ratio < 5);
    assert_non_null(strstr(c->not_pooled, "contradict"));
    assert_non_null(strstr(c->evidence, "not pooled: its settings contradict each other"));
    fl_session_free(&s);
}

/* A setting short of takes is not helped by another: whether they agree is not known. */
static void one_take_is_never_pooled(void **state)
{
    (void)state;
    struct fl_session *s = two_settings(3, 1, 250, 250);
    const struct fl_curve *c = find(s, true, 0);
    assert_int_equal(c->bound, FL_BOUND_NOT_POOLED);
    assert_non_null(strstr(c->not_pooled, "one take only"));
    fl_session_free(&s);
}

static void one_setting_is_its_own_pool(void **state)
{
    (void)state;
    struct fl_session *s = two_settings(3, 0, 250, 250);
    const struct fl_curve *c = find(s, true, 0), *one = find(s, false, 800);
    assert_near(c->v50, one->v50, 0);
    assert_near(c->counts_per_inch, 800, 0);
    assert_int_equal(c->pool_settings, 1);
    fl_session_free(&s);
}

/* Bounds on one side have the farthest in common; bounds against a V50 have nothing. */
static void bounds_are_pooled_to_what_holds_for_all(void **state)
{
    (void)state;
    struct fl_session *s = two_settings(2, 2, 1e9, 1e9);
    const struct fl_curve *c = find(s, true, 0);
    assert_int_equal(c->bound, FL_BOUND_ABOVE);
    assert_near(c->bound_at, fmin(find(s, false, 800)->bound_at, find(s, false, 1600)->bound_at),
                0);
    fl_session_free(&s);
    s = two_settings(2, 2, 1e9, 250);
    assert_int_equal(find(s, true, 0)->bound, FL_BOUND_NOT_POOLED);
    fl_session_free(&s);
}

static void one_take_leads_with_its_own_threshold(void **state)
{
    (void)state;
    struct fl_session *s = two_settings(1, 0, 250, 250);
    const struct fl_curve *c = find(s, false, 800);
    struct fl_interval_text own, another;
    fl_interval_text(&own, c->by_take[0].v50, c->by_take[0].low, c->by_take[0].high);
    fl_interval_text(&another, FL_UNKNOWN, c->another_low, c->another_high);
    char want[300];
    snprintf(want, sizeof want,
             "30 flicks in 1 take; in the one take recorded V50 is %s deg/s (%s to %s deg/s); "
             "another take may differ: %s to %s deg/s",
             own.at, own.low, own.high, another.low, another.high);
    assert_string_equal(c->evidence, want);
    fl_session_free(&s);
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
        fl_curve_fit_one(&c, t, (size_t)takes, FL_CAMERA_SPEED, t[0]->arena);
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
             {6, 20, 200, 0.2, 3}};
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
        cmocka_unit_test(takes_apart_widen_the_interval),
        cmocka_unit_test(by_take_is_null_where_none_tripped),
        cmocka_unit_test(the_second_opinion_is_shown_where_it_differs),
        cmocka_unit_test(settings_are_pooled_only_where_they_agree),
        cmocka_unit_test(one_take_is_never_pooled),
        cmocka_unit_test(one_setting_is_its_own_pool),
        cmocka_unit_test(bounds_are_pooled_to_what_holds_for_all),
        cmocka_unit_test(one_take_leads_with_its_own_threshold),
        cmocka_unit_test(intervals_cover_the_truth),
    };
    return RUN_TESTS(tests);
}
