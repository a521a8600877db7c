#include "show/page/page.h"

#include <stdlib.h>
#include <string.h>

#include "fake_take.h"
#include "test.h"
#include "study/compare/results.h"
#include "study/compare/session_study.h"

static char *page_of(const struct fl_session *s)
{
    char *text = NULL;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    fl_page_write(out, s, NULL, &(struct fl_show_settings){0});
    fclose(out);
    return text;
}

static void has(const char *page, const char *part)
{
    if (!strstr(page, part))
        fail_msg("the page does not say “%s”", part);
}

static void the_answers_come_first(void **state)
{
    (void)state;
    struct fl_session *s = fake_session();
    fl_session_study(s);
    char *page = page_of(s);
    const char *const order[] = {
        "id=\"answers\"", "class=\"brief\"", "Mind first:",     "id=\"ranking\"",
        "photosensitive", "id=\"details\"",  "id=\"cautions\"", "id=\"games\"",
        "id=\"takes\"",   "id=\"warnings\"", "id=\"method\"",   "</html>"};
    const char *at = page;
    for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
        has(page, order[i]);
        assert_true(strstr(page, order[i]) >= at);
        at = strstr(page, order[i]);
    }
    has(page, "Does mouse resolution matter?");
    has(page, "A control: the feature was disabled.");
    has(page, "Do takes repeat?");
    has(page, "too few takes to tell whether one stands out");
    has(page, "the control canyon-control renders 76.0 frames/s");
    has(page, "harbour-lost.mkv: no such file");
    free(page);
    fl_session_free(&s);
}

/* The caution counts the settings that it is about as one would say it. */
static void two_settings_are_both(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("two");
    for (int i = 0; i < 2; i++)
        fl_session_add(s, fake_take(&(struct fake_settings){.id = i ? "b" : "a",
                                                            .game = "G",
                                                            .counts_per_inch = i ? 1600 : 800,
                                                            .degrees_per_count = 0.044,
                                                            .v50_deg_s = 300,
                                                            .slope = 3,
                                                            .flicks = 20,
                                                            .seed = 5}));
    fl_session_study(s);
    char *page = page_of(s);
    has(page, "In both settings ");
    assert_null(strstr(page, "In all 2"));
    free(page);
    /* What more settings lack comes first. */
    s->results[0].shares.open = 0.2;
    s->results[1].shares.open = 0.01;
    page = page_of(s);
    has(page, "In both settings there are fewer than three takes");
    free(page);
    s->results[1].shares.open = 0.3;
    page = page_of(s);
    has(page, "In both settings more than a tenth of the time (up to 30");
    free(page);
    fl_session_free(&s);
}

/* The sentence's figures are those of the takes. */
static void how_often_is_the_sum_of_the_takes(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("one");
    fl_session_add(s, fake_take(&(struct fake_settings){.id = "a",
                                                        .game = "G",
                                                        .counts_per_inch = 800,
                                                        .degrees_per_count = 0.044,
                                                        .v50_deg_s = 300,
                                                        .slope = 3,
                                                        .flicks = 20,
                                                        .seed = 5}));
    fl_session_add(s,
                   fake_take(&(struct fake_settings){.id = "c",
                                                     .game = "G",
                                                     .counts_per_inch = 800,
                                                     .control = true,
                                                     .degrees_per_count = 0.044,
                                                     .v50_deg_s = 300,
                                                     .slope = 3,
                                                     .flicks = 20,
                                                     .seed = 6})); /* its time off is no answer */
    fl_session_study(s);                                           /* makes exposures of its own */
    struct fl_exposure *e = &s->takes[0]->exposure;
    e->on_s = 30;
    e->off_s = 10;
    e->unseen_s = 60;
    e->longest_s = 1.5;
    s->takes[0]->duration_s = 100;
    e->on_motion_s = 3; /* 1 s of 5 s of turning was unseen */
    e->off_motion_s = 1;
    e->motion_s = 5;
    e->off_share_in_motion_low = 1.0 / 5;
    e->off_share_in_motion_high = 2.0 / 5;
    e->open_s = 0;
    e->off_share_of_take = 0.14;
    e->off_share_of_take_low = 0.12;
    e->off_share_of_take_high = 0.21;
    free(s->results);
    fl_study_results(s);
    char *page = page_of(s);
    has(page,
        "off for <strong>25\u00a0%</strong> of the time spent turning (20 to 40\u00a0%) and for "
        "<strong>14\u00a0%</strong> of this recording (12 to 21\u00a0%; 10 to 70\u00a0% if rest "
        "is left open)"); /* 10/100, (10 + 60)/100 */
    has(page, "the longest 1.5 s");
    has(page, "all flicks were made at one setting");
    has(page, "<td class=\"n\">25<br><small>(20–40)</small></td><td class=\"n\">14<br>"
              "<small>(12–21)</small></td>");
    has(page, "no: 1 take");
    free(page);
    fl_session_free(&s);
}

static void hostile_names_stay_text(void **state)
{
    (void)state;
    static const char bad[] = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>&\xff";
    struct fl_session *s = fl_session_new(bad);
    struct fl_take *t = fake_take(&(struct fake_settings){.id = "a",
                                                          .game = bad,
                                                          .condition = bad,
                                                          .counts_per_inch = 800,
                                                          .degrees_per_count = 0.044,
                                                          .v50_deg_s = 300,
                                                          .slope = 3,
                                                          .flicks = 9,
                                                          .seed = 5});
    static const char *const notes[] = {bad};
    t->spec.footage = t->spec.trace = t->spec.recorded_at = bad;
    t->codec = t->pixel_format = t->transfer = bad;
    t->spec.note_keys = t->spec.note_values = notes;
    t->spec.n_notes = 1;
    t->clock.known = false;
    snprintf(t->clock.refused, sizeof t->clock.refused, "%s", bad);
    fl_take_warn(t, bad, "%s", bad);
    fl_session_add(s, t);
    fl_session_add_failed(s, bad, bad);
    fl_session_study(s);
    char *page = page_of(s);
    assert_null(strstr(page, "<script>alert"));
    assert_null(strstr(page, "<img src"));
    assert_null(strstr(page, "\xff"));
    has(page, "&lt;script&gt;alert(1)");
    has(page, "default-src 'none'");
    free(page);
    fl_session_free(&s);
}

/* Nothing is fetched: the only addresses are names of XML vocabularies, and one in the notice of
 * the chart library that is in the page. */
static void the_page_needs_no_network(void **state)
{
    (void)state;
    struct fl_session *s = fake_session();
    fl_session_study(s);
    char *page = page_of(s);
    for (const char *p = page; (p = strstr(p, "http")); p++)
        assert_true(!strncmp(p, "http-equiv", 10) || !strncmp(p, "http://www.w3.org/", 18) ||
                    !strncmp(p - 4, "/*! ", 4));
    assert_null(strstr(page, "<link"));
    assert_null(strstr(page, " src="));
    assert_null(strstr(page, "<img"));
    has(page, "default-src 'none'");
    has(page, "prefers-color-scheme:dark");
    has(page, "data-colours=dark");
    has(page, "@media print");
    has(page, "max-width:40rem");
    free(page);
    fl_session_free(&s);
}

static void file_paths_are_not_published(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("one");
    struct fl_take *t = fake_take(&(struct fake_settings){.id = "a",
                                                          .game = "G",
                                                          .counts_per_inch = 800,
                                                          .degrees_per_count = 0.044,
                                                          .v50_deg_s = 300,
                                                          .slope = 3,
                                                          .flicks = 5,
                                                          .seed = 5});
    t->spec.footage = "/home/someone/secret/a.mkv";
    fl_session_add(s, t);
    fl_session_study(s);
    char *page = page_of(s);
    has(page, "a.mkv");
    assert_null(strstr(page, "someone"));
    free(page);
    fl_session_free(&s);
}

/* Every kind of outcome has its sentence; nothing measured at all is a page too. */
static void bounds_and_gaps_are_said(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("bounds");
    struct fake_settings f = {.id = "above",
                              .game = "Never",
                              .counts_per_inch = 800,
                              .degrees_per_count = 0.044,
                              .v50_deg_s = 1e9,
                              .slope = 9,
                              .flicks = 20,
                              .seed = 5};
    fl_session_add(s, fake_take(&f));
    f.id = "below", f.game = "Always", f.v50_deg_s = 0.001;
    fl_session_add(s, fake_take(&f));
    f.id = "few", f.game = "Hardly", f.flicks = 0, f.flicks_only = true;
    fl_session_add(s, fake_take(&f));
    fl_session_add(s, fl_take_new());
    s->takes[3]->spec.id = "blank";
    s->takes[3]->spec.game = "Nothing";
    fl_session_study(s);
    char *page = page_of(s);
    has(page, "No flick tripped it");
    has(page, "lies <strong>above ");
    has(page, "lies <strong>below ");
    has(page, "neither on nor off was seen");
    assert_null(strstr(page, "nan"));
    assert_null(strstr(page, ">inf"));
    free(page);
    fl_session_free(&s);
    s = fl_session_new(NULL);
    fl_session_study(s);
    page = page_of(s);
    has(page, "</html>");
    free(page);
    fl_session_free(&s);
}

/* The sensitivity found, the sound's clock, and the delays that it tells. */
static void what_hand_and_picture_tell_is_said(void **state)
{
    (void)state;
    struct fl_session *s = fake_session();
    fl_session_study(s);
    struct fl_take *t = s->takes[0];
    t->sensitivity.right.degrees = 0.0437;
    t->sensitivity.right.low = 0.0431;
    t->sensitivity.right.high = 0.0444;
    t->sensitivity.right.strokes = 34;
    t->sensitivity.fov_deg = 103.4;
    t->sensitivity.fov_low_deg = 102.1;
    t->sensitivity.fov_high_deg = 104.8;
    t->heard.clock.known = true;
    t->heard.clock.heard = 11;
    t->heard.clock.presses = 12;
    t->heard.join.on_ms = 41.2;
    t->heard.join.on_low_ms = 38.9;
    t->heard.join.on_high_ms = 43.6;
    t->heard.join.off_ms = 29.4;
    t->heard.join.off_low_ms = 24.2;
    t->heard.join.off_high_ms = 34.1;
    char *page = page_of(s);
    has(page, "0.0437 degrees per count (95 % interval 0.0431 to 0.0444), from 34 strokes");
    has(page, "103.4 degrees (102.1 to 104.8)");
    has(page, "11 of 12 clicks heard");
    has(page, "on 41 ms (39 to 44), off 29 ms (24 to 34)");
    free(page);
    t->heard.join.on_ms = t->heard.join.off_ms = NAN;
    t->heard.join.compared = true;
    t->heard.join.behind_ms = 17.6;
    page = page_of(s);
    has(page, "18 ms: hand to picture, less what the recorder adds to the sound");
    free(page);
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_answers_come_first),
        cmocka_unit_test(two_settings_are_both),
        cmocka_unit_test(how_often_is_the_sum_of_the_takes),
        cmocka_unit_test(hostile_names_stay_text),
        cmocka_unit_test(the_page_needs_no_network),
        cmocka_unit_test(file_paths_are_not_published),
        cmocka_unit_test(bounds_and_gaps_are_said),
        cmocka_unit_test(what_hand_and_picture_tell_is_said),
    };
    return RUN_TESTS(tests);
}
