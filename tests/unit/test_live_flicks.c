/* How long returns take is learnt over all stretches of a stream, each lapse once, and flicks that
 * waited for it are known then. Times of the stream by hand: a flick a second, 0.2 s long, that
 * trips 0.05 s after it begins and returns 0.1 s after its end. */
#include "live_flicks.h"

#include "study/take/flick.h"
#include "test.h"

enum { IN_VIEW = 3 };

/* A stretch of three such seconds; nothing is seen between a return and the next
 * trip, so that only rest can tell that a flick is at risk. */
static struct fl_take *stretch(void)
{
    static struct fl_state_span span[2 * IN_VIEW + 1];
    static struct fl_lapse lapse[IN_VIEW];
    struct fl_take *t = fl_take_new();
    t->kernel_ms = FL_UNKNOWN;
    t->duration_s = IN_VIEW;
    t->flicks = FL_ARENA(t->arena, struct fl_flick, IN_VIEW);
    t->n_flicks = IN_VIEW;
    for (int i = 0; i < IN_VIEW; i++) {
        const double at = i + 0.4, off = at + 0.05, off_until = at + 0.25, on = at + 0.3;
        t->flicks[i] = (struct fl_flick){.start_s = at,
                                         .end_s = at + 0.2,
                                         .peak_s = at + 0.1,
                                         .at_risk = FL_ANSWER_UNKNOWN,
                                         .tripped = FL_ANSWER_UNKNOWN,
                                         .trip_delay_s = FL_UNKNOWN};
        lapse[i] = (struct fl_lapse){
            .start_s = off, .end_s = on, .end_range_s = {off_until, on}, .has_return = true};
        span[2 * i] = (struct fl_state_span){i ? i - 0.3 : 0, off, FL_STATE_UNSEEN};
        span[2 * i + 1] = (struct fl_state_span){off, on, FL_STATE_OFF};
    }
    span[2 * IN_VIEW] = (struct fl_state_span){IN_VIEW - 0.3, IN_VIEW, FL_STATE_UNSEEN};
    t->states.span = fl_calloc(2 * IN_VIEW + 1, sizeof *span);
    t->states.lapse = fl_calloc(IN_VIEW, sizeof *lapse);
    t->states.n_spans = 2 * IN_VIEW + 1;
    t->states.n_lapses = IN_VIEW;
    for (int i = 0; i < 2 * IN_VIEW + 1; i++)
        t->states.span[i] = span[i];
    for (int i = 0; i < IN_VIEW; i++)
        t->states.lapse[i] = lapse[i];
    return t;
}

static void returns_are_learnt_over_stretches(void **state)
{
    (void)state;
    struct fl_live_flicks f = {.n_returns = 0};
    struct fl_flick known;
    const double edge_s = 0.3;
    struct fl_take *t = stretch();
    /* Three lapses are too few to say after how much rest a flick is at risk. */
    fl_live_flicks_judge(&f, t, 0, edge_s);
    assert_int_equal(f.n_returns, 3);
    assert_true(isnan(f.return_p95_s));
    assert_int_equal(t->flicks[1].at_risk, FL_ANSWER_UNKNOWN);
    assert_int_equal(t->flicks[1].tripped, FL_YES);
    for (size_t i = 0; i < IN_VIEW; i++)
        fl_live_flicks_told(&f, t, i, 0);
    assert_false(fl_live_flicks_known(&f, &known));
    fl_take_free(&t);
    /* The same stretch again adds none, one a second on adds its last. */
    t = stretch();
    fl_live_flicks_judge(&f, t, 0, edge_s);
    assert_int_equal(f.n_returns, 3);
    fl_take_free(&t);
    t = stretch();
    fl_live_flicks_judge(&f, t, 1, edge_s);
    assert_int_equal(f.n_returns, 4);
    fl_take_free(&t);
    t = stretch();
    fl_live_flicks_judge(&f, t, 4, edge_s);
    assert_int_equal(f.n_returns, 7);
    /* Returns lie between 0.05 and 0.1 s after a flick's end. */
    assert_true(f.return_p95_s >= 0.05 && f.return_p95_s <= 0.1);
    assert_int_equal(t->flicks[1].at_risk, FL_YES);
    fl_take_free(&t);
    /* All three have rested for longer, and are told once more. */
    for (int i = 0; i < IN_VIEW; i++) {
        assert_true(fl_live_flicks_known(&f, &known));
        assert_near(known.start_s, i + 0.4, 1e-9);
        assert_int_equal(known.at_risk, FL_YES);
        assert_int_equal(known.tripped, FL_YES);
    }
    assert_false(fl_live_flicks_known(&f, &known));
}

/* However long a stream goes on, what is kept of it stays as large. */
static void what_is_kept_does_not_grow(void **state)
{
    (void)state;
    struct fl_live_flicks f = {.n_returns = 0};
    f.return_p95_s = FL_UNKNOWN;
    for (int k = 0; k < 200; k++) {
        struct fl_take *t = stretch();
        fl_live_flicks_judge(&f, t, IN_VIEW * k, 0.3);
        t->flicks[2].at_risk = FL_ANSWER_UNKNOWN;
        fl_live_flicks_told(&f, t, 2, IN_VIEW * k);
        fl_take_free(&t);
    }
    assert_int_equal(f.n_returns, 600);
    assert_int_equal(f.n_waiting, FL_LIVE_WAITING);
    assert_near(f.waiting[FL_LIVE_WAITING - 1].flick.start_s, 3 * 199 + 2.4, 1e-9);
    assert_true(f.return_p95_s >= 0.05 && f.return_p95_s <= 0.1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(returns_are_learnt_over_stretches),
        cmocka_unit_test(what_is_kept_does_not_grow),
    };
    return RUN_TESTS(tests);
}
