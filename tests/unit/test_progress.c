#include "base/progress.h"

#include <string.h>

#include "test.h"

struct seen {
    int reports, asked;
    const char *what;
    double done;
    bool stop;
};

static void note(void *ctx, const char *what, double done)
{
    struct seen *s = ctx;
    s->reports++;
    s->what = what;
    s->done = done;
}

static bool ask(void *ctx)
{
    struct seen *s = ctx;
    s->asked++;
    return s->stop;
}

static void absent_listeners_are_fine(void **state)
{
    (void)state;
    const struct fl_progress none = {0};
    fl_progress_report(NULL, "decoding", 0.5);
    fl_progress_report(&none, "decoding", 0.5);
    assert_false(fl_progress_stop(NULL));
    assert_false(fl_progress_stop(&none));
}

static void passes_reports_and_stops_on(void **state)
{
    (void)state;
    struct seen s = {0};
    const struct fl_progress p = {note, ask, &s};
    fl_progress_report(&p, "decoding", 0.25);
    assert_int_equal(s.reports, 1);
    assert_string_equal(s.what, "decoding");
    assert_true(s.done == 0.25);
    assert_int_equal(s.asked, 0);
    assert_false(fl_progress_stop(&p));
    s.stop = true;
    assert_true(fl_progress_stop(&p));
    assert_int_equal(s.asked, 2);
    assert_int_equal(s.reports, 1);
}

static void either_listener_alone(void **state)
{
    (void)state;
    struct seen s = {.stop = true};
    const struct fl_progress hears = {.report = note, .ctx = &s}, stops = {.stop = ask, .ctx = &s};
    fl_progress_report(&stops, "x", 1);
    assert_int_equal(s.reports, 0);
    assert_true(fl_progress_stop(&stops));
    assert_false(fl_progress_stop(&hears));
    fl_progress_report(&hears, "x", 1);
    assert_int_equal(s.reports, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(absent_listeners_are_fine),
        cmocka_unit_test(passes_reports_and_stops_on),
        cmocka_unit_test(either_listener_alone),
    };
    return RUN_TESTS(tests);
}
