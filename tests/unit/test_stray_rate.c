#include "study/curve/stray_rate.h"

#include <math.h>
#include <string.h>

#include "fake_take.h"
#include "maths/logistic.h"
#include "study/curve/curve.h"
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

/* CHECKS C-3: x = 1..10, y = 0 up to 5: V50 5.5, profile 2.91850321 to 8.08149679. Nothing strays
 * there, so the stray rate is 0 and the plain fit is left. */
static void without_strays_it_is_the_plain_fit(void **state)
{
    (void)state;
    double x[10];
    bool y[10];
    for (int i = 0; i < 10; i++) {
        x[i] = i + 1;
        y[i] = i >= 5;
    }
    struct fl_stray s;
    assert_int_equal(fl_stray_fit(&s, x, y, 10), 0);
    assert_near(s.theta, 5.5, 1e-3);
    assert_near(s.rate, 0, 1e-3);
    assert_near(s.gain, 0, 1e-3);
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

/* The penalised likelihood once more, written straight from its definition. */
static double by_definition(const double *x, const bool *y, double theta, double beta, double rate)
{
    double sum = 10 * log(1 - rate), s0 = 0, s1 = 0, s2 = 0;
    for (int i = 0; i < N; i++) {
        double f = 1 / (1 + exp(-beta * (x[i] - theta))), p = rate + (1 - 2 * rate) * f;
        double slope = (1 - 2 * rate) * f * (1 - f), w = slope * slope / (p * (1 - p));
        sum += log(y[i] ? p : 1 - p);
        s0 += w;
        s1 += w * x[i];
        s2 += w * x[i] * x[i];
    }
    return sum + 0.5 * log(s0 * s2 - s1 * s1);
}

static double best_at(const double *x, const bool *y, double theta)
{
    double best = -INFINITY;
    for (double b = 0.05; b < 80; b *= 1.04)
        for (double rate = 0; rate <= FL_STRAY_MOST + 1e-9; rate += 0.002)
            best = fmax(best, by_definition(x, y, theta, b, rate));
    return best;
}

/* CHECKS §0, trap 1: profile limits by a search can be silently wrong; cross-check by a grid. A
 * limit is where twice the fall is 3.841 (CHECKS M). */
static void summit_and_limits_agree_with_a_grid(void **state)
{
    (void)state;
    double x[N], low, high;
    bool y[N];
    sharp(x, y, 3);
    y[20] = !y[20];
    struct fl_stray s;
    assert_int_equal(fl_stray_fit(&s, x, y, N), 0);
    double top = -INFINITY;
    for (double theta = x[0]; theta < x[N - 1]; theta += 0.05)
        top = fmax(top, best_at(x, y, theta));
    double own = by_definition(x, y, s.theta, s.beta, s.rate);
    assert_true(own > top - 0.005);
    fl_stray_limits(&s, x, y, N, 0.95, &low, &high);
    assert_true(low < s.theta && s.theta < high);
    assert_near(2 * (own - best_at(x, y, low)), 3.8414588207, 0.05);
    assert_near(2 * (own - best_at(x, y, high)), 3.8414588207, 0.05);
    /* half the speed's unit: a shift of x shifts all */
    for (int i = 0; i < N; i++)
        x[i] += 3;
    struct fl_stray moved;
    fl_stray_fit(&moved, x, y, N);
    assert_near(moved.theta - s.theta, 3, 0.01);
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
    fl_curve_fit(&c, &t, 1, FL_CAMERA_SPEED, t->arena);
    return c;
}

/* A cut-off that is known to stand at 250 deg/s: one flick far off it, of either kind, leaves V50
 * between the fastest flick that held and the slowest that tripped, the stray aside. Without the
 * stray rate the interval is wider. */
static void one_stray_does_not_drag_the_threshold(void **state)
{
    (void)state;
    const int astray[2] = {2, 38};
    for (int k = 0; k < 2; k++) {
        struct fl_take *t = fl_take_new();
        struct fl_curve c = curve_of(t, astray[k]);
        assert_true(c.stray_shown);
        assert_int_equal(c.strays, 1);
        assert_true(c.points[astray[k]].stray);
        assert_true(c.separated && isnan(c.slope));
        assert_true(c.held_max < 250 && c.tripped_min > 250);
        assert_true(c.v50 > 0.97 * c.held_max && c.v50 < 1.03 * c.tripped_min);
        assert_true(c.v50_low < 250 && c.v50_high > 250);
        assert_true(c.other_high / c.other_low > c.v50_high / c.v50_low);
        assert_non_null(strstr(fl_stray_note(&c, t->arena), "1 flick strayed: a flick of "));
        assert_non_null(strstr(fl_stray_note(&c, t->arena), k ? "that held" : "that tripped"));
        const char *grade = fl_curve_evidence(&c, t->arena);
        assert_ptr_equal(strstr(grade, "40 flicks in 1 take; V50 known within ±"), grade);
        assert_true(c.stray_gain > FL_STRAY_SHOWN && c.stray_rate > 0 &&
                    c.stray_rate < FL_STRAY_MOST);
        fl_take_free(&t);
    }
}

/* A soft curve has outcomes against it that are no strays: 5 % are shown by chance at most; 11 of
 * 100 and more would be seen in 1 % of such runs (binomial). */
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
        fl_curve_fit(&c, &t, 1, FL_CAMERA_SPEED, t->arena);
        shown += c.stray_shown;
        fl_take_free(&t);
    }
    print_message("%d of 100 soft curves show a stray rate\n", shown);
    assert_true(shown <= 11);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_chance_is_the_psychometric_function),
        cmocka_unit_test(without_strays_it_is_the_plain_fit),
        cmocka_unit_test(summit_and_limits_agree_with_a_grid),
        cmocka_unit_test(one_stray_does_not_drag_the_threshold),
        cmocka_unit_test(soft_curves_seldom_show_strays),
    };
    return RUN_TESTS(tests);
}
