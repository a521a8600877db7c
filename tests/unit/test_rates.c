#include "state/rates.h"

#include <stdlib.h>

#include "flip_train.h"
#include "test.h"

static const double capture_s = 1 / 120.0;

static struct fl_rates_found rates_of(const struct train_plan *plan, double capture_hz,
                                      double pin_hz, bool disabled)
{
    struct train t;
    struct train_film f;
    struct train_camera camera = {.rate_hz = capture_hz, .bands = 23};
    struct fl_rates_found found;
    train_run(&t, plan);
    train_film(&f, &t, &camera);
    fl_rates_find(&found, &f.evidence,
                  &(struct fl_rates_given){1 / capture_hz, pin_hz, disabled, 0});
    train_film_finish(&f);
    train_finish(&t);
    return found;
}

static const struct train_part switching[] = {{TRAIN_ON, 0.8},   {TRAIN_OFF, 1.3}, {TRAIN_ON, 1.9},
                                              {TRAIN_REST, 2.3}, {TRAIN_ON, 2.8},  {TRAIN_OFF, 3.3},
                                              {TRAIN_ON, 3.6}};
enum { PARTS = sizeof switching / sizeof *switching };

static void base_rates_are_found(void **state)
{
    (void)state;
    const double bases[] = {45, 60, 70, 100};
    for (int i = 0; i < 4; i++) {
        const struct train_plan plan = {.on_hz = bases[i],
                                        .off_hz = bases[i],
                                        .part = switching,
                                        .n_parts = PARTS,
                                        .seed = 10 + (uint64_t)i};
        struct fl_rates_found f = rates_of(&plan, 120, NAN, false);
        assert_true(f.saw_on && f.saw_off);
        assert_null(f.ambiguous);
        assert_true(fabs(1 / f.rates.off_period_s / bases[i] - 1) < 0.02);
        assert_true(fabs(1 / f.rates.on_period_s / bases[i] - 1) < 0.02);
        assert_true(fabs(f.rates.share[0] - 0.5) < 0.01);
    }
}

/* Synthesis costs rendering time: the base rate is higher without. */
static void on_and_off_have_rates_of_their_own(void **state)
{
    (void)state;
    const struct train_plan plan = {
        .on_hz = 47, .off_hz = 53, .part = switching, .n_parts = PARTS, .seed = 20};
    struct fl_rates_found f = rates_of(&plan, 120, NAN, false);
    assert_true(f.saw_on && f.saw_off && f.on_counted && !f.ambiguous);
    assert_true(fabs(1 / f.rates.off_period_s / 53 - 1) < 0.02);
    assert_true(fabs(1 / f.rates.on_period_s / 47 - 1) < 0.02);
}

/* Variable refresh, filmed at a fixed rate: with synthesis on each captured frame shows a new
 * picture, and some pictures never show, so how many there are is not known. */
static void pictures_in_every_tick_are_not_counted(void **state)
{
    (void)state;
    const struct train_plan plan = {.on_hz = 70,
                                    .off_hz = 70,
                                    .quantum_s = 1 / 120.0,
                                    .part = switching,
                                    .n_parts = PARTS,
                                    .seed = 25};
    struct fl_rates_found f = rates_of(&plan, 120, NAN, false);
    assert_true(f.saw_on && f.saw_off && !f.on_counted);
    assert_true(isnan(f.rendered_on_s));
    assert_true(fabs(1 / f.rates.off_period_s / 70 - 1) < 0.03);
    assert_true(isnan(f.rendered_off_s) || fabs(1 / f.rendered_off_s / 70 - 1) < 0.02);
}

static void a_known_rate_is_kept_to(void **state)
{
    (void)state;
    const struct train_plan plan = {
        .on_hz = 64, .off_hz = 64, .part = switching, .n_parts = PARTS, .seed = 30};
    struct fl_rates_found f = rates_of(&plan, 120, 64, false);
    assert_true(f.saw_on && f.saw_off && !f.ambiguous);
    assert_true(fabs(1 / f.rates.off_period_s / 64 - 1) < 0.02);
}

static struct fl_rates_found rates_of_one(enum train_state s, double base_hz, double capture_hz,
                                          bool disabled)
{
    const struct train_part part[] = {{s, 2}};
    const struct train_plan plan = {
        .on_hz = base_hz, .off_hz = base_hz, .part = part, .n_parts = 1, .seed = 40};
    return rates_of(&plan, capture_hz, NAN, disabled);
}

/* One rate alone: on at half of it or off, if both are rates that games run at. */
static void one_rate_may_be_either(void **state)
{
    (void)state;
    struct fl_rates_found f = rates_of_one(TRAIN_ON, 45, 120, false);
    assert_string_equal(f.ambiguous, "ambiguous");
    f = rates_of_one(TRAIN_OFF, 90, 120, false);
    assert_string_equal(f.ambiguous, "ambiguous");
    f = rates_of_one(TRAIN_OFF, 60, 120, false); /* no game is on at 30 */
    assert_null(f.ambiguous);
    assert_true(f.saw_off && !f.saw_on && fabs(1 / f.rates.off_period_s / 60 - 1) < 0.02);
    f = rates_of_one(TRAIN_ON, 70, 120, false); /* no game is off at 140 */
    assert_null(f.ambiguous);
    assert_true(f.saw_on && !f.saw_off);
}

/* A 60/s capture of 100/s and more sees every row change in every frame, on or off. */
static void rates_above_what_the_footage_can_show(void **state)
{
    (void)state;
    assert_string_equal(rates_of_one(TRAIN_ON, 70, 60, false).ambiguous, "rates");
}

/* In a control the one rate is that without synthesis. */
static void a_control_has_one_rate(void **state)
{
    (void)state;
    assert_null(rates_of_one(TRAIN_OFF, 60, 120, true).ambiguous);
}

static void nothing_moves(void **state)
{
    (void)state;
    assert_string_equal(rates_of_one(TRAIN_REST, 60, 120, false).ambiguous, "still");
    struct fl_evidence none = {.slots_a_frame = 17, .slot_s = capture_s / 17, .mixed = NAN};
    struct fl_rates_found f;
    fl_rates_find(&f, &none, &(struct fl_rates_given){capture_s, NAN, false, 0});
    assert_string_equal(f.ambiguous, "still");
    assert_false(f.saw_on || f.saw_off);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(base_rates_are_found),
        cmocka_unit_test(on_and_off_have_rates_of_their_own),
        cmocka_unit_test(pictures_in_every_tick_are_not_counted),
        cmocka_unit_test(a_known_rate_is_kept_to),
        cmocka_unit_test(one_rate_may_be_either),
        cmocka_unit_test(rates_above_what_the_footage_can_show),
        cmocka_unit_test(a_control_has_one_rate),
        cmocka_unit_test(nothing_moves),
    };
    return RUN_TESTS(tests);
}
