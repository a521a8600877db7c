/* Expected values by hand, from the definition of harmless motion (DESIGN: shares). */
#include "study/rule/harmless.h"

#include <stdlib.h>

#include "test.h"

enum { RATE = 100, FRAMES = 4000 };

/* 40 s at 100/s at rest, unseen. */
static struct fl_take *rest(void)
{
    struct fl_take *t = fl_take_new();
    t->frames = FRAMES;
    t->duration_s = FRAMES / (double)RATE;
    t->capture_rate_hz = RATE;
    t->kernel_ms = 20;
    t->time_s = FL_ARENA(t->arena, double, FRAMES);
    for (int k = 0; k < FL_HARMLESS_QUANTITIES; k++)
        t->quantity[fl_harmless_quantity[k]] = FL_ARENA(t->arena, float, FRAMES);
    for (int i = 0; i < FRAMES; i++)
        t->time_s[i] = i / (double)RATE;
    t->states.span = FL_NEW(struct fl_state_span, 128);
    return t;
}

static void move(struct fl_take *t, double from_s, double to_s, double deg_s)
{
    for (int i = (int)(from_s * RATE + 0.5); i < (int)(to_s * RATE + 0.5); i++) {
        t->quantity[FL_HAND_SPEED][i] = (float)(deg_s / 10);
        t->quantity[FL_CAMERA_SPEED][i] = (float)deg_s;
        t->quantity[FL_IMAGE_CHANGE][i] = (float)(deg_s / 1000);
    }
}

static void span(struct fl_take *t, double start_s, double end_s, enum fl_state state)
{
    struct fl_states *s = &t->states;
    double at = s->n_spans ? s->span[s->n_spans - 1].end_s : 0;
    if (start_s > at)
        s->span[s->n_spans++] = (struct fl_state_span){
            .start_s = at, .end_s = start_s, .confidence = 1, .reason = "still"};
    s->span[s->n_spans++] =
        (struct fl_state_span){.start_s = start_s, .end_s = end_s, .state = state, .confidence = 1};
}

static void learn(struct fl_harmless *h, struct fl_take *t)
{
    struct fl_sightings seen;
    fl_sightings_find(&seen, &t->states);
    fl_harmless_learn(h, &t, &seen, 1);
    fl_sightings_finish(&seen);
}

/* Six stretches of 0.3 s on at 20, 30 … 70 deg/s: five of them reach 30, and 1.5 s are at 30 or
 * above. */
static void six_stretches(struct fl_take *t)
{
    for (int k = 0; k < 6; k++) {
        move(t, 2 + 2 * k, 2.3 + 2 * k, 20 + 10 * k);
        span(t, 2 + 2 * k, 2.3 + 2 * k, FL_STATE_ON);
    }
}

static void levels_need_five_stretches_and_a_second(void **state)
{
    (void)state;
    struct fl_take *t = rest();
    struct fl_harmless h;
    six_stretches(t);
    learn(&h, t);
    assert_near(h.level[1], 30, 1e-6);
    assert_near(h.level[0], 3, 1e-6);
    assert_near(h.level[2], 0.03, 1e-6);
    assert_int_equal(h.trips, 0);
    fl_take_free(&t);
    t = rest();
    for (int k = 0; k < 6; k++) {
        move(t, 2 + 2 * k, 2.1 + 2 * k, 20 + 10 * k);
        span(t, 2 + 2 * k, 2.1 + 2 * k, FL_STATE_ON);
    }
    learn(&h, t);
    assert_near(h.level[1], 0, 1e-12); /* 0.6 s in all: too short at any speed */
    fl_take_free(&t);
}

/* A trip at 24 deg/s, where 30 were borne: levels fall below it, all in one proportion. */
static void levels_lie_below_trips(void **state)
{
    (void)state;
    struct fl_take *t = rest();
    struct fl_harmless h;
    six_stretches(t);
    move(t, 20, 20.4, 24);
    span(t, 20, 20.2, FL_STATE_ON);
    span(t, 20.2, 20.4, FL_STATE_OFF);
    learn(&h, t);
    assert_int_equal(h.trips, 1);
    assert_int_equal(h.harmless_trips, 0);
    assert_true(h.level[1] < 24 && h.level[1] > 23.9);
    assert_near(h.level[0], h.level[1] / 10, 1e-6);
    fl_take_free(&t);
}

/* Off comes while nothing moves at all: no level can lie below that. */
static void a_trip_at_rest_stays_harmless(void **state)
{
    (void)state;
    struct fl_take *t = rest();
    struct fl_harmless h;
    six_stretches(t);
    span(t, 20, 20.5, FL_STATE_ON);
    span(t, 20.5, 21, FL_STATE_OFF);
    learn(&h, t);
    assert_int_equal(h.trips, 1);
    assert_int_equal(h.harmless_trips, 1);
    fl_take_free(&t);
}

static bool holds(const struct fl_span_list *l, double t_s)
{
    for (size_t i = 0; i < l->n; i++)
        if (l->v[i].start_s <= t_s && t_s < l->v[i].end_s)
            return true;
    return false;
}

/* A side step moves the picture and not the hand; a flash changes it for a frame; where the hand is
 * unknown the camera speaks; where neither is known, nothing is harmless. */
static void every_quantity_must_be_low(void **state)
{
    (void)state;
    struct fl_take *t = rest();
    const struct fl_harmless h = {{3, 30, 0.03}, 0, 0};
    struct fl_span_list calm = {0};
    move(t, 2, 3, 25);
    move(t, 4, 5, 35);
    for (int i = 600; i < 700; i++)
        t->quantity[FL_IMAGE_CHANGE][i] = 0.05f;
    t->quantity[FL_IMAGE_CHANGE][800] = 1;
    for (int i = 1000; i < 1200; i++)
        t->quantity[FL_HAND_SPEED][i] = NAN;
    for (int i = 1100; i < 1200; i++)
        t->quantity[FL_CAMERA_SPEED][i] = NAN;
    t->quantity[FL_IMAGE_CHANGE][1300] = NAN;
    fl_harmless_spans(&h, t, &calm);
    assert_true(holds(&calm, 0) && holds(&calm, 2.5) && holds(&calm, 39.99));
    assert_true(!holds(&calm, 4.5) && !holds(&calm, 6.5) && !holds(&calm, 8.005));
    assert_true(holds(&calm, 8.015) && holds(&calm, 10.5) && !holds(&calm, 11.5));
    assert_true(!holds(&calm, 13.005));
    free(calm.v);
    fl_take_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(levels_need_five_stretches_and_a_second),
        cmocka_unit_test(levels_lie_below_trips),
        cmocka_unit_test(a_trip_at_rest_stays_harmless),
        cmocka_unit_test(every_quantity_must_be_low),
    };
    return RUN_TESTS(tests);
}
