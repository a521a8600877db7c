/* Expected values by hand, from the definition of the return rule (DESIGN: cut-off rule, shares).
 */
#include "study/rule/returns.h"

#include <stdlib.h>

#include "study/rule/return_fit.h"
#include "test.h"

enum { RATE = 100, FRAMES = 1000 };

/* 10 s at 100/s; camera speed 10 deg/s but for bursts; image change follows it. */
static struct fl_take *slow_take(void)
{
    struct fl_take *t = fl_take_new();
    t->frames = FRAMES;
    t->duration_s = FRAMES / (double)RATE;
    t->capture_rate_hz = RATE;
    t->kernel_ms = 20;
    t->time_s = FL_ARENA(t->arena, double, FRAMES);
    t->quantity[FL_CAMERA_SPEED] = FL_ARENA(t->arena, float, FRAMES);
    t->quantity[FL_IMAGE_CHANGE] = FL_ARENA(t->arena, float, FRAMES);
    for (int i = 0; i < FRAMES; i++) {
        t->time_s[i] = i / (double)RATE;
        t->quantity[FL_CAMERA_SPEED][i] = 10;
        t->quantity[FL_IMAGE_CHANGE][i] = 0.02f;
    }
    t->states.span = FL_NEW(struct fl_state_span, 32);
    return t;
}

static void burst(struct fl_take *t, double from_s, double to_s, float speed)
{
    for (int i = (int)(from_s * RATE + 0.5); i < (int)(to_s * RATE + 0.5); i++)
        t->quantity[FL_CAMERA_SPEED][i] = speed;
}

static void until(struct fl_take *t, double end_s, enum fl_state state)
{
    struct fl_states *s = &t->states;
    double start = s->n_spans ? s->span[s->n_spans - 1].end_s : 0;
    s->span[s->n_spans++] = (struct fl_state_span){.start_s = start,
                                                   .end_s = end_s,
                                                   .state = state,
                                                   .confidence = 0.9,
                                                   .reason = state ? NULL : "still"};
}

/* Levels that make anything up to 50 deg/s harmless. */
static const struct fl_harmless calm = {{FL_UNKNOWN, 50, 0.5}, 0, 0};
enum { CAMERA = 1 };

static struct fl_return_view view_of(struct fl_take *t)
{
    struct fl_return_view v;
    struct fl_sightings seen;
    fl_sightings_find(&seen, &t->states);
    fl_return_view_make(&v, t, &seen, &calm);
    return v;
}

static void sightings_leave_out_what_was_not_measured(void **state)
{
    (void)state;
    struct fl_take *t = slow_take();
    until(t, 1, FL_STATE_UNSEEN);
    t->states.span[0].reason = "use";
    until(t, 2, FL_STATE_ON);
    until(t, 2.5, FL_STATE_UNSEEN);
    until(t, 3, FL_STATE_OFF);
    until(t, 5, FL_STATE_UNSEEN);
    t->states.span[4].reason = "use";
    until(t, 10, FL_STATE_UNSEEN);
    struct fl_sightings s;
    fl_sightings_find(&s, &t->states);
    assert_int_equal(s.n, 2);
    assert_int_equal(s.n_parts, 2);
    assert_near(s.measured_s, 7, 1e-12);
    assert_near(s.on_s, 1, 1e-12);
    assert_near(s.off_s, 0.5, 1e-12);
    assert_int_equal(s.part[0].n, 2);
    assert_int_equal(s.part[1].n, 0);
    assert_near(s.part[1].start_s, 5, 1e-12);
    assert_int_equal(s.v[1].span, 3);
    fl_sightings_finish(&s);
    fl_take_free(&t);
}

/* 200 deg/s from 2 to 2.2 s, 40 deg/s to 2.5 s. Speeds go by lines from frame to frame. */
static void a_return_waits_below_the_threshold(void **state)
{
    (void)state;
    struct fl_take *t = slow_take();
    burst(t, 2, 2.2, 200);
    burst(t, 2.2, 2.5, 40);
    until(t, 10, FL_STATE_UNSEEN);
    struct fl_return_view v = view_of(t);
    struct fl_quiet q = {0};
    fl_quiet_find(&q, &v, CAMERA, 100); /* crossed 0.625 of a frame after 2.19 s */
    assert_near(fl_return_after(&q, 2.1, 0.3), 2.19 + 0.00625 + 0.3, 1e-9);
    assert_near(fl_return_after(&q, 3, 0.3), 3.3, 1e-9); /* quiet already: the wait begins at 3 */
    assert_near(fl_return_after(&q, 1.9, 0.05), 1.95, 1e-9); /* quiet until just before 2 s */
    assert_near(fl_return_after(&q, 1.9, 0.15), 2.19625 + 0.15, 1e-9);
    assert_true(isinf(fl_return_after(&q, 9.5, 0.6)));
    fl_quiet_find(&q, &v, CAMERA, 20); /* crossed two thirds after 2.49 s */
    assert_near(fl_return_after(&q, 2.1, 0.3), 2.49 + 0.01 * 2 / 3 + 0.3, 1e-9);
    for (int i = 300; i < 400; i++)
        t->quantity[FL_CAMERA_SPEED][i] = NAN;
    fl_return_view_finish(&v);
    v = view_of(t);
    fl_quiet_find(&q, &v, CAMERA, 20);
    assert_near(fl_return_after(&q, 2.1, 0.3), 2.49 + 0.01 * 2 / 3 + 0.3, 1e-9);
    assert_true(isnan(fl_return_after(&q, 2.1, 0.6))); /* unknown from 3 s on */
    assert_true(isnan(fl_return_after(&q, 3.5, 0)));
    free(q.below.v);
    fl_return_view_finish(&v);
    fl_take_free(&t);
}

/* Two flicks 0.5 s apart, off in both, nothing seen between: one lapse or two by the delay. */
static struct fl_take *two_flicks(void)
{
    struct fl_take *t = slow_take();
    burst(t, 2, 2.2, 200);
    burst(t, 2.7, 2.9, 200);
    until(t, 2.05, FL_STATE_ON);
    until(t, 2.2, FL_STATE_OFF);
    until(t, 2.72, FL_STATE_UNSEEN);
    until(t, 2.9, FL_STATE_OFF);
    until(t, 4, FL_STATE_UNSEEN);
    until(t, 5, FL_STATE_ON);
    until(t, 10, FL_STATE_UNSEEN);
    return t;
}

static void the_rule_tells_one_lapse_from_two(void **state)
{
    (void)state;
    struct fl_take *t = two_flicks();
    struct fl_return_view v = view_of(t);
    struct fl_quiet q = {0};
    struct fl_returns r = {0};
    fl_quiet_find(&q, &v, CAMERA, 100);
    fl_returns_find(&r, &v, &q, 0.1);
    assert_int_equal(r.n, 2);
    assert_int_equal(r.v[0].next, FL_NEXT_OFF);
    assert_near(r.v[0].low_s, 2.2, 1e-9);
    assert_near(r.v[0].high_s, 2.72, 1e-9);
    assert_near(r.v[0].at_s, 2.19 + 0.01 * 100 / 190 + 0.1, 1e-6);
    assert_int_equal(r.v[1].next, FL_NEXT_ON);
    assert_near(r.v[1].high_s, 4, 1e-9);
    fl_returns_find(&r, &v, &q, 0.8);
    assert_int_equal(r.n, 1);
    assert_int_equal(r.v[0].first, 1);
    assert_int_equal(r.v[0].last, 2);
    assert_near(r.v[0].at_s, 2.89 + 0.01 * 100 / 190 + 0.8, 1e-6);
    free(q.below.v);
    free(r.v);
    fl_return_view_finish(&v);
    fl_take_free(&t);
}

/* The second run is seen while the camera is at 10 deg/s all along: nothing can have tripped it. */
static void off_again_in_harmless_motion_is_told(void **state)
{
    (void)state;
    struct fl_take *t = two_flicks();
    burst(t, 2.7, 2.9, 10);
    struct fl_return_view v = view_of(t);
    struct fl_quiet q = {0};
    struct fl_returns r = {0};
    fl_quiet_find(&q, &v, CAMERA, 100);
    fl_returns_find(&r, &v, &q, 0.1);
    assert_int_equal(r.n, 2);
    assert_int_equal(r.v[0].next, FL_NEXT_OFF_CALM);
    fl_returns_find(&r, &v, &q, 0.6);
    assert_int_equal(r.n, 1);
    free(q.below.v);
    free(r.v);
    fl_return_view_finish(&v);
    fl_take_free(&t);
}

/* Properties of the law of one return: within its bracket, rising with the quantile, the rule's own
 * time in the middle of a wide bracket, whatever happens far out. */
static void a_return_stays_in_its_bracket(void **state)
{
    (void)state;
    const struct fl_return_rule rule = {CAMERA, 100, 0.1, 0.012};
    for (double at = -2; at < 12; at += 0.37) {
        struct fl_return r = {.low_s = 3, .high_s = 5, .at_s = at, .next = FL_NEXT_ON};
        double last = 3;
        for (double u = 0; u < 1; u += 0.05) {
            double t = fl_return_time(&r, &rule, u);
            assert_true(t >= last - 1e-12 && t <= 5);
            last = t;
        }
    }
    struct fl_return r = {.low_s = 3, .high_s = 5, .at_s = 4, .next = FL_NEXT_ON};
    assert_near(fl_return_time(&r, &rule, 0.5), 4, 1e-9);
    r.at_s = INFINITY;
    assert_near(fl_return_time(&r, &rule, 0.5), 5, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sightings_leave_out_what_was_not_measured),
        cmocka_unit_test(a_return_waits_below_the_threshold),
        cmocka_unit_test(the_rule_tells_one_lapse_from_two),
        cmocka_unit_test(off_again_in_harmless_motion_is_told),
        cmocka_unit_test(a_return_stays_in_its_bracket),
    };
    return RUN_TESTS(tests);
}
