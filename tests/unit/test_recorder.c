#include "study/take/recorder.h"

#include <stdlib.h>

#include "fake_take.h"
#include "test.h"
#include "study/take/recorder_rhythm.h"

/* Twenty flicks at 120 frames/s; what matters is set by each test. */
static struct fl_take *take(bool torn, double base_on_hz, double base_off_hz)
{
    struct fl_take *t = fake_take(&(struct fake_settings){.id = "a",
                                                          .game = "g",
                                                          .counts_per_inch = 800,
                                                          .degrees_per_count = 0.044,
                                                          .v50_deg_s = 200,
                                                          .slope = 3,
                                                          .flicks = 20,
                                                          .seed = 5});
    t->torn = torn;
    t->states.base_rate_on_hz = base_on_hz;
    t->states.base_rate_off_hz = base_off_hz;
    t->recorder.device =
        (struct fl_device){.compared = 1000, .identical = 30, .alone = 10, .paired = 6};
    return t;
}

/* Judges and frees; -1: cannot be told. */
static long repeated(struct fl_take *t)
{
    fl_judge_recorder(t);
    long n = t->recorder.repeats_told ? t->repeated_frames : -1;
    fl_take_free(&t);
    return n;
}

/* Flips in state off, evenly spaced over the whole take. */
static struct fl_take *torn_at(double off_hz)
{
    struct fl_take *t = take(true, 70, off_hz);
    free(t->flips.v);
    t->flips.n = (size_t)(t->duration_s * off_hz);
    t->flips.v = FL_NEW(struct fl_flip, t->flips.n);
    for (size_t i = 0; i < t->flips.n; i++)
        t->flips.v[i].time_s = (double)i / off_hz;
    for (size_t i = 0; i < t->states.n_spans; i++)
        t->states.span[i].state = FL_STATE_OFF;
    return t;
}

/* A frame of a 120/s capture spans 8.3 ms; in torn footage none of its rows change only if no flip
 * falls within two of them less the blank, 15.9 ms or 1.9 periods: output above 63/s excludes that.
 */
static void torn_output_above_half_the_capture_rate_repeats_nothing(void **state)
{
    (void)state;
    assert_int_equal(repeated(torn_at(76)), 16);
    assert_int_equal(repeated(torn_at(64)), 16);
    assert_int_equal(repeated(torn_at(56)), -1);
    struct fl_take *t = torn_at(76);
    t->flips.n = 10; /* too few to know how long it holds a picture */
    assert_int_equal(repeated(t), -1);
    assert_int_equal(repeated(take(true, FL_UNKNOWN, FL_UNKNOWN)),
                     16);                                       /* on alone, every row new */
    assert_int_equal(repeated(take(true, 55, FL_UNKNOWN)), -1); /* a missed frame leaves 18 ms */
}

/* Untorn output at the capture rate repeats nothing while on, but in every second frame when it is
 * half; a lone repeat belongs to neither. At 100/s off itself repeats every sixth frame, alone. */
static void untorn_output_excludes_lone_repeats_only(void **state)
{
    (void)state;
    assert_int_equal(repeated(take(false, 60, 60)), 10);
    assert_int_equal(repeated(take(false, 60, 100)), -1);
    assert_int_equal(repeated(take(false, 55, 55)), -1); /* 110/s: one in twelve */
    struct fl_take *t = take(false, FL_UNKNOWN, FL_UNKNOWN);
    t->exposure.on_s = t->exposure.off_s = 0;
    assert_int_equal(repeated(t), -1);
}

static void a_local_recorder_takes_each_output_frame_once(void **state)
{
    (void)state;
    struct fl_take *t = take(false, 70, 76);
    t->spec.capture_local = true;
    assert_int_equal(repeated(t), 30);
}

/* A pan of 10 px a frame, seen on. */
static struct fl_take *pan(bool torn)
{
    struct fl_take *t = take(torn, 70, 76);
    for (long i = 0; i < t->frames; i++) {
        fl_take_shift(t).x_px[i] = 10;
        fl_take_shift(t).y_px[i] = 2;
        t->states.frame_state[i] = FL_STATE_ON;
    }
    return t;
}

static long jumps(struct fl_take *t)
{
    fl_judge_recorder(t);
    long n = t->recorder.jumps;
    fl_take_free(&t);
    return n;
}

static void lengthen(struct fl_take *t, long i, float times)
{
    fl_take_shift(t).x_px[i] *= times;
    fl_take_shift(t).y_px[i] *= times;
}

static void a_frame_lost_with_its_time_shows_as_a_double_step(void **state)
{
    (void)state;
    assert_int_equal(jumps(pan(true)), 0);
    struct fl_take *t = pan(true);
    lengthen(t, 100, 2);
    lengthen(t, 200, 3); /* two frames lost in a row */
    lengthen(t, 300, 2);
    t->states.frame_state[300] =
        FL_STATE_OFF; /* with synthesis off whole frames differ by as much */
    fl_judge_recorder(t);
    assert_true(t->recorder.jumps_told);
    assert_int_equal(t->recorder.jumps, 2);
    fl_take_free(&t);
}

static void what_is_no_lost_frame(void **state)
{
    (void)state;
    struct fl_take *t = pan(true);
    for (long i = 50; i < 200; i += 3)
        lengthen(t, i, 2); /* a rhythm: uneven pacing against the capture */
    assert_int_equal(jumps(t), 0);
    t = pan(true);
    for (long i = 0; i < t->frames;
         i++) /* a fast flick: at most a fifth more each frame, 1.2¹⁰ in all */
        lengthen(t, i, (float)pow(1.2, 10 * fabs(sin((double)i / 20))));
    assert_int_equal(jumps(t), 0);
    t = pan(true);
    lengthen(t, 100, 2);
    for (long i = 100; i < t->frames; i++)
        t->time_s[i] +=
            1 / t->capture_rate_hz; /* the gap is in the times: missing, not closed up */
    assert_int_equal(jumps(t), 0);
    t = pan(true);
    fl_take_shift(t).x_px[100] = -20; /* a wild shift */
    assert_int_equal(jumps(t), 0);
    t = pan(false);
    lengthen(t, 100, 2);
    fl_judge_recorder(t);
    assert_int_equal(t->recorder.jumps, 1);
    assert_false(t->recorder.jumps_told); /* the output may have skipped a picture */
    fl_take_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(torn_output_above_half_the_capture_rate_repeats_nothing),
        cmocka_unit_test(untorn_output_excludes_lone_repeats_only),
        cmocka_unit_test(a_local_recorder_takes_each_output_frame_once),
        cmocka_unit_test(a_frame_lost_with_its_time_shows_as_a_double_step),
        cmocka_unit_test(what_is_no_lost_frame),
    };
    return RUN_TESTS(tests);
}
