#include "study/take/exposure.h"

#include <stdlib.h>
#include <string.h>

#include "fake_take.h"
#include "test.h"

#define FRAMES 1000

/* It may come from a trace that is closed before the take is written. */
static void a_warning_keeps_its_code(void **state)
{
    (void)state;
    struct fl_take *t = fl_take_new();
    char code[] = "trace_cut";
    fl_take_warn(t, code, "%s", "The end is unfinished.");
    memset(code, 0, sizeof code);
    assert_string_equal(t->warnings[0].code, "trace_cut");
    fl_take_free(&t);
}

/* 10 s at 100/s: on 2 s, off 1 s, unseen 5 s, 2 s outside `use`; fast from 1.495 to 3.495 s. */
static struct fl_take *ten_seconds(void)
{
    static const struct fl_state_span spans[] = {
        {0, 2, FL_STATE_ON, 1, NULL},
        {2, 3, FL_STATE_OFF, 1, NULL},
        {3, 8, FL_STATE_UNSEEN, 1, "still"},
        {8, 10, FL_STATE_UNSEEN, 1, "use"},
    };
    struct fl_take *t = fl_take_new();
    t->frames = FRAMES;
    t->duration_s = 10;
    t->time_s = FL_ARENA(t->arena, double, FRAMES);
    t->quantity[FL_CAMERA_SPEED] = FL_ARENA(t->arena, float, FRAMES);
    t->states.n_spans = 4;
    t->states.span = FL_NEW(struct fl_state_span, 4);
    t->states.n_frames = FRAMES;
    t->states.frame_state = FL_NEW(enum fl_state, FRAMES);
    t->states.unique_rate_hz = FL_NEW(float, FRAMES);
    for (int i = 0; i < 4; i++)
        t->states.span[i] = spans[i];
    for (int i = 0; i < FRAMES; i++) {
        t->time_s[i] = i / 100.0;
        t->quantity[FL_CAMERA_SPEED][i] = i >= 150 && i < 350 ? 300 : 10;
        t->states.frame_state[i] = i < 200 ? FL_STATE_ON : i < 300 ? FL_STATE_OFF : FL_STATE_UNSEEN;
        t->states.unique_rate_hz[i] = i < 200 ? 140 : i < 300 ? 70 : NAN;
    }
    t->states.n_lapses = 1;
    t->states.lapse = FL_NEW(struct fl_lapse, 1);
    t->states.lapse[0] =
        (struct fl_lapse){.start_s = 2, .end_s = 3.2, .has_trip = true, .has_return = true};
    return t;
}

/* By definition (DESIGN: shares). */
static void shares_come_with_their_range(void **state)
{
    (void)state;
    struct fl_take *t = ten_seconds();
    fl_expose(t);
    const struct fl_exposure *e = &t->exposure;
    assert_near(e->on_s, 2, 1e-12);
    assert_near(e->off_s, 1, 1e-12);
    assert_near(e->unseen_s, 5, 1e-12);
    assert_near(e->off_share, 1.0 / 3, 1e-12);
    assert_near(e->off_share_low, 1.0 / 8, 1e-12);
    assert_near(e->off_share_high, 6.0 / 8, 1e-12);
    assert_near(e->motion_s, 2, 1e-9);
    assert_near(e->on_motion_s, 0.505, 1e-9);
    assert_near(e->off_motion_s, 1, 1e-9);
    assert_near(e->off_share_in_motion, 1 / 1.505, 1e-9);
    assert_near(e->lapses_per_min, 60.0 / 8, 1e-12);
    assert_near(e->longest_s, 1.2, 1e-12);
    fl_take_free(&t);
}

/* What leads from on to a lapse is on; open motion that leads to none counts for neither. */
static void unseen_motion_counts_as_inferred(void **state)
{
    (void)state;
    static const struct fl_inferred parts[] = {{1.4, 2, FL_STATE_UNSEEN, "motion"},
                                               {3, 3.2, FL_STATE_OFF, "rule"},
                                               {3.2, 8, FL_STATE_ON, "harmless"}};
    static const struct fl_state_span spans[] = {{0, 1.4, FL_STATE_ON, 1, NULL},
                                                 {1.4, 2, FL_STATE_UNSEEN, 1, "still"},
                                                 {2, 3, FL_STATE_OFF, 1, NULL},
                                                 {3, 8, FL_STATE_UNSEEN, 1, "still"}};
    struct fl_take *t = ten_seconds();
    for (int i = 0; i < 4; i++)
        t->states.span[i] = spans[i];
    t->inferred = FL_NEW(struct fl_inferred, 3);
    t->n_inferred = 3;
    for (int i = 0; i < 3; i++)
        t->inferred[i] = parts[i];
    fl_expose(t);
    const struct fl_exposure *e = &t->exposure;
    assert_near(e->inferred_on_motion_s, 0.505 + 0.295, 1e-9);
    assert_near(e->inferred_off_motion_s, 0.2, 1e-9);
    assert_near(e->off_share_in_motion, 1.2 / 2, 1e-9);
    t->states.lapse[0].start_s = 2.01;
    fl_expose_motion(t);
    assert_near(e->inferred_on_motion_s, 0.295, 1e-9);
    assert_near(e->off_share_in_motion, 1.2 / 1.495, 1e-9);
    fl_take_free(&t);
}

/* A turn of 0.2 s about a trip, then off: half of it was off, however often the capture looked. */
static struct fl_take *turn_about_a_trip(double capture_hz)
{
    struct fl_take *t = fl_take_new();
    t->duration_s = 4;
    t->frames = (int64_t)(t->duration_s * capture_hz);
    t->time_s = FL_ARENA(t->arena, double, (size_t)t->frames);
    t->quantity[FL_CAMERA_SPEED] = FL_ARENA(t->arena, float, (size_t)t->frames);
    for (int64_t i = 0; i < t->frames; i++) {
        t->time_s[i] = (double)i / capture_hz;
        t->quantity[FL_CAMERA_SPEED][i] = fabs(t->time_s[i] - 2) < 0.1 ? 200 : 0;
    }
    t->states.n_spans = 2;
    t->states.span = FL_NEW(struct fl_state_span, 2);
    t->states.span[0] = (struct fl_state_span){0, 2, FL_STATE_ON, 1, NULL};
    t->states.span[1] = (struct fl_state_span){2, 4, FL_STATE_OFF, 1, NULL};
    return t;
}

static void a_turn_lies_about_its_frames(void **state)
{
    (void)state;
    static const double rates[] = {24, 60, 120, 240};
    for (size_t k = 0; k < 4; k++) {
        struct fl_take *t = turn_about_a_trip(rates[k]);
        fl_expose(t);
        assert_near(t->exposure.off_share_in_motion, 0.5, 1e-9);
        assert_near(t->exposure.off_share_in_motion_low, 0.5, 1e-9);
        assert_near(t->exposure.off_share_in_motion_high, 0.5, 1e-9);
        fl_take_free(&t);
    }
}

/* 10 ms of 200 either way. */
static void the_clock_widens_what_was_off_in_motion(void **state)
{
    (void)state;
    struct fl_take *t = turn_about_a_trip(1000);
    t->clock.known = true;
    t->clock.error_ms = 10;
    fl_expose(t);
    assert_near(t->exposure.off_share_in_motion, 0.5, 1e-9);
    assert_near(t->exposure.off_share_in_motion_low, 0.5 - 0.01 / 0.199, 1e-9);
    assert_near(t->exposure.off_share_in_motion_high, 0.5 + 0.01 / 0.199, 1e-9);
    fl_take_free(&t);
}

static void smoothness_is_split_by_motion_and_lapse(void **state)
{
    (void)state;
    struct fl_take *t = ten_seconds();
    fl_expose(t);
    fl_smooth(t);
    const struct fl_smoothness *s = &t->smoothness;
    assert_near(s->rest_mean_hz, 140, 1e-9);
    assert_near(s->motion_mean_hz, (50 * 140 + 100 * 70) / 150.0, 1e-9);
    assert_near(s->motion_p1_hz, 70, 1e-9);
    assert_near(s->lapse_mean_hz, 70, 1e-9);
    assert_near(s->swings_per_min, 60.0 / 8, 1e-12);
    fl_take_free(&t);
}

static void without_camera_speed_motion_is_unknown(void **state)
{
    (void)state;
    struct fl_take *t = ten_seconds();
    t->quantity[FL_CAMERA_SPEED] = NULL;
    fl_expose(t);
    fl_smooth(t);
    assert_true(isnan(t->exposure.motion_s) && isnan(t->exposure.off_share_in_motion));
    assert_true(isnan(t->smoothness.rest_mean_hz) && isnan(t->smoothness.motion_p1_hz));
    assert_near(t->exposure.off_share, 1.0 / 3, 1e-12);
    fl_take_free(&t);
}

static void what_was_never_seen_has_no_share(void **state)
{
    (void)state;
    struct fl_take *t = ten_seconds();
    for (size_t i = 0; i < t->states.n_spans; i++)
        t->states.span[i].state = FL_STATE_UNSEEN;
    t->states.n_lapses = 0;
    fl_expose(t);
    assert_true(isnan(t->exposure.off_share) && isnan(t->exposure.off_share_low) &&
                isnan(t->exposure.off_share_high));
    assert_near(t->exposure.longest_s, 0, 0);
    fl_take_free(&t);
}

/* Property: the parts of an invented take tile its duration, and its range holds its share. */
static void parts_tile_the_take(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        struct fl_take *t = fake_take(&(struct fake_settings){.id = "t",
                                                              .game = "g",
                                                              .counts_per_inch = 800,
                                                              .degrees_per_count = 0.044,
                                                              .v50_deg_s = 200,
                                                              .slope = 3,
                                                              .flicks = 20,
                                                              .seed = seed});
        fl_expose(t);
        const struct fl_exposure *e = &t->exposure;
        assert_near(e->on_s + e->off_s + e->unseen_s, t->duration_s, 1e-9);
        assert_true(e->off_share_low <= e->off_share && e->off_share <= e->off_share_high);
        assert_true(e->on_motion_s + e->off_motion_s <= e->motion_s + 1e-9);
        fl_take_free(&t);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_warning_keeps_its_code),
        cmocka_unit_test(shares_come_with_their_range),
        cmocka_unit_test(unseen_motion_counts_as_inferred),
        cmocka_unit_test(a_turn_lies_about_its_frames),
        cmocka_unit_test(the_clock_widens_what_was_off_in_motion),
        cmocka_unit_test(smoothness_is_split_by_motion_and_lapse),
        cmocka_unit_test(without_camera_speed_motion_is_unknown),
        cmocka_unit_test(what_was_never_seen_has_no_share),
        cmocka_unit_test(parts_tile_the_take),
    };
    return RUN_TESTS(tests);
}
