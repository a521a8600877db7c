#include "signal/device.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "signal/stream.h"
#include "stills.h"
#include "test.h"

enum { W = 480, H = 272, FRAMES = 120 };
#define RATE 120.0

/* Where the camera stands at each frame, native px, and what the encoder adds to every pixel. */
struct script {
    int at[FRAMES], offset[FRAMES];
    bool key[FRAMES];
};

static struct fl_device film_held(const struct script *s, double longest_s)
{
    struct still world = still_texture(W + 512, H, 8, 3);
    struct fl_signal_stream *stream = fl_signals_open(W, H);
    double time_s[FRAMES];
    for (int i = 0; i < FRAMES; i++) {
        struct still now = still_part(&world, s->at[i], 0, W, H);
        for (int k = 0; k < W * H; k++) { /* grey levels of the texture stay well inside 0..255 */
            int v = now.luma[k] + s->offset[i];
            now.luma[k] = (uint8_t)(v < 0 ? 0 : v > 255 ? 255 : v);
        }
        fl_signals_push(stream, now.luma, W, s->key[i]);
        still_free(&now);
        time_s[i] = i / RATE;
    }
    struct fl_signals signals;
    struct fl_device d;
    fl_signals_finish(&stream, &signals);
    const struct fl_scan scan = {
        .n = FRAMES, .time_s = time_s, .period_s = 1 / RATE, .blank = FL_USUAL_BLANK};
    float *changes = fl_band_changes(&signals);
    fl_device_find(&d, &signals, changes, &scan, longest_s);
    free(changes);
    fl_signals_free(&signals);
    still_free(&world);
    return d;
}

static struct fl_device film(const struct script *s)
{
    return film_held(s, 0);
}

/* A pan of 8 px a frame with a new picture in every frame. */
static struct script pan(void)
{
    struct script s = {0};
    for (int i = 0; i < FRAMES; i++)
        s.at[i] = 8 * i;
    return s;
}

static void a_clean_pan_repeats_nothing(void **state)
{
    (void)state;
    struct script s = pan();
    struct fl_device d = film(&s);
    assert_true(d.compared > FRAMES * 3 / 4);
    assert_int_equal(d.identical, 0);
    assert_false(fl_known(d.rest_change)); /* it never rests */
    assert_false(fl_known(d.key_interval_s));
    assert_true(d.motion_change > 5);
}

/* The recorder holds a frame where the next was due; the one after is 16 px on. */
static void lone_repeats_are_found_one_by_one(void **state)
{
    (void)state;
    const int held[] = {20, 40, 41,
                        60, 84, 100}; /* 41 goes on with 40; all others over 60 ms apart */
    struct script s = pan();
    for (int k = 0; k < 6; k++)
        s.at[held[k]] = s.at[held[k] - 1];
    struct fl_device d = film(&s);
    assert_int_equal(d.identical, 6);
    assert_int_equal(d.alone, 6);
    assert_int_equal(d.paired, 0);
}

/* Rows that all stood still since the frame before had no flip for (2 - 0.045) capture
 * periods, 16.3 ms: output that holds a picture for 15 ms cannot, one that holds it for 17 ms can.
 */
static void what_the_output_holds_is_not_the_recorders(void **state)
{
    (void)state;
    struct script s = pan();
    s.at[60] = s.at[59];
    assert_int_equal(film_held(&s, 0.015).alone, 1);
    struct fl_device d = film_held(&s, 0.017);
    assert_int_equal(d.alone, 0);
    assert_int_equal(d.identical, 1);
    assert_int_equal(film_held(&s, FL_UNKNOWN).alone, 0);
}

/* A repeat that is coded as a key frame differs from the frame before by a grey level. */
static void a_key_frame_does_not_hide_a_repeat(void **state)
{
    (void)state;
    struct script s = pan();
    s.at[60] = s.at[59];
    s.key[60] = s.key[30] = true;
    for (int i = 60; i < FRAMES; i++)
        s.offset[i] = 1;
    struct fl_device d = film(&s);
    assert_int_equal(d.identical, 1);
    assert_near(d.key_interval_s, 0.25, 1e-9);
}

/* Output at half the capture rate, as synthesis off makes it: every second frame, in one group. */
static void a_rhythm_is_not_alone(void **state)
{
    (void)state;
    struct script s = pan();
    for (int i = 40; i < 60; i++)
        s.at[i] = s.at[i / 2 * 2];
    struct fl_device d = film(&s);
    assert_int_equal(d.identical, 10);
    assert_int_equal(d.alone + d.paired, 0);
    /* Two repeats four frames apart are a pair. */
    s = pan();
    s.at[50] = s.at[49];
    s.at[54] = s.at[53];
    d = film(&s);
    assert_int_equal(d.alone, 0);
    assert_int_equal(d.paired, 2);
}

/* Stops are no repeats, however short: the camera slows down before and speeds up after. */
static void a_scene_that_rests_repeats_nothing(void **state)
{
    (void)state;
    struct script s = {0};
    int speed = 0;
    for (int i = 1; i < FRAMES; i++) {
        speed = i % 40 < 10 ? speed + (speed < 10) : i % 40 < 30 ? speed - (speed > 0) : 0;
        s.at[i] = s.at[i - 1] + speed;
    }
    struct fl_device d = film(&s);
    assert_int_equal(d.identical, 0);
}

static void key_frames_jump_at_rest(void **state)
{
    (void)state;
    struct script s = {0};
    for (int i = 0; i < FRAMES; i++) {
        s.key[i] = i % 30 == 0;
        s.offset[i] = i / 30 % 2 ? 3 : 0; /* three levels up, three down */
    }
    struct fl_device d = film(&s);
    assert_int_equal(d.compared, 0);
    assert_near(d.rest_change, 0, 1e-6);
    assert_near(d.key_change, 3, 0.1); /* log code of a byte: 3 % steps */
    assert_near(d.key_interval_s, 0.25, 1e-9);
    assert_false(fl_known(d.motion_change));
}

static void nothing_is_known_of_nothing(void **state)
{
    (void)state;
    struct fl_signal_stream *stream = fl_signals_open(W, H);
    struct fl_signals s;
    fl_signals_finish(&stream, &s);
    struct fl_device d;
    const struct fl_scan scan = {.period_s = 1 / RATE, .blank = FL_USUAL_BLANK};
    fl_device_find(&d, &s, NULL, &scan, 0);
    assert_int_equal(d.compared, 0);
    assert_false(fl_known(d.rest_change) || fl_known(d.key_change) || fl_known(d.key_interval_s));
    fl_signals_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_clean_pan_repeats_nothing),
        cmocka_unit_test(lone_repeats_are_found_one_by_one),
        cmocka_unit_test(what_the_output_holds_is_not_the_recorders),
        cmocka_unit_test(a_key_frame_does_not_hide_a_repeat),
        cmocka_unit_test(a_rhythm_is_not_alone),
        cmocka_unit_test(a_scene_that_rests_repeats_nothing),
        cmocka_unit_test(key_frames_jump_at_rest),
        cmocka_unit_test(nothing_is_known_of_nothing),
    };
    return RUN_TESTS(tests);
}
