/* Sources: the delays that the invented takes were made with (ruled_take.c), and arithmetic by
 * hand. */
#include "study/rule/delay.h"

#include <stdlib.h>
#include <string.h>

#include "ruled_take.h"
#include "study/rule/delay_cases.h"
#include "study/rule/rule.h"
#include "test.h"
#include "study/compare/comparison.h"
#include "study/rule/rules.h"

#define FRAME (1.0 / 70)

static const struct ruled_settings plain = {.id = "a",
                                            .key = FL_CAMERA_SPEED,
                                            .theta_off = 150,
                                            .theta_on = 100,
                                            .d_off_s = 0.05,
                                            .d_on_s = 0.02,
                                            .seen_above_deg_s = 8,
                                            .flicks = 25,
                                            .seed = 31};

static struct fl_session *studied(const struct ruled_settings *list, int n)
{
    struct fl_session *s = fl_session_new("invented");
    for (int i = 0; i < n; i++)
        fl_session_add(s, ruled_take(&list[i]));
    fl_study_rules(s);
    fl_study_delays(s);
    return s;
}

static const struct fl_delay *delay_in(const struct fl_session *s, const char *condition, bool trip)
{
    for (size_t i = 0; i < s->n_delays; i++)
        if (s->delays[i].trip == trip && !strcmp(s->delays[i].condition, condition))
            return &s->delays[i];
    fail_msg("no delay for %s", condition);
    return NULL;
}

/* A delay comes out as whole rendered frames, one is lost or won to where the frames lie. */
static void delays_come_back(void **state)
{
    (void)state;
    struct ruled_settings two[2] = {plain, plain};
    two[1].seed = 32;
    struct fl_session *s = studied(two, 2);
    assert_int_equal(s->n_delays, 2);
    const struct fl_delay *trip = delay_in(s, "default", true),
                          *back = delay_in(s, "default", false);
    const struct fl_rule *r = fl_rule_of(s, "Glass Canyon", "default");
    assert_true(trip->threshold == r->fit.theta_off && back->threshold == r->fit.theta_on);
    assert_string_equal(trip->method, "kaplan_meier");
    assert_string_equal(trip->interval_method, "log_log");
    double whole = ceil(0.05 / FRAME) * FRAME;
    assert_true(fabs(trip->median_s - whole) < FRAME);
    assert_true(trip->low_s <= trip->median_s && trip->median_s <= trip->high_s);
    assert_true(trip->low_s - FRAME / 2 < whole && whole < trip->high_s + FRAME / 2);
    assert_int_equal(trip->switched + trip->left + trip->censored, trip->n_cases);
    assert_true(trip->switched > 15);
    assert_true(back->switched > 15);
    assert_true(fabs(back->median_s - r->fit.d_on_s) < 2 * FRAME);
    assert_near(trip->frame_s, FRAME, 1e-9);
    assert_true(trip->low_frames <= floor(trip->low_s / FRAME) &&
                trip->high_frames >= ceil(trip->high_s / FRAME));
    assert_true(trip->low_frames <= 4 && 4 <= trip->high_frames); /* 50 ms are 3.5 frames */
    fl_session_free(&s);
}

/* The same cases with a clock known to 20 ms: both ends move out by two frames of 14 ms at least.
 */
static void frames_are_never_finer_than_the_clock(void **state)
{
    (void)state;
    struct ruled_settings two[2] = {plain, plain};
    two[1].seed = 32;
    struct fl_session *sharp = studied(two, 2), *s = fl_session_new("invented");
    for (int i = 0; i < 2; i++) {
        struct fl_take *t = ruled_take(&two[i]);
        t->clock.error_ms = i ? 20 : 3;
        fl_session_add(s, t);
    }
    fl_study_rules(s);
    fl_study_delays(s);
    const struct fl_delay *a = delay_in(sharp, "default", true), *b = delay_in(s, "default", true);
    assert_near(b->clock_s, 0.02, 1e-12);
    assert_true(b->low_s == a->low_s && b->high_s == a->high_s);
    assert_true(b->low_frames <= a->low_frames - 1 && b->high_frames >= a->high_frames + 1);
    struct fl_delay d = {.low_frames = 0, .high_frames = 1};
    assert_string_equal(fl_delay_frames_text(&d, s->arena), "within one rendered frame");
    d.high_frames = 3;
    assert_string_equal(fl_delay_frames_text(&d, s->arena), "within 3 rendered frames");
    d.low_frames = 2;
    assert_string_equal(fl_delay_frames_text(&d, s->arena), "2 to 3 rendered frames");
    d.high_frames = FL_UNKNOWN;
    assert_null(fl_delay_frames_text(&d, s->arena));
    fl_session_free(&sharp);
    fl_session_free(&s);
}

/* A long delay lets many flicks slow down first; those do not shorten the delay. */
static void slowing_first_competes(void **state)
{
    (void)state;
    struct ruled_settings two[2] = {plain, plain};
    two[0].d_off_s = two[1].d_off_s = 0.15;
    two[1].seed = 33;
    struct fl_session *s = studied(two, 2);
    const struct fl_delay *trip = delay_in(s, "default", true);
    assert_true(trip->left >= 5);
    assert_true(trip->left_share > 0.15 && trip->left_share < 0.9);
    assert_near(trip->left_share, (double)trip->left / (trip->left + trip->switched), 0.15);
    double whole = ceil(0.15 / FRAME) * FRAME;
    assert_true(fabs(trip->median_s - whole) < 1.5 * FRAME);
    for (size_t i = 0; i < trip->n_cases; i++)
        if (trip->cases[i].outcome == FL_DELAY_LEFT)
            assert_true(trip->cases[i].low_s < whole + 1.5 * FRAME);
    fl_session_free(&s);
}

/* ---- two conditions ---- */

static void a_longer_delay_is_told(void **state)
{
    (void)state;
    struct ruled_settings four[4] = {plain, plain, plain, plain};
    for (int i = 0; i < 4; i++)
        four[i].seed = 60 + (uint64_t)i;
    four[2].condition = four[3].condition = "patched";
    four[2].d_off_s = four[3].d_off_s = 0.1;
    struct fl_session *s = studied(four, 4);
    assert_int_equal(s->n_delays, 4);
    assert_int_equal(s->n_delay_comparisons, 2);
    const struct fl_delay_comparison *c = &s->delay_comparisons[0];
    assert_true(c->a->trip);
    assert_string_equal(c->method, "log_rank");
    assert_true(c->p_adjusted < 0.01 && c->p_adjusted >= c->p);
    assert_non_null(strstr(c->verdict, "default trips sooner than patched"));
    fl_session_free(&s);
}

static void an_equal_delay_is_not_told_apart(void **state)
{
    (void)state;
    struct ruled_settings four[4] = {plain, plain, plain, plain};
    for (int i = 0; i < 4; i++)
        four[i].seed = 70 + (uint64_t)i;
    four[2].condition = four[3].condition = "patched";
    struct fl_session *s = studied(four, 4);
    for (size_t i = 0; i < s->n_delay_comparisons; i++)
        assert_non_null(strstr(s->delay_comparisons[i].verdict, "no difference"));
    fl_session_free(&s);
}

/* ---- brackets by hand ---- */

/* 10/s; speed 0, 10 from 2 s on, 0 from 5 s on: above 5 from 1.95 to 4.95 s. */
static struct fl_take *by_hand(void)
{
    struct fl_take *t = fl_take_new();
    t->frames = 100;
    t->duration_s = 10;
    t->time_s = FL_ARENA(t->arena, double, 100);
    t->quantity[FL_CAMERA_SPEED] = FL_ARENA(t->arena, float, 100);
    for (int i = 0; i < 100; i++) {
        t->time_s[i] = i / 10.0;
        t->quantity[FL_CAMERA_SPEED][i] = i >= 20 && i < 50 ? 10 : 0;
    }
    t->states.span = FL_NEW(struct fl_state_span, 4);
    t->states.lapse = FL_NEW(struct fl_lapse, 2);
    return t;
}

static void span(struct fl_take *t, double a, double b, enum fl_state state)
{
    t->states.span[t->states.n_spans++] = (struct fl_state_span){a, b, state, 1, NULL};
}

static void brackets_reach_from_the_crossing(void **state)
{
    (void)state;
    struct fl_take *t = by_hand();
    span(t, 0, 2.2, FL_STATE_ON);
    span(t, 2.5, 6, FL_STATE_OFF);
    span(t, 8, 10, FL_STATE_ON);
    t->states.lapse[t->states.n_lapses++] = (struct fl_lapse){.start_s = 2.4,
                                                              .end_s = 6.1,
                                                              .start_range_s = {2.2, 2.5},
                                                              .end_range_s = {6, 8},
                                                              .has_trip = true,
                                                              .has_return = true};
    struct fl_track k;
    struct fl_delay_list trip = {0}, back = {0};
    assert_true(fl_track_make(&k, t, FL_CAMERA_SPEED));
    fl_trip_cases(&k, 5, 0.015, &trip);
    assert_int_equal(trip.n, 1);
    assert_int_equal(trip.v[0].outcome, FL_DELAY_SWITCHED);
    assert_near(trip.v[0].low_s, 0.25, 1e-9);
    assert_near(trip.v[0].high_s, 0.55, 1e-9);
    fl_return_cases(&k, 5, 0.015, &back);
    assert_int_equal(back.n, 1);
    assert_near(back.v[0].low_s, 1.05, 1e-9);
    assert_near(back.v[0].high_s, 3.05, 1e-9);
    assert_int_equal(trip.unmatched + back.unmatched, 0);
    fl_track_finish(&k);
    fl_take_free(&t);
    free(trip.v);
    free(back.v);
}

/* Seen on to the end of the fast stretch: it slowed first, after 3 s. */
static void a_flick_that_held(void **state)
{
    (void)state;
    struct fl_take *t = by_hand();
    span(t, 0, 10, FL_STATE_ON);
    struct fl_track k;
    struct fl_delay_list trip = {0};
    assert_true(fl_track_make(&k, t, FL_CAMERA_SPEED));
    fl_trip_cases(&k, 5, 0.015, &trip);
    assert_int_equal(trip.n, 1);
    assert_int_equal(trip.v[0].outcome, FL_DELAY_LEFT);
    assert_near(trip.v[0].low_s, 3, 1e-9);
    trip.n = 0;
    t->states.span[0].end_s = 4; /* not seen when it slowed: nothing is known */
    fl_track_finish(&k);
    assert_true(fl_track_make(&k, t, FL_CAMERA_SPEED));
    fl_trip_cases(&k, 5, 0.015, &trip);
    assert_int_equal(trip.n, 0);
    fl_track_finish(&k);
    fl_take_free(&t);
    free(trip.v);
}

/* A trip seen a little before the crossing still belongs to it; a run from before the last lapse
 * does not. */
static void edges_miss_crossings_by_a_frame(void **state)
{
    (void)state;
    struct fl_take *t = by_hand();
    span(t, 0, 1.94, FL_STATE_ON);
    span(t, 1.94, 6, FL_STATE_OFF);
    t->states.lapse[t->states.n_lapses++] = (struct fl_lapse){.start_s = 1.94,
                                                              .end_s = 6,
                                                              .start_range_s = {1.94, 1.94},
                                                              .end_range_s = {6, 6},
                                                              .has_trip = true};
    struct fl_track k;
    struct fl_delay_list trip = {0};
    assert_true(fl_track_make(&k, t, FL_CAMERA_SPEED));
    fl_trip_cases(&k, 5, 0.015, &trip); /* crosses at 1.95 */
    assert_int_equal(trip.n, 1);
    assert_true(trip.v[0].low_s == 0 && trip.v[0].high_s == 0);
    trip.n = 0;
    t->states.lapse[0].start_range_s[0] = t->states.lapse[0].start_range_s[1] =
        1.9; /* too far off */
    fl_trip_cases(&k, 5, 0.015, &trip);
    assert_true(trip.n == 0 && trip.unmatched == 1);
    t->states.lapse[0].start_range_s[0] = t->states.lapse[0].start_range_s[1] = 1.94;
    t->states.lapse[t->states.n_lapses++] = (struct fl_lapse){
        .start_s = 8, .end_s = 9, .start_range_s = {4, 8}, .end_range_s = {9, 9}, .has_trip = true};
    trip.n = 0;
    trip.unmatched = 0;
    fl_trip_cases(&k, 5, 0.015, &trip);
    assert_true(trip.n == 1 && trip.unmatched == 1);
    fl_track_finish(&k);
    fl_take_free(&t);
    free(trip.v);
}

static void nothing_to_time(void **state)
{
    (void)state;
    struct fl_session *none = fl_session_new("none");
    fl_study_rules(none);
    fl_study_delays(none);
    assert_int_equal(none->n_delays + none->n_delay_comparisons, 0);
    fl_session_free(&none);
    struct ruled_settings never = plain;
    never.theta_off = 1e6;
    struct fl_session *s = studied(&never, 1);
    assert_int_equal(s->n_delays, 0);
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(delays_come_back),
        cmocka_unit_test(frames_are_never_finer_than_the_clock),
        cmocka_unit_test(slowing_first_competes),
        cmocka_unit_test(a_longer_delay_is_told),
        cmocka_unit_test(an_equal_delay_is_not_told_apart),
        cmocka_unit_test(brackets_reach_from_the_crossing),
        cmocka_unit_test(a_flick_that_held),
        cmocka_unit_test(edges_miss_crossings_by_a_frame),
        cmocka_unit_test(nothing_to_time),
    };
    return RUN_TESTS(tests);
}
