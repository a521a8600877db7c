#include "state/count_on.h"

#include <stdlib.h>

#include "flip_train.h"
#include "maths/random.h"
#include "test.h"

static const double capture_s = 1 / 120.0;

static const struct train_part bouts[] = {{TRAIN_ON, 0.8},  {TRAIN_OFF, 1.1}, {TRAIN_ON, 1.9},
                                          {TRAIN_OFF, 2.2}, {TRAIN_ON, 3},    {TRAIN_OFF, 3.3},
                                          {TRAIN_ON, 4}};
enum { PARTS = sizeof bouts / sizeof *bouts };

/* Slow turning, read with some error: shifts of under a working px a frame, sd 0.12 px. */
static void slow_down(struct fl_rows *r, uint64_t seed)
{
    struct fl_random random;
    fl_random_seed(&random, seed);
    for (size_t i = 0; i < r->frames * (size_t)r->bands; i++)
        r->shift[i] = 0.14f * r->shift[i] + 0.12f * (float)fl_random_normal(&random);
}

/* What the search guesses of N, and what steps alone leave open. */
static const unsigned guessed = 1u << 2, open_n = 1u << 2 | 1u << 3 | 1u << 4;

/* Counted from rates in which on is as off, which is what is known where no row ever stands. */
static struct fl_rates_found count_in(const struct train_plan *plan, double pin_hz)
{
    struct train t;
    struct train_film f;
    const struct train_camera camera = {.bands = 23};
    const int frames = plan->frames ? plan->frames : 2;
    struct fl_rates_found found = {.rates =
                                       fl_rates_even(1 / plan->off_hz, 1 / plan->off_hz, frames),
                                   .saw_on = true,
                                   .saw_off = true,
                                   .rendered_on_s = 1 / plan->off_hz,
                                   .possible = guessed,
                                   .possible_uncounted = open_n,
                                   .rendered_off_s = 1 / plan->off_hz};
    const struct fl_rates_given given = {capture_s, pin_hz, false, 0, 1, 0};
    train_run(&t, plan);
    train_film(&f, &t, &camera);
    slow_down(&f.rows, plan->seed);
    fl_count_on(&found, &f.evidence, &f.rows, &given);
    train_film_finish(&f);
    train_finish(&t);
    return found;
}

static void steps_of_slow_motion_are_counted(void **state)
{
    (void)state;
    const struct {
        double on_hz, off_hz;
    } bases[] = {{70, 72.1}, {70, 75}, {75, 75}, {66, 70}, {80, 76}, {88, 84}};
    for (size_t i = 0; i < sizeof bases / sizeof *bases; i++) {
        const struct train_plan plan = {.on_hz = bases[i].on_hz,
                                        .off_hz = bases[i].off_hz,
                                        .part = bouts,
                                        .n_parts = PARTS,
                                        .seed = 30 + i};
        struct fl_rates_found f = count_in(&plan, NAN);
        assert_true(f.on_counted);
        assert_near(1 / f.rendered_on_s, bases[i].on_hz, 0.01 * bases[i].on_hz);
        assert_int_equal(f.possible, guessed);
        assert_near(f.rates.on_period_s, f.rendered_on_s, 1e-12);
        assert_near(1 / f.rates.off_period_s, bases[i].off_hz, 1e-9);
    }
}

/* A rendered picture has 30 % of its pair's time. */
static void uneven_pairs_are_counted(void **state)
{
    (void)state;
    const struct train_plan plan = {
        .on_hz = 70, .off_hz = 72, .share = 0.3, .part = bouts, .n_parts = PARTS, .seed = 8};
    struct fl_rates_found f = count_in(&plan, NAN);
    assert_true(f.on_counted && f.rates.share[0] < 0.4);
    assert_near(1 / f.rendered_on_s, 70, 0.7);
}

/* Two and three synthesised pictures for each rendered one. */
static void more_pictures_are_counted(void **state)
{
    (void)state;
    const struct {
        int frames;
        double on_hz, off_hz;
    } cases[] = {{3, 50, 53}, {4, 43, 46}};
    for (size_t i = 0; i < 2; i++) {
        const struct train_plan plan = {.on_hz = cases[i].on_hz,
                                        .off_hz = cases[i].off_hz,
                                        .frames = cases[i].frames,
                                        .part = bouts,
                                        .n_parts = PARTS,
                                        .seed = 50 + i};
        struct fl_rates_found f = count_in(&plan, NAN);
        assert_true(f.on_counted);
        assert_near(1 / f.rendered_on_s, cases[i].on_hz, 0.01 * cases[i].on_hz);
    }
}

/* Output at the capture rate: each frame shows its tear in the rows of the one before, as an
 * overlay's edge would. */
static void tears_that_stand_still_are_not(void **state)
{
    (void)state;
    const struct train_plan plan = {
        .on_hz = 60, .off_hz = 63, .jitter = 0.005, .part = bouts, .n_parts = PARTS, .seed = 4};
    struct fl_rates_found f = count_in(&plan, NAN);
    assert_false(f.on_counted);
    assert_true(isnan(f.rendered_on_s));
    assert_int_equal(f.possible, open_n);
    assert_near(1 / f.rates.on_period_s, 63, 1e-9);
}

/* Under the capture rate rows stand still between flips on: these were counted by that. */
static void what_still_rows_count_stays(void **state)
{
    (void)state;
    const struct train_part brief[] = {{TRAIN_OFF, 0.8}, {TRAIN_ON, 0.83}, {TRAIN_OFF, 2}};
    const struct train_plan plan = {
        .on_hz = 48, .off_hz = 50, .part = brief, .n_parts = 3, .seed = 6};
    struct fl_rates_found f = count_in(&plan, NAN);
    assert_false(f.on_counted);
    assert_near(1 / f.rendered_on_s, 50, 1e-9);
    assert_int_equal(f.possible, guessed);
}

/* A fifth of a second tells flips apart, but the base rate of a take it does not tell. */
static void little_of_it_states_no_rate(void **state)
{
    (void)state;
    const struct train_part brief[] = {{TRAIN_OFF, 0.8}, {TRAIN_ON, 1}, {TRAIN_OFF, 2}};
    const struct train_plan plan = {
        .on_hz = 70, .off_hz = 75, .part = brief, .n_parts = 3, .seed = 6};
    struct fl_rates_found f = count_in(&plan, NAN);
    assert_true(isnan(f.rendered_on_s));
}

static void a_known_rate_is_kept_to(void **state)
{
    (void)state;
    const struct train_plan plan = {
        .on_hz = 70, .off_hz = 75, .part = bouts, .n_parts = PARTS, .seed = 2};
    struct fl_rates_found f = count_in(&plan, 75);
    assert_false(f.on_counted);
    assert_near(1 / f.rates.on_period_s, 75, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steps_of_slow_motion_are_counted),
        cmocka_unit_test(uneven_pairs_are_counted),
        cmocka_unit_test(more_pictures_are_counted),
        cmocka_unit_test(tears_that_stand_still_are_not),
        cmocka_unit_test(what_still_rows_count_stays),
        cmocka_unit_test(little_of_it_states_no_rate),
        cmocka_unit_test(a_known_rate_is_kept_to),
    };
    return RUN_TESTS(tests);
}
