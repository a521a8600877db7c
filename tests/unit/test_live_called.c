/* Lapses of what is called piece by piece are those of a whole take: one a run of off, with a trip
 * where on was seen before it and a return where on is seen next, whatever lies between. */
#include "live_called.h"

#include "test.h"

static enum fl_live_edge add(struct fl_live_called *c, enum fl_state s, double from, double to,
                             double *at)
{
    return fl_live_called_add(c, s, from, from, to, at);
}

static void off_after_on_trips(void **state)
{
    (void)state;
    struct fl_live_called c = {0};
    double at = 0;
    assert_int_equal(add(&c, FL_STATE_OFF, 0, 1, &at), FL_LIVE_NO_EDGE); /* nothing before it */
    assert_false(c.any_on);
    assert_int_equal(add(&c, FL_STATE_ON, 1, 2, &at), FL_LIVE_RETURNED);
    assert_true(c.any_on);
    assert_int_equal(add(&c, FL_STATE_UNSEEN, 2, 3, &at), FL_LIVE_NO_EDGE);
    /* Off began a little before what could be called of it. */
    assert_int_equal(fl_live_called_add(&c, FL_STATE_OFF, 2.9, 3, 3.1, &at), FL_LIVE_TRIPPED);
    assert_near(c.lapse[1].end_range_s[0], 3.1, 1e-12);
    assert_near(at, 2.9, 1e-12);
    assert_int_equal(add(&c, FL_STATE_OFF, 3.1, 3.5, &at), FL_LIVE_NO_EDGE);
    assert_int_equal(add(&c, FL_STATE_UNSEEN, 3.5, 4, &at), FL_LIVE_NO_EDGE);
    assert_int_equal(add(&c, FL_STATE_ON, 4, 5, &at), FL_LIVE_RETURNED);
    assert_near(at, 3.6, 1e-12); /* the usual hold past the last sight of off */
    assert_int_equal(c.n_lapses, 2);
    assert_int_equal(c.n_spans, 6); /* touching spans of one state are one */
    assert_near(c.span[3].end_s, 3.5, 1e-12);
    assert_true(c.lapse[1].has_trip && c.lapse[1].has_return);
    assert_false(c.lapse[0].has_trip);
    assert_true(c.lapse[0].has_return);
    assert_near(c.lapse[1].end_range_s[0], 3.5, 1e-12);
    fl_live_called_forget(&c, 4.5);
    assert_int_equal(c.n_spans, 1);
    assert_int_equal(c.n_lapses, 1); /* the last stays */
    fl_live_called_finish(&c);
}

static void nothing_is_known_over_a_jump(void **state)
{
    (void)state;
    struct fl_live_called c = {0};
    double at = 0;
    add(&c, FL_STATE_ON, 0, 1, &at);
    assert_int_equal(add(&c, FL_STATE_OFF, 1, 2, &at), FL_LIVE_TRIPPED);
    fl_live_called_part(&c);
    assert_near(c.lapse[0].end_s, 2, 1e-12);
    assert_false(c.lapse[0].has_return);
    add(&c, FL_STATE_UNSEEN, 2, 9, &at);
    assert_int_equal(add(&c, FL_STATE_OFF, 9, 10, &at), FL_LIVE_NO_EDGE);
    assert_int_equal(add(&c, FL_STATE_ON, 10, 11, &at), FL_LIVE_RETURNED);
    fl_live_called_finish(&c);
}

/* Off, out of sight, off again: it may have been on between, or not. What was sure ends with the
 * sight of it. */
static void off_again_is_a_lapse_of_its_own(void **state)
{
    (void)state;
    struct fl_live_called c = {0};
    double at = 0;
    add(&c, FL_STATE_ON, 0, 1, &at);
    assert_int_equal(add(&c, FL_STATE_OFF, 1, 2, &at), FL_LIVE_TRIPPED);
    add(&c, FL_STATE_UNSEEN, 2, 3, &at);
    assert_int_equal(add(&c, FL_STATE_OFF, 3, 4, &at), FL_LIVE_NO_EDGE);
    assert_int_equal(c.n_lapses, 2);
    assert_false(c.lapse[0].has_return);
    assert_near(c.lapse[0].end_range_s[0], 2, 1e-12);
    assert_near(c.lapse[0].end_range_s[1], 3, 1e-12);
    assert_near(c.lapse[0].end_s, 2.1, 1e-12);
    assert_false(c.lapse[1].has_trip);
    assert_near(c.lapse[1].end_range_s[0], 4, 1e-12);
    fl_live_called_finish(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(off_after_on_trips),
        cmocka_unit_test(nothing_is_known_over_a_jump),
        cmocka_unit_test(off_again_is_a_lapse_of_its_own),
    };
    return RUN_TESTS(tests);
}
