#include "clock/stick_response.h"

#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "clock/motion_clock.h"
#include "clock/stick_try.h"
#include "test.h"

/* A game that turns by a curve of its own, 40 s at 120/s; a pad that reports 250 times a second. */
enum { FRAMES = 4800, RATE = 120, REPORTS = 250, SECONDS = 44 };
static const double offset_s = 3, delay_s = 0.035, dead = 0.12, fastest_px_s = 4000;

/* Dead zone, then the square of the deflection (a common response; no source). */
static double game(double deflection)
{
    const double past = fmax(0, (deflection - dead) / (1 - dead));
    return fastest_px_s * past * past;
}

/* Where the stick is at a hand's time: let go in between, held out for 0.2 to 0.6 s, all ways. */
static void stick_at(double t, double at[2])
{
    const int k = (int)floor(t / 0.9 + 0.31 * sin(t / 7));
    const double began = fmod(t, 0.9), out = 0.2 + 0.1 * (k * 5 % 9),
                 held = 0.2 + 0.05 * (k * 3 % 8), way = k * 2.4;
    const double ramp = fmin(fmax(fmin(began, held - began), 0) / 0.06, 1),
                 size = fmin(out, 1) * ramp;
    at[0] = size * cos(way) + 0.02 * sin(91 * t); /* the stick's own noise */
    at[1] = size * sin(way) + 0.02 * sin(77 * t);
}

static void (*hold)(double t, double at[2]) = stick_at;

static struct fl_motion *pad(void)
{
    struct fl_trace trace = {
        .has_stick = true, .report_rate_hz = FL_UNKNOWN, .n = REPORTS * SECONDS};
    trace.events = FL_NEW(struct fl_event, trace.n);
    for (size_t i = 0; i < trace.n; i++) {
        double at[2];
        const double t = (double)i / REPORTS;
        hold(t - 2, at);
        trace.events[i] = (struct fl_event){
            .time_s = offset_s + t - 2, .stick_x = (float)at[0], .stick_y = (float)at[1]};
    }
    struct fl_motion *m = fl_motion_new(&trace, 0.02);
    free(trace.events);
    return m;
}

struct view {
    double time_s[FRAMES], x[FRAMES], y[FRAMES], quality[FRAMES];
    struct fl_shift_series series;
};

/* The content goes against the turn. */
static struct view *film(void)
{
    enum { FINE = 20 };
    struct view *v = FL_NEW(struct view, 1);
    for (int i = 0; i < FRAMES; i++) {
        v->time_s[i] = (double)i / RATE;
        v->quality[i] = 1;
        for (int k = 0; k < FINE; k++) {
            double at[2];
            hold(v->time_s[i] - (k + 0.5) / FINE / RATE - delay_s, at);
            const double size = hypot(at[0], at[1]),
                         step = size > 0 ? game(size) / size / RATE / FINE : 0;
            v->x[i] -= step * at[0];
            v->y[i] -= step * at[1];
        }
    }
    v->series = (struct fl_shift_series){FRAMES, v->time_s, v->x, v->y, v->quality, 0.3};
    return v;
}

/* Neither counts nor a straight line: the lag is found all the same, with the delay in it. */
static void a_stick_gives_a_clock(void **state)
{
    (void)state;
    struct view *v = film();
    struct fl_motion *m = pad();
    struct fl_clock c;
    assert_true(fl_motion_of_stick(m));
    fl_clock_from_motion(&c, &v->series, m, offset_s - 2, offset_s + SECONDS - 2);
    assert_string_equal(c.refused, "");
    assert_near(fl_clock_trace_time(&c, 20), 20 + offset_s - delay_s, 0.0004);
    fl_motion_free(&m);
    free(v);
}

static void the_turn_rate_curve_is_the_games(void **state)
{
    (void)state;
    struct view *v = film();
    struct fl_motion *m = pad();
    struct fl_clock c;
    struct fl_turn_rate rate[FL_TURN_RATES];
    struct fl_turn_curve t;
    fl_clock_from_motion(&c, &v->series, m, offset_s - 2, offset_s + SECONDS - 2);
    fl_turn_curve_find(&t, rate, &c, &v->series, m);
    assert_true(t.n > 8);
    for (size_t k = 0; k < t.n; k++) {
        assert_true(!k || rate[k].speed >= rate[k - 1].speed);
        assert_true(rate[k].low <= rate[k].high);
        if (rate[k].deflection > 0.3)
            assert_near(rate[k].speed / game(rate[k].deflection), 1, 0.08);
    }
    assert_true(t.rest > 0.015 && t.rest < 0.07);
    assert_near(t.dead_zone, dead, 0.03);
    /* With the game's own response the clock is no worse, and the path is the picture's. */
    const struct fl_stick_response r = fl_turn_curve_response(&t);
    fl_motion_respond(m, &r);
    fl_clock_from_motion(&c, &v->series, m, offset_s - 2, offset_s + SECONDS - 2);
    assert_true(c.known);
    assert_near(fl_clock_trace_time(&c, 20), 20 + offset_s - delay_s, 0.0002);
    fl_motion_free(&m);
    free(v);
}

static void a_stick_that_does_nothing_tells_nothing(void **state)
{
    (void)state;
    struct view *v = film();
    struct fl_motion *m = pad();
    struct fl_clock c;
    struct fl_turn_rate rate[FL_TURN_RATES];
    struct fl_turn_curve t;
    fl_clock_from_motion(&c, &v->series, m, offset_s - 2, offset_s + SECONDS - 2);
    for (int i = 0; i < FRAMES; i++)
        v->x[i] = v->y[i] = 0;
    fl_turn_curve_find(&t, rate, &c, &v->series, m);
    assert_int_equal(t.n, 0);
    assert_true(isnan(t.dead_zone));
    struct fl_clock none;
    fl_clock_from_motion(&none, &v->series, m, offset_s - 2, offset_s + SECONDS - 2);
    assert_false(none.known);
    fl_motion_free(&m);
    free(v);
}

/* Held out a little for seconds between flicks, as to follow something: a straight response takes
 * that for most of the motion. */
static void following(double t, double at[2])
{
    const int k = (int)floor(t / 0.37);
    stick_at(t, at);
    if (hypot(at[0], at[1]) < 0.15 || k % 4) {
        at[0] = 0.45 * cos(1.9 * k);
        at[1] = 0.45 * sin(1.9 * k);
    }
}

static void a_stick_that_follows_gives_a_clock_too(void **state)
{
    (void)state;
    hold = following;
    struct view *v = film();
    struct fl_motion *m = pad();
    struct fl_clock straight, c;
    fl_clock_from_motion(&straight, &v->series, m, offset_s - 2, offset_s + SECONDS - 2);
    assert_true(fl_stick_try_responses(m, &v->series, offset_s - 2, offset_s + SECONDS - 2, NULL));
    fl_clock_from_motion(&c, &v->series, m, offset_s - 2, offset_s + SECONDS - 2);
    print_message("confidence %.2f, with a straight response %.2f\n", c.confidence,
                  straight.confidence);
    assert_true(c.known && c.confidence > straight.confidence + 0.05);
    assert_near(fl_clock_trace_time(&c, 20), 20 + offset_s - delay_s, 0.001);
    hold = stick_at;
    fl_motion_free(&m);
    free(v);
}

static void another_takes_stick_is_refused(void **state)
{
    (void)state;
    struct view *v = film();
    struct fl_motion *m = pad();
    struct fl_clock c;
    for (int i = 0; i < FRAMES / 2; i++) { /* backwards in time: as fast, but not this hand's */
        const double x = v->x[i], y = v->y[i];
        v->x[i] = v->x[FRAMES - 1 - i];
        v->y[i] = v->y[FRAMES - 1 - i];
        v->x[FRAMES - 1 - i] = x;
        v->y[FRAMES - 1 - i] = y;
    }
    fl_clock_from_motion(&c, &v->series, m, offset_s - 2, offset_s + SECONDS - 2);
    assert_false(c.known);
    assert_false(fl_stick_try_responses(m, &v->series, offset_s - 2, offset_s + SECONDS - 2, NULL));
    fl_motion_free(&m);
    free(v);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_stick_gives_a_clock),
        cmocka_unit_test(the_turn_rate_curve_is_the_games),
        cmocka_unit_test(a_stick_that_does_nothing_tells_nothing),
        cmocka_unit_test(a_stick_that_follows_gives_a_clock_too),
        cmocka_unit_test(another_takes_stick_is_refused),
    };
    return RUN_TESTS(tests);
}
