/* Sources: the rule and the hand that the invented takes were made with (ruled_take.c), and
 * identities: what does not change the watched quantity changes nothing. */
#include "study/rule/predict.h"

#include <stdlib.h>

#include "ruled_take.h"
#include "test.h"
#include "study/rule/rules.h"

static const struct ruled_settings plain = {.id = "a",
                                            .key = FL_CAMERA_SPEED,
                                            .theta_off = 150,
                                            .theta_on = 100,
                                            .d_off_s = 0.03,
                                            .d_on_s = 0.02,
                                            .seen_above_deg_s = 8,
                                            .flicks = 25,
                                            .seed = 5};

struct rig {
    struct fl_session *session;
    struct fl_trace trace;
    struct fl_motion *motion;
    struct fl_hand hand;
};

/* The hand of an invented take as a mouse would report it at 1000/s. */
static void make_trace(struct rig *r, const struct ruled_settings *s)
{
    double degrees = s->degrees_per_count > 0 ? s->degrees_per_count : 0.044, moved = 0, sent = 0;
    double seconds = ruled_seconds(s);
    size_t n = (size_t)(seconds * 1000);
    r->trace = (struct fl_trace){
        .events = FL_NEW(struct fl_event, n), .has_motion = true, .end_s = seconds};
    for (size_t i = 0; i < n; i++) {
        double t = (double)i / 1000;
        moved += ruled_speed(s, t) / 1000 / degrees;
        double count = floor(moved) - sent;
        sent += count;
        r->trace.events[r->trace.n++] =
            (struct fl_event){.time_s = t, .dx = (float)count, .stick_x = NAN, .stick_y = NAN};
    }
    r->motion = fl_motion_new(&r->trace, 0.02);
    r->hand = (struct fl_hand){
        r->motion, 0, seconds, {s->counts_per_inch > 0 ? s->counts_per_inch : 800, degrees}};
}

static int set_up(void **state)
{
    struct rig *r = FL_NEW(struct rig, 1);
    r->session = fl_session_new("invented");
    for (int i = 0; i < 3; i++) {
        struct ruled_settings s = plain;
        s.seed = 10 + (uint64_t)i;
        fl_session_add(r->session, ruled_take(&s));
    }
    fl_study_rules(r->session);
    struct ruled_settings own = plain;
    own.seed = 99; /* a hand that was not fitted to */
    make_trace(r, &own);
    *state = r;
    return 0;
}

static int tear_down(void **state)
{
    struct rig *r = *state;
    fl_motion_free(&r->motion);
    fl_trace_finish(&r->trace);
    fl_session_free(&r->session);
    free(r);
    return 0;
}

static const struct fl_rule *rule_in(const struct rig *r, enum fl_quantity q)
{
    for (size_t i = 0; i < r->session->n_rules; i++)
        if (r->session->rules[i].quantity == q)
            return &r->session->rules[i];
    fail();
    return NULL;
}

static struct fl_prediction predict(const struct rig *r, enum fl_quantity q, double cpi,
                                    double degrees, enum fl_kept kept)
{
    struct fl_prediction p;
    fl_predict(&p, rule_in(r, q), r->session->takes[0], &r->hand,
               &(struct fl_mouse_setting){cpi, degrees}, kept);
    return p;
}

/* The same hand played through the true rule, frame by frame, everything seen. */
static void holds_what_the_true_rule_does(void **state)
{
    const struct rig *r = *state;
    struct ruled_settings own = plain;
    own.seed = 99;
    own.seen_above_deg_s = -1;
    struct fl_take *t = ruled_take(&own);
    struct fl_prediction p = predict(r, FL_CAMERA_SPEED, 800, 0.044, FL_KEPT_HAND);
    double truth = t->exposure.off_s / t->duration_s,
           rate = 60 * (double)t->states.n_lapses / t->duration_s;
    assert_null(p.refused);
    assert_near(p.seconds, t->duration_s, 1e-9);
    assert_true(p.off_share_low <= truth && truth <= p.off_share_high);
    assert_true(p.lapses_per_min_low <= rate + 1e-9 && rate <= p.lapses_per_min_high + 1e-9);
    assert_near(p.off_share, p.off_s / p.seconds, 1e-12);
    assert_near(p.off_share / truth, 1, 0.25);
    assert_true(p.longest_s > 0 && p.longest_s <= p.off_s);
    fl_take_free(&t);
}

static void assert_same(const struct fl_prediction *a, const struct fl_prediction *b)
{
    assert_near(a->off_share, b->off_share, 1e-9);
    assert_near(a->off_share_high, b->off_share_high, 1e-9);
    assert_int_equal(a->lapses, b->lapses);
}

/* A camera rule does not see counts per inch while degrees per inch are kept; a count rule does. */
static void resolution_matters_where_counts_are_watched(void **state)
{
    const struct rig *r = *state;
    struct fl_prediction as_is = predict(r, FL_CAMERA_SPEED, 800, 0.044, FL_KEPT_HAND);
    struct fl_prediction finer = predict(r, FL_CAMERA_SPEED, 3200, 0.011, FL_KEPT_HAND);
    assert_same(&as_is, &finer);
    finer = predict(r, FL_CAMERA_SPEED, 3200, 0.011, FL_KEPT_TURNS); /* the same thing */
    assert_same(&as_is, &finer);
    struct fl_prediction counts = predict(r, FL_COUNT_RATE, 800, 0.044, FL_KEPT_HAND);
    struct fl_prediction more = predict(r, FL_COUNT_RATE, 3200, 0.011, FL_KEPT_HAND);
    struct fl_prediction fewer = predict(r, FL_COUNT_RATE, 200, 0.176, FL_KEPT_HAND);
    assert_true(more.off_share > counts.off_share && counts.off_share > fewer.off_share);
}

static void sensitivity_matters_where_the_hand_keeps_its_ways(void **state)
{
    const struct rig *r = *state;
    struct fl_prediction as_is = predict(r, FL_CAMERA_SPEED, 800, 0.044, FL_KEPT_HAND);
    struct fl_prediction twice = predict(r, FL_CAMERA_SPEED, 800, 0.088, FL_KEPT_HAND);
    struct fl_prediction turns = predict(r, FL_CAMERA_SPEED, 800, 0.088, FL_KEPT_TURNS);
    assert_true(twice.off_share > as_is.off_share && twice.off_share_low > as_is.off_share_low);
    assert_same(&as_is, &turns);
    struct fl_prediction step =
        predict(r, FL_IMAGE_STEP, 800, 0.044, FL_KEPT_HAND); /* 1 : 1 with the camera */
    assert_near(step.off_share, as_is.off_share, 0.01);
    struct fl_prediction hand = predict(r, FL_HAND_SPEED, 800, 0.088, FL_KEPT_HAND);
    struct fl_prediction same = predict(r, FL_HAND_SPEED, 800, 0.044, FL_KEPT_HAND);
    assert_same(&hand, &same);
}

static void a_still_hand_never_trips(void **state)
{
    struct rig *r = *state;
    struct fl_trace still = {
        .events = (struct fl_event[]){{.time_s = 0}, {.time_s = 10}}, .n = 2, .has_motion = true};
    struct fl_motion *m = fl_motion_new(&still, 0.02);
    struct fl_hand hand = {m, 0, 10, {800, 0.044}};
    struct fl_prediction p;
    fl_predict(&p, rule_in(r, FL_CAMERA_SPEED), NULL, &hand, &hand.recorded, FL_KEPT_HAND);
    assert_null(p.refused);
    assert_true(p.off_share == 0 && p.off_share_low == 0 && p.off_share_high == 0 && p.lapses == 0);
    fl_motion_free(&m);
}

static void what_is_missing_is_named(void **state)
{
    struct rig *r = *state;
    struct fl_prediction p = predict(r, FL_CAMERA_SPEED, 800, NAN, FL_KEPT_HAND);
    assert_non_null(p.refused);
    assert_true(isnan(p.off_share) && isnan(p.off_share_low));
    assert_non_null(predict(r, FL_HAND_SPEED, NAN, 0.044, FL_KEPT_TURNS).refused);
    assert_non_null(predict(r, FL_COUNT_RATE, NAN, 0.044, FL_KEPT_HAND).refused);
    assert_non_null(predict(r, FL_COUNT_RATE, 800, 0, FL_KEPT_TURNS).refused);
    struct fl_hand none = r->hand;
    none.end_s = none.start_s;
    fl_predict(&p, rule_in(r, FL_CAMERA_SPEED), NULL, &none, &none.recorded, FL_KEPT_HAND);
    assert_non_null(p.refused);
    fl_predict(&p, rule_in(r, FL_IMAGE_STEP), NULL, &r->hand, &r->hand.recorded, FL_KEPT_HAND);
    assert_non_null(p.refused);
    struct fl_rule unfit = {.quantity = FL_CAMERA_SPEED, .refused = "no lapse"};
    fl_predict(&p, &unfit, NULL, &r->hand, &r->hand.recorded, FL_KEPT_HAND);
    assert_string_equal(p.refused, "no lapse");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(holds_what_the_true_rule_does),
        cmocka_unit_test(resolution_matters_where_counts_are_watched),
        cmocka_unit_test(sensitivity_matters_where_the_hand_keeps_its_ways),
        cmocka_unit_test(a_still_hand_never_trips),
        cmocka_unit_test(what_is_missing_is_named),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down) != 0;
}
