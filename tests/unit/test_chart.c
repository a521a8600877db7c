#include "show/chart/chart_kind.h"

#include <stdlib.h>
#include <string.h>

#include "fake_take.h"
#include "ruled_take.h"
#include "study/rule/delay.h"
#include "test.h"
#include "study/compare/session_study.h"

static const struct fl_chart_settings plain;

static int count(const char *text, const char *part)
{
    int n = 0;
    for (const char *p = text; (p = strstr(p, part)); p += strlen(part))
        n++;
    return n;
}

static void lists_of_words_become_masks(void **state)
{
    (void)state;
    struct fl_error err = {0};
    unsigned mask = 99;
    assert_int_equal(fl_word_mask(&mask, fl_chart_kind_words, "--charts", NULL, &err), FLINCH_OK);
    assert_int_equal(mask, 99); /* left alone */
    assert_int_equal(fl_word_mask(&mask, fl_chart_kind_words, "--charts", "delay,ranking", &err),
                     FLINCH_OK);
    assert_int_equal(mask, 1u << 5 | 1u << 0);
    assert_int_equal(fl_word_mask(&mask, fl_chart_format_words, "--formats", "pdf", &err),
                     FLINCH_OK);
    assert_int_equal(mask, 1u << FL_CHART_PDF);
    assert_int_equal(
        fl_word_mask(&mask, fl_chart_theme_words, "--theme", "light,dark,transparent", &err),
        FLINCH_OK);
    assert_int_equal(mask, (1u << FL_THEMES) - 1);
    assert_int_equal(fl_word_mask(&mask, fl_chart_size_words, "--size", "2160,1080", &err),
                     FLINCH_OK);
    assert_int_equal(mask, (1u << FL_CHART_SIZES) - 1);
}

static void wrong_words_are_named(void **state)
{
    (void)state;
    static const char *const bad[] = {"",         "ranking,", ",ranking",
                                      "rankings", "Ranking",  "ranking, curve",
                                      "all",      "rank",     "ranking,ranking"};
    struct fl_error err = {0};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        unsigned mask = 7;
        assert_int_equal(fl_word_mask(&mask, fl_chart_kind_words, "--charts", bad[i], &err),
                         FLINCH_ERR_USAGE);
        assert_int_equal(mask, 7); /* nothing half-set */
        assert_int_equal(strncmp(err.text, "--charts: ", 10), 0);
    }
    unsigned mask = 0;
    assert_int_equal(fl_word_mask(&mask, fl_chart_size_words, "--size", "720", &err),
                     FLINCH_ERR_USAGE);
    assert_string_equal(
        err.text, "--size: '720' is none of 1080 or 2160; give one or more, parted by commas");
}

/* An SVG file as the accessibility notes of SVG 2 (5.7, 5.8) want it: title and desc as the first
 * children, named by the root; and ids that stand once (XML 1.0, 3.3.1). */
static void assert_sound_svg(const char *svg, const char *title)
{
    assert_non_null(
        strstr(svg, "width=\"1920\" height=\"1080\" viewBox=\"0 0 1920 1080\" role=\"img\""));
    const char *root = strstr(svg, "<svg"), *first = strchr(root, '<');
    first = strchr(first + 1, '<');
    assert_memory_equal(first, "<title id=\"title\">", 18);
    assert_non_null(strstr(svg, "</title><desc id=\"desc\">"));
    assert_true(!title || strstr(svg, title) != NULL);
    assert_int_equal(count(svg, "<text"), 0); /* outlines: no font needed */
    assert_int_equal(count(svg, "<script"), 0);
    for (const char *p = svg; (p = strstr(p, " id=\"")); p++) {
        char id[96];
        size_t n = strcspn(p + 5, "\"");
        assert_true(n < 80);
        snprintf(id, sizeof id, "%.*s\"", (int)n + 5, p);
        assert_int_equal(count(svg, id), 1);
    }
}

static void assert_sound(struct fl_chart p)
{
    for (int theme = 0; theme < FL_THEMES; theme++) {
        char *svg = fl_chart_svg(&p, &plain, (enum fl_theme)theme);
        assert_sound_svg(svg, NULL);
        free(svg);
    }
    assert_true(strlen(p.title) && strlen(p.lead) && strlen(p.note) && strlen(p.desc));
    fl_chart_finish(&p);
}

/* Every kind, due or not; kinds: how often each was due. */
static void assert_all_sound(const struct fl_session *s, int kinds[FL_CHART_KINDS])
{
    struct fl_groups g;
    fl_groups_make(&g, s);
    for (int k = 0; k < FL_CHART_KINDS; k++) {
        const enum fl_chart_scope scope = fl_chart_kinds[k].scope;
        const size_t n = scope == FL_CHART_OF_TAKE    ? s->n_takes
                         : scope == FL_CHART_OF_GROUP ? g.n
                                                      : 1;
        for (size_t i = 0; i < n; i++) {
            const struct fl_chart_of of = {s, scope == FL_CHART_OF_GROUP ? &g.v[i] : NULL,
                                           scope == FL_CHART_OF_TAKE ? s->takes[i] : NULL};
            kinds[k] += !fl_chart_kinds[k].due || fl_chart_kinds[k].due(&of);
            assert_sound(fl_chart_kinds[k].make(&of));
        }
    }
    fl_groups_finish(&g);
}

static int kind_named(const char *name)
{
    int k = 0;
    while (strcmp(fl_chart_kind_words[k], name) != 0)
        k++;
    return k;
}

static void every_chart_is_sound(void **state)
{
    (void)state;
    int kinds[FL_CHART_KINDS] = {0};
    struct fl_session *s = fake_session();
    fl_session_study(s);
    assert_all_sound(s, kinds);
    assert_int_equal(kinds[kind_named("rate")], 3);
    assert_int_equal(kinds[kind_named("resolution")], 2);
    fl_session_free(&s);
}

/* Nothing measured, one frame, no game named, hostile names. */
static void odd_takes_can_be_drawn(void **state)
{
    (void)state;
    int kinds[FL_CHART_KINDS] = {0};
    char long_name[301] = "";
    struct fl_session *s = fl_session_new("<b>\xff");
    static const char *const names[] = {NULL, "", "<script>alert(1)</script> & \"x\" \xff",
                                        "\xd7\xa9\xd7\x9c\xd7\x95\xd7\x9d",
                                        "\xf0\x9f\xa6\x8a\xf0\x9f\x9a\x80"};
    memset(long_name, 'W', 300);
    for (int i = 0; i < 6; i++) {
        struct fl_take *t = fl_take_new();
        t->spec.id = "odd";
        t->spec.game = i < 5 ? names[i] : long_name;
        t->spec.condition = i % 2 ? long_name : NULL;
        if (i > 2) {
            t->frames = 1;
            t->time_s = FL_ARENA(t->arena, double, 1);
            t->quantity[FL_CAMERA_SPEED] = FL_ARENA(t->arena, float, 1);
        }
        fl_session_add(s, t);
    }
    /* Not studied: studying wants complete takes; the charts must take what they get. */
    assert_all_sound(s, kinds);
    for (int k = 0; k < FL_CHART_KINDS; k++)
        if (fl_chart_kinds[k].due)
            assert_int_equal(kinds[k], 0);
    fl_session_free(&s);
}

static char *svg_of(struct fl_chart p, const struct fl_chart_settings *set)
{
    char *svg = fl_chart_svg(&p, set, FL_THEME_LIGHT);
    fl_chart_finish(&p);
    return svg;
}

static void charts_repeat_and_take_a_title(void **state)
{
    (void)state;
    struct fl_session *s = fake_session();
    fl_session_study(s);
    const struct fl_chart_settings set = {.title = "Ours & <b>theirs</b>"};
    char *own = svg_of(fl_ranking_chart(&(struct fl_chart_of){.s = s}), &plain),
         *ours = svg_of(fl_ranking_chart(&(struct fl_chart_of){.s = s}), &set);
    assert_sound_svg(own, ">How fast a turn switches synthesis off</title>");
    assert_sound_svg(ours, ">Ours &amp; &lt;b&gt;theirs&lt;/b&gt;</title>");
    char *again = svg_of(fl_ranking_chart(&(struct fl_chart_of){.s = s}), &plain);
    assert_string_equal(own, again); /* byte for byte, although cairo numbers its surfaces */
    assert_string_not_equal(own, ours);
    free(again);
    free(own);
    free(ours);
    fl_session_free(&s);
}

/* A rate that could not be counted is not a state that was not seen. */
static void a_rate_that_was_not_counted_is_said_so(void **state)
{
    (void)state;
    struct fl_session *s = fake_session();
    struct fl_groups g;
    fl_session_study(s);
    fl_groups_make(&g, s);
    for (size_t k = 0; k < g.v[0].n_takes; k++) {
        struct fl_states *a = &s->takes[k]->states;
        for (size_t i = 0; i < a->n_spans && g.v[0].takes[k] == s->takes[k]; i++)
            if (a->span[i].state == FL_STATE_ON)
                a->span[i].unique_rate_hz = NAN;
    }
    for (size_t k = 0; k < s->n_takes; k++)
        s->takes[k]->capture_rate_hz = 100; /* under twice the rate seen off */
    struct fl_chart p = fl_rate_chart(&(struct fl_chart_of){s, &g.v[0], NULL});
    assert_non_null(
        strstr(p.desc, "on: more pictures a second than this capture can count (over 100). off"));
    fl_chart_finish(&p);
    for (size_t k = 0; k < s->n_takes; k++)
        s->takes[k]->capture_rate_hz = 1000;
    p = fl_rate_chart(&(struct fl_chart_of){s, &g.v[0], NULL});
    assert_non_null(strstr(p.desc, "on for "));
    assert_non_null(strstr(p.lead, ": 0 intervals on, "));
    assert_non_null(
        strstr(p.desc, "s, but its rate could not be counted. off: mean rate 76 a second"));
    assert_null(strstr(p.desc, "never seen"));
    fl_chart_finish(&p);
    for (size_t k = 0; k < s->n_takes; k++)
        s->takes[k]->exposure.on_s = 0;
    p = fl_rate_chart(&(struct fl_chart_of){s, &g.v[0], NULL});
    assert_non_null(strstr(p.desc, "never seen on. off: mean rate 76 a second"));
    fl_chart_finish(&p);
    fl_groups_finish(&g);
    fl_session_free(&s);
}

/* A rate is that of an interval, not of a window: flips 5 and 15 ms apart in turn are 200 and 66.7
 * a second, and 100 over the time they took, the mean of twenty milliseconds for two. */
static void rates_are_of_intervals(void **state)
{
    (void)state;
    struct fl_take *t = fl_take_new();
    struct fl_session *s = fl_session_new("uneven");
    struct fl_groups g;
    t->spec.id = "uneven";
    t->spec.game = "Tin Meadow";
    t->spec.condition = "default";
    t->capture_rate_hz = 240;
    t->exposure.on_s = 1;
    t->states.span = FL_NEW(struct fl_state_span, 1);
    t->states.span[0] = (struct fl_state_span){0, 1, FL_STATE_ON, 1, NULL, 100, 0, 2};
    t->states.n_spans = 1;
    t->flips.v = FL_NEW(struct fl_flip, 100);
    for (; t->flips.n < 100; t->flips.n++)
        t->flips.v[t->flips.n].time_s = 0.01 * (double)t->flips.n - (t->flips.n % 2 ? 0.005 : 0);
    fl_session_add(s, t);
    fl_groups_make(&g, s);
    struct fl_chart p = fl_rate_chart(&(struct fl_chart_of){s, &g.v[0], NULL});
    assert_non_null(strstr(p.desc, "on: mean rate 101 a second over 99 intervals; nine in ten "
                                   "intervals: 5 to 15 ms. never seen off."));
    fl_chart_finish(&p);
    fl_groups_finish(&g);
    fl_session_free(&s);
}

/* Ten minutes at 240 frames a second: 144,000 points, all of them different. No more than a column
 * of 3840 px can show: least and greatest, two numbers each of about 12 characters with their
 * letters. */
static void long_takes_cost_no_more_than_the_width(void **state)
{
    (void)state;
    const size_t n = 144000;
    struct fl_take *t = fl_take_new();
    t->spec.id = "long";
    t->spec.game = "Glass Canyon";
    t->frames = (long)n;
    t->duration_s = 600;
    t->capture_rate_hz = 240;
    t->time_s = FL_ARENA(t->arena, double, n);
    t->quantity[FL_CAMERA_SPEED] = FL_ARENA(t->arena, float, n);
    t->states.n_frames = n;
    t->states.unique_rate_hz = FL_NEW(float, n);
    for (size_t i = 0; i < n; i++) {
        t->time_s[i] = (double)i / 240;
        t->quantity[FL_CAMERA_SPEED][i] = (float)(300 + 250 * sin((double)i * 1.7));
        t->states.unique_rate_hz[i] = (float)(120 + 20 * sin((double)i * 0.9));
    }
    t->states.base_rate_on_hz = 70;
    t->states.base_rate_off_hz = FL_UNKNOWN;
    t->visible_floor_deg_s = FL_UNKNOWN;
    t->exposure.off_share = FL_UNKNOWN;
    char *svg = svg_of(fl_timeline_chart(&(struct fl_chart_of){.t = t}), &plain);
    assert_true(strlen(svg) < 2 * 3840 * 2 * 26 + 300000);
    free(svg);
    fl_take_free(&t);
}

/* Known rules with delays, two resolutions: the charts that need them are there. */
static void rules_and_resolutions_have_their_charts(void **state)
{
    (void)state;
    int kinds[FL_CHART_KINDS] = {0};
    struct fl_session *s = fl_session_new("rules");
    static const char *const id[] = {"a", "b", "c", "d"};
    for (int i = 0; i < 4; i++)
        fl_session_add(
            s, ruled_take(&(struct ruled_settings){.id = id[i],
                                                   .game = "Tin Meadow",
                                                   .key = FL_CAMERA_SPEED,
                                                   .theta_off = 150,
                                                   .theta_on = 100,
                                                   .d_off_s = 0.03,
                                                   .d_on_s = 0.03,
                                                   .seen_above_deg_s = 8,
                                                   .flicks = 16,
                                                   .counts_per_inch = i % 2 ? 1600 : 400,
                                                   .degrees_per_count = i % 2 ? 0.022 : 0.066,
                                                   .seed = 20 + (uint64_t)i}));
    fl_session_study(s);
    assert_all_sound(s, kinds);
    assert_int_equal(kinds[kind_named("resolution")], 1);
    assert_int_equal(kinds[kind_named("watched")], 1);
    assert_int_equal(kinds[kind_named("delay")], 1);
    fl_session_free(&s);
}

/* Two points and a straight line between them, by hand: 55 of 110 deg/s lies at
 * 0.5 + 0.5 · (55 - 30) / 80 = 0.656 of full deflection. */
static void a_stick_has_its_curve(void **state)
{
    (void)state;
    static struct fl_turn_rate fine[] = {{0.2, 0, 0, 2, 0, 50},
                                         {0.5, 300, 280, 330, 30, 40},
                                         {1, 1300, 1200, 1400, 110, 30}},
                               coarse[] = {{0.2, 0, 0, 2, NAN, 50}, {1, 900, 800, 1000, NAN, 30}};
    struct fl_session *s = fl_session_new("pads");
    struct fl_groups g;
    for (int i = 0; i < 3; i++) {
        struct fl_take *t = fl_take_new();
        t->spec.id = i == 1 ? "pad-b" : i ? "mouse" : "pad-a";
        t->spec.game = "Tin Meadow";
        t->spec.condition = "default";
        t->turn_curve.dead_zone = i ? 0.25 : 0.2;
        t->turn_curve.rate = fine;
        t->turn_curve.n = i < 2 ? 3 : 0;
        fl_session_add(s, t);
    }
    fl_groups_make(&g, s);
    const struct fl_chart_of of = {s, &g.v[0], NULL};
    assert_true(fl_stick_chart_due(&of));
    struct fl_chart p = fl_stick_chart(&of);
    assert_non_null(strstr(p.title, "up to 110 deg/s"));
    assert_non_null(
        strstr(p.lead, "Dead zone up to 20 to 25\u00a0% of full deflection; half of the fastest "
                       "rate at 66\u00a0%"));
    assert_non_null(strstr(p.desc, " pad-a: 20 %: 0, 50 %: 30, 100 %: 110 deg/s."));
    assert_non_null(strstr(p.note, "2 takes"));
    assert_sound(p);
    s->takes[1]->turn_curve = (struct fl_turn_curve){coarse, 2, FL_UNKNOWN, FL_UNKNOWN};
    p = fl_stick_chart(&of); /* one take without a field of view: all in the picture's unit */
    assert_non_null(strstr(p.title, "up to 1300 px/s"));
    assert_sound(p);
    s->takes[0]->turn_curve.n = s->takes[1]->turn_curve.n = 0;
    assert_false(fl_stick_chart_due(&of));
    fl_groups_finish(&g);
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_rate_that_was_not_counted_is_said_so),
        cmocka_unit_test(rates_are_of_intervals),
        cmocka_unit_test(a_stick_has_its_curve),
        cmocka_unit_test(lists_of_words_become_masks),
        cmocka_unit_test(wrong_words_are_named),
        cmocka_unit_test(every_chart_is_sound),
        cmocka_unit_test(odd_takes_can_be_drawn),
        cmocka_unit_test(charts_repeat_and_take_a_title),
        cmocka_unit_test(long_takes_cost_no_more_than_the_width),
        cmocka_unit_test(rules_and_resolutions_have_their_charts),
    };
    return RUN_TESTS(tests);
}
