#include "state/rates_likelihood.h"

#include <stdlib.h>

#include "flip_train.h"
#include "maths/random.h"
#include "test.h"

/* The sums of renewal.c, which its own test checks against a walk of every path, are the reference:
 * they hold e^x to 1e-5, once a flip. */

static double at(const struct fl_evidence *e, const struct fl_segment *s, size_t n,
                 const struct fl_rates *rates)
{
    struct fl_rates_likelihood l;
    fl_rates_likelihood_open(&l, e, s, n);
    const double v = fl_rates_likelihood_at(&l, rates);
    fl_rates_likelihood_close(&l);
    return v;
}

static const struct fl_rates rates[] = {{0.02, 0.02, {0.5, 0.5}, 0, 0.004, 2},
                                        {0.018, 0.022, {0.35, 0.65}, 0, 0.2, 2, 0, 0.2},
                                        {0.025, 0.01, {0.5, 0.5}, 1 / 120.0, 0.1, 2},
                                        {0.03, 0.02, {0.3, 0.3, 0.4}, 0, 0.01, 3},
                                        {0.025, 0.025, {0.25, 0.25, 0.25, 0.25}, 0, 0.004, 4},
                                        {0.03, 0.03, {0.4, 0.3, 0.3}, 0, 0.05, 3, 1 << 2},
                                        {0.018, 0.022, {0.4, 0.6}, 0, 0, 2, .any_return = true}};
enum { RATES = sizeof rates / sizeof *rates };

/* A minute, with rests or in one piece, frames lost or not. */
static void agrees_with_sums_of_logarithms(void **state)
{
    (void)state;
    for (int k = 0; k < 3; k++) {
        enum { PARTS = 20 };
        struct train_part parts[PARTS];
        bool lost[60 * 120] = {false};
        for (int i = 0; i < PARTS; i++)
            parts[i] = (struct train_part){i % 4 == 2   ? TRAIN_OFF
                                           : i % 4 == 3 ? (k ? TRAIN_REST : TRAIN_ON)
                                                        : TRAIN_ON,
                                           3.0 * (i + 1)};
        for (int i = 1; k == 2 && i < 60 * 120; i += 7 + i % 50)
            lost[i] = true;
        const struct train_plan plan = {
            .on_hz = 55, .off_hz = 50, .part = parts, .n_parts = PARTS, .seed = (uint64_t)(3 + k)};
        struct train t;
        struct train_film f;
        struct fl_segment *segments;
        train_run(&t, &plan);
        train_film(&f, &t, &(struct train_camera){.bands = 12, .wrong = 0.02, .lost = lost});
        const size_t n = fl_segments(&f.evidence, &segments);
        for (int i = 0; i < RATES; i++) {
            const double v = fl_renewal_loglik(&f.evidence, segments, n, &rates[i]);
            assert_true(fabs(v) > 100);
            assert_near(at(&f.evidence, segments, n, &rates[i]), v, 1e-4 * (double)t.n);
        }
        free(segments);
        train_film_finish(&f);
        train_finish(&t);
    }
}

/* Evidence that no double holds in one piece. */
static void holds_any_evidence(void **state)
{
    (void)state;
    enum { SLOTS = 2000, LAG = 12 };
    struct fl_slot slot[SLOTS];
    const struct fl_evidence e = {
        .slot = slot, .n = SLOTS, .slots_a_frame = LAG, .slot_s = 1 / 120.0 / LAG};
    const struct fl_segment all = {0, SLOTS, 0};
    const float nats[] = {3, 40, 120};
    struct fl_random r;
    fl_random_seed(&r, 8);
    for (int k = 0; k < 3; k++) {
        for (int i = 0; i < SLOTS; i++)
            slot[i] = (struct fl_slot){.time_s = i * e.slot_s,
                                       .still = nats[k] * (float)fl_random_normal(&r),
                                       .flip = nats[k] * (float)fl_random_normal(&r),
                                       .lag = LAG};
        for (int i = 0; i < RATES; i++) {
            const double v = fl_renewal_loglik(&e, &all, 1, &rates[i]);
            assert_true(isfinite(v));
            assert_near(at(&e, &all, 1, &rates[i]), v, 0.05 + 1e-6 * fabs(v));
        }
    }
}

static void nothing_weighs_nothing(void **state)
{
    (void)state;
    const struct fl_evidence e = {.slots_a_frame = 12, .slot_s = 1 / 120.0 / 12};
    assert_true(at(&e, NULL, 0, &rates[0]) == 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(agrees_with_sums_of_logarithms),
        cmocka_unit_test(holds_any_evidence),
        cmocka_unit_test(nothing_weighs_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL) != 0;
}
