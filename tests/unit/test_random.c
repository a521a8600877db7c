#include "maths/random.h"

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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(generator_matches_reference),
        cmocka_unit_test(same_seed_same_numbers),
        cmocka_unit_test(uniform_fills_its_range),
        cmocka_unit_test(normal_has_normal_quantiles),
        cmocka_unit_test(below_is_even),
    };
    return RUN_TESTS(tests);
}
