#include "state/state.h"

#include <stdlib.h>

#include "base/mem.h"
#include "test.h"

static void states_have_their_names(void **state)
{
    (void)state;
    assert_string_equal(fl_state_name(FL_STATE_ON), "on");
    assert_string_equal(fl_state_name(FL_STATE_OFF), "off");
    assert_string_equal(fl_state_name(FL_STATE_UNSEEN), "unseen");
}

static void state_at_a_time(void **state)
{
    (void)state;
    struct fl_state_span spans[] = {{0, 1, FL_STATE_UNSEEN, 1, "still"},
                                    {1, 2.5, FL_STATE_ON, 1, NULL},
                                    {2.5, 2.75, FL_STATE_OFF, 1, NULL},
                                    {2.75, 4, FL_STATE_ON, 1, NULL}};
    const struct fl_states s = {.span = spans, .n_spans = 4};
    /* spans are half-open */
    const struct {
        double t;
        enum fl_state want;
    } at[] = {{-1, FL_STATE_UNSEEN}, {0, FL_STATE_UNSEEN}, {0.999, FL_STATE_UNSEEN},
              {1, FL_STATE_ON},      {2.499, FL_STATE_ON}, {2.5, FL_STATE_OFF},
              {2.75, FL_STATE_ON},   {3.999, FL_STATE_ON}, {4, FL_STATE_UNSEEN},
              {1e9, FL_STATE_UNSEEN}};
    for (size_t i = 0; i < sizeof at / sizeof *at; i++)
        assert_int_equal(fl_states_at(&s, at[i].t), at[i].want);
    const struct fl_states none = {0};
    assert_int_equal(fl_states_at(&none, 1), FL_STATE_UNSEEN);
}

static void finish_clears(void **state)
{
    (void)state;
    struct fl_states s = {.span = FL_NEW(struct fl_state_span, 2),
                          .n_spans = 2,
                          .lapse = FL_NEW(struct fl_lapse, 1),
                          .frame_state = FL_NEW(enum fl_state, 3),
                          .frame_confidence = FL_NEW(float, 3),
                          .unique_rate_hz = FL_NEW(float, 3),
                          .changed_share = FL_NEW(float, 3)};
    for (int i = 0; i < 2; i++) {
        fl_states_finish(&s);
        assert_true(!s.span && !s.lapse && !s.n_spans && !s.frame_state);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(states_have_their_names),
        cmocka_unit_test(state_at_a_time),
        cmocka_unit_test(finish_clears),
    };
    return RUN_TESTS(tests);
}
