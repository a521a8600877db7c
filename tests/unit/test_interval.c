#include "maths/interval.h"

#include "maths/robust.h"
#include "test.h"

/* Newcombe 1998, Stat Med 17:857-872, Table I (the published values to 4 digits), Wilson 1927;
 * digits by statsmodels. */
static void one_proportion(void **state)
{
    (void)state;
    const double rows[][4] = {{81, 263, 0.2552885199, 0.3662095770},
                              {15, 148, 0.0623863995, 0.1604872417},
                              {0, 20, 0, 0.1611251581},
                              {1, 29, 0.0061132143, 0.1717552188},
                              {10, 10, 0.7224672001, 1},
                              {20, 20, 0.8388748419, 1},
                              {5, 10, 0.2365930905, 0.7634069095}};
    double low, high;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        fl_wilson(rows[i][0], rows[i][1], 0.95, &low, &high);
        assert_near(low, rows[i][2], 1e-10);
        assert_near(high, rows[i][3], 1e-10);
    }
    fl_wilson(15, 148, 0.90, &low, &high);
    assert_near(low, 0.0674432622, 1e-10);
    assert_near(high, 0.1495729317, 1e-10);
    fl_wilson(15, 148, 0.99, &low, &high);
    assert_near(low, 0.0536448696, 1e-10);
    assert_near(high, 0.1832673501, 1e-10); /* scipy; by hand from the formula */
}

static void proportion_properties(void **state)
{
    (void)state;
    double low, high, low2, high2;
    for (int n = 1; n <= 40; n++)
        for (int k = 0; k <= n; k++)
            for (double level = 0.5; level < 1; level += 0.16) {
                fl_wilson(k, n, level, &low, &high);
                assert_true(0 <= low && low <= (double)k / n && (double)k / n <= high && high <= 1);
                fl_wilson(n - k, n, level, &low2, &high2); /* mirror */
                assert_near(low2, 1 - high, 1e-10);
                fl_wilson(k, n, level + 0.01, &low2, &high2); /* wider */
                assert_true(low2 <= low && high2 >= high);
            }
    const double bad[][3] = {{-1, 5, 0.9}, {6, 5, 0.9}, {NAN, 5, 0.9},
                             {1, 5, 0},    {1, 5, 1},   {1, NAN, 0.9}};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        fl_wilson(bad[i][0], bad[i][1], bad[i][2], &low, &high);
        assert_true(isnan(low) && isnan(high));
    }
    fl_wilson(0, 0, 0.95, &low, &high);
    assert_true(low == 0 && high == 1);
}

/* CHECKS M: standard tables; digits by R. */
static void quantiles(void **state)
{
    (void)state;
    const double p[] = {.90, .95, .975, .99, .995, .999};
    const double want[6][7] = {
        {1.2815515655, 2.7055434541, 4.6051701860, 1.47588405, 1.37218364, 1.32534071, 1.31041503},
        {1.6448536270, 3.8414588207, 5.9914645471, 2.01504837, 1.81246112, 1.72471824, 1.69726089},
        {1.9599639845, 5.0238861873, 7.3777589082, 2.57058184, 2.22813885, 2.08596345, 2.04227246},
        {2.3263478740, 6.6348966010, 9.2103403720, 3.36493000, 2.76376946, 2.52797700, 2.45726154},
        {2.5758293035, 7.8794385766, 10.5966347331, 4.03214298, 3.16927267, 2.84533971, 2.74999565},
        {3.0902323062, 10.8275661707, 13.8155105580, 5.89342953, 4.14370049, 3.55180834,
         3.38518487},
    };
    const double df[] = {5, 10, 20, 30};
    for (int i = 0; i < 6; i++) {
        assert_near(fl_normal_quantile(p[i]), want[i][0], 1e-10);
        assert_near(fl_normal_quantile(1 - p[i]), -want[i][0], 1e-10);
        assert_near(fl_normal_cdf(want[i][0]), p[i], 1e-10);
        assert_near(fl_chi2_quantile(p[i], 1), want[i][1], 1e-10);
        assert_near(fl_chi2_quantile(p[i], 2), want[i][2], 1e-10);
        assert_near(fl_chi2_upper(want[i][1], 1), 1 - p[i], 1e-10);
        for (int k = 0; k < 4; k++) {
            assert_near(fl_t_quantile(p[i], df[k]), want[i][3 + k], 6e-9);
            assert_near(fl_t_upper2(-want[i][3 + k], df[k]), 2 * (1 - p[i]), 1e-8);
        }
    }
}

/* Tails by R; the paired t of Student 1908 (sleep data): t -4.0621276834, 9 df, p .00283289. */
static void tails(void **state)
{
    (void)state;
    assert_near(fl_normal_cdf(1.96), 0.975002104852, 1e-12);
    assert_near(fl_normal_cdf(-8) * 1e16, 6.22096057427, 1e-11);
    assert_near(fl_normal_cdf(-10) * 1e24, 7.61985302416, 1e-11);
    assert_near(fl_chi2_upper(50, 1) * 1e12, 1.53745979443, 1e-11);
    assert_near(fl_chi2_upper(10.2269684347, 1), 0.00138401955, 1e-10);
    assert_near(fl_t_upper2(-4.0621276834, 9), 0.00283289, 5e-9);
    assert_true(fl_normal_quantile(0) == -INFINITY && fl_normal_quantile(1) == INFINITY);
    assert_true(fl_t_quantile(0, 3) == -INFINITY && fl_t_quantile(1, 3) == INFINITY);
    assert_true(fl_chi2_quantile(0, 3) == 0 && fl_chi2_quantile(1, 3) == INFINITY);
    assert_true(fl_chi2_upper(0, 1) == 1 && fl_chi2_upper(-3, 1) == 1);
    assert_true(isnan(fl_normal_quantile(1.1)) && isnan(fl_normal_quantile(NAN)));
    assert_true(isnan(fl_chi2_quantile(0.5, 0)) && isnan(fl_chi2_upper(NAN, 1)));
    assert_true(isnan(fl_t_quantile(0.5, -1)) && isnan(fl_t_upper2(NAN, 4)));
}

/* CHECKS O-5: Student 1908, sleep data, paired (R): mean -1.58, t -4.0621276834, 95 % -2.4598857633
 * to -.7001142367. */
static void paired_t_of_sleep(void **state)
{
    (void)state;
    const double a[] = {.7, -1.6, -.2, -1.2, -.1, 3.4, 3.7, .8, 0, 2},
                 b[] = {1.9, .8, 1.1, .1, -.1, 4.4, 5.5, 1.6, 4.6, 3.4};
    double d[10];
    for (int i = 0; i < 10; i++)
        d[i] = a[i] - b[i];
    double mean = fl_mean(d, 10), se = fl_sd(d, 10) / sqrt(10), half = fl_t_quantile(0.975, 9) * se;
    assert_near(mean, -1.58, 1e-12);
    assert_near(mean / se, -4.0621276834, 1e-10);
    assert_near(mean - half, -2.4598857633, 1e-9);
    assert_near(mean + half, -.7001142367, 1e-9);
    assert_near(fl_t_upper2(mean / se, 9), .00283289, 5e-9);
}

/* Holm 1979: the k-th smallest of m times m-k+1, made monotone; by hand. */
static void holm_by_hand(void **state)
{
    (void)state;
    double p[] = {0.01, NAN, 0.04, 0.03, 0.005, 0.9};
    fl_holm(p, 6);
    const double want[] = {0.04, NAN, 0.09, 0.09, 0.025, 0.9};
    for (int i = 0; i < 6; i++)
        if (isnan(want[i]))
            assert_true(isnan(p[i]));
        else
            assert_near(p[i], want[i], 1e-12);
    double one[] = {0.7, 0.8};
    fl_holm(one, 2);
    assert_true(one[0] == 1 && one[1] == 1);
    fl_holm(NULL, 0);
}

/* CHECKS E-1: Hanley & McNeil 1982, Radiology 143:29-36, rating table: .893 published, U/(51·58) =
 * 2642/2958.
 */
static void auc_of_ratings(void **state)
{
    (void)state;
    const int normal[] = {33, 6, 6, 11, 2}, abnormal[] = {3, 2, 2, 11, 33};
    double x[109], mirror[109];
    bool y[109];
    size_t n = 0;
    for (int r = 0; r < 5; r++)
        for (int i = 0; i < normal[r] + abnormal[r]; i++) {
            x[n] = r + 1;
            mirror[n] = -exp(r); /* any decreasing change of scale */
            y[n++] = i >= normal[r];
        }
    assert_near(fl_auc(x, y, n), 2642 / 2958.0, 1e-12);
    assert_near(fl_auc(mirror, y, n), 1 - 2642 / 2958.0, 1e-12);
    assert_true(isnan(fl_auc(x, (bool[5]){0}, 5)));
    assert_true(isnan(fl_auc(x, (bool[]){1, 1}, 2)));
    assert_near(fl_auc((double[]){1, NAN, 2}, (bool[]){0, 1, 1}, 3), 1, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_proportion),    cmocka_unit_test(proportion_properties),
        cmocka_unit_test(quantiles),         cmocka_unit_test(tails),
        cmocka_unit_test(paired_t_of_sleep), cmocka_unit_test(holm_by_hand),
        cmocka_unit_test(auc_of_ratings),
    };
    return RUN_TESTS(tests);
}
