#include "state/gaps.h"

#include "base/units.h"
#include "test.h"

struct moments {
    double sum, mean, sd;
};

static double gap_density(const struct fl_gap_density *d, size_t slots)
{
    return exp((double)d->forward[slots - d->least]);
}

static struct moments moments_of(const struct fl_gap_density *d, double slot_s)
{
    struct moments m = {0};
    double square = 0;
    for (size_t k = d->least; k <= d->most; k++) {
        double p = gap_density(d, k), x = (double)k * slot_s;
        m.sum += p;
        m.mean += p * x;
        square += p * x * x;
    }
    m.mean /= m.sum;
    m.sd = sqrt(square / m.sum - m.mean * m.mean);
    return m;
}

static const double slot_s = 1 / 4000.0;

/* P times e^(sd²/2), the mean of a log-normal (by its definition), whose sd is mostly 0.08 and in
 * one of ten 0.25: 1.006 P; the sd of ln is 0.11. */
static void densities_sum_to_one_about_their_period(void **state)
{
    (void)state;
    const double rates[] = {40, 61, 83, 122}, shares[] = {0.5, 0.35, 0.65};
    for (int i = 0; i < 4; i++)
        for (int k = 0; k < 3; k++) {
            struct fl_rates r = {
                1 / rates[i], 1.1 / rates[i], {shares[k], 1 - shares[k]}, 0, 0.004, 2};
            struct fl_gap_table t;
            fl_gap_table_init(&t, &r, slot_s);
            const double want[FL_GAP_REST] = {[FL_GAP_AFTER_RENDERED] = shares[k] * r.on_period_s,
                                              [FL_GAP_AFTER_SYNTHESISED] =
                                                  (1 - shares[k]) * r.on_period_s,
                                              [FL_GAP_MISSED] = r.on_period_s,
                                              [FL_GAP_OFF] = r.off_period_s};
            for (int m = 0; m < FL_GAP_REST; m++) {
                if (!fl_gap_used(&r, (enum fl_gap_mode)m))
                    continue;
                struct moments v = moments_of(&t.mode[m], slot_s);
                assert_near(v.sum, 1, 0.005);
                assert_true(fabs(v.mean / want[m] - 1.006) < 0.01);
                assert_true(fabs(v.sd / want[m] - 0.11) < 0.02);
                assert_true(t.mode[m].most <= t.longest);
            }
            fl_gap_table_finish(&t);
        }
}

/* Waiting for a tick at both ends makes lengths whole ticks and leaves their mean (rounding of both
 * ends at random cancels). A tick is known to a slot either way. */
static void a_clock_makes_gaps_of_whole_ticks(void **state)
{
    (void)state;
    struct fl_rates r = {1 / 60.0, 1 / 55.0, {0.5, 0.5}, 0, 0.004, 2}, q = r;
    struct fl_gap_table plain, ticked;
    q.quantum_s = 1 / 120.0;
    fl_gap_table_init(&plain, &r, slot_s);
    fl_gap_table_init(&ticked, &q, slot_s);
    for (int m = 0; m < FL_GAP_REST; m++) {
        if (!fl_gap_used(&r, (enum fl_gap_mode)m))
            continue;
        const struct fl_gap_density *d = &ticked.mode[m];
        struct moments a = moments_of(&plain.mode[m], slot_s), b = moments_of(d, slot_s);
        assert_near(b.sum, 1,
                    0.06); /* the shortest may fall within one tick, where they do not show */
        assert_true(fabs(b.mean * b.sum / a.mean - 1) < 0.02);
        double between = 0;
        for (size_t k = d->least; k <= d->most; k++) {
            double ticks = (double)k * slot_s / q.quantum_s;
            between +=
                fabs(ticks - round(ticks)) * q.quantum_s > 1.01 * slot_s ? gap_density(d, k) : 0;
        }
        assert_true(between < 0.002);
    }
    fl_gap_table_finish(&plain);
    fl_gap_table_finish(&ticked);
}

static void both_directions_hold_the_same(void **state)
{
    (void)state;
    struct fl_rates r = {1 / 55.0, 1 / 60.0, {0.4, 0.6}, 1 / 120.0, 0.1, 2};
    struct fl_gap_table t;
    fl_gap_table_init(&t, &r, slot_s);
    for (int m = 0; m < FL_GAP_REST; m++) {
        if (!fl_gap_used(&r, (enum fl_gap_mode)m))
            continue;
        const struct fl_gap_density *d = &t.mode[m];
        assert_true(d->least >= 1 && d->least <= d->most);
        for (size_t k = d->least; k <= d->most; k++) {
            assert_true(d->forward[k - d->least] == d->backward[d->most - k]);
            assert_true(isfinite(d->forward[k - d->least]) && d->forward[k - d->least] < 0);
        }
    }
    fl_gap_table_finish(&t);
}

/* A rest is longer than any gap that motion would leave, and its end is certain to come: leaving
 * chances sum to one (a geometric series). */
static void rests_are_longer_than_gaps(void **state)
{
    (void)state;
    for (double hz = 40; hz <= 122; hz *= 1.2) {
        struct fl_rates r = {1 / hz, 1 / hz, {0.5, 0.5}, 0, 0.004, 2};
        struct fl_gap_table t;
        fl_gap_table_init(&t, &r, slot_s);
        assert_true((double)t.rest_least * slot_s > 1.5 / hz);
        double stay = exp((double)t.rest_stay), leave = exp((double)t.rest_leave);
        assert_near(leave / (1 - stay), 1, 0.001);
        fl_gap_table_finish(&t);
    }
}

/* The quick search's slots may be as long as the shortest gaps: still every length has a chance. */
static void coarse_slots(void **state)
{
    (void)state;
    struct fl_rates r = {1 / 122.0, 1 / 122.0, {0.35, 0.65}, 0, 0.004, 2};
    struct fl_gap_table t;
    fl_gap_table_init(&t, &r, 1 / 400.0);
    for (int m = 0; m < FL_GAP_REST; m++) {
        if (!fl_gap_used(&r, (enum fl_gap_mode)m))
            continue;
        assert_true(t.mode[m].least >= 1);
        assert_true(moments_of(&t.mode[m], 1 / 400.0).sum > 0.5);
    }
    fl_gap_table_finish(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(densities_sum_to_one_about_their_period),
        cmocka_unit_test(a_clock_makes_gaps_of_whole_ticks),
        cmocka_unit_test(both_directions_hold_the_same),
        cmocka_unit_test(rests_are_longer_than_gaps),
        cmocka_unit_test(coarse_slots),
    };
    return RUN_TESTS(tests);
}
