#include "maths/robust.h"

#include <stdlib.h>

#include "base/mem.h"
#include "maths/interval.h"
#include "maths/random.h"
#include "test.h"

/* CHECKS F-4: Hyndman & Fan 1996, Am Stat 50:361-365, type 7; h = (n-1)p by definition. */
static void quantile_type_7(void **state)
{
    (void)state;
    const double p[] = {0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 0.99};
    const double powers[] = {16, 1, 8, 2, 4}, want[] = {1.2, 1.4, 2, 4, 8, 12.8, 14.4, 15.68};
    for (int i = 0; i < 8; i++)
        assert_near(fl_quantile(powers, 5, p[i]), want[i], 1e-12);
    const float ten[] = {3, 1, 10, 7, 5, 9, 2, 8, 6, 4};
    const double p10[] = {0.01, 0.05, 0.25, 0.5, 0.9, 0.99},
                 want10[] = {1.09, 1.45, 3.25, 5.5, 9.1, 9.91};
    for (int i = 0; i < 6; i++)
        assert_near(fl_quantile_f(ten, 10, p10[i]), want10[i], 1e-12);
}

/* CHECKS F-4: data of the NIST/SEMATECH e-Handbook of Statistical Methods 7.2.6.2 (from memory);
 * type 7 by R.
 */
static void quantile_of_handbook_data(void **state)
{
    (void)state;
    const double x[] = {95.1772, 95.1567, 95.1937, 95.1959, 95.1442, 95.0610,
                        95.1591, 95.1195, 95.1065, 95.0925, 95.1990, 95.1682};
    assert_near(fl_quantile(x, 12, 0.1), 95.093900, 1e-9);
    assert_near(fl_quantile(x, 12, 0.25), 95.116250, 1e-9);
    assert_near(fl_quantile(x, 12, 0.5), 95.157900, 1e-9);
    assert_near(fl_quantile(x, 12, 0.9), 95.195680, 1e-9);
    assert_near(fl_quantile(x, 12, 0.99), 95.198659, 1e-8);
}

static void quantile_properties(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 4);
    double x[301], last = -INFINITY;
    for (int i = 0; i < 301; i++)
        x[i] = i % 7 == 3 ? NAN : floor(5 * fl_random_normal(&r)); /* ties and unknowns */
    for (int i = 0; i <= 200; i++) {
        double q = fl_quantile(x, 301, i / 200.0);
        assert_true(q >= last);
        last = q;
    }
    assert_true(isnan(fl_quantile(NULL, 0, 0.5)));
    assert_true(isnan(fl_quantile((double[]){NAN, NAN}, 2, 0.5)));
    assert_true(isnan(fl_quantile(x, 301, NAN)));
    assert_true(fl_quantile((double[]){-INFINITY, 1, INFINITY}, 3, 0) == -INFINITY);
    assert_true(fl_quantile((double[]){2, 1}, 2, -1) == 1 &&
                fl_quantile((double[]){2, 1}, 2, 2) == 2);
}

/* By definition: median 3, absolute deviations 2 1 0 1 97, their median 1. */
static void mad_by_definition(void **state)
{
    (void)state;
    assert_near(fl_mad_sigma((double[]){1, 2, 3, 4, 100}, 5), 1.4826, 1e-12);
}

/* CHECKS F-3: NIST StRD univariate data NumAcc1..4: mean b, standard deviation 1 and 0.1, exact. */
static void moments_of_reference_data(void **state)
{
    (void)state;
    const double first[] = {10000001, 10000003, 10000002};
    assert_near(fl_mean(first, 3), 10000002, 1e-15);
    assert_near(fl_sd(first, 3), 1, 1e-15);
    const double bases[] = {1.2, 1000000.2, 10000000.2};
    for (int k = 0; k < 3; k++) {
        double x[1001];
        for (int i = 0; i < 1001; i++)
            x[i] = bases[k] + (i == 0 ? 0 : i % 2 ? -0.1 : 0.1);
        assert_near(fl_mean(x, 1001), bases[k], 1e-14);
        assert_near(fl_sd(x, 1001), 0.1, 1e-8);
    }
    assert_near(fl_mean((double[]){1, NAN, 3}, 3), 2, 0);
    assert_near(fl_sd((double[]){1, NAN, 3}, 3), sqrt(2), 1e-15);
    assert_true(isnan(fl_mean(NULL, 0)) && isnan(fl_sd(first, 1)));
}

/* CHECKS F-3: NIST StRD Michelso (R's morley, experiments in order; value 299 + v/1000): certified
 * mean and SD. */
static void moments_of_the_speed_of_light(void **state)
{
    (void)state;
    const int v[] = {850, 740,  900,  1070, 930, 850, 950, 980, 980, 880, 1000, 980, 930, 650, 760,
                     810, 1000, 1000, 960,  960, 960, 940, 960, 940, 880, 800,  850, 880, 900, 840,
                     830, 790,  810,  880,  880, 830, 800, 790, 760, 800, 880,  880, 880, 860, 720,
                     720, 620,  860,  970,  950, 880, 910, 850, 870, 840, 840,  850, 840, 840, 840,
                     890, 810,  810,  820,  800, 770, 760, 740, 750, 760, 910,  920, 890, 860, 880,
                     720, 840,  850,  850,  780, 890, 840, 780, 810, 760, 810,  790, 810, 820, 850,
                     870, 870,  810,  740,  810, 940, 950, 800, 810, 870};
    double x[100];
    for (int i = 0; i < 100; i++)
        x[i] = 299 + v[i] / 1000.0;
    assert_near(fl_mean(x, 100), 299.8524, 1e-14);
    assert_near(fl_sd(x, 100), 0.0790105478190518, 1e-12);
}

/* CHECKS F-1: NIST StRD Norris: certified values; limits by Student's t, 34 degrees. */
static void line_of_reference_data(void **state)
{
    (void)state;
    const double yx[][2] = {{0.1, 0.2},     {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6},
                            {9.2, 10.1},    {228.1, 226.5}, {668.5, 666.3}, {998.5, 996.3},
                            {449.1, 448.6}, {778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4},
                            {0.1, 0.6},     {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0},
                            {448.9, 447.5}, {10.8, 11.6},   {557.7, 556.0}, {228.3, 228.1},
                            {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3},
                            {0.6, 0.3},     {557.6, 556.8}, {339.3, 339.1}, {888.0, 887.2},
                            {998.5, 999.0}, {778.9, 779.0}, {10.2, 11.1},   {117.6, 118.3},
                            {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5}};
    double x[36], y[36];
    for (int i = 0; i < 36; i++) {
        y[i] = yx[i][0];
        x[i] = yx[i][1];
    }
    struct fl_line line;
    assert_int_equal(fl_line_fit(&line, x, y, 36), 0);
    assert_near(line.intercept, -0.262323073774029, 1e-10);
    assert_near(line.intercept_se, 0.232818234301152, 1e-10);
    assert_near(line.slope, 1.00211681802045, 1e-12);
    assert_near(line.slope_se, 0.429796848199937e-3, 1e-13);
    assert_near(line.residual_sd, 0.884796396144373, 1e-10);
    assert_near(line.r2, 0.999993745883712, 1e-12);
    assert_int_equal(line.used, 36);
    double t = fl_t_quantile(0.975, 34);
    assert_near(line.intercept - t * line.intercept_se, -.735466652, 1e-9);
    assert_near(line.intercept + t * line.intercept_se, .210820505, 1e-9);
    assert_near(line.slope - t * line.slope_se, 1.001243365736, 1e-11);
    assert_near(line.slope + t * line.slope_se, 1.002990270305, 1e-11);
    /* no outliers: the robust line lies within a standard error, with like errors */
    struct fl_line robust;
    assert_int_equal(fl_line_fit_robust(&robust, x, y, NULL, 36), 0);
    assert_true(fabs(robust.slope - line.slope) < line.slope_se);
    assert_true(fabs(robust.intercept - line.intercept) < line.intercept_se);
    assert_near(robust.slope_se / line.slope_se, 1, 0.25);
    assert_near(robust.intercept_se / line.intercept_se, 1, 0.25);
}

/* CHECKS F-6: an exact clock: 35 ppm fast, 12.5 s ahead, by definition. */
static void exact_drift(void **state)
{
    (void)state;
    const double t[] = {0, 60, 120, 300, 600, 900, 1200};
    double u[7];
    for (int i = 0; i < 7; i++)
        u[i] = 12.5 + t[i] * (1 + 35e-6);
    struct fl_line line;
    assert_int_equal(fl_line_fit(&line, t, u, 7), 0);
    assert_near((line.slope - 1) * 1e6, 35, 1e-8);
    assert_near(line.intercept, 12.5, 1e-11);
    u[2] += 40; /* two gross errors out of seven */
    u[5] -= 3;
    assert_int_equal(fl_line_fit_robust(&line, t, u, NULL, 7), 0);
    assert_near((line.slope - 1) * 1e6, 35, 1e-6);
    assert_near(line.intercept, 12.5, 1e-11);
    assert_int_equal(line.used, 5);
}

static void robust_line_survives_outliers(void **state)
{
    (void)state;
    enum { N = 1500 };
    double *x = FL_NEW(double, N), *y = FL_NEW(double, N);
    struct fl_random r;
    fl_random_seed(&r, 6);
    for (int i = 0; i < N; i++) {
        x[i] = 1e6 + i;
        y[i] = 3 + 0.5 * i + fl_random_normal(&r);
        if (fl_random_uniform(&r) < 0.3)
            y[i] = 5000 + 300 * fl_random_normal(&r);
    }
    struct fl_line line, ls;
    assert_int_equal(fl_line_fit_robust(&line, x, y, NULL, N), 0);
    assert_true(fabs(line.slope - 0.5) < 4 * line.slope_se);
    assert_true(line.slope_se < 1e-3);
    assert_true(fabs(line.intercept + line.slope * 1e6 - 3) < 0.5);
    fl_line_fit(&ls, x, y, N);
    assert_true(fabs(ls.slope - 0.5) > 0.02); /* least squares does not */
    free(x);
    free(y);
}

/* Over many normal samples the printed errors are the scatter of the estimates. */
static void robust_errors_are_honest(void **state)
{
    (void)state;
    enum { N = 60, RUNS = 800 };
    double slope[RUNS], level[RUNS], slope_se[RUNS], level_se[RUNS], x[N], y[N], w[N];
    struct fl_random r;
    fl_random_seed(&r, 9);
    for (int k = 0; k < RUNS; k++) {
        for (int i = 0; i < N; i++) {
            x[i] = 10 + i / 10.0;
            w[i] = i % 2 ? 4 : 1;
            y[i] = 2 - x[i] + fl_random_normal(&r) / sqrt(w[i]);
        }
        struct fl_line line;
        assert_int_equal(fl_line_fit_robust(&line, x, y, w, N), 0);
        slope[k] = line.slope;
        level[k] = line.intercept;
        slope_se[k] = line.slope_se;
        level_se[k] = line.intercept_se;
    }
    assert_near(fl_mean(slope_se, RUNS) / fl_sd(slope, RUNS), 1, 0.1); /* 4 sd of an sd of 800 */
    assert_near(fl_mean(level_se, RUNS) / fl_sd(level, RUNS), 1, 0.1);
    assert_near(fl_mean(slope, RUNS), -1, 4 * fl_sd(slope, RUNS) / sqrt(RUNS));
}

/* Adding a constant or a slope to y moves the line by it; unknown points do not count. */
static void lines_are_equivariant(void **state)
{
    (void)state;
    double x[50], y[50], z[50], w[50];
    struct fl_random r;
    fl_random_seed(&r, 10);
    for (int i = 0; i < 50; i++) {
        x[i] = fl_random_normal(&r);
        y[i] = x[i] + fl_random_normal(&r);
        z[i] = 8 * y[i] + 3 - 2 * x[i];
        w[i] = 1 + fl_random_uniform(&r);
    }
    x[3] = NAN;
    y[4] = z[4] = INFINITY;
    w[5] = 0;
    struct fl_line a, b;
    assert_int_equal(fl_line_fit_robust(&a, x, y, w, 50), 0);
    assert_int_equal(fl_line_fit_robust(&b, x, z, w, 50), 0);
    assert_near(b.slope, 8 * a.slope - 2, 1e-9);
    assert_near(b.intercept, 8 * a.intercept + 3, 1e-9);
    assert_near(b.slope_se, 8 * a.slope_se, 1e-7);
    assert_true(a.used <= 47 && a.used > 40);
}

static void one_x_has_no_line(void **state)
{
    (void)state;
    const double x[] = {2, 2, 2, NAN}, y[] = {1, 2, 3, 4};
    struct fl_line line;
    assert_int_equal(fl_line_fit(&line, x, y, 4), -1);
    assert_int_equal(fl_line_fit_robust(&line, x, y, NULL, 4), -1);
    assert_int_equal(fl_line_fit(&line, x, y, 0), -1);
    assert_true(isnan(line.slope));
    assert_int_equal(fl_line_fit(&line, (double[]){1, 2}, y, 2), 0);
    assert_near(line.slope, 1, 1e-15);
    assert_true(isnan(line.slope_se));
    assert_int_equal(fl_line_fit_robust(&line, (double[]){1, 2}, y, NULL, 2), 0);
    assert_near(line.slope, 1, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quantile_type_7),
        cmocka_unit_test(quantile_of_handbook_data),
        cmocka_unit_test(quantile_properties),
        cmocka_unit_test(mad_by_definition),
        cmocka_unit_test(moments_of_reference_data),
        cmocka_unit_test(moments_of_the_speed_of_light),
        cmocka_unit_test(line_of_reference_data),
        cmocka_unit_test(exact_drift),
        cmocka_unit_test(robust_line_survives_outliers),
        cmocka_unit_test(robust_errors_are_honest),
        cmocka_unit_test(lines_are_equivariant),
        cmocka_unit_test(one_x_has_no_line),
    };
    return RUN_TESTS(tests);
}
