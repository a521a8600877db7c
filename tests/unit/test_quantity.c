#include "study/take/picture_scale.h"
#include "study/take/quantity.h"

#include <stdlib.h>
#include <string.h>

#include "signal/kinds.h"
#include "study/take/measure.h"
#include "study/take/trace_mismatch.h"
#include "study/take/motion_integral.h"
#include "test.h"

#define FRAMES 400
#define RATE 100.0

/* A still, untorn take of 4 s at 100/s, 1920 wide, base rate 50/s, clock offset 7 s. */
static struct fl_take *still_take(void)
{
    struct fl_take *t = fl_take_new();
    t->width = 1920;
    t->height = 1080;
    t->frames = FRAMES;
    t->capture_rate_hz = RATE;
    t->duration_s = FRAMES / RATE;
    t->states.base_rate_on_hz = 50;
    t->clock = (struct fl_clock){.known = true,
                                 .offset_s = 7,
                                 .gain_x = -0.5,
                                 .gain_y = -0.5,
                                 .off_minus_on_ms = FL_UNKNOWN};
    t->time_s = FL_ARENA(t->arena, double, FRAMES);
    for (size_t i = 0; i < fl_signal_column_count(); i++)
        t->signal[i] = FL_ARENA(t->arena, float, FRAMES);
    for (int i = 0; i < FRAMES; i++) {
        t->time_s[i] = i / RATE;
        fl_take_shift(t).quality[i] = 0.9f;
    }
    return t;
}

/* dx, dy counts each report between from_s and to_s of footage time, reports all along. */
static struct fl_motion *hand(double rate_hz, double from_s, double to_s, float dx, float dy)
{
    struct fl_trace trace = {
        .has_motion = true, .start_s = 6, .end_s = 12, .report_rate_hz = rate_hz};
    trace.n = (size_t)(6 * rate_hz);
    trace.events = FL_NEW(struct fl_event, trace.n);
    for (size_t i = 0; i < trace.n; i++) {
        double t = 6 + (double)i / rate_hz;
        bool moves = t - 7 > from_s && t - 7 <= to_s;
        trace.events[i] = (struct fl_event){.time_s = t,
                                            .dx = moves ? dx : 0,
                                            .dy = moves ? dy : 0,
                                            .stick_x = NAN,
                                            .stick_y = NAN};
    }
    struct fl_motion *m = fl_motion_new(&trace, 0.02);
    free(trace.events);
    return m;
}

static bool warned(const struct fl_take *t, const char *code)
{
    for (size_t i = 0; i < t->n_warnings; i++)
        if (!strcmp(t->warnings[i].code, code))
            return true;
    return false;
}

/* CHECKS L-4, from definition: f = (W/2)/tan(fov/2). */
static void a_shift_is_an_angle(void **state)
{
    (void)state;
    assert_near(fl_shift_degrees(10, 1920, 90), 0.596809, 1e-6);
    assert_near(fl_degrees_shift(1, 1920, 90), 960 * tan(FL_PI / 180), 1e-12);
    assert_near(fl_degrees_shift(0.001, 1920, 90) / 0.001, 16.755161, 1e-6);
    assert_near(fl_shift_degrees(960, 1920, 90), 45, 1e-12);
    assert_near(fl_shift_degrees(-10, 1920, 90), -0.596809, 1e-6);
    for (double d = -60; d <= 60; d += 7)
        assert_near(fl_shift_degrees(fl_degrees_shift(d, 2560, 103), 2560, 103), d, 1e-12);
}

/* CHECKS L-4: 5000 counts/s at 800 cpi = 15.875 cm/s, at 0.044 = 220 deg/s; 20 counts a report
 * at 125 Hz = 2500 counts/s = 7.9375 cm/s = 110 deg/s. */
static void counts_become_centimetres_and_degrees(void **state)
{
    (void)state;
    const struct {
        double rate;
        float dx;
        double counts, cm, deg;
    } c[] = {{1000, 5, 5000, 15.875, 220}, {125, 20, 2500, 7.9375, 110}};
    for (int k = 0; k < 2; k++) {
        struct fl_take *t = still_take();
        struct fl_velocity v;
        struct fl_motion *m = hand(c[k].rate, -1, 9, c[k].dx, 0);
        t->spec.counts_per_inch = 800;
        t->spec.degrees_per_count = 0.044;
        memset(t->signal, 0, fl_signal_column_count() * sizeof *t->signal);
        fl_quantities(t, m, NULL, &v, t->arena);
        assert_near(t->kernel_ms, 20, 1e-12);
        for (int i = 10; i < FRAMES - 10; i += 7) {
            assert_near(t->quantity[FL_COUNT_RATE][i], c[k].counts, 1e-5);
            assert_near(t->quantity[FL_HAND_SPEED][i], c[k].cm, 1e-5);
            assert_near(t->quantity[FL_CAMERA_SPEED][i], c[k].deg, 1e-5);
        }
        assert_int_equal(v.quantity, FL_CAMERA_SPEED);
        assert_true(v.x[50] > 0 && v.y[50] == 0);
        assert_null(t->quantity[FL_STICK_RATE]);
        fl_motion_free(&m);
        fl_take_free(&t);
    }
}

/* 45 counts within 9 ms: over 20 ms they are 2250 counts/s, over one frame of 60 Hz 2700. */
static void flicks_are_described_over_a_fixed_time(void **state)
{
    (void)state;
    struct fl_take *t = still_take();
    struct fl_velocity v;
    struct fl_motion *m = hand(1000, 1.9951, 2.0041, 5, 0);
    t->spec.degrees_per_count = 0.044;
    memset(t->signal, 0, fl_signal_column_count() * sizeof *t->signal);
    fl_quantities(t, m, NULL, &v, t->arena);
    double peak = 0, over_60_hz = 0;
    for (int i = 150; i < 250; i++) {
        peak = fmax(peak, t->quantity[FL_COUNT_RATE][i]);
        over_60_hz = fmax(over_60_hz, v.flick[FL_COUNT_RATE][i]);
    }
    assert_near(peak, 2250, 1e-5);
    assert_near(over_60_hz, 2700, 1e-5);
    assert_near(t->kernel_ms, 20, 1e-12);
    assert_null(v.flick[FL_STICK_RATE]);
    fl_motion_free(&m);
    fl_take_free(&t);
}

/* CHECKS L-4: 10 px at 1920 and 90 degrees = 0.596809 degrees; 100 frames a second. */
static void without_a_trace_the_picture_speaks(void **state)
{
    (void)state;
    struct fl_take *t = still_take();
    struct fl_velocity v;
    t->clock.known = false;
    t->spec.horizontal_fov_deg = 90;
    for (int i = 0; i < FRAMES; i++)
        /* the scene goes left: the camera turns right */
        fl_take_shift(t).x_px[i] = -10;
    fl_quantities(t, NULL, NULL, &v, t->arena);
    assert_near(t->quantity[FL_CAMERA_SPEED][200], 59.6809, 1e-5);
    assert_near(t->quantity[FL_IMAGE_STEP][200], 20, 1e-5); /* 1000 px/s in 20 ms */
    assert_null(t->quantity[FL_COUNT_RATE]);
    assert_true(v.x[200] > 0);
    fl_take_free(&t);
}

static void without_geometry_there_are_no_degrees(void **state)
{
    (void)state;
    struct fl_take *t = still_take();
    struct fl_velocity v;
    struct fl_motion *m = hand(1000, 1, 2, 5, 0);
    fl_quantities(t, m, NULL, &v, t->arena);
    assert_null(t->quantity[FL_CAMERA_SPEED]);
    assert_null(t->quantity[FL_HAND_SPEED]);
    assert_non_null(t->quantity[FL_COUNT_RATE]);
    assert_true(warned(t, "no_camera_speed") && warned(t, "no_hand_speed"));
    assert_int_equal(v.quantity, FL_COUNT_RATE);
    fl_motion_free(&m);
    fl_take_free(&t);
}

static void the_kernel_is_a_base_period(void **state)
{
    (void)state;
    struct fl_take *t = still_take();
    struct fl_velocity v;
    t->spec.horizontal_fov_deg = 90;
    t->states.base_rate_on_hz = FL_UNKNOWN;
    t->states.base_rate_off_hz = 80;
    fl_quantities(t, NULL, NULL, &v, t->arena);
    assert_near(t->kernel_ms, 12.5, 1e-12);
    assert_true(warned(t, "kernel_without_base_rate"));
    t->states.base_rate_off_hz = FL_UNKNOWN;
    fl_quantities(t, NULL, NULL, &v, t->arena);
    assert_near(t->kernel_ms, 10, 1e-12);
    fl_take_free(&t);
}

/* A box mean spreads a step of the speed over one kernel and keeps its height. */
static void the_box_spreads_a_step_over_one_kernel(void **state)
{
    (void)state;
    struct fl_take *t = still_take();
    struct fl_velocity v;
    struct fl_motion *m = hand(1000, 1, 2, 5, 0);
    memset(t->signal, 0, fl_signal_column_count() * sizeof *t->signal);
    t->spec.degrees_per_count = 0.044;
    fl_quantities(t, m, NULL, &v, t->arena);
    const float *q = t->quantity[FL_COUNT_RATE];
    assert_near(q[98], 0, 1e-6);
    assert_near(q[100], 2500, 1e-3);
    assert_near(q[102], 5000, 1e-6);
    assert_near(q[200], 2500, 1e-3);
    fl_motion_free(&m);
    fl_take_free(&t);
}

/* Synthesis delays the picture by L(on): in state off the picture shows the hand of later. With
 * trace time = offset + footage time - L, L(off) - L(on) = -10 ms moves the trace 10 ms on. */
static void the_off_state_has_its_own_delay(void **state)
{
    (void)state;
    struct fl_take *t = still_take();
    struct fl_velocity v;
    struct fl_motion *m = hand(1000, 1, 2, 5, 0);
    memset(t->signal, 0, fl_signal_column_count() * sizeof *t->signal);
    t->clock.off_minus_on_ms = -10;
    t->states.n_frames = FRAMES;
    t->states.frame_state = FL_NEW(enum fl_state, FRAMES);
    for (int i = 0; i < FRAMES; i++)
        t->states.frame_state[i] = FL_STATE_OFF;
    fl_quantities(t, m, NULL, &v, t->arena);
    assert_near(t->quantity[FL_COUNT_RATE][99], 2500, 1e-3);
    assert_near(t->quantity[FL_COUNT_RATE][101], 5000, 1e-6);
    fl_motion_free(&m);
    fl_take_free(&t);
}

/* The trace begins 3 s into the footage: until then the hand is unknown, not at rest, and the
 * camera turns as the picture does. */
static void before_its_trace_the_hand_is_unknown(void **state)
{
    (void)state;
    struct fl_take *t = still_take();
    struct fl_velocity v;
    struct fl_motion *m = hand(1000, -0.8, -0.6, 1, 0); /* 3.2 to 3.4 s of footage */
    t->clock.offset_s = 3;                              /* trace from 6 s on: 3 s of footage */
    t->spec.degrees_per_count = 0.05;
    t->spec.counts_per_inch = 800;
    t->spec.horizontal_fov_deg = 90;
    for (int i = 100; i < 120; i++)
        fl_take_shift(t).x_px[i] = -10;
    fl_quantities(t, m, NULL, &v, t->arena);
    assert_true(isnan(t->quantity[FL_HAND_SPEED][110]) && isnan(t->quantity[FL_COUNT_RATE][10]));
    assert_near(t->quantity[FL_CAMERA_SPEED][110], RATE * fl_shift_degrees(10, 1920, 90), 1e-3);
    assert_near(t->quantity[FL_CAMERA_SPEED][10], 0, 1e-9);
    assert_near(t->quantity[FL_HAND_SPEED][310], 0, 1e-9);
    fl_motion_free(&m);
    fl_take_free(&t);
}

static void an_inverted_axis_turns_the_camera_the_other_way(void **state)
{
    (void)state;
    struct fl_take *t = still_take();
    struct fl_velocity v;
    struct fl_motion *m = hand(1000, -1, 9, 3, 4);
    memset(t->signal, 0, fl_signal_column_count() * sizeof *t->signal);
    t->clock.gain_y = 0.5; /* hand down, scene down: camera up */
    fl_quantities(t, m, NULL, &v, t->arena);
    assert_near(v.x[100], 3000, 1e-5);
    assert_near(v.y[100], -4000, 1e-5);
    assert_near(v.speed[100], 5000, 1e-5);
    fl_motion_free(&m);
    fl_take_free(&t);
}

/* The mouse moves over a menu for 1.5 s while the picture stands still. */
static void a_still_picture_overrules_the_hand(void **state)
{
    (void)state;
    struct fl_take *t = still_take();
    struct fl_velocity v;
    struct fl_motion *m = hand(1000, 1, 2.5, 5, 0);
    t->spec.degrees_per_count = 0.044;
    t->spec.horizontal_fov_deg = 90;
    fl_quantities(t, m, NULL, &v, t->arena);
    assert_near(t->quantity[FL_CAMERA_SPEED][170], 0, 1e-9);
    assert_true(isnan(t->quantity[FL_COUNT_RATE][170]));
    assert_false(isnan(t->quantity[FL_COUNT_RATE][60]));
    assert_true(warned(t, "trace_overruled"));
    fl_motion_free(&m);
    fl_take_free(&t);
}

/* For 1.5 s the picture goes by 60 deg/s while the hand makes so many counts a report. */
static struct fl_take *picture_alone(float along, struct fl_velocity *v, float hand_counts)
{
    struct fl_take *t = still_take();
    struct fl_motion *m =
        hand_counts == 0 ? hand(1000, 3.2, 3.4, 5, 0) : hand(1000, 1, 2.5, hand_counts, 0);
    t->spec.degrees_per_count = 0.044;
    t->spec.horizontal_fov_deg = 90;
    t->view = FL_ARENA(t->arena, struct fl_view_motion, FRAMES);
    for (int i = 0; i < FRAMES; i++) {
        bool moves = i >= 100 && i < 250;
        fl_take_shift(t).x_px[i] = moves ? -10 : 0;
        t->view[i] = (struct fl_view_motion){
            .speed = moves ? 3 : 0, .along = moves ? along : 1, .bend = NAN};
    }
    fl_quantities(t, m, NULL, v, t->arena);
    fl_motion_free(&m);
    return t;
}

/* Reports were lost, or a cut scene turns the camera: the picture turns as one. */
static void a_picture_that_turns_overrules_a_trace_at_rest(void **state)
{
    (void)state;
    struct fl_velocity v;
    struct fl_take *t = picture_alone(0.95f, &v, 0);
    assert_near(t->quantity[FL_CAMERA_SPEED][170], RATE * fl_shift_degrees(10, 1920, 90), 1e-3);
    assert_true(warned(t, "trace_overruled"));
    assert_int_equal(t->n_carried, 0);
    fl_take_free(&t);
}

/* Half of what the hand asks, as in an aiming zoom; and what no turn of the hand explains. */
static void a_scaled_trace_is_overruled_by_a_turn_alone(void **state)
{
    (void)state;
    struct fl_velocity v;
    struct fl_take *t = picture_alone(0.95f, &v, 3);
    assert_near(t->quantity[FL_CAMERA_SPEED][170], RATE * fl_shift_degrees(10, 1920, 90), 1e-3);
    fl_take_free(&t);
    t = picture_alone(0.95f, &v, -3);
    assert_true(isnan(t->quantity[FL_CAMERA_SPEED][170]));
    fl_take_free(&t);
}

/* A lift ride: near parts move further. Its motion is the picture's step, not a turn. */
static void a_carried_camera_has_no_turn(void **state)
{
    (void)state;
    struct fl_velocity v;
    struct fl_take *t = picture_alone(0.5f, &v, 0);
    assert_true(isnan(t->quantity[FL_CAMERA_SPEED][170]));
    assert_true(isnan(t->quantity[FL_COUNT_RATE][170]));
    assert_near(t->quantity[FL_IMAGE_STEP][170], 20, 1e-5); /* 1000 px/s in 20 ms */
    assert_near(t->quantity[FL_CAMERA_SPEED][50], 0, 1e-9);
    assert_false(warned(t, "trace_overruled"));
    assert_int_equal(t->n_carried, 1);
    assert_true(fabs(t->carried[0].start_s - 1) < 0.06 && fabs(t->carried[0].end_s - 2.5) < 0.06);
    fl_take_free(&t);
}

/* Without a trace too, and nothing is taken for carried where nothing of the kind was measured. */
static void without_a_trace_parallax_tells(void **state)
{
    (void)state;
    for (int k = 0; k < 2; k++) {
        struct fl_velocity v;
        struct fl_take *t = still_take();
        t->clock.known = false;
        t->spec.horizontal_fov_deg = 90;
        t->view = k ? FL_ARENA(t->arena, struct fl_view_motion, FRAMES) : NULL;
        for (int i = 0; i < FRAMES; i++) {
            fl_take_shift(t).x_px[i] = -10;
            if (k)
                t->view[i] = (struct fl_view_motion){.speed = 3, .along = 0.4f, .bend = NAN};
        }
        fl_quantities(t, NULL, NULL, &v, t->arena);
        assert_int_equal(isnan(t->quantity[FL_CAMERA_SPEED][200]), k);
        assert_near(t->quantity[FL_IMAGE_STEP][200], 20, 1e-5);
        fl_take_free(&t);
    }
}

/* Zooms of so much a frame, 0.1 s from 1 s on and out again from 2.5 s on, while the hand turns. */
static struct fl_take *zoomed(float step, float frames, struct fl_velocity *v)
{
    struct fl_take *t = still_take();
    struct fl_motion *m = hand(1000, -1, 9, 1, 0);
    t->spec.degrees_per_count = 0.044;
    t->spec.horizontal_fov_deg = 90;
    t->view = FL_ARENA(t->arena, struct fl_view_motion, FRAMES);
    for (int i = 0; i < FRAMES; i++) {
        bool in = i >= 100 && i < 100 + frames, out = i >= 250 && i < 250 + frames;
        fl_take_shift(t).x_px[i] = (float)-fl_degrees_shift(0.44, 1920, 90);
        t->view[i] = (struct fl_view_motion){.speed = 3,
                                             .along = 1,
                                             .bend = 1,
                                             .zoom = in    ? step
                                                     : out ? -step
                                                           : 0};
    }
    fl_quantities(t, m, NULL, v, t->arena);
    fl_motion_free(&m);
    return t;
}

static void while_aiming_the_turn_is_unknown(void **state)
{
    (void)state;
    struct fl_velocity v;
    struct fl_take *t = zoomed(0.05f, 10, &v);
    assert_near(t->quantity[FL_CAMERA_SPEED][90], 44, 1e-3);
    assert_true(isnan(t->quantity[FL_CAMERA_SPEED][180]));
    assert_near(t->quantity[FL_COUNT_RATE][180], 1000, 1e-3);
    assert_near(t->quantity[FL_CAMERA_SPEED][270], 44, 1e-3);
    assert_int_equal(t->n_carried, 1);
    assert_true(fabs(t->carried[0].start_s - 1) < 0.02 && fabs(t->carried[0].end_s - 2.6) < 0.02);
    fl_take_free(&t);
    t = zoomed(0.02f, 100, &v); /* as one who walks up to a wall and back: 1 s each */
    assert_near(t->quantity[FL_CAMERA_SPEED][180], 44, 1e-3);
    assert_int_equal(t->n_carried, 0);
    fl_take_free(&t);
}

static void one_flick_that_the_picture_missed_stays_the_hands(void **state)
{
    (void)state;
    struct fl_take *t = still_take();
    struct fl_velocity v;
    struct fl_motion *m = hand(1000, 1, 1.25, 20, 0);
    t->spec.degrees_per_count = 0.044;
    t->spec.horizontal_fov_deg = 90;
    fl_quantities(t, m, NULL, &v, t->arena);
    assert_near(t->quantity[FL_CAMERA_SPEED][112], 880, 1e-4);
    assert_false(warned(t, "trace_overruled"));
    fl_motion_free(&m);
    fl_take_free(&t);
}

static void a_shift_that_nobody_vouches_for_is_unknown_or_rest(void **state)
{
    (void)state;
    struct fl_take *t = still_take();
    struct fl_velocity v;
    float change[FRAMES];
    t->clock.known = false;
    t->spec.horizontal_fov_deg = 90;
    t->noise = 0.5;
    for (int i = 0; i < FRAMES; i++) {
        fl_take_shift(t).quality[i] = i >= 200 ? 0.1f : 0.9f;
        change[i] = i >= 300 ? 40 : 0.4f;
    }
    fl_quantities(t, NULL, change, &v, t->arena);
    assert_near(t->quantity[FL_CAMERA_SPEED][250], 0, 1e-9);
    assert_true(isnan(t->quantity[FL_CAMERA_SPEED][350]));
    /* 40 levels a frame of 10 ms, base period 20 ms, 219 levels of nominal range (BT.601). */
    assert_near(t->quantity[FL_IMAGE_CHANGE][350], 80.0 / 219, 1e-6);
    fl_take_free(&t);
}

static void a_path_forgets_what_is_not_known(void **state)
{
    (void)state;
    const double time[6] = {0, 1, 2, 3, 4, 5}, x[6] = {99, 2, FL_UNKNOWN, FL_UNKNOWN, 4, 4},
                 y[6] = {0, 1, 1, 1, 1, 1};
    struct fl_motion_integral *p = fl_motion_integral_new(time, x, y, 6);
    double vx, vy;
    assert_true(fl_motion_integral_rate(p, 0.5, 1, &vx, &vy));
    assert_near(vx, 2, 1e-12); /* x[0] was made before the first time */
    assert_near(vy, 1, 1e-12);
    assert_false(fl_motion_integral_rate(p, 2, 1, &vx, &vy));
    assert_true(isnan(vx) && isnan(vy));
    assert_true(fl_motion_integral_rate(p, 3, 2, &vx, &vy)); /* half is known */
    assert_near(vx, 4, 1e-12);
    assert_true(fl_motion_integral_rate(p, 4.5, 1, &vx, NULL));
    assert_false(fl_motion_integral_rate(p, 9, 1, &vx, NULL));
    fl_motion_integral_free(&p);
    assert_null(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_shift_is_an_angle),
        cmocka_unit_test(counts_become_centimetres_and_degrees),
        cmocka_unit_test(without_a_trace_the_picture_speaks),
        cmocka_unit_test(without_geometry_there_are_no_degrees),
        cmocka_unit_test(the_kernel_is_a_base_period),
        cmocka_unit_test(flicks_are_described_over_a_fixed_time),
        cmocka_unit_test(the_box_spreads_a_step_over_one_kernel),
        cmocka_unit_test(the_off_state_has_its_own_delay),
        cmocka_unit_test(before_its_trace_the_hand_is_unknown),
        cmocka_unit_test(an_inverted_axis_turns_the_camera_the_other_way),
        cmocka_unit_test(a_still_picture_overrules_the_hand),
        cmocka_unit_test(a_picture_that_turns_overrules_a_trace_at_rest),
        cmocka_unit_test(a_scaled_trace_is_overruled_by_a_turn_alone),
        cmocka_unit_test(a_carried_camera_has_no_turn),
        cmocka_unit_test(without_a_trace_parallax_tells),
        cmocka_unit_test(while_aiming_the_turn_is_unknown),
        cmocka_unit_test(one_flick_that_the_picture_missed_stays_the_hands),
        cmocka_unit_test(a_shift_that_nobody_vouches_for_is_unknown_or_rest),
        cmocka_unit_test(a_path_forgets_what_is_not_known),
    };
    return RUN_TESTS(tests);
}
