#include "show/store/json.h"

#include <string.h>

#include "fake_take.h"
#include "show_folder.h"
#include "test.h"
#include "study/compare/session_study.h"
#include "writers.h"

static struct fl_take *small_take(void)
{
    return fake_take(&(struct fake_settings){.id = "a",
                                             .game = "Glass Canyon",
                                             .counts_per_inch = 800,
                                             .degrees_per_count = 0.044,
                                             .v50_deg_s = 300,
                                             .slope = 3,
                                             .flicks = 12,
                                             .seed = 5});
}

static const json_t *at(const json_t *o, const char *a, const char *b)
{
    const json_t *v = json_object_get(o, a);
    v = b ? json_object_get(v, b) : v;
    assert_non_null(v);
    return v;
}

static void the_settled_fields_are_there(void **state)
{
    (void)state;
    static const char *const names[][2] = {
        {"id", 0},
        {"game", 0},
        {"condition", 0},
        {"counts_per_inch", 0},
        {"degrees_per_count", 0},
        {"footage", "frames"},
        {"footage", "width"},
        {"footage", "height"},
        {"footage", "capture_rate_hz"},
        {"footage", "duration_s"},
        {"footage", "torn"},
        {"footage", "noise"},
        {"clock", "offset_s"},
        {"clock", "drift_ppm"},
        {"clock", "off_minus_on_ms"},
        {"clock", "method"},
        {"clock", "confidence"},
        {"clock", "residual_ms"},
        {"clock", "refused"},
        {"base_rate_on_hz", 0},
        {"base_rate_off_hz", 0},
        {"visible_floor_deg_s", 0},
        {"exposure", "off_share_in_motion"},
        {"exposure", "longest_s"},
    };
    struct fl_take *t = small_take();
    json_t *o = fl_take_json(t);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        at(o, names[i][0], names[i][1]);
    assert_int_equal(json_array_size(at(o, "states", NULL)), t->states.n_spans);
    assert_int_equal(json_array_size(at(o, "lapses", NULL)), t->states.n_lapses);
    assert_int_equal(json_array_size(at(o, "flicks", NULL)), t->n_flicks);
    const json_t *flick = json_array_get(at(o, "flicks", NULL), 3);
    assert_near(json_number_value(at(flick, "peak_camera_speed_deg_s", NULL)),
                t->flicks[3].peak[FL_CAMERA_SPEED], 1e-6);
    assert_string_equal(json_string_value(at(o, "format", NULL)), "flinch-take");
    assert_true(json_is_integer(at(o, "version", NULL)));
    json_decref(o);
    fl_take_free(&t);
}

static void unknown_numbers_are_null(void **state)
{
    (void)state;
    struct fl_take *t = small_take();
    t->noise = INFINITY;
    t->states.base_rate_on_hz = FL_UNKNOWN;
    t->flicks[0].tripped = FL_ANSWER_UNKNOWN;
    t->clock = (struct fl_clock){
        .known = false, .offset_s = 3, .confidence = 0.1, .refused = "two peaks alike"};
    json_t *o = fl_take_json(t);
    assert_true(json_is_null(at(o, "footage", "noise")));
    assert_true(json_is_null(at(o, "base_rate_on_hz", NULL)));
    assert_true(json_is_null(at(json_array_get(at(o, "flicks", NULL), 0), "tripped", NULL)));
    assert_true(json_is_null(at(o, "clock", "offset_s"))); /* refused: whatever it was */
    assert_string_equal(json_string_value(at(o, "clock", "refused")), "two peaks alike");
    assert_true(json_is_null(at(o, "key", NULL)));
    json_decref(o);
    fl_take_free(&t);
}

/* 0.1 must read 0.1 in the file, not 0.10000000000000001. */
static void figures_print_as_they_were_rounded(void **state)
{
    (void)state;
    struct fl_take *t = small_take();
    t->duration_s = 0.1;
    t->noise = 1.0 / 3;
    json_t *o = fl_take_json(t);
    char *text = json_dumps(at(o, "footage", NULL), JSON_REAL_PRECISION(15) | JSON_COMPACT);
    assert_non_null(strstr(text, "\"duration_s\":0.1,"));
    assert_non_null(strstr(text, "\"noise\":0.3333333,"));
    free(text);
    json_decref(o);
    fl_take_free(&t);
}

static void text_that_is_not_utf8_still_gives_json(void **state)
{
    (void)state;
    struct fl_take *t = small_take();
    t->spec.game = "bad \xff name";
    json_t *o = fl_take_json(t);
    assert_string_equal(json_string_value(at(o, "game", NULL)), "bad \xef\xbf\xbd name");
    json_decref(o);
    fl_take_free(&t);
}

static void a_session_lists_what_was_studied(void **state)
{
    (void)state;
    struct fl_session *s = fake_session();
    fl_session_study(s);
    json_t *o = fl_session_json(s);
    assert_int_equal(json_array_size(at(o, "takes", NULL)), 9);
    assert_int_equal(json_array_size(at(o, "curves", NULL)), s->n_curves);
    assert_int_equal(json_array_size(at(o, "comparisons", NULL)), s->n_comparisons);
    assert_int_equal(json_array_size(at(o, "quantities", NULL)), s->n_quantities);
    assert_int_equal(json_array_size(at(o, "settings", NULL)), s->n_results);
    assert_int_equal(json_array_size(at(o, "repeatability", NULL)),
                     4); /* settings, the control apart */
    assert_int_equal(
        json_array_size(at(json_array_get(at(o, "repeatability", NULL), 0), "takes", NULL)), 2);
    assert_int_equal(json_array_size(at(o, "failed", NULL)), 1);
    const json_t *first = json_array_get(at(o, "settings", NULL), 0);
    assert_string_equal(json_string_value(at(first, "game", NULL)),
                        "Ember Harbour"); /* the hair trigger */
    json_decref(o);
    fl_session_free(&s);
}

static void a_folder_that_cannot_be_written_is_one_error(void **state)
{
    (void)state;
    struct fl_error err = {0};
    struct fl_session *s = fl_session_new("x");
    fl_session_add(s, small_take());
    fl_session_study(s);
    for (size_t w = 0; fl_writers[w]; w++) {
        if (fl_writers[w]->write_take)
            assert_int_equal(fl_writers[w]->write_take("/dev/null/x", s->takes[0],
                                                       &(struct fl_show_settings){0}, &err),
                             FLINCH_ERR_WRITE);
        if (fl_writers[w]->write_session)
            assert_int_equal(
                fl_writers[w]->write_session("/dev/null/x", s, &(struct fl_show_settings){0}, &err),
                FLINCH_ERR_WRITE);
        assert_non_null(strstr(err.text, "/dev/null"));
    }
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_settled_fields_are_there),
        cmocka_unit_test(unknown_numbers_are_null),
        cmocka_unit_test(figures_print_as_they_were_rounded),
        cmocka_unit_test(text_that_is_not_utf8_still_gives_json),
        cmocka_unit_test(a_session_lists_what_was_studied),
        cmocka_unit_test(a_folder_that_cannot_be_written_is_one_error),
    };
    return RUN_TESTS(tests);
}
