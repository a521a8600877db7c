#include "study/plan/posterior.h"

#include "test.h"

/* CHECKS N, grid example computed for the project: T = 0, 10 … 100 evenly, p(1) = .02 +
 * .96/(1+e^(-.15(x-T))), trials (50, 1) (30, 0) (40, 1) (35, 0). */
static struct fl_posterior example(void)
{
    struct fl_posterior p;
    fl_posterior_init(&p, 0, 100, 11, 0.15, 0.15, 1, 0.02);
    fl_posterior_add(&p, 50, true);
    fl_posterior_add(&p, 30, false);
    fl_posterior_add(&p, 40, true);
    fl_posterior_add(&p, 35, false);
    return p;
}

static void bayes_on_a_grid(void **state)
{
    (void)state;
    static const double want[11] = {.00158922, .00567404, .04282872, .26793524,
                                    .47283398, .17595659, .02579453, .00414466,
                                    .00142345, .00095794, .00086163};
    struct fl_posterior p = example();
    for (int i = 0; i < 11; i++)
        assert_near(p.weight[i], want[i], 1e-8);
    assert_near(fl_posterior_theta_mean(&p), 38.78661252, 1e-8);
    assert_near(fl_posterior_theta_sd(&p), 9.46150097, 1e-8);
    assert_near(fl_posterior_entropy(&p), 1.91363682, 1e-8);
    double low, high;
    fl_posterior_theta_range(&p, 0.01, &low, &high); /* by hand: .0073 below 20, .0073 above 60 */
    assert_near(low, 20, 0);
    assert_near(high, 60, 0);
    fl_posterior_finish(&p);
}

/* The same example; the rule of Kontsevich and Tyler 1999, Vision Res 39:2729-2737: next at 40. */
static void the_next_speed_is_where_least_entropy_is_left(void **state)
{
    (void)state;
    static const double want[11] = {1.9072516,  1.88711692, 1.8364144,  1.76317656,
                                    1.73278062, 1.77686304, 1.84450435, 1.88514447,
                                    1.90117325, 1.90788387, 1.91159876};
    struct fl_posterior p = example();
    double x[11];
    for (int i = 0; i < 11; i++) {
        x[i] = 10 * i;
        assert_near(fl_posterior_entropy_after(&p, x[i]), want[i], 1e-7);
    }
    size_t chosen[1];
    fl_posterior_choose(&p, x, 11, 0, chosen, 1);
    assert_int_equal(chosen[0], 4);
    fl_posterior_finish(&p);
}

/* Two flicks at once, from the definition: the entropy left, over all four pairs of outcomes. */
static double entropy_after_two(double first, double second)
{
    double left = 0;
    for (int a = 0; a < 2; a++)
        for (int b = 0; b < 2; b++) {
            struct fl_posterior p = example();
            double all = 0;
            for (size_t k = 0; k < 11; k++) {
                double u = .02 + .96 / (1 + exp(-.15 * (first - p.theta[k])));
                double v = .02 + .96 / (1 + exp(-.15 * (second - p.theta[k])));
                all += p.weight[k] * (a ? u : 1 - u) * (b ? v : 1 - v);
            }
            fl_posterior_add(&p, first, a);
            fl_posterior_add(&p, second, b);
            left += all * fl_posterior_entropy(&p);
            fl_posterior_finish(&p);
        }
    return left;
}

static void the_second_of_a_batch_goes_with_the_first(void **state)
{
    (void)state;
    struct fl_posterior p = example();
    double x[11], least = INFINITY;
    for (int i = 0; i < 11; i++) {
        x[i] = 10 * i;
        least = fmin(least, entropy_after_two(40, x[i]));
    }
    size_t chosen[2];
    fl_posterior_choose(&p, x, 11, 0, chosen, 2);
    assert_int_equal(chosen[0], 4);
    assert_near(entropy_after_two(40, x[chosen[1]]), least, 1e-12);
    fl_posterior_finish(&p);
}

/* What one flick at logit z tells of theta goes as p(1-p), most at z = 0 (c-optimal design of a
 * logistic: CHECKS N); what it tells of the slope goes as z²·p(1-p), most where z·tanh(z/2) = 2, z
 * = 2.3994 (by hand). Narrow knowledge of the one, and of the other known for sure, is near those
 * limits. */
static void narrow_knowledge_leads_to_optimal_designs(void **state)
{
    (void)state;
    struct fl_posterior p;
    double x[41];
    size_t chosen[4];
    for (int i = 0; i < 41; i++)
        x[i] = 0.1 * (i - 20);
    fl_posterior_init(&p, -0.05, 0.05, 21, 3, 3, 1, 0);
    fl_posterior_choose(&p, x, 41, 0, chosen, 4);
    for (int i = 0; i < 4; i++)
        assert_int_equal(chosen[i], 20);
    fl_posterior_finish(&p);
    fl_posterior_init(&p, 0, 0, 1, 2.9, 3.1, 9, 0);
    fl_posterior_choose(&p, x, 41, 0, chosen, 4);
    for (int i = 0; i < 4; i++)
        assert_near(fabs(x[chosen[i]]), 0.8, 1e-9); /* 2.3994/3, to the nearest candidate */
    fl_posterior_finish(&p);
}

/* Speeds that a hand could not tell apart are kept apart, as far as there is room. */
static void chosen_speeds_keep_their_distance(void **state)
{
    (void)state;
    struct fl_posterior p = example();
    double x[11];
    size_t chosen[3];
    for (int i = 0; i < 11; i++)
        x[i] = 10 * i;
    fl_posterior_choose(&p, x, 11, 25, chosen, 3);
    assert_int_equal(chosen[0], 4);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < i; k++)
            assert_true(fabs(x[chosen[i]] - x[chosen[k]]) >= 25);
    fl_posterior_choose(&p, x, 11, 1000, chosen, 3); /* no room: as if none had been asked for */
    assert_int_equal(chosen[0], 4);
    fl_posterior_finish(&p);
}

/* A hand that scatters by sd about the x it aims at, against a sum over its normal law. */
static void a_scattering_hand_is_less_telling(void **state)
{
    (void)state;
    struct fl_posterior p = example();
    double sure = fl_posterior_entropy_after(&p, 40), before = fl_posterior_entropy(&p);
    p.scatter = 6;
    double given = 0, mean = 0;
    for (size_t k = 0; k < 11; k++) {
        double chance = 0, all = 0;
        for (double z = -5; z <= 5; z += 0.01) {
            double w = exp(-z * z / 2);
            chance += w * (.02 + .96 / (1 + exp(-.15 * (40 + 6 * z - p.theta[k]))));
            all += w;
        }
        chance /= all;
        mean += p.weight[k] * chance;
        given -= p.weight[k] * (chance * log2(chance) + (1 - chance) * log2(1 - chance));
    }
    double told = -mean * log2(mean) - (1 - mean) * log2(1 - mean) - given;
    assert_near(fl_posterior_entropy_after(&p, 40), before - told, 1e-4);
    assert_true(fl_posterior_entropy_after(&p, 40) > sure);
    fl_posterior_finish(&p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bayes_on_a_grid),
        cmocka_unit_test(the_next_speed_is_where_least_entropy_is_left),
        cmocka_unit_test(the_second_of_a_batch_goes_with_the_first),
        cmocka_unit_test(narrow_knowledge_leads_to_optimal_designs),
        cmocka_unit_test(chosen_speeds_keep_their_distance),
        cmocka_unit_test(a_scattering_hand_is_less_telling),
    };
    return RUN_TESTS(tests);
}
