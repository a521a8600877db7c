/* Can every chart be read? Each kind is drawn in every theme and text size, and for the page at its
 * two widths, over sessions that are plain, crowded and oddly named. Every text is looked at: its
 * size, that nothing cuts it off and no other text lies on it, and how it stands off what is drawn
 * behind it.
 *
 * Contrast is that of Web Content Accessibility Guidelines 2.2: relative luminance as defined there
 * (sRGB, linear below 0.04045), ratio (L1 + 0.05) / (L2 + 0.05), 4.5 for text (1.4.3) and 3 for
 * graphical objects (1.4.11). The smallest sizes are our own choice. */
#include "show/chart/chart_kind.h"

#include <stdlib.h>
#include <string.h>

#include "fake_take.h"
#include "ruled_take.h"
#include "study/compare/session_study.h"
#include "test.h"

enum { WIDE = 1920, HIGH = 1080, MOST = 400 };
#define LEAST_PX 12.0      /* of 1080, where a chart is full */
#define USUAL_PX 18.0      /* of 1080, of the charts of a few settings */
#define LEAST_PAGE_PX 11.0 /* on the page */
#define TEXT_RATIO 4.5
#define MARK_RATIO 3.0

/* ---- contrast ---- */

static double linear(unsigned byte)
{
    const double s = byte / 255.0;
    return s <= 0.04045 ? s / 12.92 : pow((s + 0.055) / 1.055, 2.4);
}

static double luminance(unsigned rgb)
{
    return 0.2126 * linear(rgb >> 16 & 255) + 0.7152 * linear(rgb >> 8 & 255) +
           0.0722 * linear(rgb & 255);
}

static double ratio(unsigned a, unsigned b)
{
    const double p = luminance(a), q = luminance(b);
    return (fmax(p, q) + 0.05) / (fmin(p, q) + 0.05);
}

/* 21 and 1 are the ends by definition; #767676 is the lightest grey that passes 4.5 on white, as
 * the working group's own techniques say. */
static void contrast_is_that_of_the_guidelines(void **state)
{
    (void)state;
    assert_near(ratio(0xffffff, 0x000000), 21, 1e-12);
    assert_near(ratio(0x123456, 0x123456), 1, 1e-12);
    assert_true(ratio(0x767676, 0xffffff) >= 4.5 && ratio(0x777777, 0xffffff) < 4.5);
}

/* Text on its ground, and marks that carry a meaning. FL_RULE and the tints are grounds. */
static void colours_stand_off_the_ground(void **state)
{
    (void)state;
    static const enum fl_colour text[] = {FL_INK, FL_MUTED, FL_OFF},
                                mark[] = {FL_SERIES_1, FL_SERIES_2, FL_SERIES_3,
                                          FL_SERIES_4, FL_OFF,      FL_ON_STRONG};
    for (int theme = 0; theme < FL_THEMES; theme++) {
        const unsigned paper = fl_theme_rgb((enum fl_theme)theme, FL_PAPER);
        for (size_t i = 0; i < sizeof text / sizeof *text; i++)
            assert_true(ratio(fl_theme_rgb((enum fl_theme)theme, text[i]), paper) >= TEXT_RATIO);
        for (size_t i = 0; i < sizeof mark / sizeof *mark; i++)
            assert_true(ratio(fl_theme_rgb((enum fl_theme)theme, mark[i]), paper) >= MARK_RATIO);
    }
}

/* ---- what was drawn ---- */

struct placed {
    double x, y, w, h, px;
    enum fl_colour colour;
    bool cut;
    char *text;
};

struct picture {
    struct placed v[MOST];
    size_t n;
    bool with_text;
    int width, height;
    double scale; /* px of the picture per px of the surface */
    enum fl_theme theme;
    cairo_surface_t *image;
    const char *of; /* for messages */
};

static bool note(void *to, const struct fl_placed_text *t)
{
    struct picture *p = to;
    assert_true(p->n < MOST);
    p->v[p->n++] =
        (struct placed){t->x, t->y, t->w, t->h, t->px, t->colour, t->cut, strdup(t->text)};
    return p->with_text;
}

static struct fl_surface begin(struct picture *p)
{
    p->image = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, p->width, p->height);
    return (struct fl_surface){
        .cr = cairo_create(p->image), .theme = p->theme, .on_text = note, .to = p};
}

static void end(struct fl_surface *c, struct picture *p)
{
    cairo_destroy(c->cr);
    cairo_surface_flush(p->image);
}

static void draw_chart(struct picture *p, const struct fl_chart *chart,
                       const struct fl_chart_settings *set)
{
    p->width = WIDE;
    p->height = HIGH;
    struct fl_surface c = begin(p);
    fl_chart_draw(&c, chart, set);
    p->scale = WIDE / c.width;
    end(&c, p);
}

/* As fl_chart_body_svg does. */
static void draw_body(struct picture *p, const struct fl_chart *chart, double width)
{
    enum { EDGE = 12 };
    const double wide = chart->height ? width : fmax(width, chart->least_w + 2 * EDGE);
    const double body = chart->height ? chart->height(chart->data, wide - 2 * EDGE)
                                      : fmax(0.42 * wide, chart->least_h);
    p->width = (int)wide;
    p->height = (int)ceil(body + 2 * EDGE);
    p->scale = 1;
    struct fl_surface c = begin(p);
    c.width = p->width;
    c.height = p->height;
    c.narrow = wide < FL_SURFACE_NARROW;
    fl_draw_box(&c, 0, 0, c.width, c.height, FL_PAPER);
    chart->draw(&c, (struct fl_box){EDGE, EDGE, wide - 2 * EDGE, p->height - 2 * EDGE},
                chart->data);
    end(&c, p);
}

static void finish(struct picture *p)
{
    for (size_t i = 0; i < p->n; i++)
        free(p->v[i].text);
    cairo_surface_destroy(p->image);
}

static unsigned pixel(const struct picture *p, int x, int y)
{
    const unsigned char *row = cairo_image_surface_get_data(p->image) +
                               (ptrdiff_t)y * cairo_image_surface_get_stride(p->image);
    unsigned argb;
    memcpy(&argb, row + (ptrdiff_t)x * 4, sizeof argb);
    return argb;
}

/* ---- what is asked of it ---- */

static int faults;

__attribute__((format(printf, 3, 4))) static void
fault(const struct picture *p, const struct placed *t, const char *fmt, ...)
{
    static const char *const themes[] = {"light", "dark", "transparent"};
    va_list args;
    va_start(args, fmt);
    print_error("%s, %s, %d px: \"%s\" ", p->of, themes[p->theme], p->width, t->text);
    vprint_error(fmt, args);
    print_error("\n");
    va_end(args);
    faults++;
}

static void check_sizes(const struct picture *p, double least)
{
    for (size_t i = 0; i < p->n; i++)
        if (p->v[i].px * p->scale < least - 1e-6)
            fault(p, &p->v[i], "is %.1f px high, under %.1f", p->v[i].px * p->scale, least);
}

static void check_places(const struct picture *p)
{
    for (size_t i = 0; i < p->n; i++) {
        const struct placed *a = &p->v[i];
        if (!*a->text || a->w <= 0)
            continue;
        if (a->x < 0 || a->y < 0 || (a->x + a->w) * p->scale > p->width + 0.5 ||
            (a->y + a->h) * p->scale > p->height + 0.5)
            fault(p, a, "leaves the picture: %.0f %.0f, %.0f by %.0f", a->x, a->y, a->w, a->h);
        for (size_t k = 0; k < i; k++) {
            const struct placed *b = &p->v[k];
            const double w = fmin(a->x + a->w, b->x + b->w) - fmax(a->x, b->x),
                         h = fmin(a->y + a->h, b->y + b->h) - fmax(a->y, b->y);
            if (b->w > 0 && w > 0.5 && h > 0.5)
                fault(p, a, "lies on \"%s\"", b->text);
        }
    }
}

/* Where text stands, what lies behind it: a tenth of it at most may be lines and marks that it
 * stands off less. bare: the same picture without text. */
static void check_contrast(const struct picture *p, const struct picture *bare)
{
    for (size_t i = 0; i < p->n; i++) {
        const struct placed *t = &p->v[i];
        const unsigned ink = fl_theme_rgb(p->theme, t->colour);
        const int x1 = (int)fmin(p->width, ceil((t->x + t->w) * p->scale)),
                  y1 = (int)fmin(p->height, ceil((t->y + t->h) * p->scale));
        long all = 0, poor = 0;
        for (int y = (int)fmax(0, t->y * p->scale); y < y1; y++)
            for (int x = (int)fmax(0, t->x * p->scale); x < x1; x++)
                if (pixel(p, x, y) != pixel(bare, x, y)) {
                    all++;
                    poor += ratio(ink, pixel(bare, x, y) & 0xffffff) < TEXT_RATIO;
                }
        if (all && 10 * poor > all)
            fault(p, t, "stands off its ground too little in %ld of 100 pixels", 100 * poor / all);
        if (!all && *t->text && t->w > 0)
            fault(p, t, "is not to be seen");
    }
}

/* On no ground: ink and rim stand off each other, and no ink lies bare beside footage. */
static void check_rim(const struct picture *p)
{
    const unsigned rim = fl_theme_rgb(FL_THEME_CLEAR, FL_PAPER);
    for (size_t i = 0; i < p->n; i++) {
        const struct placed *t = &p->v[i];
        const unsigned ink = fl_theme_rgb(FL_THEME_CLEAR, t->colour);
        long inked = 0, bare = 0;
        const int x0 = (int)(t->x * p->scale), y0 = (int)(t->y * p->scale),
                  x1 = (int)((t->x + t->w) * p->scale), y1 = (int)((t->y + t->h) * p->scale);
        if (ratio(ink, rim) < TEXT_RATIO)
            fault(p, t, "stands off its rim by %.1f", ratio(ink, rim));
        for (int y = y0 > 1 ? y0 : 1; y < y1 && y + 1 < p->height; y++)
            for (int x = x0 > 1 ? x0 : 1; x < x1 && x + 1 < p->width; x++) {
                if (pixel(p, x, y) != (0xff000000 | ink))
                    continue;
                inked++;
                for (int k = 0; k < 9; k++)
                    bare += pixel(p, x - 1 + k % 3, y - 1 + k / 3) >> 24 < 128;
            }
        if (bare)
            fault(p, t, "has %ld places without a rim", bare);
    }
}

/* Names may be too long for any room: only sessions with short ones are asked. */
static void check_whole(const struct picture *p)
{
    for (size_t i = 0; i < p->n; i++)
        if (p->v[i].cut)
            fault(p, &p->v[i], "is cut off");
}

static void look_at_chart(const struct fl_chart *chart, const char *of, double text_px,
                          double least, bool whole)
{
    const struct fl_chart_settings set = {.text_px = text_px};
    for (int theme = 0; theme < FL_THEMES; theme++) {
        struct picture p = {.theme = (enum fl_theme)theme, .with_text = true, .of = of},
                       bare = {.theme = (enum fl_theme)theme, .of = of};
        draw_chart(&p, chart, &set);
        draw_chart(&bare, chart, &set);
        check_sizes(&p, least);
        if (whole)
            check_whole(&p);
        if (theme == FL_THEME_CLEAR)
            check_rim(&p);
        else
            check_contrast(&p, &bare);
        if (!theme)
            check_places(&p);
        finish(&p);
        finish(&bare);
    }
}

static void look_at_body(const struct fl_chart *chart, const char *of, double width)
{
    struct picture p = {.theme = FL_THEME_DARK, .with_text = true, .of = of},
                   bare = {.theme = FL_THEME_DARK, .of = of};
    draw_body(&p, chart, width);
    draw_body(&bare, chart, width);
    check_sizes(&p, LEAST_PAGE_PX);
    check_whole(&p);
    check_places(&p);
    check_contrast(&p, &bare);
    finish(&p);
    finish(&bare);
}

/* Every chart of a session that is due, the timelines' first two. usual: text stays large. */
static void look_at_session(const struct fl_session *s, double text_px, bool usual, int *charts)
{
    struct fl_groups g;
    fl_groups_make(&g, s);
    for (int k = 0; k < FL_CHART_KINDS; k++) {
        const enum fl_chart_scope scope = fl_chart_kinds[k].scope;
        const size_t n = scope == FL_CHART_OF_TAKE    ? (s->n_takes < 2 ? s->n_takes : 2)
                         : scope == FL_CHART_OF_GROUP ? g.n
                                                      : 1;
        for (size_t i = 0; i < n; i++) {
            const struct fl_chart_of of = {s, scope == FL_CHART_OF_GROUP ? &g.v[i] : NULL,
                                           scope == FL_CHART_OF_TAKE ? s->takes[i] : NULL};
            if (fl_chart_kinds[k].due && !fl_chart_kinds[k].due(&of))
                continue;
            struct fl_chart chart = fl_chart_kinds[k].make(&of);
            look_at_chart(&chart, fl_chart_kind_words[k], text_px, usual ? USUAL_PX : LEAST_PX,
                          true);
            if (!text_px) {
                look_at_body(&chart, fl_chart_kind_words[k], FL_PAGE_WIDE);
                look_at_body(&chart, fl_chart_kind_words[k], FL_PAGE_PHONE);
            }
            charts[k]++;
            fl_chart_finish(&chart);
        }
    }
    fl_groups_finish(&g);
}

/* ---- sessions ---- */

/* Games of two settings each with a rule that trips and returns. */
static struct fl_session *ruled_session(void)
{
    struct fl_session *s = fl_session_new("Cut-off rules");
    static const char *const id[] = {"meadow-400-a", "meadow-1600-a", "meadow-400-b",
                                     "meadow-1600-b"};
    static struct fl_turn_rate rate[6];
    for (int i = 0; i < 6; i++)
        rate[i] = (struct fl_turn_rate){0.1 + 0.18 * i, 400.0 * i * i, 380.0 * i * i,
                                        450.0 * i * i,  14.0 * i * i,  60};
    for (int i = 0; i < 4; i++) {
        struct fl_take *t =
            ruled_take(&(struct ruled_settings){.id = id[i],
                                                .game = "Tin Meadow",
                                                .key = FL_CAMERA_SPEED,
                                                .theta_off = 150,
                                                .theta_on = 100,
                                                .d_off_s = 0.03,
                                                .d_on_s = 0.03,
                                                .seen_above_deg_s = 8,
                                                .flicks = 12,
                                                .counts_per_inch = i % 2 ? 1600 : 400,
                                                .degrees_per_count = i % 2 ? 0.022 : 0.066,
                                                .seed = 20 + (uint64_t)i});
        t->turn_curve = (struct fl_turn_curve){rate, 6, 0.03, 0.1 + 0.01 * i};
        fl_session_add(s, t);
    }
    fl_session_study(s);
    return s;
}

/* Rows of the ranking: three games of two settings, the one with many digits. */
static struct fl_session *six_rows(void)
{
    static const char *const game[] = {"Copper Harbour", "The Lamplighter's Almanac: Complete",
                                       "Paper Orchard"};
    static char id[12][8];
    struct fl_session *s = fl_session_new("Six settings");
    for (int i = 0; i < 12; i++) {
        snprintf(id[i], sizeof id[i], "t%02d", i);
        fl_session_add(s, fake_take(&(struct fake_settings){
                              .id = id[i],
                              .game = game[i / 4],
                              .condition = i / 4 == 1 ? "low detail, ray tracing" : "default",
                              .counts_per_inch = i % 2 ? 12800 : 400,
                              .degrees_per_count = i % 2 ? 0.00068755 : 0.022,
                              .v50_deg_s = 60 + 40 * (i / 4),
                              .slope = 4,
                              .take_sd_octaves = 0.05,
                              .flicks = 20,
                              .flicks_only = true,
                              .seed = 300 + (uint64_t)i}));
    }
    fl_session_study(s);
    return s;
}

static void every_chart_can_be_read(void **state)
{
    (void)state;
    int charts[FL_CHART_KINDS] = {0};
    struct fl_session *s = fake_session();
    fl_session_study(s);
    look_at_session(s, 0, true, charts);
    fl_session_free(&s);
    s = ruled_session();
    look_at_session(s, 0, true, charts);
    look_at_session(s, FL_CHART_TEXT_LEAST, false, charts);
    look_at_session(s, FL_CHART_TEXT_MOST, false, charts);
    fl_session_free(&s);
    for (int k = 0; k < FL_CHART_KINDS; k++)
        assert_true(charts[k] > 0);
    assert_int_equal(faults, 0);
}

static void a_ranking_of_six_is_whole(void **state)
{
    (void)state;
    struct fl_session *s = six_rows();
    struct fl_chart chart = fl_ranking_chart(&(struct fl_chart_of){.s = s});
    const struct fl_chart_settings plain = {0};
    struct picture p = {.with_text = true, .of = "ranking of six"};
    look_at_chart(&chart, p.of, 0, LEAST_PX, false);
    draw_chart(&p, &chart, &plain);
    int settings = 0;
    for (size_t i = 0; i < p.n; i++)
        if (strstr(p.v[i].text, "cm per turn") || strstr(p.v[i].text, "DPI")) {
            settings++;
            if (p.v[i].cut)
                fault(&p, &p.v[i], "is cut off");
        }
    assert_true(settings >= 6);
    assert_int_equal(faults, 0);
    finish(&p);
    fl_chart_finish(&chart);
    fl_session_free(&s);
}

/* What the option asks for can be seen: from its least to its most, text grows in every chart. */
static void the_text_size_is_felt(void **state)
{
    (void)state;
    static const double sizes[] = {FL_CHART_TEXT_LEAST, FL_CHART_TEXT_PX, FL_CHART_TEXT_MOST};
    struct fl_session *s = ruled_session();
    struct fl_groups g;
    fl_groups_make(&g, s);
    for (int k = 0; k < FL_CHART_KINDS; k++) {
        const struct fl_chart_of of = {s, &g.v[0], s->takes[0]};
        struct fl_chart chart = fl_chart_kinds[k].make(&of);
        double shown[3];
        for (int i = 0; i < 3; i++) {
            const struct fl_chart_settings set = {.text_px = sizes[i]};
            struct picture p = {.with_text = true, .of = fl_chart_kind_words[k]};
            draw_chart(&p, &chart, &set);
            shown[i] = p.scale * FL_PLAIN_PX;
            finish(&p);
        }
        print_message("%s: %.1f, %.1f, %.1f\n", fl_chart_kind_words[k], shown[0], shown[1],
                      shown[2]);
        for (int i = 0; i < 3; i++)
            assert_near(shown[i], sizes[i], 0.01);
        fl_chart_finish(&chart);
    }
    fl_groups_finish(&g);
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(contrast_is_that_of_the_guidelines),
        cmocka_unit_test(colours_stand_off_the_ground),
        cmocka_unit_test(a_ranking_of_six_is_whole),
        cmocka_unit_test(the_text_size_is_felt),
        cmocka_unit_test(every_chart_can_be_read),
    };
    return RUN_TESTS(tests);
}
