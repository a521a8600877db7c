#include "state/half_rate_test.h"

#include <stdlib.h>

#include "base/mem.h"
#include "maths/random.h"
#include "test.h"

/* A camera's positions, one a flip; flips at equal times. Synthesised pictures lie half way between
 * their neighbours: that is what they are. */
enum { MOST = 64 };
struct film {
    struct fl_gap gap[MOST];
    struct fl_step_change change[MOST];
    double contrast[MOST];
    struct fl_half_rate out[MOST];
    size_t n;
};

static const struct fl_softness unseen_softness = {false, 0, 0};
enum { SLOTS = 50 };
static const double slot_s = 0.0003;
static const struct fl_rates rates = {SLOTS * 0.0003, SLOTS * 0.0003, {0.5, 0.5}, 0, 0.004, 2};

/* Speed of a flick, px a flip, a half sine from rest to rest. */
static double position(double u, double n, double peak)
{
    return peak * n / 3.141592653589793 * (1 - cos(3.141592653589793 * u / n));
}

static void film_flick(struct film *f, size_t n, double peak, int halved_parity, double noise,
                       struct fl_random *r)
{
    double x[MOST];
    f->n = n;
    for (size_t i = 0; i < n; i++)
        x[i] = position((double)i, (double)n, peak);
    for (size_t i = 1; halved_parity >= 0 && i + 1 < n; i++)
        if ((int)(i % 2) != halved_parity)
            x[i] = (x[i - 1] + x[i + 1]) / 2;
    for (size_t i = 0; i < n; i++) {
        f->gap[i] = (struct fl_gap){i * SLOTS, (i + 1) * SLOTS, FL_GAP_OFF};
        bool known = i > 0 && i + 1 < n; /* gap i shows x[i] */
        double px = known ? x[i + 1] - 2 * x[i] + x[i - 1] : NAN;
        f->change[i] = (struct fl_step_change){px + noise * fl_random_normal(r), known ? 0.1 : NAN};
        f->contrast[i] = NAN;
    }
}

static void judge(struct film *f)
{
    const struct fl_half_rate_input in = {f->gap, f->n, slot_s, rates, f->change, f->contrast};
    fl_half_rate_test(f->out, &in, &unseen_softness);
}

static size_t count_halved(const struct film *f)
{
    size_t n = 0;
    for (size_t i = 0; i < f->n; i++)
        n += f->out[i].halved;
    return n;
}

/* Gap i shows x[i]; those of the given parity were not replaced by a mean. */
static void pairs_are_found_and_named(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 1);
    for (int parity = 0; parity < 2; parity++)
        for (size_t n = 12; n <= 48; n += 6) {
            struct film f;
            film_flick(&f, n, 8, parity, 0.1, &r);
            judge(&f);
            assert_true(count_halved(&f) >= n - 2);
            for (size_t i = 0; i < n; i++)
                if (f.out[i].halved)
                    assert_int_equal(f.out[i].kind, (int)(i % 2) == parity ? FL_KIND_RENDERED
                                                                           : FL_KIND_SYNTHESISED);
        }
}

/* Every picture at its own place, flicks of many lengths and speeds: hardly one is taken for pairs.
 */
static void flicks_of_rendered_pictures_are_off(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 2);
    size_t wrong = 0, all = 0, sure = 0;
    for (int trial = 0; trial < 300; trial++) {
        struct film f;
        film_flick(&f, 8 + (size_t)trial % 40, 1.5 + trial % 23, -1, 0.1, &r);
        judge(&f);
        wrong += count_halved(&f) > 0;
        sure += f.out[0].log_ratio < -2.5;
        all++;
    }
    assert_true(wrong * 100 <= all);
    assert_true(sure * 2 > all);
}

static void steady_motion_says_neither(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 3);
    for (int trial = 0; trial < 100; trial++) {
        struct film f;
        film_flick(&f, 40, 0, -1, 0.1, &r);
        judge(&f);
        assert_int_equal(count_halved(&f), 0);
        assert_true(fabs(f.out[0].log_ratio) <
                    6); /* the prior against a heavy scene is as strong */
    }
}

/* Two flips between gaps on. The step into the first shows half a base period's move, as ever; so
 * both hypotheses see it double after that. Off, the next one shows how the camera speeds up; in a
 * hitch both are halves of one move. */
static double short_run(double grows_px, double error_px, struct fl_random *r)
{
    const struct fl_gap gap[] = {{0, SLOTS, FL_GAP_OFF}, {SLOTS, 2 * SLOTS, FL_GAP_OFF}};
    const struct fl_step_change change[] = {{5 + error_px * fl_random_normal(r), error_px},
                                            {grows_px + error_px * fl_random_normal(r), error_px}};
    const double contrast[] = {NAN, NAN};
    const struct fl_half_rate_input in = {gap, 2, slot_s, rates, change, contrast};
    return fl_hitch_ratio(&in, 0, 2, &unseen_softness);
}

static void hitches_are_told_from_short_lapses(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 5);
    int hitches = 0, off = 0, wrong = 0;
    enum { TRIALS = 400 };
    for (int trial = 0; trial < TRIALS; trial++) {
        const double hitch = short_run(0, 0.15, &r), lapse = short_run(1.5, 0.15, &r);
        hitches += hitch > 0;
        wrong += hitch < -1;
        off += lapse < -1.5;
        assert_true(lapse > log(0.1) - 1e-9 && hitch > log(0.1) - 1e-9); /* the most one run says */
    }
    assert_true(hitches > 0.95 * TRIALS);
    assert_true(off > 0.95 * TRIALS);
    assert_true(wrong <= 0.02 * TRIALS); /* errors of 2.6 deviations: 0.9 % */
}

/* Without a step that is known, or a contrast, a short run says nothing. */
static void short_runs_without_steps_say_nothing(void **state)
{
    (void)state;
    const struct fl_gap gap[] = {{0, SLOTS, FL_GAP_OFF}, {SLOTS, 2 * SLOTS, FL_GAP_OFF}};
    const struct fl_step_change change[] = {{NAN, NAN}, {NAN, NAN}};
    const double contrast[] = {NAN, NAN};
    const struct fl_half_rate_input in = {gap, 2, slot_s, rates, change, contrast};
    assert_near(fl_hitch_ratio(&in, 0, 2, &unseen_softness), 0, 1e-9);
}

static void detail_alone_speaks_in_steady_motion(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 4);
    struct film f;
    film_flick(&f, 60, 0, -1, 0.1, &r);
    for (size_t i = 1; i < f.n; i++)
        f.contrast[i] = (i % 2 ? 0.08 : -0.08) + 0.03 * fl_random_normal(&r);
    judge(&f);
    assert_int_equal(count_halved(&f), f.n);
    assert_int_equal(f.out[1].kind,
                     FL_KIND_RENDERED); /* more detail below the tear that starts it */
    /* without an alternation, one wild contrast proves nothing */
    for (size_t i = 1; i < f.n; i++)
        f.contrast[i] = 0.03 * fl_random_normal(&r);
    f.contrast[7] = 0.9;
    judge(&f);
    assert_int_equal(count_halved(&f), 0);
}

/* With synthesis on, no picture stays for two base periods. */
static void gaps_twice_as_long_are_off(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 5);
    struct film f;
    film_flick(&f, 24, 8, 0, 0.1, &r);
    for (size_t i = 0; i < f.n; i++)
        f.gap[i] = (struct fl_gap){i * 2 * SLOTS, (i + 1) * 2 * SLOTS, FL_GAP_OFF};
    judge(&f);
    assert_int_equal(count_halved(&f), 0);
}

static void gaps_that_are_not_off_say_nothing(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 6);
    struct film f;
    film_flick(&f, 24, 8, 0, 0.1, &r);
    for (size_t i = 0; i < f.n; i++)
        f.gap[i].mode = i % 2 ? FL_GAP_AFTER_SYNTHESISED : FL_GAP_AFTER_RENDERED;
    judge(&f);
    assert_int_equal(count_halved(&f), 0);
    assert_true(isnan(f.out[3].log_ratio));
    const struct fl_half_rate_input none = {NULL, 0, slot_s, rates, NULL, NULL};
    fl_half_rate_test(NULL, &none, &unseen_softness);
}

/* A trip just as a heavy scene begins: pairs up to it, none after. */
static void a_chain_is_parted_where_pairs_end(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 7);
    struct film f, off;
    film_flick(&f, 20, 9, 1, 0.1, &r);
    film_flick(&off, 20, 9, -1, 0.1, &r);
    for (size_t i = 0; i < 20; i++) {
        f.gap[20 + i] = (struct fl_gap){(20 + i) * SLOTS, (21 + i) * SLOTS, FL_GAP_OFF};
        f.change[20 + i] = off.change[i];
        f.contrast[20 + i] = NAN;
    }
    f.n = 40;
    judge(&f);
    for (size_t i = 2; i < 40; i++)
        if (i < 16 || i > 23)
            assert_int_equal(f.out[i].halved, i < 20);
}

static double cycle_of(struct film *f, int cycle)
{
    const struct fl_half_rate_input in = {f->gap, f->n, slot_s, rates, f->change, f->contrast};
    return fl_cycle_ratio(&in, 0, cycle);
}

/* One or two pictures between rendered ones, or none: each take's own cycle is the likeliest. */
static void cycles_are_told_apart(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 8);
    for (int parity = 0; parity < 2; parity++) {
        struct film pairs, threes, plain;
        film_flick(&pairs, 36, 9, parity, 0.1, &r);
        film_flick(&plain, 36, 9, -1, 0.1, &r);
        film_flick(&threes, 36, 9, -1, 0.1, &r);
        for (size_t i = 1; i + 1 < threes.n;
             i++) /* a third and two thirds of the way: no change there */
            threes.change[i].px = i % 3 == 1 ? 2 * threes.change[i].px : 0.1 * fl_random_normal(&r);
        assert_true(cycle_of(&pairs, 2) > 5 && cycle_of(&plain, 2) < -5);
        assert_true(cycle_of(&threes, 3) > 5 && cycle_of(&threes, 3) > cycle_of(&threes, 2) + 3);
        assert_true(cycle_of(&plain, 3) < -5 && cycle_of(&pairs, 3) < 0);
    }
}

/* Three pictures between rendered ones; what cannot be asked gets no number. */
static void cycles_have_a_range(void **state)
{
    (void)state;
    struct fl_random r;
    fl_random_seed(&r, 9);
    struct film fours;
    film_flick(&fours, 40, 9, -1, 0.1, &r);
    for (size_t i = 1; i + 1 < fours.n; i++)
        fours.change[i].px = i % 4 == 1 ? 3 * fours.change[i].px : 0.1 * fl_random_normal(&r);
    assert_true(cycle_of(&fours, 4) > 5 && cycle_of(&fours, 4) > cycle_of(&fours, 3) + 3);
    const int none[] = {-1, 0, 1, FL_CYCLE_MOST + 1, 1000};
    for (int i = 0; i < 5; i++)
        assert_true(isnan(cycle_of(&fours, none[i])));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pairs_are_found_and_named),
        cmocka_unit_test(flicks_of_rendered_pictures_are_off),
        cmocka_unit_test(steady_motion_says_neither),
        cmocka_unit_test(hitches_are_told_from_short_lapses),
        cmocka_unit_test(short_runs_without_steps_say_nothing),
        cmocka_unit_test(detail_alone_speaks_in_steady_motion),
        cmocka_unit_test(gaps_twice_as_long_are_off),
        cmocka_unit_test(gaps_that_are_not_off_say_nothing),
        cmocka_unit_test(a_chain_is_parted_where_pairs_end),
        cmocka_unit_test(cycles_are_told_apart),
        cmocka_unit_test(cycles_have_a_range),
    };
    return cmocka_run_group_tests(tests, NULL, NULL) != 0;
}
