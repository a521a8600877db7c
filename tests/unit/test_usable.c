#include "study/take/usable.h"

#include <stdlib.h>
#include <string.h>

#include "fake_take.h"
#include "test.h"

/* A good take: 60 flicks in 92 s, torn, 120 frames/s, output 140/s on and 76/s off. */
static struct fl_take *good(void)
{
    struct fl_take *t = fake_take(&(struct fake_settings){.id = "good",
                                                          .game = "Glass Canyon",
                                                          .counts_per_inch = 800,
                                                          .degrees_per_count = 0.044,
                                                          .v50_deg_s = 200,
                                                          .slope = 3,
                                                          .slowest = 60,
                                                          .fastest = 1200,
                                                          .flicks = 60,
                                                          .seed = 5});
    t->n_warnings = 0;
    t->spec.trace = "invented.csv";
    t->recorder.trace_start_s = -1;
    t->recorder.trace_end_s = t->duration_s + 2;
    t->recorder.trace_report_hz = 1000;
    t->recorder.bits_per_px = 0.2;
    t->recorder.repeats_told = t->recorder.jumps_told = true;
    t->recorder.device = (struct fl_device){.compared = 2000,
                                            .key_interval_s = 2,
                                            .rest_change = 0.3,
                                            .key_change = 0.6,
                                            .motion_change = 9};
    return t;
}

/* Judges and frees. */
static struct fl_usable judge(struct fl_take *t)
{
    struct fl_usable u;
    fl_usable_judge(&u, t, false);
    fl_take_free(&t);
    return u;
}

static const struct fl_finding *find(const struct fl_usable *u, const char *code)
{
    for (int i = 0; i < u->n; i++)
        if (!strcmp(u->finding[i].code, code))
            return &u->finding[i];
    return NULL;
}

static bool says(const struct fl_usable *u, const char *code, enum fl_finding_kind kind,
                 const char *word)
{
    const struct fl_finding *v = find(u, code);
    return v && v->kind == kind && *v->change &&
           (strstr(v->found, word) || strstr(v->change, word));
}

static void interlaced_footage_is_unusable(void **state)
{
    (void)state;
    struct fl_take *t = good();
    fl_take_warn(t, "interlaced", "The odd rows show another moment than the even ones.");
    struct fl_usable u = judge(t);
    assert_int_equal(fl_usable_verdict(&u), FL_UNUSABLE);
    assert_true(says(&u, "interlaced", FL_UNUSABLE, "progressively"));
    int notes = 0;
    for (int i = 0; i < u.n; i++)
        notes += u.finding[i].kind == FL_NOTE;
    assert_int_equal(notes, 0); /* said once */
}

static void a_picture_half_covered_is_said(void **state)
{
    (void)state;
    struct fl_take *t = good();
    t->recorder.covered = (struct fl_covered){0.2, 0};
    struct fl_usable u = judge(t);
    assert_int_equal(u.n, 0);
    t = good();
    t->recorder.covered = (struct fl_covered){0.5, 0.2};
    u = judge(t);
    assert_true(says(&u, "left_out", FL_ADVICE, "50 %"));
}

static void a_good_take_needs_nothing(void **state)
{
    (void)state;
    struct fl_usable u = judge(good());
    assert_int_equal(u.n, 0);
    assert_string_equal(fl_verdict_text(fl_usable_verdict(&u)), "usable");
    const struct fl_usable_facts *f = &u.facts;
    assert_near(f->on_output_hz, 140, 1e-9); /* the fake's base rate of 70/s, doubled */
    assert_near(f->off_output_hz, 76, 1e-9);
    assert_int_equal(f->told, FL_TOLD_YES);
    assert_false(f->on_above_capture);
    assert_near(f->trace_share, 1, 1e-9);
    assert_near(f->longest_gap_s, 1 / 120.0, 1e-6);
    /* The fake is on or off for all of each flick; at its ends a mean over 50 ms reaches into the
     * rest. */
    assert_true(f->seen_share > 0.85 && f->seen_share <= 1);
    assert_true(f->moving_s > 5 && f->moving_s < 60 * 0.35);
}

static void mark(struct fl_take *t, const char *reason)
{
    for (size_t i = 0; i < t->states.n_spans; i++) {
        t->states.span[i].state = FL_STATE_UNSEEN;
        t->states.span[i].reason = reason;
    }
    for (size_t i = 0; i < t->states.n_frames; i++)
        t->states.frame_state[i] = FL_STATE_UNSEEN;
    t->exposure.unseen_s += t->exposure.on_s + t->exposure.off_s;
    t->exposure.on_s = t->exposure.off_s = 0;
    t->states.base_rate_on_hz = t->states.base_rate_off_hz = FL_UNKNOWN;
}

/* Each reason why nothing is known names itself and something that helps. */
static void what_cannot_be_known_is_unusable(void **state)
{
    (void)state;
    /* 120/1.06 = 113.2: off leaves still rows below it only. */
    const char *const reasons[][3] = {{"rates", "rates", "113/s"},
                                      {"ambiguous", "ambiguous", "--disabled"},
                                      {"still", "unseen", "detail"}};
    for (size_t i = 0; i < 3; i++) {
        struct fl_take *t = good();
        mark(t, reasons[i][0]);
        struct fl_usable u = judge(t);
        assert_int_equal(fl_usable_verdict(&u), FL_UNUSABLE);
        assert_string_equal(u.finding[0].code, reasons[i][1]);
        assert_true(says(&u, reasons[i][1], FL_UNUSABLE, reasons[i][2]));
        assert_int_equal(u.facts.told, i ? FL_TOLD_UNKNOWN : FL_TOLD_NO);
        for (int k = 1; k < u.n; k++)
            assert_int_not_equal(u.finding[k].kind, FL_UNUSABLE);
    }
}

static void too_little_is_unusable(void **state)
{
    (void)state;
    struct fl_take *t = good();
    struct fl_take_shift shift = fl_take_shift(t);
    for (long i = 0; i < t->frames; i++)
        shift.x_px[i] = shift.y_px[i] = 0;
    mark(t, "still");
    struct fl_usable u = judge(t);
    assert_true(says(&u, "no_motion", FL_UNUSABLE, "flicks"));
    t = good();
    t->frames = 29;
    u = judge(t);
    assert_true(says(&u, "few_frames", FL_UNUSABLE, "29"));
    t = good();
    t->capture_rate_hz = 30; /* slower than any base rate from 40/s up */
    u = judge(t);
    assert_true(says(&u, "slow_capture", FL_UNUSABLE, "120"));
    assert_string_equal(fl_verdict_text(fl_usable_verdict(&u)), "unusable");
}

static void faults_of_the_recorder_limit(void **state)
{
    (void)state;
    struct fl_take *t = good();
    t->missing_frames = t->frames / 20;
    t->repeated_frames = 100;
    t->recorder.jumps = 50;
    struct fl_usable u = judge(t);
    assert_int_equal(fl_usable_verdict(&u), FL_LIMIT);
    assert_true(says(&u, "dropped", FL_LIMIT, "4.8 %")); /* 1/21 */
    assert_true(says(&u, "repeated", FL_LIMIT, "100 of 2000"));
    assert_true(says(&u, "renumbered", FL_LIMIT, "50 times"));
    t = good();
    t->recorder.jumps = 50;
    t->recorder.jumps_told = false;
    u = judge(t);
    assert_null(find(&u, "renumbered"));
}

static void coding_is_judged_by_what_motion_changes(void **state)
{
    (void)state;
    struct fl_take *t = good();
    t->recorder.device.key_change = 3; /* a third of 9 */
    struct fl_usable u = judge(t);
    assert_true(says(&u, "pumping", FL_ADVICE, "33 %"));
    assert_true(says(&u, "pumping", FL_ADVICE, "now 0.2 bits a pixel"));
    assert_null(find(&u, "seen_little"));
    t = good();
    t->recorder.device.key_change = 3;
    t->recorder.bits_per_px = FL_UNKNOWN; /* a stream that still comes */
    u = judge(t);
    assert_true(says(&u, "pumping", FL_ADVICE, "raise the bit rate or record"));
    t = good();
    t->recorder.device.rest_change = 6;
    for (size_t i = 0; i < t->states.n_frames;
         i++) /* now it does harm: half of the motion is not told */
        t->states.frame_state[i] = i % 2 ? t->states.frame_state[i] : FL_STATE_UNSEEN;
    u = judge(t);
    assert_true(says(&u, "noise", FL_LIMIT, "67 %"));
    assert_true(says(&u, "seen_little", FL_LIMIT, "moving time"));
    t = good();
    mark(t, "ambiguous");
    t->recorder.bits_per_px = 0.005; /* then the encode is the first thing to change */
    u = judge(t);
    assert_true(says(&u, "ambiguous", FL_UNUSABLE, "raise the bit rate"));
    t = good();
    t->recorder.device.rest_change = t->recorder.device.key_change = FL_UNKNOWN;
    u = judge(t);
    assert_int_equal(u.n, 0);
}

static void a_trace_that_does_not_fit_limits(void **state)
{
    (void)state;
    struct fl_take *t = good();
    t->clock.known = false;
    snprintf(t->clock.refused, sizeof t->clock.refused, "picture and trace disagree");
    t->recorder.trace_gaps = 3;
    struct fl_usable u = judge(t);
    assert_true(says(&u, "clock_refused", FL_LIMIT, "picture and trace disagree"));
    assert_true(says(&u, "trace_gaps", FL_LIMIT, "3 times"));
    assert_false(fl_known(u.facts.trace_share));
    t = good();
    t->clock.drift_ppm = 0;
    t->recorder.trace_end_s = t->clock.offset_s + t->duration_s / 2;
    u = judge(t);
    assert_near(u.facts.trace_share, 0.5, 1e-6);
    assert_true(says(&u, "trace_short", FL_LIMIT, "50 %"));
    t = good();
    t->spec.trace = NULL;
    t->clock.known = false;
    u = judge(t);
    assert_int_equal(u.n, 0);
}

static void uneven_times_ask_for_local(void **state)
{
    (void)state;
    struct fl_take *t = good();
    t->constant_rate = false;
    struct fl_usable u = judge(t);
    assert_true(says(&u, "uneven_times", FL_LIMIT, "--local"));
    t = good();
    t->constant_rate = false;
    t->spec.capture_local = true;
    u = judge(t);
    assert_null(find(&u, "uneven_times"));
}

static void one_state_alone_limits(void **state)
{
    (void)state;
    struct fl_take *t = good();
    t->exposure.off_s = 0;
    t->states.base_rate_off_hz = FL_UNKNOWN;
    struct fl_usable u = judge(t);
    assert_true(says(&u, "never_off", FL_LIMIT, "faster"));
    assert_int_equal(u.facts.told, FL_TOLD_YES); /* off is expected at 70/s, under 113/s */
    t = good();
    t->exposure.on_s = 0;
    t->states.base_rate_off_hz = 118; /* on would be faster still */
    u = judge(t);
    assert_true(says(&u, "never_on", FL_LIMIT, "--disabled"));
    assert_int_equal(u.facts.told, FL_TOLD_NO);
}

static void tears_that_stand_still_are_named(void **state)
{
    (void)state;
    struct fl_take *t = good();
    t->states.base_rate_on_hz = 59.8; /* output at 119.6/s against 120 */
    struct fl_usable u = judge(t);
    assert_true(says(&u, "standing_tears", FL_LIMIT, "119.6"));
}

/* States known above 10 px a frame alone: the speed from which they are told is within a step of a
 * quarter octave, and less than one for the mean over 50 ms. */
static void the_speed_that_tells_is_measured(void **state)
{
    (void)state;
    struct fl_take *t = good();
    struct fl_take_shift shift = fl_take_shift(t);
    for (long i = 0; i < t->frames; i++)
        t->states.frame_state[i] =
            hypot(shift.x_px[i], shift.y_px[i]) > 10 ? FL_STATE_ON : FL_STATE_UNSEEN;
    struct fl_usable u = judge(t);
    assert_true(u.facts.told_from_px > 10 / exp2(0.5) && u.facts.told_from_px < 10 * exp2(0.5));
    /* 640 px is the fake's focal length, so 1 px is 1/640 rad, at 120 frames/s. */
    assert_near(u.facts.told_from_deg_s, atan(u.facts.told_from_px / 640) * 180 / FL_PI * 120,
                1e-6);
}

static void the_first_seconds_are_not_short(void **state)
{
    (void)state;
    struct fl_take *t = good();
    t->duration_s = 8;
    t->n_flicks = 4;
    t->recorder.trace_end_s = 100;
    struct fl_usable part, whole;
    fl_usable_judge(&part, t, true);
    fl_usable_judge(&whole, t, false);
    fl_take_free(&t);
    assert_null(find(&part, "short"));
    assert_null(find(&part, "few_flicks"));
    assert_true(says(&whole, "short", FL_ADVICE, "8.0 s"));
    assert_string_equal(fl_verdict_text(fl_usable_verdict(&whole)),
                        "usable"); /* advice takes nothing away */
}

static void warnings_are_passed_on_once(void **state)
{
    (void)state;
    struct fl_take *t = good();
    t->clock.known = false;
    fl_take_warn(t, "clock_refused", "said already");
    fl_take_warn(t, "footage", "3 damaged frames skipped");
    struct fl_usable u = judge(t);
    assert_int_equal(u.n, 2);
    assert_int_equal(u.finding[0].kind, FL_LIMIT);
    assert_int_equal(u.finding[1].kind, FL_NOTE);
    assert_string_equal(u.finding[1].found, "3 damaged frames skipped");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(interlaced_footage_is_unusable),
        cmocka_unit_test(a_good_take_needs_nothing),
        cmocka_unit_test(a_picture_half_covered_is_said),
        cmocka_unit_test(what_cannot_be_known_is_unusable),
        cmocka_unit_test(too_little_is_unusable),
        cmocka_unit_test(faults_of_the_recorder_limit),
        cmocka_unit_test(coding_is_judged_by_what_motion_changes),
        cmocka_unit_test(a_trace_that_does_not_fit_limits),
        cmocka_unit_test(uneven_times_ask_for_local),
        cmocka_unit_test(one_state_alone_limits),
        cmocka_unit_test(tears_that_stand_still_are_named),
        cmocka_unit_test(the_speed_that_tells_is_measured),
        cmocka_unit_test(the_first_seconds_are_not_short),
        cmocka_unit_test(warnings_are_passed_on_once),
    };
    return RUN_TESTS(tests);
}
