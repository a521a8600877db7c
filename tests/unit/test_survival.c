#include "maths/survival.h"

#include <stdlib.h>

#include "test.h"

/* Freireich et al. 1963, Blood 21:699-716, as in R's MASS (gehan). */
static const double drug_t[] = {6,  6,  6,  6,  7,  9,  10, 10, 11, 13, 16,
                                17, 19, 20, 22, 23, 25, 32, 32, 34, 35};
static const bool drug_event[] = {1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0};
static const double placebo_t[] = {1, 1, 2,  2,  3,  4,  4,  5,  5,  8, 8,
                                   8, 8, 11, 11, 12, 12, 15, 17, 22, 23};

/* Steps, errors and median by statsmodels and R. */
static void censored_group(void **state)
{
    (void)state;
    const double want[7][5] = {{6, 21, 3, .85714286, .07636035},  {7, 17, 1, .80672269, .08693529},
                               {10, 15, 1, .75294118, .09634965}, {13, 12, 1, .69019608, .10681471},
                               {16, 11, 1, .62745098, .11405387}, {22, 7, 1, .53781513, .12823375},
                               {23, 6, 1, .44817927, .13459146}};
    struct fl_km k;
    fl_km_fit(&k, drug_t, drug_event, 21, 0.95);
    assert_int_equal(k.n, 7);
    for (int i = 0; i < 7; i++) {
        assert_true(k.step[i].t == want[i][0]);
        assert_int_equal(k.step[i].at_risk, (int)want[i][1]);
        assert_int_equal(k.step[i].events, (int)want[i][2]);
        assert_near(k.step[i].s, want[i][3], 6e-9);
        assert_near(k.step[i].se, want[i][4], 6e-9);
    }
    assert_true(k.median == 23);
    assert_true(k.median_low == 13); /* log-log */
    assert_true(isnan(k.median_high));
    fl_km_finish(&k);
    assert_null(k.step);
}

/* Without censoring S is the share still waiting, by definition; values by R. */
static void complete_group(void **state)
{
    (void)state;
    const double t[] = {1, 2, 3, 4, 5, 8, 11, 12, 15, 17, 22, 23};
    const double s[] = {.9048, .8095, .7619, .6667, .5714, .3810,
                        .2857, .1905, .1429, .0952, .0476, 0};
    bool event[21];
    for (int i = 0; i < 21; i++)
        event[i] = true;
    struct fl_km k;
    fl_km_fit(&k, placebo_t, event, 21, 0.95);
    assert_int_equal(k.n, 12);
    for (int i = 0; i < 12; i++) {
        assert_true(k.step[i].t == t[i]);
        assert_near(k.step[i].s, s[i], 6e-5);
        double later = 0;
        for (int j = 0; j < 21; j++)
            later += placebo_t[j] > t[i];
        assert_near(k.step[i].s, later / 21, 1e-12);
        if (later > 0) /* then Greenwood's is the binomial error */
            assert_near(k.step[i].se, sqrt(later * (21 - later) / (21.0 * 21 * 21)), 1e-12);
    }
    assert_true(isnan(k.step[11].se));
    assert_true(k.median == 8);
    assert_true(k.median_low == 4 &&
                k.median_high == 11); /* log-log; by hand from the definition */
    fl_km_finish(&k);
}

/* The order of arrival and the unit of time do not count; unknown times are left out. */
static void properties(void **state)
{
    (void)state;
    double t[22];
    bool event[22];
    for (int i = 0; i < 21; i++) {
        t[i] = 1000 * drug_t[20 - i];
        event[i] = drug_event[20 - i];
    }
    t[21] = NAN;
    event[21] = true;
    struct fl_km a, b;
    fl_km_fit(&a, drug_t, drug_event, 21, 0.95);
    fl_km_fit(&b, t, event, 22, 0.95);
    assert_int_equal(a.n, b.n);
    for (size_t i = 0; i < a.n; i++) {
        assert_true(b.step[i].t == 1000 * a.step[i].t && b.step[i].s == a.step[i].s);
        assert_true(i == 0 || a.step[i].s < a.step[i - 1].s);
    }
    assert_true(b.median == 23000 && b.median_low == 13000);
    fl_km_finish(&a);
    fl_km_finish(&b);
}

static void hard_data(void **state)
{
    (void)state;
    struct fl_km k;
    fl_km_fit(&k, NULL, NULL, 0, 0.95);
    assert_true(k.n == 0 && isnan(k.median));
    fl_km_finish(&k);
    fl_km_fit(&k, (double[]){1, 2}, (bool[]){0, 0}, 2, 0.95);
    assert_true(k.n == 0 && isnan(k.median) && isnan(k.median_low));
    fl_km_finish(&k);
    fl_km_fit(&k, (double[]){1, 2}, (bool[]){1, 1}, 2, 0.95); /* S is exactly one half at 1 */
    assert_true(k.n == 2 && k.median == 1 && k.step[1].s == 0);
    fl_km_finish(&k);
    fl_km_fit(&k, (double[]){5}, (bool[]){1}, 1, 0.95);
    assert_true(k.n == 1 && k.median == 5 && isnan(k.median_high));
    fl_km_finish(&k);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(censored_group),
        cmocka_unit_test(complete_group),
        cmocka_unit_test(properties),
        cmocka_unit_test(hard_data),
    };
    return RUN_TESTS(tests);
}
