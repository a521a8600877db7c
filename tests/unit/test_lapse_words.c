/* Evidence in sentences: on is named as plainly as off. */
#include "show/text/lapse_words.h"

#include <stdlib.h>

#include "base/figure.h"
#include "base/units.h"
#include "test.h"

static struct fl_state_span span[] = {
    {.start_s = 0, .end_s = 2, .state = FL_STATE_ON, .confidence = 0.999, .unique_rate_hz = 119.6},
    {.start_s = 2, .end_s = 3, .state = FL_STATE_OFF, .confidence = 0.9, .unique_rate_hz = 60.2},
    {.start_s = 3, .end_s = 4, .state = FL_STATE_UNSEEN},
    {.start_s = 4, .end_s = 6, .state = FL_STATE_ON, .confidence = 0.87},
};
static struct fl_lapse lapse;
static struct fl_states states;

static int setup(void **state)
{
    (void)state;
    span[3].unique_rate_hz = FL_UNKNOWN;
    lapse = (struct fl_lapse){.start_s = 2,
                              .end_s = 3.2,
                              .has_trip = true,
                              .has_return = true,
                              .unique_rate_hz = 60.2,
                              .evidence = FL_EVIDENCE_RATE};
    states = (struct fl_states){.span = span,
                                .n_spans = 4,
                                .base_rate_on_hz = 60,
                                .base_rate_off_hz = 60,
                                .frames_per_rendered = 2};
    return 0;
}

static void says(const char *want)
{
    char *text = fl_lapse_why(&states, &lapse);
    assert_string_equal(text, want);
    free(text);
}

static void off_and_on_are_named(void **state)
{
    (void)state;
    says("Off: 60.2 new pictures a second, where on shows 120 (rate). On before it: 120 new "
         "pictures a second, confidence > 0.99; on after it: more new pictures a second than can "
         "be counted, confidence 0.87.");
}

static void each_witness_is_named(void **state)
{
    (void)state;
    lapse.evidence = FL_EVIDENCE_RATE | FL_EVIDENCE_SHARPNESS | FL_EVIDENCE_TRACE;
    lapse.has_return = false;
    says("Off: 60.2 new pictures a second, where on shows 120 (rate); their sharpness and steps "
         "show none between two rendered ones (sharpness); the input trace shows that the scene "
         "moved (trace). On before it: 120 new pictures a second, confidence > 0.99; it is not "
         "seen after it.");
}

static void what_is_unknown_is_left_out(void **state)
{
    (void)state;
    lapse.has_trip = lapse.has_return = false;
    lapse.unique_rate_hz = FL_UNKNOWN;
    lapse.evidence = 0;
    states.base_rate_on_hz = FL_UNKNOWN;
    says("Off: pictures stand longer than with synthesis on. On is not seen before it, nor after "
         "it.");
}

static void nothing_is_certain(void **state)
{
    (void)state;
    char buf[FL_FIGURE_SIZE];
    assert_string_equal(fl_sureness_text(buf, 1), "> 0.99");
    assert_string_equal(fl_sureness_text(buf, 0.874), "0.87");
    assert_string_equal(fl_sureness_text(buf, FL_UNKNOWN), "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(off_and_on_are_named, setup),
        cmocka_unit_test_setup(each_witness_is_named, setup),
        cmocka_unit_test_setup(what_is_unknown_is_left_out, setup),
        cmocka_unit_test(nothing_is_certain),
    };
    return RUN_TESTS(tests);
}
