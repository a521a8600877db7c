#include "study/curve/without_trace.h"

#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "test.h"

static struct fl_lapse lapse(double from, double to)
{
    return (struct fl_lapse){.start_s = from, .end_s = to, .evidence = FL_EVIDENCE_RATE};
}

/* Half of the union is the mark: by hand, 1.0–2.0 and 1.25–2.0 share 0.75 of it, 3.0–4.0
 * and 3.6–4.0 share 0.4. */
static void lapses_that_only_the_trace_shows_are_marked(void **state)
{
    (void)state;
    struct fl_lapse alone[] = {lapse(1.25, 2), lapse(3.6, 4)},
                    now[] = {lapse(1, 2), lapse(3, 4), lapse(6, 6.2)};
    struct fl_states before = {.lapse = alone, .n_lapses = 2},
                     after = {.lapse = now, .n_lapses = 3};
    fl_without_trace_mark(&after, &before);
    assert_int_equal(now[0].evidence, FL_EVIDENCE_RATE);
    assert_int_equal(now[1].evidence, FL_EVIDENCE_RATE | FL_EVIDENCE_TRACE);
    assert_int_equal(now[2].evidence, FL_EVIDENCE_RATE | FL_EVIDENCE_TRACE);
}

static struct fl_take *take(double off_s, double share, double low, double high)
{
    struct fl_take *t = fl_take_new();
    t->exposure = (struct fl_exposure){.on_s = 10 - off_s,
                                       .off_s = off_s,
                                       .off_share = share,
                                       .off_share_low = low,
                                       .off_share_high = high};
    return t;
}

static bool warned(const struct fl_take *t, const char *code)
{
    for (size_t i = 0; i < t->n_warnings; i++)
        if (!strcmp(t->warnings[i].code, code))
            return true;
    return false;
}

static void both_shares_are_kept(void **state)
{
    (void)state;
    struct fl_take *t = take(2, 0.2, 0.1, 0.6);
    fl_without_trace_keep(t, t);
    assert_true(t->without_trace.known);
    assert_true(t->without_trace.off_share == 0.2 && t->without_trace.off_share_high == 0.6 &&
                t->without_trace.off_s == 2);
    assert_true(isnan(t->without_trace.v50_deg_s)); /* no camera speed, no curve */
    fl_take_free(&t);
}

/* Inside the range that unseen time leaves open the trace only helped to see; outside it changed
 * the answer. */
static void a_share_outside_its_range_is_said(void **state)
{
    (void)state;
    const struct {
        double now;
        bool differs;
    } cases[] = {{0.15, false}, {0.6, false}, {0.61, true}, {0.09, true}, {NAN, false}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct fl_take *t = take(2, 0.2, 0.1, 0.6);
        fl_without_trace_keep(t, t);
        t->exposure.off_share = cases[i].now;
        fl_without_trace_compare(t);
        assert_int_equal(t->without_trace.differs, cases[i].differs);
        assert_int_equal(warned(t, "trace_moves_share"), cases[i].differs);
        if (cases[i].differs) /* both shares with their ranges */
            assert_non_null(strstr(t->warnings[0].text, "(10 to 60 % of all time); by the picture "
                                                        "alone for 20 % (10 to 60 %)"));
        fl_take_free(&t);
    }
}

static void without_a_second_pass_nothing_is_compared(void **state)
{
    (void)state;
    struct fl_take *t = take(2, 0.9, 0.1, 0.2);
    fl_without_trace_compare(t);
    assert_false(t->without_trace.known || t->without_trace.differs);
    assert_int_equal(t->n_warnings, 0);
    fl_take_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lapses_that_only_the_trace_shows_are_marked),
        cmocka_unit_test(both_shares_are_kept),
        cmocka_unit_test(a_share_outside_its_range_is_said),
        cmocka_unit_test(without_a_second_pass_nothing_is_compared),
    };
    return cmocka_run_group_tests(tests, NULL, NULL) != 0;
}
