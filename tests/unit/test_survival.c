#include "maths/survival.h"

#include <stdlib.h>

#include "test.h"

/* CHECKS D: Freireich et al. 1963, Blood 21:699-716, as in R's MASS (gehan). */
static const double drug_t[] = {6,  6,  6,  6,  7,  9,  10, 10, 11, 13, 16,
                                17, 19, 20, 22, 23, 25, 32, 32, 34, 35};
static const bool drug_event[] = {1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0};
static const double placebo_t[] = {1, 1, 2,  2,  3,  4,  4,  5,  5,  8, 8,
                                   8, 8, 11, 11, 12, 12, 15, 17, 22, 23};

/* Steps, errors and median by statsmodels and R. CHECKS §0, trap 4: the median's limits depend on
 * the scale (16 on the log scale, 13 on the log-log scale, which is used), and the upper one is not
 * reached: open, no number. */
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

/* ---- log-rank ---- */

/* Statistic, p and expected numbers by statsmodels and R for the same two groups. */
static void log_rank_of_the_two_groups(void **state)
{
    (void)state;
    bool event[21];
    for (int i = 0; i < 21; i++)
        event[i] = true;
    const struct fl_waits drug = {drug_t, drug_event, 21}, placebo = {placebo_t, event, 21};
    struct fl_log_rank r, back;
    fl_log_rank(&r, &drug, &placebo);
    assert_near(r.chi2, 16.7929409892, 1e-9);
    assert_near(r.p, 4.1688091e-05, 1e-12);
    assert_true(r.observed[0] == 9 && r.observed[1] == 21);
    assert_near(r.expected[0], 19.250501, 1e-7);
    assert_near(r.expected[1], 10.749499, 1e-7);
    fl_log_rank(&back, &placebo, &drug);
    assert_near(back.chi2, r.chi2, 1e-12);
    fl_log_rank(&back, &placebo, &placebo); /* a group against itself */
    assert_near(back.chi2, 0, 1e-12);
    assert_near(back.p, 1, 1e-12);
}

static void log_rank_of_nothing(void **state)
{
    (void)state;
    const struct fl_waits none = {NULL, NULL, 0}, one = {(double[]){1, NAN}, (bool[]){1, 1}, 2},
                          open = {(double[]){5}, (bool[]){0}, 1};
    struct fl_log_rank r;
    fl_log_rank(&r, &none, &one);
    assert_true(isnan(r.chi2) && isnan(r.p) && r.observed[1] == 1);
    fl_log_rank(&r, &open, &open);
    assert_true(isnan(r.p));
}

/* ---- brackets ---- */

/* Finkelstein & Wolfe 1985, Biometrics 41:933-945, radiotherapy alone: months, (last well, first
 * not]; 0: never seen. Data from memory; the estimate is published to four digits and was computed
 * here with numpy by 200,000 rounds of self-consistency, the gradient at its end at most 1. */
static const int months[46][2] = {
    {45, 0},  {25, 37}, {37, 0}, {6, 10},  {46, 0},  {0, 5},   {0, 7},   {26, 40},
    {18, 0},  {46, 0},  {46, 0}, {24, 0},  {46, 0},  {27, 34}, {36, 0},  {7, 16},
    {36, 44}, {5, 11},  {17, 0}, {46, 0},  {19, 35}, {7, 14},  {36, 48}, {17, 25},
    {37, 44}, {37, 0},  {24, 0}, {0, 8},   {40, 0},  {32, 0},  {4, 11},  {17, 25},
    {33, 0},  {15, 0},  {46, 0}, {19, 26}, {11, 15}, {11, 18}, {37, 0},  {22, 0},
    {38, 0},  {34, 0},  {46, 0}, {5, 12},  {36, 0},  {46, 0},
};

static void known_brackets(void **state)
{
    (void)state;
    const double want[8][3] = {{4, 5, .046347},   {6, 7, .033363},   {7, 8, .088667},
                               {11, 12, .070753}, {24, 25, .092646}, {33, 34, .081786},
                               {38, 40, .12088},  {46, 48, .465558}};
    double low[46], high[46], near, far;
    for (int i = 0; i < 46; i++) {
        low[i] = months[i][0] + 1e-6; /* open on the left */
        high[i] = months[i][1] ? months[i][1] : INFINITY;
    }
    struct fl_turnbull t;
    fl_turnbull_fit(&t, low, high, 46);
    int k = 0;
    for (size_t j = 0; j < t.n; j++) {
        if (t.mass[j].p < 1e-4)
            continue;
        assert_true(k < 8);
        assert_near(t.mass[j].low, want[k][0], 1e-5);
        assert_near(t.mass[j].high, want[k][1], 1e-5);
        assert_near(t.mass[j].p, want[k++][2], 2e-6);
    }
    assert_int_equal(k, 8);
    fl_turnbull_quantile(&t, 0.5, &near, &far); /* .534 by 40 */
    assert_near(near, 38, 1e-5);
    assert_near(far, 40, 1e-5);
    fl_turnbull_quantile(&t, 0.9, &near, &far);
    assert_near(far, 48, 1e-5);
    fl_turnbull_finish(&t);
}

/* With exact and right-censored times Turnbull's estimate is Kaplan and Meier's (his paper). */
static void exact_brackets_are_kaplan_meier(void **state)
{
    (void)state;
    double low[21], high[21];
    for (int i = 0; i < 21; i++) {
        low[i] = drug_t[i] + (drug_event[i] ? 0 : 1e-6); /* events come before censorings at ties */
        high[i] = drug_event[i] ? drug_t[i] : INFINITY;
    }
    struct fl_turnbull t;
    struct fl_km k;
    fl_turnbull_fit(&t, low, high, 21);
    fl_km_fit(&k, drug_t, drug_event, 21, 0.95);
    double left = 1;
    for (size_t i = 0; i < k.n; i++) {
        assert_true(t.mass[i].low == k.step[i].t && t.mass[i].high == k.step[i].t);
        left -= t.mass[i].p;
        assert_near(left, k.step[i].s, 1e-7);
    }
    double near, far;
    fl_turnbull_quantile(&t, 0.5, &near, &far);
    assert_true(near == 23 && far == 23);
    fl_turnbull_finish(&t);
    fl_turnbull_fit(&t, NULL, NULL, 0);
    fl_turnbull_quantile(&t, 0.5, &near, &far);
    assert_true(isnan(near) && isnan(far));
    fl_turnbull_finish(&t);
    fl_km_finish(&k);
}

/* ---- outcomes that compete ---- */

static void incidence(void **state)
{
    (void)state;
    double share[2];
    /* nothing censored: the shares of the outcomes, by definition */
    fl_incidence((double[]){3, 1, 2, 5, 4}, (int[]){1, 2, 1, 2, 1}, 5, share);
    assert_near(share[0], 0.6, 1e-12);
    assert_near(share[1], 0.4, 1e-12);
    /* by hand: 1/4 at 1; of the 3/4 left a third at 2 is the other; then one of two is censored at
     * 3 and the last, half of all, ends at 4 */
    fl_incidence((double[]){1, 2, 3, 4}, (int[]){1, 2, 0, 1}, 4, share);
    assert_near(share[0], 0.25 + 0.5, 1e-12);
    assert_near(share[1], 0.25, 1e-12);
    /* with one outcome alone it is 1 less Kaplan and Meier's S */
    int cause[21];
    for (int i = 0; i < 21; i++)
        cause[i] = drug_event[i];
    fl_incidence(drug_t, cause, 21, share);
    assert_near(share[0], 1 - .44817927, 6e-9);
    assert_true(share[1] == 0);
    fl_incidence(NULL, NULL, 0, share);
    assert_true(share[0] == 0 && share[1] == 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(censored_group),
        cmocka_unit_test(complete_group),
        cmocka_unit_test(properties),
        cmocka_unit_test(hard_data),
        cmocka_unit_test(log_rank_of_the_two_groups),
        cmocka_unit_test(log_rank_of_nothing),
        cmocka_unit_test(known_brackets),
        cmocka_unit_test(exact_brackets_are_kaplan_meier),
        cmocka_unit_test(incidence),
    };
    return RUN_TESTS(tests);
}
