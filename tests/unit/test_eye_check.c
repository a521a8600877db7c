/* Answers by eye against what was measured. Wilson's limits are those of Newcombe 1998, Statistics
 * in Medicine 17:857-872, table I, recomputed by statsmodels' proportion_confint. */
#include "test.h"

#include "audit_take.h"
#include "study/compare/eye_check.h"
#include "study/compare/session_study.h"

/* 400 s: on and off in turn, 10 s each; 100 deg/s. */
static struct fl_session *session(void)
{
    struct audit_stretch v[40];
    for (int i = 0; i < 40; i++)
        v[i] = (struct audit_stretch){10.0 * (i + 1), i % 2 ? FL_STATE_OFF : FL_STATE_ON};
    struct fl_session *s = fl_session_new("S");
    fl_session_add(s, audit_take("a", v, 40, 100));
    return s;
}

/* agree and differ answers in the stretch on at 0 to 10 s or off at 10 to 20 s. */
static void answer(struct fl_eye_answers *a, long first, long n, enum fl_eye eye)
{
    for (long i = 0; i < n; i++)
        a->v[a->n++] = (struct fl_eye_answer){0, first + i, eye};
}

static void a_stratum_alone(void **state)
{
    (void)state;
    struct fl_session *s = session();
    struct fl_eye_answer v[600];
    struct fl_eye_answers a = {v, 0};
    struct fl_audit_ground g;
    fl_audit_ground_find(&g, s);
    answer(&a, 1100, 81, FL_EYE_OFF); /* frames 1100 on are off */
    answer(&a, 1300, 263 - 81, FL_EYE_ON);
    answer(&a, 1600, 7, FL_EYE_UNTOLD);
    struct fl_eye_check *c = fl_eye_check_make(s, &g, &a, s->arena);
    const struct fl_agreement *off = &c->stratum[FL_STRATUM_OFF];
    assert_int_equal(off->agree, 81);
    assert_int_equal(off->differ, 182);
    assert_int_equal(off->untold, 7);
    assert_near(off->low, 0.2552885199, 1e-9);
    assert_near(off->high, 0.3662095770, 1e-9);
    assert_near(c->all.share, 81.0 / 263, 1e-12);
    assert_near(c->all.low, off->low, 1e-12);
    assert_near(c->all.high, off->high, 1e-12);
    assert_near(c->all.seen_share, off->seen_share, 1e-12);
    assert_true(isnan(c->stratum[FL_STRATUM_ON].share));
    assert_string_equal(c->text, "81 of 263 agree, 7 could not be seen");
    assert_int_equal(c->n_differences, 182);
    assert_int_equal(c->difference[0].frame, 1300);
    assert_int_equal(c->difference[0].state, FL_STATE_OFF);
    assert_int_equal(c->difference[0].eye, FL_EYE_ON);
    fl_audit_ground_finish(&g);
    fl_session_free(&s);
}

/* On 15 of 148, off 20 of 20: limits 0.0623863995 to 0.1604872417, and 0.8388748419 to 1; the
 * weights are the strata's seen time. */
static void strata_are_weighted(void **state)
{
    (void)state;
    struct fl_session *s = session();
    struct fl_eye_answer v[600];
    struct fl_eye_answers a = {v, 0};
    struct fl_audit_ground g;
    fl_audit_ground_find(&g, s);
    answer(&a, 2100, 15, FL_EYE_ON);
    answer(&a, 2200, 133, FL_EYE_OFF);
    answer(&a, 1100, 20, FL_EYE_OFF);
    struct fl_eye_check *c = fl_eye_check_make(s, &g, &a, s->arena);
    const double on_s = g.stratum_s[FL_STRATUM_ON], off_s = g.stratum_s[FL_STRATUM_OFF],
                 w = on_s / (on_s + off_s), p = 15.0 / 148;
    assert_near(w * p + (1 - w), c->all.share, 1e-12);
    assert_near(c->all.low,
                c->all.share - hypot(w * (p - 0.0623863995), (1 - w) * (1 - 0.8388748419)), 1e-9);
    assert_near(c->all.high, c->all.share + w * (0.1604872417 - p), 1e-9);
    assert_near(c->all.seen_share, (on_s + off_s) / 400, 1e-12);
    assert_int_equal(c->all.agree, 35);
    fl_audit_ground_finish(&g);
    fl_session_free(&s);
}

static void nothing_told(void **state)
{
    (void)state;
    struct fl_session *s = session();
    struct fl_eye_answer v[2] = {{0, 1100, FL_EYE_UNTOLD}};
    struct fl_eye_answers a = {v, 1};
    s->eye_answers = &a;
    fl_session_study(s);
    assert_non_null(s->eye_check);
    assert_true(isnan(s->eye_check->all.share) && isnan(s->eye_check->all.low));
    assert_string_equal(s->eye_check->text, "0 of 0 agree, 1 could not be seen");
    s->eye_answers = NULL;
    fl_session_study(s);
    assert_null(s->eye_check);
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_stratum_alone),
                                       cmocka_unit_test(strata_are_weighted),
                                       cmocka_unit_test(nothing_told)};
    return RUN_TESTS(tests);
}
