/* The rules are those of the project's own definition (DESIGN: flick); no outside source. */
#include "study/take/flick.h"

#include <stdlib.h>
#include <string.h>

#include "study/rule/delay.h"
#include "study/take/measure.h"
#include "test.h"

#define RATE 100
#define FRAMES 1000

struct rig {
    struct fl_take *t;
    struct fl_velocity v;
};

static struct rig rig_new(void)
{
    struct rig r = {fl_take_new(), {FL_CAMERA_SPEED}};
    r.t->frames = FRAMES;
    r.t->duration_s = FRAMES / (double)RATE;
    r.t->kernel_ms = 14;
    r.t->width = 1280;
    r.t->time_s = FL_ARENA(r.t->arena, double, FRAMES);
    r.v.x = FL_ARENA(r.t->arena, float, FRAMES);
    r.v.y = FL_ARENA(r.t->arena, float, FRAMES);
    r.v.speed = r.t->quantity[FL_CAMERA_SPEED] = FL_ARENA(r.t->arena, float, FRAMES);
    for (int i = 0; i < FRAMES; i++)
        r.t->time_s[i] = i / (double)RATE;
    r.t->states.span = FL_NEW(struct fl_state_span, 64);
    r.t->states.lapse = FL_NEW(struct fl_lapse, 64);
    return r;
}

/* Speed over frames [from, to): a triangle that starts and ends at a tenth of the peak. */
static void burst(struct rig *r, int from, int to, double peak, double angle)
{
    double middle = (from + to - 1) / 2.0, half = (to - from) / 2.0;
    for (int i = from; i < to; i++) {
        double v = peak * (1 - 0.9 * fabs(i - middle) / half);
        r->v.x[i] = (float)(v * cos(angle));
        r->v.y[i] = (float)(v * sin(angle));
        r->v.speed[i] = (float)v;
    }
}

static void state_until(struct rig *r, double end_s, enum fl_state state)
{
    struct fl_states *s = &r->t->states;
    double start = s->n_spans ? s->span[s->n_spans - 1].end_s : 0;
    s->span[s->n_spans++] =
        (struct fl_state_span){start, end_s, state, 0.9, state ? NULL : "still"};
}

static void lapse(struct rig *r, double start, double end, double slack)
{
    r->t->states.lapse[r->t->states.n_lapses++] =
        (struct fl_lapse){.start_s = start,
                          .end_s = end,
                          .start_range_s = {start, start},
                          .has_trip = true,
                          .has_return = true,
                          .end_range_s = {end - slack, end + slack}};
}

static const struct fl_flick *find(struct rig *r, size_t n)
{
    memcpy(r->v.flick, r->t->quantity, sizeof r->v.flick);
    fl_find_flicks(r->t, &r->v);
    assert_int_equal(r->t->n_flicks, n);
    return r->t->flicks;
}

static void a_burst_from_rest_to_rest_is_a_flick(void **state)
{
    (void)state;
    struct rig r = rig_new();
    burst(&r, 100, 121, 400, FL_PI / 2);
    const struct fl_flick *f = find(&r, 1);
    assert_near(f->start_s, 1.00, 1e-9);
    assert_near(f->end_s, 1.21, 1e-9);
    assert_near(f->peak_s, 1.10, 1e-9);
    assert_near(f->peak[FL_CAMERA_SPEED], 400, 1e-6);
    assert_true(isnan(f->peak[FL_COUNT_RATE]));
    double sum = 0;
    for (int i = 100; i < 121; i++)
        sum += r.v.speed[i];
    assert_near(f->mean[FL_CAMERA_SPEED], sum / 21, 1e-6);
    assert_near(f->path_deg, sum / RATE, 1e-6);
    assert_near(f->direction_deg, 90, 1e-4); /* down */
    assert_near(r.t->camera_floor_deg_s, 5, 1e-12);
    /* A slope of 0.9 × 400 over half of the burst (10.5 frames), but the first difference jumps. */
    assert_true(f->peak_acceleration_deg_s2 >= 0.9 * 400 / 0.105 - 1);
    fl_take_free(&r.t);
}

/* The second ends 0.1 s before a ride, the third begins 0.2 s after it. */
static void flicks_that_touch_a_ride_are_not_at_known_risk(void **state)
{
    (void)state;
    struct rig r = rig_new();
    burst(&r, 100, 120, 300, 0);
    burst(&r, 300, 320, 300, 0);
    burst(&r, 500, 520, 300, 0);
    state_until(&r, 10, FL_STATE_ON);
    r.t->carried = FL_ARENA(r.t->arena, struct fl_span, 1);
    r.t->carried[0] = (struct fl_span){3.3, 4.8};
    r.t->n_carried = 1;
    const struct fl_flick *f = find(&r, 3);
    assert_int_equal(f[0].at_risk, FL_YES);
    assert_int_equal(f[1].at_risk, FL_ANSWER_UNKNOWN);
    assert_int_equal(f[2].at_risk, FL_YES);
    assert_int_equal(r.t->carried_flicks, 1);
    fl_take_free(&r.t);
}

static void gaps_under_80_ms_are_merged(void **state)
{
    (void)state;
    struct rig r = rig_new();
    burst(&r, 100, 120, 300, 0);
    burst(&r, 127, 147, 200, 0); /* 70 ms */
    burst(&r, 155, 175, 100, 0); /* 80 ms */
    const struct fl_flick *f = find(&r, 2);
    assert_near(f[0].end_s, 1.47, 1e-9);
    assert_near(f[0].peak[FL_CAMERA_SPEED], 300 * (1 - 0.9 * 0.5 / 10),
                1e-6); /* the top lies between two frames */
    assert_near(f[1].start_s, 1.55, 1e-9);
    fl_take_free(&r.t);
}

static void rest_noise_raises_the_floor(void **state)
{
    (void)state;
    struct rig r = rig_new();
    for (int i = 0; i < FRAMES; i++) /* Rayleigh quantiles, σ = 3 deg/s, in a scrambled order */
        r.v.speed[i * 387 % FRAMES] = (float)(3 * sqrt(-2 * log(1 - (i + 0.5) / FRAMES)));
    /* 99.9 % of Rayleigh noise lies below σ √(2 ln 1000), by its distribution function */
    assert_near(fl_flick_floor(r.t, &r.v), 3 * sqrt(2 * log(1000)), 0.02);
    for (int i = 0; i < FRAMES; i++)
        r.v.speed[i] = 200; /* never at rest: no higher than motion itself, 25 deg/s */
    assert_near(fl_flick_floor(r.t, &r.v), 25, 1e-9);
    fl_take_free(&r.t);
}

/* On is seen after both, but the second was fastest where nothing was seen, for 80 ms: longer than
 * two base periods of 14 ms, so that a lapse may have come and gone. */
static void an_unseen_peak_is_no_proof_that_it_held(void **state)
{
    (void)state;
    struct rig r = rig_new();
    burst(&r, 100, 120, 300, 0);
    burst(&r, 300, 320, 300, 0);
    state_until(&r, 1.09, FL_STATE_ON);
    state_until(&r, 1.11, FL_STATE_UNSEEN); /* 20 ms about the peak hide no lapse */
    state_until(&r, 1.2, FL_STATE_ON);
    state_until(&r, 3.06, FL_STATE_UNSEEN);
    state_until(&r, 3.07, FL_STATE_ON);
    state_until(&r, 3.15, FL_STATE_UNSEEN);
    state_until(&r, 3.2, FL_STATE_ON);
    state_until(&r, 10, FL_STATE_UNSEEN);
    const struct fl_flick *f = find(&r, 2);
    assert_int_equal(f[0].tripped, FL_NO);
    assert_int_equal(f[1].tripped, FL_ANSWER_UNKNOWN);
    fl_take_free(&r.t);
}

static void held_needs_on_at_or_after_the_peak(void **state)
{
    (void)state;
    struct rig r = rig_new();
    burst(&r, 100, 120, 300, 0);
    burst(&r, 300, 320, 300, 0);
    state_until(&r, 1.0, FL_STATE_UNSEEN);
    state_until(&r, 1.15, FL_STATE_ON); /* beyond the peak of the first */
    state_until(&r, 3.0, FL_STATE_UNSEEN);
    state_until(&r, 3.05, FL_STATE_ON); /* not as far as the peak of the second */
    state_until(&r, 10, FL_STATE_UNSEEN);
    const struct fl_flick *f = find(&r, 2);
    assert_int_equal(f[0].tripped, FL_NO);
    assert_true(isnan(f[0].trip_delay_s));
    assert_int_equal(f[1].tripped, FL_ANSWER_UNKNOWN);
    assert_int_equal(f[1].at_risk, FL_YES); /* on was seen last */
    fl_take_free(&r.t);
}

static void off_within_the_flick_or_its_tail_is_a_trip(void **state)
{
    (void)state;
    struct rig r = rig_new();
    burst(&r, 100, 120, 300, 0);
    burst(&r, 300, 320, 310, 0);
    burst(&r, 500, 520, 320, 0);
    state_until(&r, 0.5, FL_STATE_ON);
    state_until(&r, 1.0, FL_STATE_UNSEEN);
    state_until(&r, 1.06, FL_STATE_ON);
    state_until(&r, 1.2, FL_STATE_OFF);
    state_until(&r, 2.9, FL_STATE_UNSEEN);
    state_until(&r, 3.34, FL_STATE_ON); /* off 140 ms after the second ends: still its own */
    state_until(&r, 3.40, FL_STATE_OFF);
    state_until(&r, 4.9, FL_STATE_UNSEEN);
    state_until(&r, 5.36, FL_STATE_ON); /* 160 ms after the third: not */
    state_until(&r, 5.40, FL_STATE_OFF);
    state_until(&r, 10, FL_STATE_UNSEEN);
    lapse(&r, 1.06, 1.5, 0.3);
    lapse(&r, 3.34, 3.6, 0.1);
    lapse(&r, 5.36, 5.6, 0.1);
    const struct fl_flick *f = find(&r, 3);
    assert_int_equal(f[0].tripped, FL_YES);
    assert_near(f[0].trip_delay_s, 0.06, 1e-9);
    assert_near(f[0].peak_to_trip[FL_CAMERA_SPEED], r.v.speed[105],
                1e-6); /* before the peak at 1.09 */
    assert_int_equal(f[1].tripped, FL_YES);
    assert_near(f[1].trip_delay_s, 0.34, 1e-9);
    assert_near(f[1].peak_to_trip[FL_CAMERA_SPEED], f[1].peak[FL_CAMERA_SPEED], 1e-9);
    assert_int_equal(f[2].tripped, FL_NO);
    assert_true(isnan(f[2].peak_to_trip[FL_CAMERA_SPEED]));
    fl_take_free(&r.t);
}

static void off_as_it_begins_is_no_risk(void **state)
{
    (void)state;
    struct rig r = rig_new();
    burst(&r, 100, 120, 300, 0);
    burst(&r, 135, 155, 300, 0); /* the lapse of the first still holds */
    burst(&r, 300, 320, 300, 0); /* between last sure and first sure: unknown */
    state_until(&r, 0.9, FL_STATE_ON);
    state_until(&r, 1.05, FL_STATE_ON);
    state_until(&r, 1.25, FL_STATE_OFF);
    state_until(&r, 1.40, FL_STATE_UNSEEN);
    state_until(&r, 1.55, FL_STATE_OFF);
    state_until(&r, 3.10, FL_STATE_UNSEEN);
    state_until(&r, 3.20, FL_STATE_ON);
    state_until(&r, 10, FL_STATE_UNSEEN);
    lapse(&r, 1.05, 2.4, 0.7); /* sure until 1.7 */
    const struct fl_flick *f = find(&r, 3);
    assert_int_equal(f[0].at_risk, FL_YES);
    assert_int_equal(f[1].at_risk, FL_NO);
    assert_int_equal(f[2].at_risk, FL_ANSWER_UNKNOWN); /* off was seen last, return delay unknown */
    r.t->states.lapse[0].has_return = false; /* an end that nobody saw: its best time is not sure */
    r.t->states.lapse[0].end_s = 3.05;
    f = find(&r, 3);
    assert_int_equal(f[1].at_risk, FL_NO);
    assert_int_equal(f[2].at_risk, FL_ANSWER_UNKNOWN);
    fl_take_free(&r.t);
}

/* Five returns between 0.18 and 0.22 s after a flick: r = 0.22 s; a longer rest restores the risk.
 */
static void enough_rest_restores_the_risk(void **state)
{
    (void)state;
    struct rig r = rig_new();
    state_until(&r, 0.5, FL_STATE_UNSEEN);
    for (int k = 0; k < 5; k++) {
        burst(&r, 100 * k + 50, 100 * k + 70, 300, 0);
        double at = k + 0.5;
        state_until(&r, at + 0.05, FL_STATE_ON);
        state_until(&r, at + 0.38, FL_STATE_OFF);
        lapse(&r, at + 0.05, at + 0.40, 0.02);
        state_until(&r, at + 1, FL_STATE_UNSEEN);
    }
    burst(&r, 600, 620, 300, 0);
    state_until(&r, 6.2, FL_STATE_OFF); /* the first state seen: tripped, delay unknown */
    state_until(&r, 10, FL_STATE_UNSEEN);
    r.t->states.span[r.t->states.n_spans - 2].start_s = 6.05;
    r.t->states.span[r.t->states.n_spans - 3].end_s = 6.05;
    const struct fl_flick *f = find(&r, 6);
    assert_near(r.t->return_delay_p95_s, 0.22, 1e-9);
    assert_int_equal(f[1].at_risk, FL_YES);
    assert_int_equal(f[5].at_risk, FL_YES);
    assert_int_equal(f[5].tripped, FL_YES);
    assert_true(isnan(f[5].trip_delay_s));
    fl_take_free(&r.t);
}

/* Turnbull 1976: exact observations give the empirical distribution; brackets that all share a part
 * put all mass there; right-censored ones agree with Kaplan & Meier's product limit. */
static void brackets_give_a_distribution(void **state)
{
    (void)state;
    const double exact[5] = {5, 1, 4, 2, 3};
    assert_near(fl_bracket_quantile(exact, exact, 5, 0.6), 3, 0);
    assert_near(fl_bracket_quantile(exact, exact, 5, 0.95), 5, 0);
    assert_near(fl_bracket_quantile(exact, exact, 5, 0.2), 1, 0);
    const double low[4] = {0, 0.1, 0.05, 0.12}, high[4] = {3, 0.5, 0.2, 9};
    assert_near(fl_bracket_quantile(low, high, 4, 0.95), 0.2, 0);
    const double l[5] = {1, 2, 3, 3.5, 5}, h[5] = {1, 2, 3, INFINITY, 5};
    /* Kaplan-Meier: 0.2, 0.4, 0.6 at 3, the censored one leaves all of 0.4 to 5 */
    assert_near(fl_bracket_quantile(l, h, 5, 0.6), 3, 0);
    assert_near(fl_bracket_quantile(l, h, 5, 0.95), 5, 0);
    const double beyond[5] = {1, 2, 3, 4, 9}, open[5] = {1, 2, 3, 4, INFINITY};
    assert_true(isinf(fl_bracket_quantile(beyond, open, 5, 0.95)));
    assert_near(fl_bracket_quantile(beyond, open, 5, 0.8), 4, 0);
    assert_true(isnan(fl_bracket_quantile(low, high, 0, 0.5)));
}

static void slow_tracking_does_not_join_flicks(void **state)
{
    (void)state;
    struct rig r = rig_new();
    for (int i = 0; i < FRAMES; i += 2) /* half of the time the camera creeps at up to 14 deg/s */
        r.v.speed[i] = (float)(14.0 * i / FRAMES);
    burst(&r, 100, 120, 300, 0);
    for (int i = 120; i < 150; i++)
        r.v.speed[i] = 12;
    burst(&r, 150, 170, 300, 0);
    const struct fl_flick *f = find(&r, 3); /* the third: the fastest creeping of all */
    assert_true(r.t->camera_floor_deg_s > 12 && r.t->camera_floor_deg_s <= 14);
    assert_true(f[0].end_s <= 1.21 && f[1].start_s >= 1.49 && f[2].peak[FL_CAMERA_SPEED] < 14);
    fl_take_free(&r.t);
}

static void without_five_returns_rest_says_nothing(void **state)
{
    (void)state;
    struct rig r = rig_new();
    burst(&r, 100, 120, 300, 0);
    lapse(&r, 1.05, 1.4, 0.01);
    state_until(&r, 10, FL_STATE_UNSEEN);
    const struct fl_flick *f = find(&r, 1);
    assert_true(isnan(r.t->return_delay_p95_s));
    assert_int_equal(f->at_risk, FL_ANSWER_UNKNOWN);
    fl_take_free(&r.t);
}

/* kernel_ms 14: an edge 10 ms before the flick is its trip, one 20 ms before is not. */
static void an_edge_a_base_period_early_is_still_the_trip(void **state)
{
    (void)state;
    struct rig r = rig_new();
    burst(&r, 100, 120, 600, 0);
    burst(&r, 300, 320, 600, 0);
    state_until(&r, 0.99, FL_STATE_ON);
    state_until(&r, 1.2, FL_STATE_OFF);
    state_until(&r, 2.98, FL_STATE_ON);
    state_until(&r, 3.2, FL_STATE_OFF);
    state_until(&r, 10, FL_STATE_UNSEEN);
    lapse(&r, 0.99, 1.2, 0);
    lapse(&r, 2.98, 3.2, 0);
    const struct fl_flick *f = find(&r, 2);
    assert_int_equal(f[0].at_risk, FL_YES);
    assert_int_equal(f[0].tripped, FL_YES);
    assert_near(f[0].trip_delay_s, 0, 0);
    assert_int_equal(f[1].at_risk, FL_NO);
    fl_take_free(&r.t);
}

/* A lapse that starts in the tail of one flick and within the next cannot have been made by both.
 */
static void one_trip_has_one_cause(void **state)
{
    (void)state;
    struct rig r = rig_new();
    burst(&r, 100, 120, 600, 0);
    burst(&r, 130, 150, 60, 0);
    state_until(&r, 1.32, FL_STATE_ON);
    state_until(&r, 1.5, FL_STATE_OFF);
    state_until(&r, 10, FL_STATE_UNSEEN);
    lapse(&r, 1.32, 1.6, 0.05);
    const struct fl_flick *f = find(&r, 2);
    assert_int_equal(f[0].tripped, FL_YES);
    assert_near(f[0].trip_delay_s, 0.32, 1e-9);
    assert_int_equal(f[1].tripped, FL_ANSWER_UNKNOWN);
    fl_take_free(&r.t);
}

/* The same where nobody saw the trip: off comes into sight as the second begins. */
static void a_trip_out_of_sight_has_one_cause(void **state)
{
    (void)state;
    struct rig r = rig_new();
    burst(&r, 100, 120, 60, 0);
    burst(&r, 130, 150, 600, 0);
    state_until(&r, 0.5, FL_STATE_ON);
    state_until(&r, 0.6, FL_STATE_OFF);
    state_until(&r, 1.299998, FL_STATE_UNSEEN);
    state_until(&r, 1.5, FL_STATE_OFF);
    state_until(&r, 10, FL_STATE_UNSEEN);
    lapse(&r, 1.299998, 1.6, 0.05);
    r.t->states.lapse[0].has_trip = false;
    r.t->kernel_ms = 14;
    const struct fl_flick *f = find(&r, 2);
    assert_int_equal(f[0].tripped, FL_ANSWER_UNKNOWN);
    assert_int_equal(f[1].tripped, FL_YES);
    assert_true(isnan(f[1].trip_delay_s));
    fl_take_free(&r.t);
}

static void unknown_speed_ends_a_flick(void **state)
{
    (void)state;
    struct rig r = rig_new();
    burst(&r, 100, 160, 300, 0);
    for (int i = 120; i < 140; i++)
        r.v.speed[i] = r.v.x[i] = r.v.y[i] = NAN;
    find(&r, 2);
    fl_take_free(&r.t);
}

static void a_burst_at_either_end_stays_inside_the_take(void **state)
{
    (void)state;
    struct rig r = rig_new();
    burst(&r, 0, 20, 300, 0);
    burst(&r, FRAMES - 20, FRAMES, 300, 0);
    const struct fl_flick *f = find(&r, 2);
    assert_near(f[0].start_s, 0, 0);
    assert_near(f[1].end_s, r.t->duration_s, 1e-12);
    fl_take_free(&r.t);
}

static void outside_use_there_are_no_flicks(void **state)
{
    (void)state;
    struct rig r = rig_new();
    const struct fl_span use[] = {{0, 2}, {4, 10}};
    r.t->spec.use = use;
    r.t->spec.n_use = 2;
    burst(&r, 100, 120, 300, 0);
    burst(&r, 300, 320, 300, 0);
    burst(&r, 500, 520, 300, 0);
    const struct fl_flick *f = find(&r, 2);
    assert_near(f[1].start_s, 5, 1e-12);
    fl_take_free(&r.t);
}

static void without_degrees_counts_find_the_flicks(void **state)
{
    (void)state;
    struct rig r = rig_new();
    r.t->quantity[FL_COUNT_RATE] = r.t->quantity[FL_CAMERA_SPEED];
    r.t->quantity[FL_CAMERA_SPEED] = NULL;
    r.v.quantity = FL_COUNT_RATE;
    burst(&r, 100, 120, 5000, 0);
    burst(&r, 300, 320, 90, 0); /* under 100 counts/s */
    const struct fl_flick *f = find(&r, 1);
    assert_true(isnan(r.t->camera_floor_deg_s) && isnan(f->path_deg));
    assert_string_equal(r.t->warnings[0].code, "flicks_without_degrees");
    fl_take_free(&r.t);
}

static void nothing_to_find_in_an_empty_take(void **state)
{
    (void)state;
    struct fl_take *t = fl_take_new();
    fl_measure_take(t, NULL, NULL);
    assert_int_equal(t->n_flicks, 0);
    assert_true(isnan(t->exposure.off_share));
    fl_take_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_burst_from_rest_to_rest_is_a_flick),
        cmocka_unit_test(flicks_that_touch_a_ride_are_not_at_known_risk),
        cmocka_unit_test(gaps_under_80_ms_are_merged),
        cmocka_unit_test(rest_noise_raises_the_floor),
        cmocka_unit_test(an_unseen_peak_is_no_proof_that_it_held),
        cmocka_unit_test(held_needs_on_at_or_after_the_peak),
        cmocka_unit_test(off_within_the_flick_or_its_tail_is_a_trip),
        cmocka_unit_test(off_as_it_begins_is_no_risk),
        cmocka_unit_test(enough_rest_restores_the_risk),
        cmocka_unit_test(brackets_give_a_distribution),
        cmocka_unit_test(slow_tracking_does_not_join_flicks),
        cmocka_unit_test(without_five_returns_rest_says_nothing),
        cmocka_unit_test(an_edge_a_base_period_early_is_still_the_trip),
        cmocka_unit_test(one_trip_has_one_cause),
        cmocka_unit_test(a_trip_out_of_sight_has_one_cause),
        cmocka_unit_test(unknown_speed_ends_a_flick),
        cmocka_unit_test(a_burst_at_either_end_stays_inside_the_take),
        cmocka_unit_test(outside_use_there_are_no_flicks),
        cmocka_unit_test(without_degrees_counts_find_the_flicks),
        cmocka_unit_test(nothing_to_find_in_an_empty_take),
    };
    return RUN_TESTS(tests);
}
