#include "show/chart/chart.h"
#include "base/figure.h"
#include "show/chart/chart_writer.h"

#include <string.h>

#include "base/file.h"
#include "fake_take.h"
#include "show/text/grouped_number.h"
#include "show_folder.h"
#include "test.h"
#include "show/draw/fonts.h"
#include "study/compare/session_study.h"

static void ticks_are_round_and_inside(void **state)
{
    (void)state;
    double tick[FL_TICKS];
    struct fl_axis linear = {0, 47.3, 0, 100, false}, tiny = {-1e-4, 1e-4, 0, 1, false},
                   logarithmic = {40, 1300, 0, 100, true};
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
    n = fl_axis_ticks(&(struct fl_axis){68, 131, 0, 1, true}, 8, tick); /* short: by tens */
    assert_int_equal(n, 7);
    for (int i = 0; i < n; i++)
        assert_near(tick[i], 70 + 10 * i, 1e-9);
    assert_int_equal(fl_axis_ticks(&(struct fl_axis){1, 1, 0, 1, false}, 5, tick), 0);
    assert_int_equal(fl_axis_ticks(&(struct fl_axis){0, INFINITY, 0, 1, false}, 5, tick), 0);
    assert_int_equal(fl_axis_ticks(&(struct fl_axis){0, 10, 0, 1, true}, 5, tick), 0);
    assert_near(fl_axis_at(&logarithmic, sqrt(40.0 * 1300)), 50,
                1e-12); /* the geometric mean is half-way */
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

static void draw_spikes(struct fl_surface *c, const void *data)
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
    struct fl_drawing d = {"t", "d", spike_height, draw_spikes, &s};
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
}

static void draw_slid(struct fl_surface *c, const void *data)
{
    const struct spikes *s = data;
    struct fl_axis x = {0, 2, 0, c->width, false}, y = {0, 1, 100, 0, false};
    fl_draw_series(c, &x, &y, s->x, s->y, s->n, 1, FL_INK);
}

static void draw_stepped(struct fl_surface *c, const void *data)
{
    const struct spikes *s = data;
    struct fl_axis x = {0, 2, 0, c->width, false}, y = {0, 1, 100, 0, false};
    fl_draw_steps(c, &x, &y, s->x, s->y, s->n, 1, FL_INK);
}

/* From 0.25 to 0.75 at the middle of 800 px: down to there at the height of the first value, 75 px,
 * then up; and no corner over a gap. */
static void steps_hold_until_the_next_value(void **state)
{
    (void)state;
    struct spikes s = {(double[]){0, 1, 2}, (float[]){0.25f, 0.75f, 0.75f}, 3};
    struct fl_drawing slid = {"t", "d", spike_height, draw_slid, &s},
                      stepped = {"t", "d", spike_height, draw_stepped, &s};
    char *line = fl_drawing_svg(&slid, 800, NULL), *steps = fl_drawing_svg(&stepped, 800, NULL);
    assert_null(strstr(line, "400 75"));
    assert_non_null(strstr(steps, "400 75"));
    assert_true(strstr(steps, "400 25") > strstr(steps, "400 75"));
    free(steps);
    s.y[0] = NAN;
    steps = fl_drawing_svg(&stepped, 800, NULL);
    assert_null(strstr(steps, "400 75"));
    free(line);
    free(steps);
}

static double channel(unsigned c)
{
    double v = c / 255.0;
    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

static double luminance(unsigned rgb)
{
    return 0.2126 * channel(rgb >> 16) + 0.7152 * channel(rgb >> 8 & 255) +
           0.0722 * channel(rgb & 255);
}

/* Contrast ratio as W3C, Web Content Accessibility Guidelines 2.2, defines it. */
static double contrast(unsigned a, unsigned b)
{
    double x = luminance(a), y = luminance(b);
    return (fmax(x, y) + 0.05) / (fmin(x, y) + 0.05);
}

/* The measure itself against known values: black on white is 21:1 by the definition; #767676 is the
 * lightest grey that passes 4.5:1 on white, #777777 the first that fails (values from memory). */
static void contrast_is_measured_as_published(void **state)
{
    (void)state;
    assert_near(contrast(0x000000, 0xffffff), 21, 1e-9);
    assert_near(contrast(0x767676, 0xffffff), 4.54, 0.005);
    assert_near(contrast(0x777777, 0xffffff), 4.48, 0.005);
    assert_near(contrast(0x777777, 0x777777), 1, 1e-12);
}

/* WCAG 2.2: text 4.5:1 (success criterion 1.4.3), parts of graphics 3:1 (1.4.11). Series must
 * also differ from each other in grey: by how much is our own choice. In the clear theme the ground
 * is the rim that text and marks wear. */
static void colours_have_contrast(void **state)
{
    (void)state;
    for (int theme = 0; theme < FL_THEMES; theme++) {
        unsigned rgb[FL_COLOURS];
        for (int i = 0; i < FL_COLOURS; i++)
            rgb[i] = fl_theme_rgb((enum fl_theme)theme, (enum fl_colour)i);
        unsigned paper = rgb[FL_PAPER];
        assert_true(contrast(rgb[FL_INK], paper) >= 7);
        assert_true(contrast(rgb[FL_MUTED], paper) >= 4.5);
        assert_true(contrast(rgb[FL_SERIES_2], paper) >= 4.5); /* charts name flicks in it */
        for (int i = FL_SERIES_1; i <= FL_SERIES_4; i++)
            assert_true(contrast(rgb[i], paper) >= 3);
        assert_true(contrast(rgb[FL_OFF], paper) >= 4.5);
        assert_true(contrast(rgb[FL_ON_STRONG], paper) >= 3);
        assert_true(theme == FL_THEME_CLEAR || contrast(rgb[FL_OFF], rgb[FL_ON]) >= 3);
        assert_true(contrast(rgb[FL_INK], rgb[FL_OFF_SOFT]) >= 7);
        static const enum fl_colour on_tint[] = {FL_OFF, FL_SERIES_1, FL_MUTED};
        for (int i = 0; i < 3; i++)
            assert_true(contrast(rgb[on_tint[i]], rgb[FL_OFF_SOFT]) >= 3);
        for (int i = FL_SERIES_1; i < FL_SERIES_4; i++) /* falling, so all four differ */
            assert_true(contrast(rgb[i], paper) / contrast(rgb[i + 1], paper) >= 1.25);
    }
}

struct lab {
    double l, a, b;
};

static double lab_f(double t)
{
    return t > 216.0 / 24389 ? cbrt(t) : (24389.0 / 27 * t + 16) / 116;
}

/* CIE 1976 L*a*b* of linear sRGB, white D65 (IEC 61966-2-1). */
static struct lab lab_of(const double c[3])
{
    double x = (0.4124 * c[0] + 0.3576 * c[1] + 0.1805 * c[2]) / 0.9505;
    double y = 0.2126 * c[0] + 0.7152 * c[1] + 0.0722 * c[2];
    double z = (0.0193 * c[0] + 0.1192 * c[1] + 0.9505 * c[2]) / 1.089;
    return (struct lab){116 * lab_f(y) - 16, 500 * (lab_f(x) - lab_f(y)),
                        200 * (lab_f(y) - lab_f(z))};
}

/* Full protanopia, full deuteranopia and full sight, on linear RGB: Machado, Oliveira & Fernandes
 * 2009, IEEE Trans. Vis. Comput. Graph. 15:1291-1298, severity 1.0 (values from memory; rows sum to
 * 1, so that greys stay grey, which is checked below). */
static const double sight[3][3][3] = {
    {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
    {{0.152286, 1.052583, -0.204868},
     {0.114503, 0.786281, 0.099216},
     {-0.003882, -0.048116, 1.051998}},
    {{0.367322, 0.860646, -0.227968},
     {0.280085, 0.672501, 0.047413},
     {-0.011820, 0.042940, 0.968881}},
};

static struct lab seen(unsigned rgb, int by)
{
    double c[3] = {channel(rgb >> 16), channel(rgb >> 8 & 255), channel(rgb & 255)}, out[3] = {0};
    for (int i = 0; i < 3; i++) {
        for (int k = 0; k < 3; k++)
            out[i] += sight[by][i][k] * c[k];
        out[i] = fmin(fmax(out[i], 0), 1);
    }
    return lab_of(out);
}

static double difference(struct lab p, struct lab q)
{
    return sqrt((p.l - q.l) * (p.l - q.l) + (p.a - q.a) * (p.a - q.a) + (p.b - q.b) * (p.b - q.b));
}

/* State must not hang on hue: on and off stay apart for every sight and in grey. A difference of 20
 * is many times what can just be seen (2.3: Mahy, Van Eycken & Oosterlinck 1994, Color Res. Appl.
 * 19:105-121); the number is our own choice. */
static void states_differ_for_every_sight(void **state)
{
    (void)state;
    for (int by = 0; by < 3; by++)
        for (int i = 0; i < 3; i++)
            assert_near(sight[by][i][0] + sight[by][i][1] + sight[by][i][2], 1, 2e-6);
    for (int theme = 0; theme < FL_THEMES; theme++) {
        unsigned on = fl_theme_rgb((enum fl_theme)theme, FL_ON_STRONG),
                 off = fl_theme_rgb((enum fl_theme)theme, FL_OFF);
        unsigned paper = fl_theme_rgb((enum fl_theme)theme, FL_PAPER),
                 unseen = fl_theme_rgb((enum fl_theme)theme, FL_MUTED);
        for (int by = 0; by < 3; by++) {
            assert_true(difference(seen(on, by), seen(off, by)) >= 20);
            assert_true(difference(seen(on, by), seen(paper, by)) >= 20);
            assert_true(difference(seen(off, by), seen(paper, by)) >= 20);
            assert_true(difference(seen(on, by), seen(unseen, by)) >=
                        12); /* also hatched, and thinner */
            assert_true(difference(seen(off, by), seen(unseen, by)) >= 12);
        }
        assert_true(fabs(seen(on, 0).l - seen(off, 0).l) >= 15); /* in grey */
    }
}

/* ISO 80000-1:2009, 7.3: digits in threes parted by a small space, nothing else; four digits may
 * stay together; a decimal point on the line; here U+202F and U+2212. */
static void numbers_read_alike_in_every_language(void **state)
{
    (void)state;
    char a[FL_FIGURE_SIZE], tick[32], small[8], range[FL_RANGE_SIZE];
    assert_string_equal(fl_grouped_figure(a, 12345), "12\u202f300");
    assert_string_equal(fl_grouped_figure(a, 1234567), "1\u202f230\u202f000");
    assert_string_equal(fl_grouped_figure(a, 1234), "1230");
    assert_string_equal(fl_grouped_figure(a, -0.05), "\u22120.050");
    assert_string_equal(fl_grouped_figure(a, FL_UNKNOWN), "–");
    assert_string_equal(fl_grouped_figure(a, -1e-5), "0");
    assert_string_equal(fl_grouped_short(a, 76), "76");
    assert_string_equal(fl_grouped_short(a, 0.43), "0.43");
    assert_string_equal(fl_grouped_short(a, 100), "100");
    assert_string_equal(fl_grouped_whole(a, 12.6), "13");
    assert_string_equal(fl_grouped_whole(a, -0.2), "0");
    fl_tick_text(tick, -20000);
    assert_string_equal(tick, "\u221220\u202f000");
    fl_tick_text(tick, 2e6);
    assert_string_equal(tick, "2\u202f000\u202f000");
    fl_tick_text(tick, 0.25);
    assert_string_equal(tick, "0.25");
    assert_string_equal(fl_group_digits(small, sizeof small, "1234567"),
                        "1234567"); /* no room: as it was */
    assert_string_equal(fl_grouped_range(range, 11000, 15000), "11\u202f000 to 15\u202f000");
    assert_string_equal(fl_grouped_range(range, FL_UNKNOWN, 15), "at most 15.0");
    assert_string_equal(fl_grouped_range(range, 15, FL_UNKNOWN), "at least 15.0");
    assert_string_equal(fl_grouped_range(range, FL_UNKNOWN, FL_UNKNOWN), "open at both ends");
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
    struct fl_chart d = fl_timeline_chart(&(struct fl_chart_of){.t = s->takes[0]});
    char *a = fl_chart_body_svg(&d, FL_PAGE_WIDE, NULL),
         *b = fl_chart_body_svg(&d, FL_PAGE_WIDE, NULL);
    assert_string_equal(a, b); /* byte for byte, although cairo numbers its surfaces */
    char *inlined = fl_chart_body_svg(&d, FL_PAGE_WIDE, "p7-");
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
    fl_chart_finish(&d);
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
    fl_session_add(s, fake_take(&(struct fake_settings){.id = "twin",
                                                        .game = "glass canyon!",
                                                        .counts_per_inch = 800,
                                                        .degrees_per_count = 0.044,
                                                        .v50_deg_s = 300,
                                                        .slope = 3,
                                                        .flicks = 9,
                                                        .seed = 5}));
    fl_session_study(s);
    assert_int_equal(write_all(folder, s, "charts", &err), FLINCH_OK);
    static const char *const names[] = {
        "charts/timeline-canyon-800-a.svg",
        "charts/timeline-canyon-800-a.png",
        "charts/curve-glass-canyon-default.svg",
        "charts/curve-glass-canyon-default.png",
        "charts/curve-glass-canyon-default-2.svg",
        "charts/curve-ember-harbour-default.png",
        "charts/ranking.svg",
        "charts/ranking.png",
        "charts/resolution-glass-canyon-default.svg",
        "charts/rate-glass-canyon-synthesis-disabled.png",
    };
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        assert_true(exists(folder, names[i]));
    fl_session_free(&s);
    remove_folder(folder);
}

/* The tests' machine has one; without: tests/cli. */
static void a_font_is_found(void **state)
{
    (void)state;
    struct fl_error err;
    assert_int_equal(fl_fonts_check(&err), FLINCH_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_font_is_found),
        cmocka_unit_test(ticks_are_round_and_inside),
        cmocka_unit_test(long_series_are_reduced_and_keep_their_extremes),
        cmocka_unit_test(steps_hold_until_the_next_value),
        cmocka_unit_test(contrast_is_measured_as_published),
        cmocka_unit_test(colours_have_contrast),
        cmocka_unit_test(states_differ_for_every_sight),
        cmocka_unit_test(numbers_read_alike_in_every_language),
        cmocka_unit_test(drawings_repeat_and_can_be_inlined),
        cmocka_unit_test(odd_takes_can_be_drawn),
        cmocka_unit_test(charts_have_the_settled_names),
    };
    return RUN_TESTS(tests);
}
