#include "maths/random.h"

#include "maths/robust.h"
#include "test.h"

/* Output of the generators' public reference code for these states, from memory; a separate
 * computation in another language gave the same. */
static void generator_matches_reference(void **state)
{
    (void)state;
    struct fl_random r = {{1, 2, 3, 4}};
    const uint64_t want[] = {11520u,
                             0u,
                             1509978240u,
                             1215971899390074240u,
                             1216172134540287360u,
                             607988272756665600u,
                             16172922978634559625u,
                             8476171486693032832u};
    for (size_t i = 0; i < sizeof want / sizeof *want; i++)
        assert_true(fl_random_bits(&r) == want[i]);
    fl_random_seed(&r, 1234567);
    const uint64_t seeded[] = {6457827717110365317u, 3203168211198807973u, 9817491932198370423u,
                               4593380528125082431u};
    for (int i = 0; i < 4; i++)
        assert_true(r.s[i] == seeded[i]);
}

static void same_seed_same_numbers(void **state)
{
    (void)state;
    struct fl_random a, b, c;
    fl_random_seed(&a, 7);
    fl_random_seed(&b, 7);
    fl_random_seed(&c, 8);
    int same = 0;
    for (int i = 0; i < 1000; i++) {
        double x = fl_random_normal(&a);
        assert_true(x == fl_random_normal(&b));
        same += x == fl_random_normal(&c);
    }
    assert_int_equal(same, 0);
}

/* Mean 1/2, variance 1/12, by definition; limits of 5 standard errors. */
static void uniform_fills_its_range(void **state)
{
    (void)state;
    enum { N = 200000 };
    struct fl_random r;
    fl_random_seed(&r, 1);
    double sum = 0, squares = 0;
    for (int i = 0; i < N; i++) {
        double u = fl_random_uniform(&r);
        assert_true(u >= 0 && u < 1);
        sum += u;
        squares += (u - 0.5) * (u - 0.5);
    }
    assert_near(sum / N, 0.5, 5 * sqrt(1 / 12.0 / N));
    assert_near(squares / N, 1 / 12.0, 5 * sqrt(1 / 180.0 / N));
}

/* Shares below standard normal quantiles (R; standard tables), limits of 5 standard errors. */
static void normal_has_normal_quantiles(void **state)
{
    (void)state;
    enum { N = 200000 };
    const double p[] = {0.001, 0.01, 0.1, 0.5, 0.9, 0.99, 0.999};
    const double z[] = {-3.0902323062, -2.3263478740, -1.2815515655, 0,
                        1.2815515655,  2.3263478740,  3.0902323062};
    int below[7] = {0};
    struct fl_random r;
    fl_random_seed(&r, 2);
    for (int i = 0; i < N; i++) {
        double x = fl_random_normal(&r);
        for (int k = 0; k < 7; k++)
            below[k] += x < z[k];
    }
    for (int k = 0; k < 7; k++)
        assert_near((double)below[k] / N, p[k], 5 * sqrt(p[k] * (1 - p[k]) / N));
}

static void below_is_even(void **state)
{
    (void)state;
    enum { N = 70000 };
    int count[7] = {0};
    struct fl_random r;
    fl_random_seed(&r, 3);
    for (int i = 0; i < N; i++) {
        size_t k = fl_random_below(&r, 7);
        assert_true(k < 7);
        count[k]++;
    }
    for (int k = 0; k < 7; k++)
        assert_near(count[k], N / 7.0, 5 / sqrt(N / 7.0));
    for (int i = 0; i < 100; i++)
        assert_int_equal(fl_random_below(&r, 1), 0);
}

/* CHECKS F-5: Efron & Tibshirani 1993, An Introduction to the Bootstrap, ch. 2, mice under
 * treatment: by all 7^7 resamples the standard error of the mean is 23.3635, of the median 37.8347,
 * and the 2.5th and 97.5th percentiles of the mean 43.4286 and 134.4286. 5 % is three standard
 * errors of a standard error of 2000 draws. */
static void resamples_are_the_bootstrap(void **state)
{
    (void)state;
    const double x[7] = {94, 197, 16, 38, 99, 141, 23};
    enum { B = 2000 };
    static double mean[B], median[B];
    struct fl_random r;
    fl_random_seed(&r, 5);
    for (int b = 0; b < B; b++) {
        double y[7];
        for (int i = 0; i < 7; i++)
            y[i] = x[fl_random_below(&r, 7)];
        mean[b] = fl_mean(y, 7);
        median[b] = fl_median(y, 7);
    }
    assert_near(fl_sd(mean, B), 23.3635234373, 0.05);
    assert_near(fl_sd(median, B), 37.8346743939, 0.05);
    assert_near(fl_quantile(mean, B, 0.025), 43.42857143, 0.05);
    assert_near(fl_quantile(mean, B, 0.975), 134.42857143, 0.05);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(generator_matches_reference),
        cmocka_unit_test(same_seed_same_numbers),
        cmocka_unit_test(uniform_fills_its_range),
        cmocka_unit_test(normal_has_normal_quantiles),
        cmocka_unit_test(below_is_even),
        cmocka_unit_test(resamples_are_the_bootstrap),
    };
    return RUN_TESTS(tests);
}
