#include "fake_take.h"
#include "show/screen/check_screen.h"
#include "test.h"

static const json_t *clock_of(const json_t *recording)
{
    const json_t *clock = json_object_get(json_object_get(recording, "trace"), "clock");
    assert_non_null(clock);
    return clock;
}

/* What the fit left in a clock that was refused is not to be used. */
static void a_refused_clock_has_no_figures(void **state)
{
    (void)state;
    static const char *const figures[] = {"offset_s",
                                          "drift_ppm",
                                          "error_ms",
                                          "off_minus_on_ms",
                                          "off_minus_on_low_ms",
                                          "off_minus_on_high_ms",
                                          "residual_ms",
                                          "picture_shift_per_count_x",
                                          "picture_shift_per_count_y"};
    struct fl_take *t = fake_take(&(struct fake_settings){.id = "a",
                                                          .game = "Glass Canyon",
                                                          .counts_per_inch = 800,
                                                          .degrees_per_count = 0.044,
                                                          .v50_deg_s = 300,
                                                          .slope = 3,
                                                          .flicks = 12,
                                                          .seed = 5});
    t->spec.trace = "a.csv";
    for (int known = 0; known < 2; known++) {
        t->clock = (struct fl_clock){.known = known,
                                     .offset_s = 3,
                                     .drift_ppm = 40,
                                     .confidence = 0.1,
                                     .residual_ms = 2,
                                     .error_ms = 1,
                                     .off_minus_on_ms = 5,
                                     .off_minus_on_low_ms = 4,
                                     .off_minus_on_high_ms = 6,
                                     .gain_x = -0.2,
                                     .gain_y = -0.3,
                                     .refused = "two peaks alike"};
        struct fl_usable u;
        fl_usable_judge(&u, t, false);
        json_t *o = fl_check_json("a.mkv", t, &u);
        for (size_t i = 0; i < sizeof figures / sizeof *figures; i++) {
            const json_t *figure = json_object_get(clock_of(o), figures[i]);
            assert_true(known ? json_is_number(figure) : json_is_null(figure));
        }
        assert_string_equal(json_string_value(json_object_get(clock_of(o), "refused")),
                            "two peaks alike");
        json_decref(o);
    }
    fl_take_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_refused_clock_has_no_figures),
    };
    return RUN_TESTS(tests);
}
