/* Expectations are arithmetic by hand on trains of flips written down here. */
#include "study/take/pacing_measure.h"

#include <stdlib.h>

#include "test.h"

static const enum fl_kind R = FL_KIND_RENDERED, S = FL_KIND_SYNTHESISED, U = FL_KIND_UNKNOWN;

static struct fl_take *take_of(const struct fl_state_span *span, size_t n_spans)
{
    struct fl_take *t = fl_take_new();
    t->states.span = FL_NEW(struct fl_state_span, n_spans);
    t->states.n_spans = n_spans;
    for (size_t i = 0; i < n_spans; i++)
        t->states.span[i] = span[i];
    t->duration_s = span[n_spans - 1].end_s;
    t->flips.v = FL_NEW(struct fl_flip, 1000);
    return t;
}

static void flip(struct fl_take *t, double time_s, enum fl_kind kind)
{
    t->flips.v[t->flips.n++] = (struct fl_flip){.time_s = time_s, .kind = kind, .confidence = 1};
}

/* Pairs of 10 ms from `from`: rendered for 3 ms, synthesised for 7 ms. */
static void uneven_pairs(struct fl_take *t, double from, int pairs, enum fl_kind first,
                         enum fl_kind second)
{
    for (int i = 0; i < pairs; i++) {
        flip(t, from + 0.010 * i, first);
        flip(t, from + 0.010 * i + 0.003, second);
    }
}

static void three_tenths_rendered(void **state)
{
    (void)state;
    struct fl_take *t = take_of(&(struct fl_state_span){0, 1, FL_STATE_ON, 1, NULL}, 1);
    uneven_pairs(t, 0.100, 40, R, S); /* 79 intervals: 40 of 3 ms, 39 of 7 ms */
    fl_pacing_measure(t);
    const struct fl_pacing_state *on = &t->pacing.on;
    assert_null(on->kinds_reason);
    assert_near(on->time_s, 1, 1e-9);
    assert_near(on->kinds_known_s, 0.120 + 0.273, 1e-9);
    assert_near(on->kinds_known_share, 0.393, 1e-9);
    assert_near(on->rendered_share, 0.120 / 0.393, 1e-9);
    assert_near(on->rendered_share + on->synthesised_share, 1, 1e-12);
    assert_int_equal(on->pairs, 39);
    assert_near(on->rendered_of_pair_median, 0.3, 1e-9);
    assert_near(on->rendered_of_pair_p10, 0.3, 1e-9);
    assert_near(on->rendered_of_pair_p90, 0.3, 1e-9);
    assert_int_equal(on->intervals, 79);
    assert_near(on->interval_mean_ms, 393.0 / 79, 1e-9);
    /* Variance of 40 threes and 39 sevens: 4² · (40 · 39) / (79 · 78). */
    assert_near(on->interval_cv, 4 * sqrt(40.0 * 39 / (79.0 * 78)) / (393.0 / 79), 1e-9);
    assert_near(on->interval_ratio_median, 7.0 / 3, 1e-9);
    assert_string_equal(t->pacing.off.kinds_reason, "state_not_seen");
    assert_true(isnan(t->pacing.off.rendered_share) && isnan(t->pacing.off.interval_cv));
    fl_take_free(&t);
}

/* A synthesised picture whose flip was not seen: rendered follows rendered 10 ms later. */
static void a_missed_flip_hides_its_time(void **state)
{
    (void)state;
    struct fl_take *t = take_of(&(struct fl_state_span){0, 1, FL_STATE_ON, 1, NULL}, 1);
    uneven_pairs(t, 0, 20, R, S);
    flip(t, 0.200, R); /* until 0.210: its synthesised one is missing */
    uneven_pairs(t, 0.210, 20, R, S);
    fl_pacing_measure(t);
    const struct fl_pacing_state *on = &t->pacing.on;
    assert_near(on->kinds_known_s, 0.200 + 0.193,
                1e-9); /* all but those 10 ms and the last picture */
    assert_int_equal(on->pairs, 39);
    assert_int_equal(on->intervals, 79); /* 80 between 81 flips, less that one */
    assert_near(on->rendered_of_pair_median, 0.3, 1e-9);
    fl_take_free(&t);
}

/* Two flips in a row missed: the kinds still alternate, the length gives it away. */
static void a_long_hole_is_no_interval(void **state)
{
    (void)state;
    struct fl_take *t = take_of(&(struct fl_state_span){0, 1, FL_STATE_ON, 1, NULL}, 1);
    uneven_pairs(t, 0, 20, R, S);
    flip(t, 0.200, R); /* its synthesised one and the next rendered one are missing */
    flip(t, 0.213, S);
    uneven_pairs(t, 0.220, 20, R, S);
    fl_pacing_measure(t);
    assert_int_equal(t->pacing.on.intervals, 80); /* 81 between 82 flips, less that one */
    assert_near(t->pacing.on.kinds_known_s, 0.200 + 0.007 + 0.193, 1e-9);
    fl_take_free(&t);
}

/* The game's own rate halves: 20 ms a pair from there on; nothing of it counts as missed but what
 * lies at the change. */
static void slower_pairs_are_pairs(void **state)
{
    (void)state;
    struct fl_take *t = take_of(&(struct fl_state_span){0, 2, FL_STATE_ON, 1, NULL}, 1);
    uneven_pairs(t, 0, 30, R, S);
    for (int i = 0; i < 30; i++) {
        flip(t, 0.300 + 0.020 * i, R);
        flip(t, 0.300 + 0.020 * i + 0.010, S);
    }
    fl_pacing_measure(t);
    assert_true(t->pacing.on.intervals >= 119 - 12 &&
                t->pacing.on.intervals <= 119); /* BESIDE on either side */
    assert_true(t->pacing.on.kinds_known_s > 0.300 + 0.590 - 12 * 0.010);
    fl_take_free(&t);
}

/* Spans whose flips cannot be counted give none, nor does the way from one span to the next. */
static void intervals_are_those_that_can_be_counted(void **state)
{
    (void)state;
    static const struct fl_state_span span[] = {{0, 0.2, FL_STATE_ON, 1, NULL, 200, 0, 2},
                                                {0.2, 0.4, FL_STATE_ON, 1, NULL, NAN, 0, 2},
                                                {0.4, 1, FL_STATE_OFF, 1, NULL, 50, 0, 1}};
    struct fl_take *t = take_of(span, 3);
    double v[100];
    uneven_pairs(t, 0.001, 10, R, S); /* 19 intervals: 10 of 3 ms, 9 of 7 ms */
    uneven_pairs(t, 0.201, 10, R, S);
    for (int i = 0; i < 11; i++)
        flip(t, 0.5 + 0.02 * i, R);
    assert_int_equal(fl_pacing_intervals(t, FL_STATE_ON, v), 19);
    for (int i = 0; i < 19; i++)
        assert_near(v[i], i % 2 ? 0.007 : 0.003, 1e-12);
    assert_int_equal(fl_pacing_intervals(t, FL_STATE_OFF, v), 10);
    for (int i = 0; i < 10; i++)
        assert_near(v[i], 0.02, 1e-12);
    assert_int_equal(fl_pacing_intervals(t, FL_STATE_UNSEEN, v), 0);
    fl_take_free(&t);
}

static void off_is_all_rendered(void **state)
{
    (void)state;
    static const struct fl_state_span span[] = {{0, 0.5, FL_STATE_OFF, 1, NULL},
                                                {0.5, 1, FL_STATE_UNSEEN, 1, "still"}};
    struct fl_take *t = take_of(span, 2);
    for (int i = 0; i < 50; i++)
        if (i != 25) /* one missed: 20 ms between its neighbours */
            flip(t, 0.010 * i, i % 3 ? R : U);
    fl_pacing_measure(t);
    const struct fl_pacing_state *off = &t->pacing.off;
    assert_null(off->kinds_reason);
    assert_near(off->rendered_share, 1, 1e-12);
    assert_near(off->synthesised_share, 0, 1e-12);
    assert_near(off->kinds_known_share, 1, 1e-12);
    assert_int_equal(off->intervals, 47);
    assert_near(off->interval_mean_ms, 10, 1e-9);
    assert_near(off->interval_cv, 0, 1e-9);
    assert_near(off->interval_ratio_median, 1, 1e-9);
    assert_int_equal(off->pairs, 0);
    fl_take_free(&t);
}

static void unknown_kinds_stay_unknown(void **state)
{
    (void)state;
    struct fl_take *t = take_of(&(struct fl_state_span){0, 1, FL_STATE_ON, 1, NULL}, 1);
    uneven_pairs(t, 0, 40, U, U);
    fl_pacing_measure(t);
    const struct fl_pacing_state *on = &t->pacing.on;
    assert_string_equal(on->kinds_reason, "kinds_unknown");
    assert_true(isnan(on->rendered_share) && isnan(on->rendered_of_pair_median));
    assert_near(on->kinds_known_share, 0, 1e-12);
    assert_int_equal(on->intervals, 79); /* evenness needs no kinds */
    assert_near(on->interval_ratio_median, 7.0 / 3, 1e-9);
    fl_take_free(&t);
}

static void a_few_known_kinds_make_no_share(void **state)
{
    (void)state;
    struct fl_take *t = take_of(&(struct fl_state_span){0, 1, FL_STATE_ON, 1, NULL}, 1);
    uneven_pairs(t, 0, 40, U, U);
    uneven_pairs(t, 0.400, 6, R, S); /* 11 intervals */
    fl_pacing_measure(t);
    assert_string_equal(t->pacing.on.kinds_reason, "too_few");
    assert_true(isnan(t->pacing.on.rendered_share));
    assert_near(t->pacing.on.kinds_known_s, 0.053, 1e-9);
    fl_take_free(&t);
}

/* Intervals lie within one span: none crosses a switch or an unseen stretch, and a span that is not
 * in use counts nowhere. */
static void spans_keep_apart(void **state)
{
    (void)state;
    static const struct fl_state_span span[] = {{0, 0.2, FL_STATE_ON, 1, NULL},
                                                {0.2, 0.25, FL_STATE_OFF, 1, NULL},
                                                {0.25, 0.3, FL_STATE_UNSEEN, 1, "still"},
                                                {0.3, 0.5, FL_STATE_ON, 1, NULL},
                                                {0.5, 1, FL_STATE_UNSEEN, 1, "use"}};
    struct fl_take *t = take_of(span, 5);
    uneven_pairs(t, 0, 20, R, S);
    for (int i = 0; i < 5; i++)
        flip(t, 0.200 + 0.010 * i, R);
    uneven_pairs(t, 0.301, 19, R, S);
    fl_pacing_measure(t);
    assert_near(t->pacing.on.time_s, 0.4, 1e-9);
    assert_int_equal(t->pacing.on.intervals,
                     40 + 37); /* the first span's last picture ends with the trip */
    assert_near(t->pacing.on.kinds_known_s, 0.200 + 0.183, 1e-9);
    assert_near(t->pacing.off.time_s, 0.05, 1e-9);
    assert_int_equal(t->pacing.off.intervals, 4);
    assert_true(isnan(t->pacing.off.interval_cv)); /* under twenty */
    fl_take_free(&t);
}

static void nothing_at_all(void **state)
{
    (void)state;
    struct fl_take *t = take_of(&(struct fl_state_span){0, 1, FL_STATE_ON, 1, NULL}, 1);
    fl_pacing_measure(t);
    assert_string_equal(t->pacing.on.kinds_reason, "kinds_unknown");
    flip(t, 0.5, R);
    fl_pacing_measure(t);
    assert_int_equal(t->pacing.on.intervals, 0);
    fl_take_free(&t);
}

/* By hand: at 100/s, 30 intervals of 20 ms, 10 of 10 ms, and 10 of 14 ms, which are no whole number
 * of refreshes there; at 125/s 20 ms are two and a half, 10 ms one and a quarter, 14 ms one and
 * three quarters. */
static void refreshes_are_counted(void **state)
{
    (void)state;
    const struct {
        double refresh_hz;
        bool variable;
        double whole, odd;
    } cases[] = {{100, false, 40.0 / 50, 10.0 / 40},
                 {125, false, 0, FL_UNKNOWN},
                 {500, false, 1, 20.0 / 50},
                 {100, true, FL_UNKNOWN, FL_UNKNOWN},
                 {FL_UNKNOWN, false, FL_UNKNOWN, FL_UNKNOWN}};
    for (int k = 0; k < 5; k++) {
        struct fl_take *t = take_of(&(struct fl_state_span){0, 2, FL_STATE_OFF, 1, NULL}, 1);
        double at = 0.1;
        t->spec.refresh_hz = cases[k].refresh_hz;
        t->spec.output_variable = cases[k].variable;
        flip(t, at, U);
        for (int i = 0; i < 50; i++)
            flip(t, at += i % 5 < 3 ? 0.020 : i % 5 == 3 ? 0.010 : 0.014, U);
        fl_pacing_measure(t);
        const struct fl_pacing_state *off = &t->pacing.off;
        assert_int_equal(off->intervals, 50);
        if (isnan(cases[k].whole))
            assert_true(isnan(off->whole_refreshes_share));
        else
            assert_near(off->whole_refreshes_share, cases[k].whole, 1e-12);
        if (isnan(cases[k].odd))
            assert_true(isnan(off->odd_refreshes_share));
        else
            assert_near(off->odd_refreshes_share, cases[k].odd, 1e-12);
        fl_take_free(&t);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(three_tenths_rendered),
        cmocka_unit_test(a_missed_flip_hides_its_time),
        cmocka_unit_test(a_long_hole_is_no_interval),
        cmocka_unit_test(slower_pairs_are_pairs),
        cmocka_unit_test(intervals_are_those_that_can_be_counted),
        cmocka_unit_test(off_is_all_rendered),
        cmocka_unit_test(unknown_kinds_stay_unknown),
        cmocka_unit_test(a_few_known_kinds_make_no_share),
        cmocka_unit_test(spans_keep_apart),
        cmocka_unit_test(nothing_at_all),
        cmocka_unit_test(refreshes_are_counted),
    };
    return RUN_TESTS(tests);
}
