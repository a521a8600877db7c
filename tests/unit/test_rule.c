/* The source of every check is the rule that the invented takes were made by (ruled_take.c, which
 * knows nothing of the fit), or arithmetic by hand. */
#include "study/rule/rule.h"

#include <stdlib.h>
#include <string.h>

#include "ruled_take.h"
#include "study/rule/rule_track.h"
#include "test.h"
#include "study/rule/rules.h"

static const struct ruled_settings plain = {.id = "a",
                                            .key = FL_CAMERA_SPEED,
                                            .theta_off = 150,
                                            .theta_on = 100,
                                            .d_off_s = 0.03,
                                            .d_on_s = 0.05,
                                            .seen_above_deg_s = 12,
                                            .flicks = 25,
                                            .seed = 1};

static struct fl_session *session_of(struct ruled_settings s, int takes)
{
    static const char *const id[] = {"a", "b", "c", "d", "e", "f", "g"};
    struct fl_session *session = fl_session_new("invented");
    for (int i = 0; i < takes; i++) {
        s.id = id[i];
        s.seed += 1;
        fl_session_add(session, ruled_take(&s));
    }
    return session;
}

static const struct fl_rule *rule_in(const struct fl_session *s, enum fl_quantity q)
{
    for (size_t i = 0; i < s->n_rules; i++)
        if (s->rules[i].quantity == q)
            return &s->rules[i];
    fail_msg("no rule in quantity %d", q);
    return NULL;
}

/* ---- the rule run over a series ---- */

/* 0 to 9.9 s at 10/s: 0, up to 10 at 2 s, 4 from 6 s on, 0 from 8 s on. */
static void make_series(double *time, float *q)
{
    for (int i = 0; i < 100; i++) {
        time[i] = i / 10.0;
        q[i] = i < 20 ? 0 : i < 60 ? 10 : i < 80 ? 4 : 0;
    }
}

static void rule_by_hand(void **state)
{
    (void)state;
    double time[100];
    float q[100];
    make_series(time, q);
    struct fl_speeds s;
    struct fl_span_list out = {0};
    fl_speeds_index(&s, time, q, 100);
    /* crosses 5 half way between 1.9 and 2.0, 3 a quarter of the way from 4 to 0 after 7.9 */
    fl_cutoff_run(&(struct fl_cutoff){5, 3, 0.5, 1}, &s, 0, 100, 10, false, &out);
    assert_int_equal(out.n, 1);
    assert_near(out.v[0].start_s, 1.95 + 0.5, 1e-9);
    assert_near(out.v[0].end_s, 7.925 + 1, 1e-9);
    out.n = 0;
    fl_cutoff_run(&(struct fl_cutoff){5, 5, 0, 0}, &s, 0, 100, 10, false, &out);
    assert_int_equal(out.n, 1);
    assert_near(out.v[0].start_s, 1.95, 1e-9);
    assert_near(out.v[0].end_s, 5.9 + 0.1 * 5 / 6, 1e-9);
    out.n = 0;
    fl_cutoff_run(&(struct fl_cutoff){5, 3, 4.1, 0}, &s, 0, 100, 10, false,
                  &out); /* over 5 for 4.03 s only */
    assert_int_equal(out.n, 0);
    fl_cutoff_run(&(struct fl_cutoff){5, 3, 0, 3}, &s, 0, 100, 10, true,
                  &out); /* off from the start; rest of 1.95 s */
    assert_int_equal(out.n, 1);
    assert_true(out.v[0].start_s == 0 && out.v[0].end_s == 10);
    fl_speeds_finish(&s);
    free(out.v);
}

/* However the thresholds lie: spans in order, apart, and no longer with a higher threshold. */
static void rule_properties(void **state)
{
    (void)state;
    struct fl_take *t = ruled_take(&plain);
    struct fl_track k;
    struct fl_span_list out = {0};
    assert_true(fl_track_make(&k, t, FL_CAMERA_SPEED));
    double last = INFINITY;
    for (double theta = 20; theta < 900; theta *= 1.3) {
        double sum = 0, before = 0;
        fl_track_run(&k, &(struct fl_cutoff){theta, theta, 0, 0}, &out);
        for (size_t i = 0; i < out.n; i++) {
            assert_true(out.v[i].start_s >= before && out.v[i].end_s > out.v[i].start_s);
            before = out.v[i].end_s;
            sum += out.v[i].end_s - out.v[i].start_s;
        }
        assert_true(sum <= last);
        last = sum;
    }
    fl_track_finish(&k);
    fl_take_free(&t);
    free(out.v);
}

/* ---- tracks ---- */

static void brackets_and_unseen_time_do_not_count(void **state)
{
    (void)state;
    struct fl_take *t = ruled_take(&plain);
    struct fl_track k;
    assert_true(fl_track_make(&k, t, FL_CAMERA_SPEED));
    assert_true(k.total_on_s > 0 && k.total_on_s <= t->exposure.on_s + 1e-9);
    assert_true(k.total_off_s > 0 && k.total_off_s <= t->exposure.off_s + 1e-9);
    for (size_t i = 0; i < k.n_pieces; i++) {
        double middle = (k.piece[i].start_s + k.piece[i].end_s) / 2;
        assert_int_equal(fl_states_at(&t->states, middle),
                         k.piece[i].off ? FL_STATE_OFF : FL_STATE_ON);
        for (size_t l = 0; l < t->states.n_lapses; l++) {
            const struct fl_lapse *lapse = &t->states.lapse[l];
            assert_false(middle > lapse->start_range_s[0] && middle < lapse->start_range_s[1]);
            assert_false(middle > lapse->end_range_s[0] && middle < lapse->end_range_s[1]);
        }
    }
    unsigned *twice = calloc(k.events, sizeof *twice);
    for (size_t i = 0; i < k.events; i++)
        twice[i] = 2;
    double once = k.total_off_s;
    fl_track_weigh(&k, twice);
    assert_near(k.total_off_s, 2 * once, 1e-9);
    free(twice);
    fl_track_finish(&k);
    fl_take_free(&t);
}

/* ---- recovery ---- */

static bool within(double x, double low, double high)
{
    return !(x < low) && !(x > high); /* an open end holds everything */
}

/* The game judges once a rendered frame: a delay comes out as whole frames, and is known to half of
 * one. */
static bool delay_within(double d, double low, double high)
{
    const double frame = 1.0 / 70;
    double whole = ceil(d / frame) * frame;
    return !(whole < low - frame / 2) && !(whole > high + frame / 2);
}

static void recovers_a_known_rule(void **state)
{
    (void)state;
    struct fl_session *s = session_of(plain, 3);
    fl_study_rules(s);
    const struct fl_rule *r = rule_in(s, FL_CAMERA_SPEED);
    assert_null(r->refused);
    assert_true(r->lead);
    assert_near(r->fit.theta_off, 150, 0.08);
    assert_true(within(150, r->low.theta_off, r->high.theta_off));
    assert_true(within(100, r->low.theta_on, r->high.theta_on));
    assert_true(delay_within(0.03, r->low.d_off_s, r->high.d_off_s));
    assert_true(delay_within(0.05, r->low.d_on_s, r->high.d_on_s));
    assert_true(r->low.theta_off < r->fit.theta_off && r->fit.theta_off < r->high.theta_off);
    assert_true(r->agreement > 0.95 && r->agreement_fitted >= r->agreement - 0.01);
    assert_true(r->agreement_always_on == 0.5);
    assert_true(r->explained_off_share > 0.95 && r->false_off_share < 0.03);
    assert_int_equal(r->n_unexplained + r->n_held, 0);
    assert_string_equal(r->interval_method, "takes_events_bootstrap");
    assert_ptr_equal(fl_rule_of(s, "Glass Canyon", "default"), r);
    fl_session_free(&s);
}

/* 24 sessions of two short takes: 95 % intervals fail more than three times in 24 with a chance of
 * 3 % (binomial), all the same for each of the four parameters. */
static void intervals_hold_the_truth(void **state)
{
    (void)state;
    int missed[4] = {0};
    for (int i = 0; i < 24; i++) {
        struct ruled_settings s = plain;
        s.flicks = 12;
        s.seed = 1000 + 10 * (uint64_t)i;
        s.soft = i % 2 ? 0.1 : 0;
        struct fl_session *session = session_of(s, 2);
        for (size_t k = 0; k < session->n_takes; k++)
            for (int q = 0; q < FL_QUANTITIES; q++)
                if (q != FL_CAMERA_SPEED)
                    session->takes[k]->quantity[q] = NULL;
        fl_study_rules(session);
        const struct fl_rule *r = rule_in(session, FL_CAMERA_SPEED);
        if (!r->refused) {
            missed[0] += !within(150, r->low.theta_off, r->high.theta_off);
            missed[1] += !within(100, r->low.theta_on, r->high.theta_on);
            missed[2] += !delay_within(0.03, r->low.d_off_s, r->high.d_off_s);
            missed[3] += !delay_within(0.05, r->low.d_on_s, r->high.d_on_s);
        }
        fl_session_free(&session);
    }
    for (int p = 0; p < 4; p++)
        assert_true(missed[p] <= 3);
}

/* One hand at two resolutions: only the quantity that is watched keeps one threshold. */
static void the_watched_quantity_agrees_best(void **state)
{
    (void)state;
    const struct {
        enum fl_quantity key;
        double theta;
    } watch[] = {{FL_COUNT_RATE, 4000}, {FL_CAMERA_SPEED, 150}};
    for (int w = 0; w < 2; w++) {
        struct fl_session *s = fl_session_new("invented");
        for (int i = 0; i < 4; i++) {
            struct ruled_settings t = plain;
            t.key = watch[w].key;
            t.theta_off = watch[w].theta;
            t.theta_on = watch[w].theta * 0.7;
            t.counts_per_inch = i % 2 ? 1600 : 400;
            t.degrees_per_count = i % 2 ? 0.022 : 0.066;
            t.seed = 40 + (uint64_t)i;
            fl_session_add(s, ruled_take(&t));
        }
        fl_study_rules(s);
        const struct fl_rule *right = rule_in(s, watch[w].key);
        assert_true(right->lead && right->agreement > 0.95);
        assert_true(within(watch[w].theta, right->low.theta_off, right->high.theta_off));
        assert_true(right->agreement >
                    rule_in(s, w ? FL_COUNT_RATE : FL_CAMERA_SPEED)->agreement + 0.1);
        assert_true(right->agreement > rule_in(s, FL_HAND_SPEED)->agreement + 0.02);
        fl_session_free(&s);
    }
}

/* Proportional quantities of one setting have proportional rules. */
static void units_do_not_matter(void **state)
{
    (void)state;
    struct fl_session *s = session_of(plain, 2);
    fl_study_rules(s);
    const struct fl_rule *camera = rule_in(s, FL_CAMERA_SPEED), *counts = rule_in(s, FL_COUNT_RATE);
    assert_near(counts->fit.theta_off * 0.044 / camera->fit.theta_off, 1, 0.002);
    assert_near(counts->fit.d_off_s, camera->fit.d_off_s, 0.002);
    assert_true(camera->lead && !counts->lead);
    fl_session_free(&s);
}

static void the_same_twice(void **state)
{
    (void)state;
    struct fl_session *a = session_of(plain, 1), *b = session_of(plain, 1);
    fl_study_rules(a);
    fl_study_rules(b);
    const struct fl_rule *x = rule_in(a, FL_CAMERA_SPEED), *y = rule_in(b, FL_CAMERA_SPEED);
    assert_memory_equal(&x->fit, &y->fit, sizeof x->fit);
    assert_memory_equal(&x->high, &y->high, sizeof x->high);
    assert_true(isnan(x->agreement)); /* one take: none left out */
    assert_true(x->agreement_fitted > 0.95);
    assert_string_equal(x->interval_method, "events_bootstrap");
    fl_session_free(&a);
    fl_session_free(&b);
}

static void whole_takes_are_drawn_from_six_on(void **state)
{
    (void)state;
    struct ruled_settings s = plain;
    s.flicks = 8;
    s.take_sd = 0.1;
    struct fl_session *session = session_of(s, 7);
    fl_study_rules(session);
    const struct fl_rule *r = rule_in(session, FL_CAMERA_SPEED);
    assert_string_equal(r->interval_method, "takes_bootstrap");
    assert_int_equal(r->takes, 7);
    assert_true(within(150, r->low.theta_off, r->high.theta_off));
    fl_session_free(&session);
}

/* ---- what the rule does not explain ---- */

static void strays_are_listed_and_do_not_drag(void **state)
{
    (void)state;
    struct ruled_settings s = plain;
    s.strays = s.immune = 1;
    struct fl_session *session = session_of(s, 3);
    fl_study_rules(session);
    const struct fl_rule *r = rule_in(session, FL_CAMERA_SPEED);
    assert_true(within(150, r->low.theta_off, r->high.theta_off));
    assert_near(r->fit.theta_off, 150, 0.1);
    assert_int_equal(r->n_unexplained, 3); /* one a take */
    assert_int_equal(r->n_held, 3);
    for (int i = 0; i < 3; i++) {
        assert_true(r->unexplained[i].peak < 150 / 3.0 * 1.01);
        assert_true(r->unexplained[i].take == session->takes[i]);
        assert_true(r->unexplained[i].start_s >= r->unexplained[i].flick_start_s);
        assert_true(r->held[i].peak > 3 * 150 * 0.9);
        assert_true(r->held[i].take == session->takes[i]);
        assert_true(fl_known(r->held[i].flick_start_s));
    }
    assert_true(r->explained_off_share < 0.99 && r->explained_off_share > 0.8);
    fl_session_free(&session);
}

/* ---- bad input ---- */

static void assert_refused(struct fl_session *s, const char *part)
{
    fl_study_rules(s);
    assert_true(s->n_rules > 0);
    for (size_t i = 0; i < s->n_rules; i++) {
        const struct fl_rule *r = &s->rules[i];
        assert_non_null(r->refused);
        if (!strstr(r->refused, part))
            fail_msg("'%s' does not say '%s'", r->refused, part);
        assert_true(isnan(r->fit.theta_off) && isnan(r->agreement) && isnan(r->low.d_on_s));
        assert_int_equal(r->n_unexplained + r->n_held + r->n_draws, 0);
    }
    assert_null(fl_rule_of(s, "Glass Canyon", "default"));
    fl_session_free(&s);
}

static void nothing_to_fit(void **state)
{
    (void)state;
    struct fl_session *none = fl_session_new("none");
    fl_study_rules(none);
    assert_int_equal(none->n_rules, 0);
    fl_session_free(&none);
    struct ruled_settings s = plain;
    s.theta_off = 1e6; /* all on */
    assert_refused(session_of(s, 2), "no lapse");
    s.flicks = 0;
    assert_refused(session_of(s, 1), "neither on nor off was seen");
    s = plain;
    s.flicks = 4;
    assert_refused(session_of(s, 1), "are needed");
    s = plain;
    s.seen_above_deg_s = 1e6;
    assert_refused(session_of(s, 1), "neither on nor off was seen");
}

static void all_off(void **state)
{
    (void)state;
    struct fl_session *s = session_of(plain, 1);
    struct fl_states *states = &s->takes[0]->states;
    for (size_t i = 0; i < states->n_spans; i++)
        states->span[i].state = FL_STATE_OFF;
    states->n_lapses = 0;
    assert_refused(s, "never seen on");
}

static void unknown_speeds(void **state)
{
    (void)state;
    struct fl_session *s = session_of(plain, 2);
    for (int k = 0; k < 2; k++)
        for (int q = 0; q < FL_QUANTITIES; q++)
            for (long i = 0; s->takes[k]->quantity[q] && i < s->takes[k]->frames; i++)
                s->takes[k]->quantity[q][i] = i % 2 ? NAN : INFINITY;
    assert_refused(s, "is known for 0 %");
}

/* Long gaps cut the track, short ones are bridged: the rule comes out the same. */
static void gaps_in_the_speed(void **state)
{
    (void)state;
    struct fl_session *s = session_of(plain, 3);
    for (size_t k = 0; k < 3; k++) {
        struct fl_take *t = s->takes[k];
        for (long i = 0; i < t->frames; i++)
            if (i % 50 < 3 || i % 1500 < 200)
                t->quantity[FL_CAMERA_SPEED][i] = NAN;
    }
    fl_study_rules(s);
    const struct fl_rule *r = rule_in(s, FL_CAMERA_SPEED), *whole = rule_in(s, FL_COUNT_RATE);
    assert_null(r->refused);
    assert_true(r->seen_off_s < whole->seen_off_s && r->seen_off_s > 0.7 * whole->seen_off_s);
    assert_true(within(150, r->low.theta_off, r->high.theta_off));
    fl_session_free(&s);
}

static void takes_without_frames(void **state)
{
    (void)state;
    struct fl_session *s = session_of(plain, 2);
    s->takes[0]->frames = 0;
    s->takes[1]->time_s = NULL;
    fl_study_rules(s);
    assert_int_equal(s->n_rules, 0);
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rule_by_hand),
        cmocka_unit_test(rule_properties),
        cmocka_unit_test(brackets_and_unseen_time_do_not_count),
        cmocka_unit_test(recovers_a_known_rule),
        cmocka_unit_test(intervals_hold_the_truth),
        cmocka_unit_test(the_watched_quantity_agrees_best),
        cmocka_unit_test(units_do_not_matter),
        cmocka_unit_test(the_same_twice),
        cmocka_unit_test(whole_takes_are_drawn_from_six_on),
        cmocka_unit_test(strays_are_listed_and_do_not_drag),
        cmocka_unit_test(nothing_to_fit),
        cmocka_unit_test(all_off),
        cmocka_unit_test(unknown_speeds),
        cmocka_unit_test(gaps_in_the_speed),
        cmocka_unit_test(takes_without_frames),
    };
    return RUN_TESTS(tests);
}
