/* Linux evdev streams against the kernel's own headers and its documented rules. */
#include <linux/input.h>
#include <stdlib.h>
#include <string.h>

#include "test.h"
#include "trace/evdev_packet.h"
#include "trace_files.h"

static void numbers_are_the_kernels(void **state)
{
    (void)state;
    assert_int_equal(sizeof(struct input_event), 24);
    const int ours[] = {FL_EV_SYN,      FL_EV_KEY,   FL_EV_REL,    FL_EV_ABS,
                        FL_SYN_REPORT,  FL_REL_X,    FL_REL_Y,     FL_REL_WHEEL,
                        FL_SYN_DROPPED, FL_BTN_DIGI, FL_BTN_MOUSE, FL_REL_WHEEL_FINE,
                        FL_BTN_GAMEPAD, FL_EV_MOST,  FL_AXIS_RX,   FL_BTN_TRIGGER_HAPPY,
                        FL_AXIS_RZ,     FL_AXIS_X,   FL_AXIS_Z,    FL_EV_CODE_MOST,
                        FL_BTN_JOYSTICK};
    const int theirs[] = {EV_SYN,      EV_KEY,   EV_REL,    EV_ABS,
                          SYN_REPORT,  REL_X,    REL_Y,     REL_WHEEL,
                          SYN_DROPPED, BTN_DIGI, BTN_MOUSE, REL_WHEEL_HI_RES,
                          BTN_GAMEPAD, EV_MAX,   ABS_RX,    BTN_TRIGGER_HAPPY,
                          ABS_RZ,      ABS_X,    ABS_Z,     KEY_MAX,
                          BTN_JOYSTICK};
    assert_memory_equal(ours, theirs, sizeof ours);
    assert_int_equal(fl_evdev_button(BTN_LEFT), 1);
    assert_int_equal(fl_evdev_button(BTN_EXTRA), 5);
    assert_int_equal(fl_evdev_button(BTN_SOUTH), FL_PAD_BUTTON);
    assert_int_equal(fl_evdev_button(KEY_A), 0);
    assert_int_equal(fl_evdev_button(BTN_TOUCH), 0);
}

/* CHECKS L-2: compiled and printed with the kernel's header. */
static void the_sample_of_72_bytes(void **state)
{
    (void)state;
    struct bytes b = {0};
    put_hex(&b, "00f153650000000040e201000000000002000000feffffff"
                "00f153650000000040e20100000000000200010003000000"
                "00f153650000000040e20100000000000000000000000000");
    assert_int_equal(b.n, 72);
    struct fl_trace t = read_bytes(&b, NULL);
    assert_string_equal(t.format, "evdev");
    assert_int_equal(t.n, 1);
    assert_near(t.events[0].time_s, 1700000000.123456, 1e-15);
    assert_true(t.events[0].dx == -2 && t.events[0].dy == 3);
    assert_true(t.has_motion && !t.has_buttons && !t.has_stick && !t.cut);
    fl_trace_finish(&t);
    bytes_free(&b);
}

static void motion(struct bytes *b, bool narrow, uint64_t us, int dx, int dy)
{
    if (dx)
        put_input_event(b, narrow, us, EV_REL, REL_X, dx);
    if (dy)
        put_input_event(b, narrow, us, EV_REL, REL_Y, dy);
    put_input_event(b, narrow, us, EV_SYN, SYN_REPORT, 0);
}

static void both_widths_read_alike(void **state)
{
    (void)state;
    for (int narrow = 0; narrow < 2; narrow++) {
        struct bytes b = {0};
        for (int i = 0; i < 3000; i++)
            motion(&b, narrow, 5000000 + 1000u * (unsigned)i, i % 7 - 3, i % 5);
        put_input_event(&b, narrow, 9000000, EV_MSC, MSC_SCAN, 0x90001);
        put_input_event(&b, narrow, 9000000, EV_KEY, BTN_LEFT, 1);
        put_input_event(&b, narrow, 9000000, EV_KEY, BTN_RIGHT, 1);
        put_input_event(&b, narrow, 9000000, EV_KEY, KEY_A, 1);
        put_input_event(&b, narrow, 9000000, EV_REL, REL_X, -9);
        motion(&b, narrow, 9000000, 0, 0);
        put_input_event(&b, narrow, 9100000, EV_KEY, BTN_LEFT, 2); /* a repeat is no event */
        put_input_event(&b, narrow, 9100000, EV_KEY, BTN_LEFT, 0);
        motion(&b, narrow, 9100000, 0, 0);
        struct fl_trace t = read_bytes(&b, NULL);
        double x = 0, y = 0;
        for (size_t i = 0; i < t.n; i++) {
            x += (double)t.events[i].dx;
            y += (double)t.events[i].dy;
        }
        assert_near(x, -3 - 2 - 1 + 0 - 9, 1e-12); /* 428 rounds of 7, and 4 */
        assert_near(y, 600 * (0 + 1 + 2 + 3 + 4), 1e-12);
        const struct fl_event *e = t.events + t.n - 3;
        assert_near(e[0].time_s, 9, 1e-15);
        assert_true(e[0].button == 1 && e[0].state == 1 && e[0].dx == -9);
        assert_true(e[1].button == 2 && e[1].state == 1 && e[1].time_s > e[0].time_s);
        assert_true(e[2].button == 1 && e[2].state == 0);
        assert_near(t.report_rate_hz, 1000, 1e-6);
        fl_trace_finish(&t);
        bytes_free(&b);
    }
}

/* Kernel Documentation/input/event-codes.rst: after SYN_DROPPED all events up to and including the
 * next SYN_REPORT are to be ignored. */
static void after_syn_dropped_events_are_ignored(void **state)
{
    (void)state;
    struct bytes b = {0};
    motion(&b, false, 1000000, 5, 0);
    put_input_event(&b, false, 1001000, EV_SYN, SYN_DROPPED, 0);
    put_input_event(&b, false, 1001000, EV_REL, REL_X, 100);
    put_input_event(&b, false, 1001000, EV_REL, REL_Y, 100);
    put_input_event(&b, false, 1001000, EV_SYN, SYN_REPORT, 0);
    motion(&b, false, 1002000, 7, 1);
    struct fl_trace t = read_bytes(&b, NULL);
    assert_int_equal(t.n, 2);
    assert_true(t.events[0].dx == 5 && t.events[1].dx == 7 && t.events[1].dy == 1);
    assert_int_equal(t.lost, 1);
    assert_non_null(strstr(note_of(&t, "trace_lost"), "1 time"));
    fl_trace_finish(&t);
    bytes_free(&b);
}

static void wheels_count_in_steps_coarse_or_fine(void **state)
{
    (void)state;
    struct bytes b = {0};
    put_input_event(&b, false, 1000000, EV_REL, REL_WHEEL, -1);
    motion(&b, false, 1000000, 0, 0);
    put_input_event(&b, false, 2000000, EV_REL, REL_WHEEL_HI_RES, 30);
    motion(&b, false, 2000000, 0, 0);
    put_input_event(&b, false, 3000000, EV_REL, REL_WHEEL_HI_RES, 120);
    put_input_event(&b, false, 3000000, EV_REL, REL_WHEEL, 1);
    motion(&b, false, 3000000, 1, 0);
    struct fl_trace t = read_bytes(&b, NULL);
    assert_int_equal(t.n, 3);
    assert_true(t.events[0].wheel == -1 && t.events[1].wheel == 0.25F && t.events[2].wheel == 1);
    fl_trace_finish(&t);
    bytes_free(&b);
}

static void interleaved_devices_are_sorted_and_a_clock_set_back_is_dropped(void **state)
{
    (void)state;
    struct bytes b = {0};
    motion(&b, false, 10000000, 1, 0);
    motion(&b, false, 10400000, 2, 0);
    motion(&b, false, 10200000, 4, 0); /* another device, read later */
    motion(&b, false, 10400000, 8, 0);
    motion(&b, false, 5000000, 16, 0); /* the clock was set back */
    motion(&b, false, 10500000, 32, 0);
    struct fl_trace t = read_bytes(&b, NULL);
    const double want[] = {1, 4, 10, 32};
    assert_int_equal(t.n, 4);
    for (int i = 0; i < 4; i++) {
        assert_true((double)t.events[i].dx == want[i]);
        assert_true(i == 0 || t.events[i].time_s > t.events[i - 1].time_s);
    }
    assert_int_equal(t.merged, 1);
    assert_int_equal(t.backward, 1);
    assert_non_null(note_of(&t, "trace_backward"));
    fl_trace_finish(&t);
    bytes_free(&b);
}

static void what_is_cut_or_broken_keeps_what_came_before(void **state)
{
    (void)state;
    struct bytes b = {0};
    for (int i = 0; i < 300; i++)
        motion(&b, false, 1000000 + 1000u * (unsigned)i, 1, 1);
    const size_t whole = b.n;
    put_le(&b, 0x1234, 5);
    struct fl_trace t = read_bytes(&b, NULL);
    assert_true(t.n == 300 && t.cut == 1);
    fl_trace_finish(&t);
    b.n = whole - 24; /* the last report has no end */
    t = read_bytes(&b, NULL);
    assert_true(t.n == 299 && t.cut == 1);
    fl_trace_finish(&t);
    b.n = whole;
    put_input_event(&b, false, 1300000, 77, REL_X, 1); /* no such type */
    motion(&b, false, 1400000, 1, 1);
    t = read_bytes(&b, NULL);
    assert_true(t.n == 300 && t.cut == 0);
    assert_non_null(strstr(note_of(&t, "trace_broken"), "Record 901 "));
    fl_trace_finish(&t);
    bytes_free(&b);
}

static void refuse(struct bytes *b, const char *part)
{
    struct fl_error err = {0};
    struct fl_trace t = read_bytes(b, &err);
    assert_null(t.events);
    if (!err.code || !strstr(err.text, part))
        fail_msg("'%s' lacks '%s'", err.text, part);
    bytes_free(b);
}

static void what_holds_no_pointing_device_is_refused(void **state)
{
    (void)state;
    struct bytes b = {0};
    for (int i = 0; i < 10; i++) {
        put_input_event(&b, false, 1000000, EV_KEY, KEY_A + i, 1);
        put_input_event(&b, false, 1000000, EV_SYN, SYN_REPORT, 0);
    }
    refuse(&b, "none of a mouse");
    put_hex(&b, "00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00");
    refuse(&b, "no trace that is known");
    put(&b, "\xFF\xFEt\0i\0m\0e\0", 10);
    refuse(&b, "UTF-16");
}

static void axis(struct bytes *b, uint64_t us, int code, int value)
{
    put_input_event(b, false, us, EV_ABS, code, value);
    put_input_event(b, false, us, EV_SYN, SYN_REPORT, 0);
}

/* A pad with a left stick that rests, triggers on Z and Rz, and a right stick on Rx and Ry that
 * rests off its centre and turns once around. */
static void the_right_stick_is_found_with_its_centre(void **state)
{
    (void)state;
    struct bytes b = {0};
    const int rest = 900;
    axis(&b, 1000000, ABS_X, 10);
    axis(&b, 1000000, ABS_Y, -10);
    axis(&b, 1001000, ABS_Z, 0);
    axis(&b, 1001000, ABS_RZ, 0);
    axis(&b, 1002000, ABS_RX, rest);
    axis(&b, 1002000, ABS_RY, -rest);
    for (int i = 0; i <= 360; i++) {
        const double a = i * M_PI / 180, away = sin(i * M_PI / 360);
        const uint64_t us = 6000000 + 4000u * (unsigned)i;
        put_input_event(&b, false, us, EV_ABS, ABS_RX, (int)lrint(rest + away * 31868 * cos(a)));
        put_input_event(&b, false, us, EV_ABS, ABS_RY, (int)lrint(-rest + away * 31868 * sin(a)));
        put_input_event(&b, false, us, EV_SYN, SYN_REPORT, 0);
    }
    axis(&b, 8000000, ABS_Z, 255);
    axis(&b, 8100000, ABS_Z, 0);
    axis(&b, 12000000, ABS_X, 11);
    struct fl_trace t = read_bytes(&b, NULL);
    assert_true(t.has_stick && !t.has_motion);
    assert_string_equal(t.stick.name, "Rx, Ry");
    assert_true(t.stick.guessed && note_of(&t, "stick_range"));
    assert_near(t.stick.low[0], -32768, 1e-12);
    assert_near(t.stick.high[1], 32767, 1e-12);
    assert_near(t.stick.centre[0], rest, 0.01);
    assert_near(t.stick.centre[1], -rest, 0.01);
    const struct fl_event *half = NULL;
    for (size_t i = 0; i < t.n; i++)
        if (fabs(t.events[i].time_s - 6.72) < 1e-9)
            half = &t.events[i]; /* half way round: full left */
    assert_non_null(half);
    assert_near((double)half->stick_x, -31868.0 / (32768 + rest), 1e-3);
    assert_near((double)half->stick_y, 0, 1e-3);
    fl_trace_finish(&t);
    bytes_free(&b);
}

static void triggers_and_touch_pads_are_no_sticks(void **state)
{
    (void)state;
    struct bytes b = {0};
    for (int i = 0; i < 50; i++) {
        axis(&b, 1000000 + 100000u * (unsigned)i, ABS_Z, i % 10 == 9 ? 255 : i % 10 == 8 ? 130 : 0);
        axis(&b, 1000000 + 100000u * (unsigned)i, ABS_RZ, 0);
    }
    motion(&b, false, 9000000, 3, 0);
    struct fl_trace t = read_bytes(&b, NULL);
    assert_false(t.has_stick);
    assert_non_null(note_of(&t, "no_stick"));
    fl_trace_finish(&t);
    bytes_free(&b);
    for (int i = 0; i < 50; i++) {
        put_input_event(&b, false, 1000000 + 10000u * (unsigned)i, EV_ABS, ABS_X,
                        500 + 40 * (i % 9));
        put_input_event(&b, false, 1000000 + 10000u * (unsigned)i, EV_ABS, ABS_Y, 500);
        put_input_event(&b, false, 1000000 + 10000u * (unsigned)i, EV_KEY, BTN_TOUCH, i % 2);
        put_input_event(&b, false, 1000000 + 10000u * (unsigned)i, EV_SYN, SYN_REPORT, 0);
    }
    motion(&b, false, 9000000, 3, 0);
    t = read_bytes(&b, NULL);
    assert_false(t.has_stick);
    assert_non_null(note_of(&t, "trace_touch"));
    fl_trace_finish(&t);
    bytes_free(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_are_the_kernels),
        cmocka_unit_test(the_sample_of_72_bytes),
        cmocka_unit_test(both_widths_read_alike),
        cmocka_unit_test(after_syn_dropped_events_are_ignored),
        cmocka_unit_test(wheels_count_in_steps_coarse_or_fine),
        cmocka_unit_test(interleaved_devices_are_sorted_and_a_clock_set_back_is_dropped),
        cmocka_unit_test(what_is_cut_or_broken_keeps_what_came_before),
        cmocka_unit_test(what_holds_no_pointing_device_is_refused),
        cmocka_unit_test(the_right_stick_is_found_with_its_centre),
        cmocka_unit_test(triggers_and_touch_pads_are_no_sticks),
    };
    return RUN_TESTS(tests);
}
