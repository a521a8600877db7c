#include "study/curve/stray_rate.h"

#include <math.h>
#include <string.h>

#include "fake_take.h"
#include "maths/logistic.h"
#include "study/curve/curve_fit.h"
#include "study/curve/curve_words.h"
#include "test.h"

/* CHECKS N (Wichmann & Hill 2001, Percept Psychophys 63:1293-1313, form from memory, numbers
 * computed): logistic of mean 300 and scale 40, guess 0.02, lapse 0.05. */
static void the_chance_is_the_psychometric_function(void **state)
{
    (void)state;
    const double at[4] = {200, 300, 340, 400},
                 p[4] = {0.0905481074, 0.4850000000, 0.6998844781, 0.8794518926};
    for (int i = 0; i < 4; i++)
        assert_near(fl_stray_p(0.02, 0.05, fl_logistic_p(-300.0 / 40, 1 / 40.0, at[i])), p[i],
                    1e-9);
    /* the same for both ends leaves the even chance where the curve has it */
    assert_near(fl_stray_p(0.03, 0.03, 0.5), 0.5, 1e-15);
}

#define N 40

/* Log-spaced speeds, a cut-off at 250 deg/s that never fails, but for one flick. */
static void sharp(double *x, bool *y, int astray)
{
    for (int i = 0; i < N; i++) {
        x[i] = log2(40) + i * log2(30) / (N - 1);
        y[i] = (x[i] > log2(250)) != (i == astray);
    }
}

/* By Bayes' rule, from the definition: the flick is a stray, or it follows the curve; a stray does
 * what the curve makes the other outcome. */
static void the_chance_to_have_strayed_is_bayes_rule(void **state)
{
    (void)state;
    double p = fl_logistic_p(-8 * 7.0, 8, 7.5), rate = 0.03;
    assert_near(fl_stray_chance(rate, 7, 8, 7.5, false),
                rate * p / (rate * p + (1 - rate) * (1 - p)), 1e-12);
    assert_near(fl_stray_chance(rate, 7, 8, 7.5, true),
                rate * (1 - p) / (rate * (1 - p) + (1 - rate) * p), 1e-12);
    assert_near(fl_stray_chance(0, 7, 8, 7.5, false), 0, 0);
}

static struct fl_curve curve_of(struct fl_take *t, int astray)
{
    double x[N];
    bool y[N];
    sharp(x, y, astray);
    t->flicks = FL_ARENA(t->arena, struct fl_flick, N);
    t->n_flicks = N;
    for (int i = 0; i < N; i++) {
        t->flicks[i].peak[FL_CAMERA_SPEED] = exp2(x[i]);
        t->flicks[i].at_risk = FL_YES;
        t->flicks[i].tripped = y[i] ? FL_YES : FL_NO;
    }
    struct fl_curve c;
    fl_curve_fit_one(&c, &t, 1, FL_CAMERA_SPEED, t->arena);
    return c;
}

/* A cut-off that is known to stand at 250 deg/s: one flick far off it, of either kind, leaves V50
 * between the fastest flick that held and the slowest that tripped, the stray aside. */
static void one_stray_does_not_drag_the_threshold(void **state)
{
    (void)state;
    const int astray[2] = {2, 38};
    for (int k = 0; k < 2; k++) {
        struct fl_take *t = fl_take_new();
        struct fl_curve c = curve_of(t, astray[k]);
        const struct fl_take_v50 *own = &c.by_take[0];
        assert_true(c.strays > 0);
        assert_int_equal(c.strays, 1);
        assert_true(c.points[astray[k]].stray);
        assert_true(c.separated && isnan(c.slope));
        assert_true(c.held_max < 250 && c.tripped_min > 250);
        assert_true(c.v50 > 0.97 * c.held_max && c.v50 < 1.03 * c.tripped_min);
        assert_true(own->low < 250 && own->high > 250 && own->high / own->low < 1.6);
        assert_non_null(
            strstr(fl_stray_note(&c, t->arena), "1 flick went against the curve: a flick of "));
        assert_non_null(strstr(fl_stray_note(&c, t->arena), k ? "that held" : "that tripped"));
        fl_take_free(&t);
    }
}

/* A soft curve has outcomes against it that are no strays; they are marked with a chance of 0.95 to
 * have strayed where one flick in fifty, 40 · 0.01 a take, does. Of 100 takes without any, 8 and
 * more would be a false mark in over 3 % of them (binomial, 5 %). */
static void soft_curves_seldom_show_strays(void **state)
{
    (void)state;
    int shown = 0;
    for (uint64_t k = 0; k < 100; k++) {
        struct fake_settings s = {.id = "t",
                                  .game = "g",
                                  .counts_per_inch = 800,
                                  .degrees_per_count = 0.044,
                                  .v50_deg_s = 250,
                                  .slope = 3,
                                  .flicks = 40,
                                  .flicks_only = true,
                                  .seed = k + 1};
        struct fl_take *t = fake_take(&s);
        struct fl_curve c;
        fl_curve_fit_one(&c, &t, 1, FL_CAMERA_SPEED, t->arena);
        shown += c.strays > 0;
        fl_take_free(&t);
    }
    print_message("%d of 100 soft curves have a flick marked\n", shown);
    assert_true(shown <= 8);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_chance_is_the_psychometric_function),
        cmocka_unit_test(the_chance_to_have_strayed_is_bayes_rule),
        cmocka_unit_test(one_stray_does_not_drag_the_threshold),
        cmocka_unit_test(soft_curves_seldom_show_strays),
    };
    return RUN_TESTS(tests);
}
