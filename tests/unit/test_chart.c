#include "show/charts.h"

#include <string.h>

#include "base/file.h"
#include "fake_take.h"
#include "show_folder.h"
#include "test.h"

static void ticks_are_round_and_inside(void **state)
{
    (void)state;
    double tick[FL_TICKS];
    struct fl_axis linear = {0, 47.3, 0, 100, false}, tiny = {-1e-4, 1e-4, 0, 1, false}, logarithmic = {40, 1300, 0, 100, true};
    int n = fl_axis_ticks(&linear, 8, tick);
    assert_int_equal(n, 5); /* 0, 10, … 40: a step of 5 would be more than wanted */
    for (int i = 0; i < n; i++)
        assert_near(tick[i], 10 * i, 1e-12);
    n = fl_axis_ticks(&tiny, 4, tick);
    assert_true(n >= 3 && tick[0] >= -1e-4 && tick[n - 1] <= 1e-4);
    n = fl_axis_ticks(&logarithmic, 5, tick);
    static const double want[] = {50, 100, 200, 500, 1000};
    assert_int_equal(n, 5);
    for (int i = 0; i < n; i++)
        assert_near(tick[i], want[i], 1e-9);
    assert_int_equal(fl_axis_ticks(&(struct fl_axis){1, 1, 0, 1, false}, 5, tick), 0);
    assert_int_equal(fl_axis_ticks(&(struct fl_axis){0, INFINITY, 0, 1, false}, 5, tick), 0);
    assert_near(fl_axis_at(&logarithmic, sqrt(40.0 * 1300)), 50, 1e-12); /* the geometric mean is half-way */
}

struct spikes {
    double *x;
    float *y;
    size_t n;
};

static double spike_height(const void *data, double width)
{
    (void)data;
    (void)width;
    return 100;
}

static void draw_spikes(struct fl_chart *c, const void *data)
{
    const struct spikes *s = data;
    struct fl_axis x = {0, (double)s->n, 0, c->width, false}, y = {0, 1, 100, 0, false};
    fl_draw_series(c, &x, &y, s->x, s->y, s->n, 1, FL_INK);
}

/* A million points cost no more than the width; one lone spike among them is not lost. */
static void long_series_are_reduced_and_keep_their_extremes(void **state)
{
    (void)state;
    struct spikes s = {FL_NEW(double, 1000000), FL_NEW(float, 1000000), 1000000};
    for (size_t i = 0; i < s.n; i++) {
        s.x[i] = (double)i;
        s.y[i] = i % 2 ? 0.25f : 0.5f;
    }
    s.y[314159] = 0.97f; /* drawn at y = 3 */
    s.y[700000] = NAN;
    struct fl_drawing d = {strdup("t"), strdup("d"), spike_height, draw_spikes, &s};
    char *svg = fl_drawing_svg(&d, 800, NULL);
    assert_true(strlen(svg) < 8 * 1600 * 16);
    assert_true(strstr(svg, " 3 ") || strstr(svg, " 3.0"));
    s.y[314159] = 0.5f;
    char *without = fl_drawing_svg(&d, 800, NULL);
    assert_string_not_equal(svg, without);
    free(without);
    free(svg);
    free(s.x);
    free(s.y);
    fl_drawing_finish(&d);
}

static double channel(unsigned c)
{
    double v = c / 255.0;
    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

static double luminance(unsigned rgb)
{
    return 0.2126 * channel(rgb >> 16) + 0.7152 * channel(rgb >> 8 & 255) + 0.0722 * channel(rgb & 255);
}

/* Contrast ratio as W3C, Web Content Accessibility Guidelines 2.2, defines it. */
static double contrast(unsigned a, unsigned b)
{
    double x = luminance(a), y = luminance(b);
    return (fmax(x, y) + 0.05) / (fmin(x, y) + 0.05);
}

/* WCAG 2.2: text 4.5:1 (success criterion 1.4.3), parts of graphics 3:1 (1.4.11). Series must
 * also differ from each other in grey: by how much is our own choice. */
static void colours_have_contrast(void **state)
{
    (void)state;
    for (int dark = 0; dark < 2; dark++) {
        unsigned rgb[FL_COLOURS];
        for (int i = 0; i < FL_COLOURS; i++)
            rgb[i] = dark ? fl_palette[i].dark : fl_palette[i].light;
        unsigned paper = rgb[FL_PAPER];
        assert_true(contrast(rgb[FL_INK], paper) >= 7);
        assert_true(contrast(rgb[FL_MUTED], paper) >= 4.5);
        for (int i = FL_SERIES_1; i <= FL_SERIES_4; i++)
            assert_true(contrast(rgb[i], paper) >= 3);
        assert_true(contrast(rgb[FL_OFF], paper) >= 4.5);
        assert_true(contrast(rgb[FL_OFF], rgb[FL_ON]) >= 3);
        assert_true(contrast(rgb[FL_INK], rgb[FL_OFF_SOFT]) >= 7);
        for (int i = FL_SERIES_1; i < FL_SERIES_4; i++) /* falling, so all four differ */
            assert_true(contrast(rgb[i], paper) / contrast(rgb[i + 1], paper) >= 1.25);
    }
}

static int count(const char *text, const char *part)
{
    int n = 0;
    for (const char *p = text; (p = strstr(p, part)); p += strlen(part))
        n++;
    return n;
}

static void drawings_repeat_and_can_be_inlined(void **state)
{
    (void)state;
    struct fl_session *s = fake_session();
    fl_session_study(s);
    struct fl_drawing d = fl_timeline_drawing(s->takes[0]);
    char *a = fl_drawing_svg(&d, FL_CHART_WIDE, NULL), *b = fl_drawing_svg(&d, FL_CHART_WIDE, NULL);
    assert_string_equal(a, b); /* byte for byte, although cairo numbers its surfaces */
    char *inlined = fl_drawing_svg(&d, FL_CHART_WIDE, "p7-");
    assert_memory_equal(inlined, "<svg", 4);
    assert_int_equal(count(inlined, " id=\""), count(inlined, " id=\"p7-"));
    assert_int_equal(count(inlined, "href=\"#"), count(inlined, "href=\"#p7-"));
    assert_int_equal(count(inlined, "url(#"), count(inlined, "url(#p7-"));
    assert_int_equal(count(inlined, "rgb("), 0); /* every colour follows the page */
    assert_true(count(inlined, "var(--off)") > 0);
    assert_int_equal(count(inlined, "<text"), 0); /* outlines: no font needed */
    free(a);
    free(b);
    free(inlined);
    fl_drawing_finish(&d);
    fl_session_free(&s);
}

/* Takes with nothing in them, one frame, no states, names that are hostile. */
static void odd_takes_can_be_drawn(void **state)
{
    (void)state;
    char *folder = make_folder();
    struct fl_error err;
    struct fl_take *t = fl_take_new();
    t->spec.id = "empty";
    t->spec.game = "";
    assert_int_equal(fl_chart_writer.write_take(folder, t, NULL, &err), FLINCH_OK);
    t->spec.id = "hostile";
    t->spec.game = "<script>alert(1)</script> & \"x\" \xff";
    t->frames = 1;
    t->time_s = FL_ARENA(t->arena, double, 1);
    t->quantity[FL_CAMERA_SPEED] = FL_ARENA(t->arena, float, 1);
    assert_int_equal(fl_chart_writer.write_take(folder, t, NULL, &err), FLINCH_OK);
    fl_take_free(&t);
    remove_folder(folder);
}

static bool exists(const char *folder, const char *name)
{
    char *path = fl_path_join(folder, name);
    bool there = !access(path, R_OK);
    free(path);
    return there;
}

static void charts_have_the_settled_names(void **state)
{
    (void)state;
    char *folder = make_folder();
    struct fl_error err;
    struct fl_session *s = fake_session();
    /* A second game whose name has the same slug. */
    fl_session_add(s, fake_take(&(struct fake_settings){.id = "twin", .game = "glass canyon!", .counts_per_inch = 800,
        .degrees_per_count = 0.044, .v50_deg_s = 300, .slope = 3, .flicks = 9, .seed = 5}));
    fl_session_study(s);
    assert_int_equal(write_all(folder, s, "charts", &err), FLINCH_OK);
    static const char *const names[] = {
        "charts/timeline-canyon-800-a.svg", "charts/timeline-canyon-800-a.png", "charts/curve-glass-canyon-default.svg",
        "charts/curve-glass-canyon-default.png", "charts/curve-glass-canyon-default-2.svg",
        "charts/curve-ember-harbour-default.png", "charts/ranking.svg", "charts/ranking.png"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        assert_true(exists(folder, names[i]));
    fl_session_free(&s);
    remove_folder(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ticks_are_round_and_inside),
        cmocka_unit_test(long_series_are_reduced_and_keep_their_extremes),
        cmocka_unit_test(colours_have_contrast),
        cmocka_unit_test(drawings_repeat_and_can_be_inlined),
        cmocka_unit_test(odd_takes_can_be_drawn),
        cmocka_unit_test(charts_have_the_settled_names),
    };
    return RUN_TESTS(tests);
}
