#include "maths/logistic.h"

#include <stdlib.h>
#include <time.h>

#include "base/mem.h"
#include "maths/interval.h"
#include "maths/random.h"
#include "test.h"

struct data {
    double *x;
    bool *y;
    size_t n;
};

static struct data data_new(size_t n)
{
    return (struct data){FL_NEW(double, n), FL_NEW(bool, n), 0};
}

static void data_free(struct data *d)
{
    free(d->x);
    free(d->y);
}

static void add(struct data *d, double x, bool y, int times)
{
    for (; times > 0; times--) {
        d->x[d->n] = x;
        d->y[d->n++] = y;
    }
}

static struct data grouped(const double *x, const int *n, const int *yes, size_t groups)
{
    struct data d = data_new(2000);
    for (size_t i = 0; i < groups; i++) {
        add(&d, x[i], true, yes[i]);
        add(&d, x[i], false, n[i] - yes[i]);
    }
    return d;
}

static struct data sequence(const int *y, int n)
{
    struct data d = data_new((size_t)n);
    for (int i = 0; i < n; i++)
        add(&d, i + 1, y[i], 1);
    return d;
}

/* Firth's penalised log-likelihood at a slope, with even odds at x0: by its definition, in the
 * units of x. */
static double penalised(const struct data *d, double slope, double x0)
{
    double value = 0, w0 = 0, w1 = 0, w2 = 0, middle = d->x[0];
    for (size_t i = 0; i < d->n; i++) {
        double eta = slope * (d->x[i] - x0), u = d->x[i] - middle;
        double p = fl_logistic_p(0, 1, eta), w = p * fl_logistic_p(0, 1, -eta);
        value -= log1p(exp(-fabs(eta))) + ((eta > 0) == d->y[i] ? 0 : fabs(eta));
        w0 += w;
        w1 += w * u;
        w2 += w * u * u;
    }
    return value + 0.5 * log(w0 * w2 - w1 * w1);
}

/* The highest of them over all slopes: a walk over a grid, then the golden section. */
static double profile_at(const struct data *d, double x0)
{
    enum { GRID = 120 };
    double far = 0, best = -INFINITY, at = 0;
    for (size_t i = 0; i < d->n; i++)
        far = fmax(far, fabs(d->x[i] - x0));
    const double step = 0.1; /* log odds at the farthest x: sinh of the steps, up to 200 */
    for (int k = -GRID / 2; k <= GRID / 2; k++) {
        double value = penalised(d, sinh(step * k) / far, x0);
        if (value > best) {
            best = value;
            at = step * k;
        }
    }
    const double part = (sqrt(5) - 1) / 2;
    double low = at - step, high = at + step, a = high - part * (high - low),
           b = low + part * (high - low);
    double fa = penalised(d, sinh(a) / far, x0), fb = penalised(d, sinh(b) / far, x0);
    for (int i = 0; i < 60; i++) {
        if (fa > fb) {
            high = b;
            b = a;
            fb = fa;
            a = high - part * (high - low);
            fa = penalised(d, sinh(a) / far, x0);
        } else {
            low = a;
            a = b;
            fa = fb;
            b = low + part * (high - low);
            fb = penalised(d, sinh(b) / far, x0);
        }
    }
    return fmax(fa, fb);
}

static double profile_fall(const struct data *d, const struct fl_logistic *fit, double x0)
{
    return 2 * (fit->loglik - profile_at(d, x0));
}

#define CRIT 3.8414588207 /* χ²₁ at 95 % */

/* CHECKS B-1: Bliss 1935, Ann Appl Biol 22:134-167 (data from memory; Dobson, An Introduction to
 * Generalized Linear Models, ch. 7 prints -60.72, 34.27); digits by R. */
static void bliss_beetles(void **state)
{
    (void)state;
    const double x[] = {1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839};
    const int n[] = {59, 60, 62, 56, 63, 59, 62, 60}, dead[] = {6, 13, 18, 28, 52, 53, 61, 60};
    struct data d = grouped(x, n, dead, 8);
    struct fl_logistic fit;
    assert_int_equal(fl_logistic_fit(&fit, d.x, d.y, d.n, false), 0);
    assert_near(fit.alpha, -60.7174545616, 1e-9);
    assert_near(fit.beta, 34.2703257341, 1e-9);
    assert_near(fit.alpha_se, 5.1807114633, 1e-8);
    assert_near(fit.beta_se, 2.9121400706, 1e-8);
    assert_near(fit.null_deviance - fit.deviance, 284.202449481 - 11.2322310974, 1e-9);
    const double deaths[] = {3.4575, 9.8417, 22.4514, 33.8976, 50.0958, 53.2909, 59.2222, 58.7430};
    for (int i = 0; i < 8; i++)
        assert_near(n[i] * fl_logistic_p(fit.alpha, fit.beta, x[i]), deaths[i], 2e-5);
    assert_near(-fit.alpha / fit.beta, 1.77172096445, 1e-10);
    assert_near((-log(9) - fit.alpha) / fit.beta, 1.70760647092, 1e-10);
    assert_near((log(9) - fit.alpha) / fit.beta, 1.83583545797, 1e-10);
    assert_false(fit.separated);
    assert_int_equal(fl_logistic_fit(&fit, d.x, d.y, d.n, true), 0);
    assert_near(fit.alpha, -60.1137713236, 1e-8);
    assert_near(fit.beta, 33.9301304511, 1e-8);
    assert_near(fit.alpha_se, 5.1311417194, 1e-7);
    assert_near(fit.beta_se, 2.8841186635, 1e-7);
    assert_near(-fit.alpha / fit.beta, 1.77169290316, 1e-9);
    data_free(&d);
}

/* CHECKS B-2: tobacco budworm (Collett 1991; Venables & Ripley 2002 §7.2, data in R's MASS), each
 * sex with its own slope; R glm. */
static void budworm_by_sex(void **state)
{
    (void)state;
    const double dose[] = {0, 1, 2, 3, 4, 5};
    const int n[] = {20, 20, 20, 20, 20, 20};
    const int dead[2][6] = {{1, 4, 9, 13, 18, 20}, {0, 2, 6, 10, 12, 16}};
    const double want[2][4] = {
        {-2.81855496732, 1.2589494242, 0.547986816778, 0.212065494094},
        {-2.99354175517, 0.906036435467, 0.552699761, 0.167101660},
    };
    for (int k = 0; k < 2; k++) {
        struct data d = grouped(dose, n, dead[k], 6);
        struct fl_logistic fit;
        assert_int_equal(fl_logistic_fit(&fit, d.x, d.y, d.n, false), 0);
        assert_near(fit.alpha, want[k][0], 1e-9);
        assert_near(fit.beta, want[k][1], 1e-9);
        assert_near(fit.alpha_se, want[k][2], 1e-7);
        assert_near(fit.beta_se, want[k][3], 1e-7);
        data_free(&d);
    }
}

/* CHECKS E-2: Finney 1947, Biometrika 34:320-334 (data from memory; the joint fit of these digits
 * is the published one): one predictor at a time, R glm. */
static void vasoconstriction(void **state)
{
    (void)state;
    const double vol[] = {3.70, 3.50, 1.25, .75,  .80,  .70,  .60,  1.10, .90,  .90,
                          .80,  .55,  .60,  1.40, .75,  2.30, 3.20, .85,  1.70, 1.80,
                          .40,  .95,  1.35, 1.50, 1.60, .60,  1.80, .95,  1.90, 1.60,
                          2.70, 2.35, 1.10, 1.10, 1.20, .80,  .95,  .75,  1.30};
    const double rate[] = {.825, 1.09, 2.50, 1.50, 3.20, 3.50, .75,  1.70,  .75,  .45,
                           .57,  2.75, 3.00, 2.33, 3.75, 1.64, 1.60, 1.415, 1.06, 1.80,
                           2.00, 1.36, 1.35, 1.36, 1.78, 1.50, 1.50, 1.90,  .95,  .40,
                           .75,  .03,  1.83, 2.20, 2.00, 3.33, 1.90, 1.90,  1.625};
    const bool y[] = {1, 1, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 0, 1,
                      0, 0, 0, 0, 1, 0, 1, 0, 1, 0, 1, 0, 0, 1, 1, 1, 0, 0, 1};
    const double want[2][4] = {{-.204578507997, 1.80787614898, 47.0595992098, .711842105263},
                               {-.425335229457, 1.26129563887, 48.8574579636, .672368421053}};
    for (int k = 0; k < 2; k++) {
        double x[39];
        struct fl_logistic fit;
        for (int i = 0; i < 39; i++)
            x[i] = log(k ? rate[i] : vol[i]);
        assert_int_equal(fl_logistic_fit(&fit, x, y, 39, false), 0);
        assert_near(fit.alpha, want[k][0], 1e-9);
        assert_near(fit.beta, want[k][1], 1e-9);
        assert_near(fit.deviance, want[k][2], 1e-10);
        assert_near(fit.null_deviance, 54.0398362476, 1e-10);
        assert_near(fl_auc(x, y, 39), want[k][3], 1e-11);
    }
}

/* CHECKS C-2: Firth 1993, Biometrika 80:27-38: in a 2×2 table the penalty adds ½ to every cell, so
 * the estimates are closed forms. Errors by two independent implementations. CHECKS §0, trap 2:
 * there are two conventions for standard errors. Given here is the inverse information at the
 * estimate, not that with augmented weights, √Σ1/(n + ½) in such a table, which is smaller. */
static void firth_of_two_by_two(void **state)
{
    (void)state;
    const int cells[3][4] = {{0, 5, 4, 1}, {0, 10, 10, 0}, {3, 7, 8, 2}};
    const double errors[3][2] = {
        {1.919595917, 1.752343308}, {2.146980161, 2.047065263}, {1.015068542, 0.967829881}};
    for (int k = 0; k < 3; k++) {
        const int *c = cells[k];
        struct data d = data_new(40);
        add(&d, 0, true, c[0]);
        add(&d, 0, false, c[1]);
        add(&d, 1, true, c[2]);
        add(&d, 1, false, c[3]);
        struct fl_logistic fit;
        assert_int_equal(fl_logistic_fit(&fit, d.x, d.y, d.n, true), 0);
        assert_near(fit.alpha, log((c[0] + 0.5) / (c[1] + 0.5)), 1e-9);
        assert_near(fit.beta, log((c[2] + 0.5) * (c[1] + 0.5) / ((c[3] + 0.5) * (c[0] + 0.5))),
                    1e-9);
        assert_near(fit.beta_se, errors[k][0], 1e-8);
        double augmented = 0;
        for (int i = 0; i < 4; i++)
            augmented += 1 / (c[i] + 0.5);
        assert_near(sqrt(augmented), errors[k][1], 1e-8);
        assert_true(fit.beta_se > sqrt(augmented));
        assert_int_equal(fit.separated, k < 2); /* the first touches in one value */
        data_free(&d);
    }
}

/* CHECKS C-3: separated by one gap: two independent implementations; 5.5 by symmetry, and the
 * limits lie evenly about it. Plain likelihood has no maximum. */
static void separated_sequence(void **state)
{
    (void)state;
    const int y[] = {0, 0, 0, 0, 0, 1, 1, 1, 1, 1};
    struct data d = sequence(y, 10);
    struct fl_logistic fit;
    double low, high;
    assert_int_equal(fl_logistic_fit(&fit, d.x, d.y, d.n, true), 0);
    assert_near(fit.alpha, -5.3385726313, 1e-9);
    assert_near(fit.beta, 0.9706495693, 1e-9);
    assert_near(fit.alpha_se, 3.3227122781, 1e-8);
    assert_near(fit.beta_se, 0.5765408351, 1e-8);
    assert_near(fit.loglik, -1.0806980632, 1e-9);
    assert_near(-fit.alpha / fit.beta, 5.5, 1e-9);
    assert_near((-log(9) - fit.alpha) / fit.beta, 3.23633591, 1e-8);
    assert_near((log(9) - fit.alpha) / fit.beta, 7.76366409, 1e-8);
    assert_true(fit.separated);
    assert_int_equal(fl_logistic_profile_x(d.x, d.y, d.n, 0.5, 0.95, &low, &high), 0);
    assert_near(low, 2.91850321, 1e-8);
    assert_near(high, 8.08149679, 1e-8);
    assert_near(low + high, 11, 1e-9);
    assert_int_equal(fl_logistic_fit(&fit, d.x, d.y, d.n, false), -1);
    assert_true(isnan(fit.beta) && fit.separated);
    data_free(&d);
}

/* CHECKS C-4: separated groups (two independent implementations, one of them R's brglm2). CHECKS
 * §0, trap 1: a bounded search in one dimension gave 320.88 for the lower limit;
 * limits_agree_with_the_definition would show that. */
static void separated_groups(void **state)
{
    (void)state;
    const double x[] = {100, 200, 300, 400, 500}, small[] = {1, 2, 3, 4, 5};
    const int n[] = {10, 10, 10, 10, 10}, yes[] = {0, 0, 0, 10, 10};
    struct data d = grouped(x, n, yes, 5), e = grouped(small, n, yes, 5);
    struct fl_logistic fit, scaled;
    double low, high, low_scaled, high_scaled;
    assert_int_equal(fl_logistic_fit(&fit, d.x, d.y, d.n, true), 0);
    assert_near(fit.alpha, -21.1673536517, 1e-9);
    assert_near(fit.beta, 0.0604782203, 1e-10);
    assert_near(fit.alpha_se, 7.4348408859, 1e-8);
    assert_near(fit.beta_se, 0.0210246407, 1e-9);
    assert_near(-fit.alpha / fit.beta, 349.99961, 1e-8);
    assert_int_equal(fl_logistic_profile_x(d.x, d.y, d.n, 0.5, 0.95, &low, &high), 0);
    assert_near(low, 319.615569, 1e-8);
    assert_near(high, 380.382995, 1e-8);
    assert_int_equal(fl_logistic_fit(&scaled, e.x, e.y, e.n, true), 0);
    assert_near(scaled.beta, 6.04782203, 1e-8);
    assert_int_equal(fl_logistic_profile_x(e.x, e.y, e.n, 0.5, 0.95, &low_scaled, &high_scaled), 0);
    assert_near(low_scaled * 100, low, 1e-9);
    assert_near(high_scaled * 100, high, 1e-9);
    data_free(&d);
    data_free(&e);
}

/* CHECKS C-5, and §0, trap 1 once more (a search gave 0.147 for the lower limit, symmetry about 4.5
 * shows it): overlapping but few: very wide limits, as the slope is barely not 0 (two
 * implementations). */
static void small_overlap(void **state)
{
    (void)state;
    const int y[] = {0, 0, 0, 1, 0, 1, 1, 1};
    struct data d = sequence(y, 8);
    struct fl_logistic fit;
    double low, high;
    assert_int_equal(fl_logistic_fit(&fit, d.x, d.y, d.n, false), 0);
    assert_near(fit.alpha, -5.77032035229, 1e-9);
    assert_near(fit.beta, 1.28229341162, 1e-9);
    assert_near(fit.alpha_se, 4.0358233144, 1e-8);
    assert_near(fit.deviance, 5.00609939694, 1e-10);
    assert_int_equal(fl_logistic_fit(&fit, d.x, d.y, d.n, true), 0);
    assert_near(fit.alpha, -3.1685860178, 1e-9);
    assert_near(fit.beta, 0.7041302262, 1e-9);
    assert_near(fit.alpha_se, 2.3413217801, 1e-8);
    assert_near(fit.beta_se, 0.4812431667, 1e-8);
    assert_int_equal(fl_logistic_profile_x(d.x, d.y, d.n, 0.5, 0.95, &low, &high), 0);
    assert_near(low, -4.96255417, 1e-7);
    assert_near(high, 13.96255417, 1e-7);
    assert_near(low + high, 9, 1e-8);
    /* at 99 % the slope may be 0: nothing bounds the x */
    assert_int_equal(fl_logistic_profile_x(d.x, d.y, d.n, 0.5, 0.99, &low, &high), 0);
    assert_true(isinf(low) && isinf(high) && low < 0 && high > 0);
    data_free(&d);
}

/* CHECKS C-6, and §0, trap 7: one state only: a finite fit with slope 0 and intercept ln 7 (closed
 * form), so no threshold. */
static void one_state_alone(void **state)
{
    (void)state;
    const int y[] = {1, 1, 1, 1, 1, 1};
    struct data d = sequence(y, 6);
    struct fl_logistic fit;
    double low, high;
    assert_int_equal(fl_logistic_fit(&fit, d.x, d.y, d.n, true), 0);
    assert_near(fit.alpha, log(7), 1e-9);
    assert_near(fit.beta, 0, 1e-9);
    assert_near(fit.loglik, -0.6871811150, 1e-9);
    assert_false(fit.separated);
    assert_int_equal(fl_logistic_profile_x(d.x, d.y, d.n, 0.5, 0.95, &low, &high), 0);
    assert_true(isinf(low) && isinf(high));
    assert_int_equal(fl_logistic_fit(&fit, d.x, d.y, d.n, false), -1);
    data_free(&d);
}

static struct data simulated(struct fl_random *r, int n, double v50, double slope)
{
    struct data d = data_new((size_t)n);
    for (int i = 0; i < n; i++) {
        double x = 8 + 1.5 * fl_random_normal(r);
        add(&d, x, fl_random_uniform(r) < fl_logistic_p(-slope * v50, slope, x), 1);
    }
    return d;
}

/* From the middle to an end nothing is rejected, at the end the fall is the critical one, beyond it
 * more; an open end rejects nothing however far. */
static void end_is_right(const struct data *d, const struct fl_logistic *fit, double end,
                         double sign)
{
    double middle = -fit->alpha / fit->beta;
    if (isinf(end)) {
        for (double far = 0.1; far < 2e6; far *= 10)
            assert_true(profile_fall(d, fit, middle + sign * far) < CRIT);
        return;
    }
    assert_true(sign * (end - middle) > 0);
    for (int i = 0; i < 20; i++)
        assert_true(profile_fall(d, fit, middle + i / 20.0 * (end - middle)) < CRIT);
    assert_near(profile_fall(d, fit, end), CRIT, 1e-8);
    assert_true(profile_fall(d, fit, end + 0.01 * (end - middle)) > CRIT);
}

/* CHECKS §0, trap 1: limits found by root finding against the profile by its definition. */
static void limits_agree_with_the_definition(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 31);
    int finite = 0;
    for (int k = 0; k < 60; k++) {
        struct data d = simulated(&r, 12 + k, 7.5 + 0.04 * k,
                                  k % 3 == 0   ? 0.8
                                  : k % 3 == 1 ? 3
                                               : 40);
        struct fl_logistic fit;
        double end[2];
        assert_int_equal(fl_logistic_fit(&fit, d.x, d.y, d.n, true), 0);
        assert_int_equal(fl_logistic_profile_x(d.x, d.y, d.n, 0.5, 0.95, end, end + 1), 0);
        for (int side = 0; side < 2; side++) {
            end_is_right(&d, &fit, end[side], side ? 1 : -1);
            finite += isfinite(end[side]);
        }
        data_free(&d);
    }
    assert_true(finite > 80);
}

/* x -> c·x + s moves V50 and its limits alike; turning y over leaves them; so does the order. */
static void limits_are_equivariant(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 32);
    for (int k = 0; k < 20; k++) {
        struct data d = simulated(&r, 40, 8, 1 + k);
        double low, high, low2, high2;
        assert_int_equal(fl_logistic_profile_x(d.x, d.y, d.n, 0.5, 0.95, &low, &high), 0);
        for (size_t i = 0; i < d.n; i++) {
            d.x[i] = 1000 * d.x[i] - 3;
            d.y[i] = !d.y[i];
        }
        assert_int_equal(fl_logistic_profile_x(d.x, d.y, d.n, 0.5, 0.95, &low2, &high2), 0);
        assert_near(low2, 1000 * low - 3, 1e-8);
        assert_near(high2, 1000 * high - 3, 1e-8);
        for (size_t i = 0; i < d.n; i++) /* a mirror swaps the ends */
            d.x[i] = -d.x[i];
        assert_int_equal(fl_logistic_profile_x(d.x, d.y, d.n, 0.5, 0.95, &low, &high), 0);
        assert_near(low, -high2, 1e-8);
        assert_near(high, -low2, 1e-8);
        data_free(&d);
    }
}

/* A wider level contains a narrower one; the limits of V10, V50, V90 stand in order. */
static void limits_are_ordered(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 33);
    struct data d = simulated(&r, 80, 8, 3);
    double low, high, last_low = INFINITY, last_high = -INFINITY;
    for (double level = 0.5; level < 0.999; level += 0.05) {
        assert_int_equal(fl_logistic_profile_x(d.x, d.y, d.n, 0.5, level, &low, &high), 0);
        assert_true(low < last_low && high > last_high);
        last_low = low;
        last_high = high;
    }
    last_low = last_high = -INFINITY;
    for (double p = 0.1; p < 0.95; p += 0.1) {
        assert_int_equal(fl_logistic_profile_x(d.x, d.y, d.n, p, 0.95, &low, &high), 0);
        assert_true(low > last_low && high > last_high);
        last_low = low;
        last_high = high;
    }
    data_free(&d);
}

/* Most trip and the rest tell no threshold: open below, bounded above. */
static void one_open_end(void **state)
{
    (void)state;
    struct data d = data_new(40);
    add(&d, 1, false, 1);
    add(&d, 1, true, 2);
    add(&d, 3, true, 8);
    double low, high;
    struct fl_logistic fit;
    assert_int_equal(fl_logistic_fit(&fit, d.x, d.y, d.n, true), 0);
    assert_int_equal(fl_logistic_profile_x(d.x, d.y, d.n, 0.5, 0.95, &low, &high), 0);
    assert_true(low == -INFINITY && isfinite(high) && high > -fit.alpha / fit.beta);
    assert_near(profile_fall(&d, &fit, high), CRIT, 1e-8);
    assert_true(profile_fall(&d, &fit, -1e4) < CRIT && profile_fall(&d, &fit, -1e8) < CRIT);
    data_free(&d);
}

/* In repeated experiments the 95 % interval covers the true V50 about 95 times in 100 (definition;
 * 600 runs, limits of 4 standard errors). */
static void coverage(void **state)
{
    (void)state;
    enum { RUNS = 600 };
    struct fl_random r;
    fl_random_seed(&r, 34);
    int covered = 0;
    for (int k = 0; k < RUNS; k++) {
        struct data d = simulated(&r, 60, 8.3, 1.5);
        double low, high;
        assert_int_equal(fl_logistic_profile_x(d.x, d.y, d.n, 0.5, 0.95, &low, &high), 0);
        covered += low <= 8.3 && 8.3 <= high;
        data_free(&d);
    }
    print_message("covered %d of %d\n", covered, RUNS);
    assert_near((double)covered / RUNS, 0.95, 4 * sqrt(0.95 * 0.05 / RUNS));
}

static void survives_hard_data(void **state)
{
    (void)state;
    struct fl_logistic fit;
    double low, high;
    assert_int_equal(fl_logistic_fit(&fit, NULL, NULL, 0, true), -1);
    assert_int_equal(fl_logistic_fit(&fit, (double[]){1}, (bool[]){1}, 1, true), -1);
    assert_int_equal(fl_logistic_fit(&fit, (double[]){2, 2, 2}, (bool[]){1, 0, 1}, 3, true), -1);
    assert_int_equal(
        fl_logistic_fit(&fit, (double[]){2, NAN, INFINITY}, (bool[]){1, 0, 1}, 3, true), -1);
    assert_true(isnan(fit.alpha) && isnan(fit.loglik));
    assert_int_equal(
        fl_logistic_profile_x((double[]){2, 2}, (bool[]){1, 0}, 2, 0.5, 0.95, &low, &high), -1);
    assert_true(isnan(low) && isnan(high));
    assert_int_equal(
        fl_logistic_profile_x((double[]){1, 2, 3}, (bool[]){0, 0, 1}, 3, 1, 0.95, &low, &high), -1);
    assert_int_equal(
        fl_logistic_profile_x((double[]){1, 2, 3}, (bool[]){0, 0, 1}, 3, 0.5, 1, &low, &high), -1);
    /* one value shared by both states: the plain likelihood has no maximum there either */
    assert_int_equal(fl_logistic_fit(&fit, (double[]){1, 2, 2, 3}, (bool[]){0, 0, 1, 1}, 4, false),
                     -1);
    assert_true(fit.separated);
    /* far from 0, far apart, uneven, and large gaps */
    struct fl_random r;
    fl_random_seed(&r, 35);
    for (int k = 0; k < 3000; k++) {
        struct data d = data_new(60);
        int n = 2 + (int)fl_random_below(&r, 58);
        double spread = exp(6 * fl_random_normal(&r)), shift = spread * 100 * fl_random_normal(&r);
        double cut = fl_random_normal(&r);
        for (int i = 0; i < n; i++) {
            double x = fl_random_normal(&r), flip = fl_random_uniform(&r);
            x = k % 4 == 0 ? x * x * x * x * x : x;
            add(&d, shift + spread * x, flip < (k % 3) * 0.1 ? x < cut : x > cut, 1);
        }
        assert_int_equal(fl_logistic_fit(&fit, d.x, d.y, d.n, true), 0);
        assert_true(isfinite(fit.alpha) && isfinite(fit.beta) && isfinite(fit.loglik));
        assert_int_equal(fl_logistic_profile_x(d.x, d.y, d.n, 0.5, 0.95, &low, &high), 0);
        double v50 = -fit.alpha / fit.beta;
        assert_true(isinf(low) || low <= v50 + 1e-6 * spread);
        assert_true(isinf(high) || high >= v50 - 1e-6 * spread);
        data_free(&d);
    }
}

/* By definition; e^800 overflows. logistic(2) from R. */
static void logistic_function(void **state)
{
    (void)state;
    assert_near(fl_logistic_p(0, 1, 2), 0.880797077978, 1e-12);
    assert_near(fl_logistic_p(-1, 2, 0.5), 0.5, 1e-15);
    assert_true(fl_logistic_p(0, 1, 800) == 1);
    assert_true(fl_logistic_p(0, 1, -800) == 0);
    assert_near(fl_logistic_p(0, 1, -30) * 1e13, exp(-30) * 1e13, 1e-12);
}

static double microseconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec * 1e6 + (double)now.tv_nsec * 1e-3;
}

static void fast_enough(void **state)
{
    (void)state;
    enum { TURNS = 200 };
    struct fl_random r;
    fl_random_seed(&r, 36);
    struct data d = simulated(&r, 100, 8, 2);
    struct fl_logistic fit;
    double low, high, t0 = microseconds(), t1, t2;
    for (int i = 0; i < TURNS; i++)
        fl_logistic_fit(&fit, d.x, d.y, d.n, true);
    t1 = microseconds();
    for (int i = 0; i < TURNS; i++)
        fl_logistic_profile_x(d.x, d.y, d.n, 0.5, 0.95, &low, &high);
    t2 = microseconds();
    print_message("100 points: fit %.1f us, interval %.1f us\n", (t1 - t0) / TURNS,
                  (t2 - t1) / TURNS);
    assert_true((t1 - t0) / TURNS < 5000); /* a guard with room for sanitizers */
    data_free(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bliss_beetles),
        cmocka_unit_test(budworm_by_sex),
        cmocka_unit_test(vasoconstriction),
        cmocka_unit_test(firth_of_two_by_two),
        cmocka_unit_test(separated_sequence),
        cmocka_unit_test(separated_groups),
        cmocka_unit_test(small_overlap),
        cmocka_unit_test(one_state_alone),
        cmocka_unit_test(limits_agree_with_the_definition),
        cmocka_unit_test(limits_are_equivariant),
        cmocka_unit_test(limits_are_ordered),
        cmocka_unit_test(one_open_end),
        cmocka_unit_test(coverage),
        cmocka_unit_test(survives_hard_data),
        cmocka_unit_test(logistic_function),
        cmocka_unit_test(fast_enough),
    };
    return RUN_TESTS(tests);
}
