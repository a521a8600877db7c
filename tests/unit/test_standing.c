/* Settings while one more take of one is recorded: what is said of V50 is what the study says of
 * all takes together, and the next minute goes where least is known. */
#include "study/plan/standing.h"

#include <string.h>

#include "fake_take.h"
#include "study/curve/curve.h"
#include "test.h"

#define WANTED 0.2

static struct fl_take *take_of(const char *id, const char *game, double v50, int flicks,
                               uint64_t seed)
{
    return fake_take(&(struct fake_settings){.id = id,
                                             .game = game,
                                             .condition = "default",
                                             .counts_per_inch = 800,
                                             .degrees_per_count = 0.044,
                                             .v50_deg_s = v50,
                                             .slope = 20,
                                             .take_sd_octaves = 0.03,
                                             .flicks = flicks,
                                             .camera_only = true,
                                             .flicks_only = true,
                                             .seed = seed});
}

static const struct fl_curve *curve_of(const struct fl_session *s, const char *game)
{
    for (size_t i = 0; i < s->n_curves; i++)
        if (!s->curves[i].pooled && !strcmp(s->curves[i].game, game) &&
            s->curves[i].quantity == FL_CAMERA_SPEED)
            return &s->curves[i];
    return NULL;
}

static void play(struct fl_standing *st, const struct fl_take *t)
{
    for (size_t i = 0; i < t->n_flicks; i++)
        if (t->flicks[i].at_risk == FL_YES && t->flicks[i].tripped != FL_ANSWER_UNKNOWN)
            fl_standing_add(st, t->flicks[i].peak[FL_CAMERA_SPEED], t->flicks[i].tripped == FL_YES);
}

/* With one setting in the session, flick after flick comes to what the study makes of the whole
 * take. */
static void says_what_the_study_will(void **state)
{
    (void)state;
    struct fl_session *before = fl_session_new("before"), *after = fl_session_new("after");
    struct fl_standing st;
    struct fl_take *seen = take_of("c", "canyon", 210, 30, 3);
    const char *const ids[] = {"a", "b"};
    for (uint64_t i = 0; i < 2; i++) {
        fl_session_add(before, take_of(ids[i], "canyon", 210, 30, 1 + i));
        fl_session_add(after, take_of(ids[i], "canyon", 210, 30, 1 + i));
    }
    fl_session_add(after, take_of("c", "canyon", 210, 30, 3));
    fl_plan_study(before);
    fl_plan_study(after);
    assert_int_equal(fl_standing_init(&st, before, "b", WANTED, NULL), FLINCH_OK);
    const struct fl_curve *c = curve_of(before, "canyon");
    assert_int_equal(st.n, 1);
    assert_string_equal(st.setting[0].id, "b");
    assert_int_equal(st.setting[0].takes, 2);
    assert_float_equal(st.setting[0].v50, c->v50, 0.01 * c->v50);
    assert_float_equal(st.setting[0].low, c->v50_low, 0.02 * c->v50);
    assert_float_equal(st.setting[0].high, c->v50_high, 0.02 * c->v50);
    play(&st, seen);
    c = curve_of(after, "canyon");
    assert_int_equal(st.setting[0].takes, 3);
    assert_int_equal(st.setting[0].flicks, c->flicks);
    assert_int_equal(st.setting[0].trips, c->trips);
    assert_float_equal(st.setting[0].v50, c->v50, 0.01 * c->v50);
    assert_float_equal(st.setting[0].low, c->v50_low, 0.02 * c->v50);
    assert_float_equal(st.setting[0].high, c->v50_high, 0.02 * c->v50);
    assert_float_equal(st.setting[0].width, fl_forecast_width_now(c), 0.02);
    fl_standing_finish(&st);
    fl_take_free(&seen);
    fl_session_free(&before);
    fl_session_free(&after);
}

/* Four takes of one game and one short one of another: the next minute is the other's; once that
 * one has been recorded for long, nothing is told by it that it would not tell of any. */
static void the_next_minute_goes_where_least_is_known(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("two");
    struct fl_standing st;
    struct fl_error err;
    const char *const ids[] = {"a", "b", "c", "d"};
    for (uint64_t i = 0; i < 4; i++)
        fl_session_add(s, take_of(ids[i], "canyon", 210, 40, 1 + i));
    fl_session_add(s, take_of("short", "reef", 400, 4, 9));
    fl_plan_study(s);
    assert_int_equal(fl_standing_init(&st, s, "b", WANTED, &err), FLINCH_OK);
    assert_int_equal(st.n, 2);
    assert_string_equal(st.setting[st.now].game, "canyon");
    assert_true(st.setting[st.now].enough);
    assert_int_equal(st.finished, 1);
    assert_string_equal(st.setting[st.next].id, "short");
    assert_true(st.setting[st.next].bits > 0.3);
    fl_standing_finish(&st);

    assert_int_equal(fl_standing_init(&st, s, "none", WANTED, &err), FLINCH_ERR_USAGE);
    assert_non_null(strstr(err.text, "no take 'none'"));
    fl_standing_finish(&st);
    fl_session_free(&s);
}

/* A game without the feature's cut-off: nothing trips, however often it is tried. Time is better
 * spent on one that a minute can tell something of. */
static void what_never_trips_does_not_take_all_the_time(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("never");
    struct fl_standing st;
    for (uint64_t i = 0; i < 3; i++)
        fl_session_add(s, take_of(i ? i > 1 ? "n3" : "n2" : "n1", "calm", 1e5, 40, 1 + i));
    fl_session_add(s, take_of("r1", "reef", 300, 12, 7));
    fl_plan_study(s);
    assert_int_equal(fl_standing_init(&st, s, "n1", WANTED, NULL), FLINCH_OK);
    assert_true(isnan(st.setting[st.now].v50) && isnan(st.setting[st.now].high));
    assert_true(isinf(st.setting[st.now].width));
    assert_string_equal(st.setting[st.next].id, "r1");
    fl_standing_finish(&st);
    fl_session_free(&s);
}

/* Earlier takes tell the next speed from the first flick on. */
static void earlier_takes_tell_the_first_speed(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("known");
    struct fl_standing st;
    struct fl_next_speed n;
    struct fl_next_speed_answer a;
    for (uint64_t i = 0; i < 3; i++)
        fl_session_add(s, take_of(i ? i > 1 ? "c" : "b" : "a", "fast", 700, 40, 1 + i));
    fl_plan_study(s);
    assert_int_equal(fl_standing_init(&st, s, "a", WANTED, NULL), FLINCH_OK);
    fl_next_speed_init(&n);
    fl_standing_expect(&st, &n);
    fl_next_speed_answer(&n, WANTED, &a);
    assert_true(a.next > 500 && a.next < 980); /* half an octave about 700 */
    /* A take that is wholly unlike them is followed all the same. */
    for (int i = 0; i < 25; i++) {
        fl_next_speed_add(&n, a.next, a.next > 150);
        fl_next_speed_answer(&n, WANTED, &a);
    }
    assert_true(a.v50 > 110 && a.v50 < 200);
    fl_next_speed_finish(&n);
    fl_standing_finish(&st);
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(says_what_the_study_will),
        cmocka_unit_test(the_next_minute_goes_where_least_is_known),
        cmocka_unit_test(what_never_trips_does_not_take_all_the_time),
        cmocka_unit_test(earlier_takes_tell_the_first_speed),
    };
    return RUN_TESTS(tests);
}
