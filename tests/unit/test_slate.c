/* The slate in a trace: clicks and a shake, and what only looks like one. */
#include "trace/slate.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "maths/random.h"
#include "test.h"

static struct fl_trace trace;
static size_t cap;

static void event(double t, float dx, float dy, int button, int state)
{
    const struct fl_event e = {t, dx, dy, 0, button, state, NAN, NAN};
    FL_PUSH(trace.events, trace.n, cap, e);
    trace.has_motion |= dx != 0 || dy != 0;
}

static void begin(void)
{
    fl_trace_finish(&trace);
    cap = 0;
}

static void click(double t)
{
    event(t, 0, 0, 1, 1);
    event(t + 0.08, 0, 0, 1, 0);
}

/* Strokes to and fro along an axis, each of this many counts in 1 ms steps. */
static void shake(double t, int strokes, double stroke_s, double counts, bool down)
{
    const int steps = (int)lrint(1000 * stroke_s);
    for (int k = 0; k < strokes; k++)
        for (int i = 0; i < steps; i++) {
            const float step = (float)((k % 2 ? -1 : 1) * counts / steps);
            event(t + k * stroke_s + 0.001 * i, down ? 0 : step, down ? step : 0, 0, 0);
        }
}

static void a_slate_is_found(void **state)
{
    (void)state;
    for (int down = 0; down < 2; down++) {
        begin();
        shake(1, 3, 0.4, 900, false); /* play before it */
        click(5);
        click(5.5);
        click(6.1);
        shake(7, 8, 0.1, 300, down);
        shake(20, 20, 0.1, 300, down);
        const struct fl_slate s = fl_slate_find(&trace, 0);
        assert_true(s.found && s.clicks == 3);
        assert_near(s.first_click_s, 5, 1e-12);
        assert_near(s.last_click_s, 6.1, 1e-12);
        assert_int_equal(s.turns, 7);
        assert_true(s.shake_start_s > 7.1 && s.shake_start_s < 7.12);
        assert_true(s.shake_end_s > 7.7 && s.shake_end_s < 7.72);
        assert_false(fl_slate_find(&trace, 4).found);
    }
}

static void a_stick_shakes_too(void **state)
{
    (void)state;
    begin();
    for (int i = 0; i < 3; i++)
        event(1 + 0.4 * i, 0, 0, FL_PAD_BUTTON, 1);
    for (int i = 0; i < 250; i++) {
        event(3 + 0.004 * i, 0, 0, 0, 0);
        trace.events[trace.n - 1].stick_x = (float)sin(2 * M_PI * i / 60);
    }
    const struct fl_slate s = fl_slate_find(&trace, 3);
    assert_true(s.found && s.turns >= 6);
}

static void what_only_looks_like_one_is_none(void **state)
{
    (void)state;
    begin(); /* too few clicks */
    click(5);
    click(5.5);
    shake(7, 8, 0.1, 300, false);
    assert_false(fl_slate_find(&trace, 0).found);
    begin(); /* too slow a run of clicks */
    click(5);
    click(7);
    click(9);
    shake(10, 8, 0.1, 300, false);
    assert_false(fl_slate_find(&trace, 0).found);
    begin(); /* no shake in time */
    click(5);
    click(5.5);
    click(6);
    shake(12, 8, 0.1, 300, false);
    assert_false(fl_slate_find(&trace, 0).found);
    begin(); /* a tremble, and sweeps that are slow */
    click(5);
    click(5.5);
    click(6);
    shake(7, 20, 0.02, 6, false);
    shake(8, 8, 0.5, 900, false);
    assert_false(fl_slate_find(&trace, 0).found);
    begin(); /* play: clicks at will while the view sweeps at will */
    struct fl_random r;
    fl_random_seed(&r, 3);
    double t = 0;
    for (int i = 0; i < 400; i++) {
        const double move_s = 0.15 + 0.5 * fl_random_uniform(&r);
        shake(t, 1, move_s, (fl_random_below(&r, 2) ? 1 : -1) * 400 * fl_random_uniform(&r), false);
        if (fl_random_below(&r, 3) == 0)
            click(t + move_s);
        t += move_s + 0.1 + fl_random_uniform(&r);
    }
    assert_false(fl_slate_find(&trace, 0).found);
    begin();
    assert_false(fl_slate_find(&trace, 0).found);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_slate_is_found),
        cmocka_unit_test(a_stick_shakes_too),
        cmocka_unit_test(what_only_looks_like_one_is_none),
    };
    return RUN_TESTS(tests);
}
