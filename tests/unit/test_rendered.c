#include "state/rendered.h"

#include <stdlib.h>

#include "flip_train.h"
#include "test.h"

/* Lapses of 0.4 s. */
static const struct train_part lapses[] = {{TRAIN_ON, 0.5},  {TRAIN_OFF, 0.9}, {TRAIN_ON, 1.4},
                                           {TRAIN_OFF, 1.8}, {TRAIN_ON, 2.3},  {TRAIN_OFF, 2.7},
                                           {TRAIN_ON, 3.2},  {TRAIN_OFF, 3.6}, {TRAIN_ON, 4}};
enum { PARTS = sizeof lapses / sizeof *lapses };

/* What is read of a film whose gaps were expected to last 1/expected_hz. */
static struct fl_rhythm read_of(const struct train_plan *plan, const struct train_camera *camera,
                                double expected_hz)
{
    struct train t;
    struct train_film f;
    struct fl_segment *segments;
    struct fl_renewal r;
    struct fl_rhythm out;
    struct fl_rates rates = fl_rates_even(1 / plan->on_hz, 1 / expected_hz, 2);
    rates.quantum_s = plan->quantum_s;
    rates.missed = 0.004;
    train_run(&t, plan);
    train_film(&f, &t, camera);
    size_t n = fl_segments(&f.evidence, &segments);
    fl_renewal_solve(&r, &f.evidence, segments, n, &rates, 1);
    fl_rendered_off(&out, &r, &f.evidence, &rates);
    fl_renewal_finish(&r);
    free(segments);
    train_film_finish(&f);
    train_finish(&t);
    return out;
}

static void flips_tell_the_rate_whatever_was_expected(void **state)
{
    (void)state;
    const struct train_camera camera = {.bands = 23};
    for (int i = 0; i < 3; i++) {
        const double hz = 55 + 12 * i;
        const struct train_plan plan = {.on_hz = hz,
                                        .off_hz = hz,
                                        .part = lapses,
                                        .n_parts = PARTS,
                                        .jitter = 0.015,
                                        .seed = 3 + (uint64_t)i};
        const double expected[] = {0.93, 1, 1.07};
        for (int k = 0; k < 3; k++) {
            struct fl_rhythm r = read_of(&plan, &camera, expected[k] * hz);
            assert_true(r.flips >= 40);
            assert_near(1 / r.period_s, hz, 0.01 * hz);
            assert_true(r.error < 0.01);
        }
    }
}

/* Five gaps an eighth shorter make a lapse of 0.4 s look 4 % faster than it is. */
static void a_delay_that_slides_is_waited_for(void **state)
{
    (void)state;
    const struct train_camera camera = {.bands = 23};
    const struct train_plan plan = {.on_hz = 70,
                                    .off_hz = 70,
                                    .part = lapses,
                                    .n_parts = PARTS,
                                    .jitter = 0.015,
                                    .slide = 0.12,
                                    .seed = 9};
    struct fl_rhythm r = read_of(&plan, &camera, 73);
    assert_true(r.flips >= 40);
    assert_near(1 / r.period_s, 70, 0.7);
}

/* Lapses that end before the delay has settled tell no rate. */
static void short_lapses_tell_nothing(void **state)
{
    (void)state;
    const struct train_part brief[] = {
        {TRAIN_ON, 0.5}, {TRAIN_OFF, 0.58}, {TRAIN_ON, 1.1}, {TRAIN_OFF, 1.18}, {TRAIN_ON, 1.7}};
    const struct train_plan plan = {
        .on_hz = 70, .off_hz = 70, .part = brief, .n_parts = 5, .slide = 0.12, .seed = 11};
    struct fl_rhythm r = read_of(&plan, NULL, 70);
    assert_true(isnan(r.period_s) && r.flips == 0);
}

/* Flips that wait for the capture's clock are known to a frame each, and their count makes up for
 * it. */
static void ticks_of_a_clock_average_out(void **state)
{
    (void)state;
    const struct train_part off[] = {{TRAIN_OFF, 6}};
    const struct train_plan plan = {.on_hz = 50,
                                    .off_hz = 50,
                                    .part = off,
                                    .n_parts = 1,
                                    .jitter = 0.015,
                                    .quantum_s = 1 / 120.0,
                                    .seed = 5};
    struct fl_rhythm r = read_of(&plan, NULL, 51);
    assert_true(r.flips >= 100);
    assert_near(1 / r.period_s, 50, 0.5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(flips_tell_the_rate_whatever_was_expected),
        cmocka_unit_test(a_delay_that_slides_is_waited_for),
        cmocka_unit_test(short_lapses_tell_nothing),
        cmocka_unit_test(ticks_of_a_clock_average_out),
    };
    return RUN_TESTS(tests);
}
