/* Rest shows nothing, so seen time is mostly time off: no sentence and no chart gives a share of
 * it. Shares by hand: of 30 s on, 10 s off and 60 s
 * unseen 10/40 of the seen, and from 10/100 to 70/100 of all. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text_stream.h"
#include "fake_take.h"
#include "show/chart/chart.h"
#include "show/screen/answers.h"
#include "show/screen/summary.h"
#include "show/text/game_groups.h"
#include "study/compare/off_shares.h"
#include "study/compare/results.h"
#include "study/compare/session_study.h"
#include "test.h"

/* A quarter of what was seen off; of the recording 14 %, of the time turning 40 %. */
static void expose(struct fl_take *t, double on_s, double off_s, double unseen_s)
{
    struct fl_exposure *e = &t->exposure;
    e->on_s = on_s;
    e->off_s = off_s;
    e->unseen_s = unseen_s;
    t->duration_s = on_s + off_s + unseen_s;
    e->off_share = off_s / (on_s + off_s);
    e->off_share_low = off_s / t->duration_s;
    e->off_share_high = (off_s + unseen_s) / t->duration_s;
    e->on_motion_s = 3;
    e->off_motion_s = 2;
    e->motion_s = 6;
    e->off_share_in_motion = 2.0 / 5;
    e->off_share_in_motion_low = 2.0 / 6;
    e->off_share_in_motion_high = 3.0 / 6;
    e->open_s = 0;
    e->off_share_of_take = off_s > 0 ? 0.14 : 0;
    e->off_share_of_take_low = off_s > 0 ? 0.12 : 0;
    e->off_share_of_take_high = off_s > 0 ? 0.21 : 0.01;
}

static struct fl_take *take_of(double on_s, double off_s, double unseen_s)
{
    struct fl_take *t = fake_take(&(struct fake_settings){.id = "a",
                                                          .game = "G",
                                                          .counts_per_inch = 800,
                                                          .degrees_per_count = 0.044,
                                                          .v50_deg_s = 300,
                                                          .slope = 3,
                                                          .flicks = 20,
                                                          .seed = 5});
    expose(t, on_s, off_s, unseen_s);
    return t;
}

/* Finishes the stream; lines of a terminal are wrapped, so each run of blanks counts as one. */
static void says(struct fl_text_stream *stream, const char *want)
{
    char *text = fl_text_end(stream), *to = text;
    for (const char *p = text; *p; p++) {
        bool blank = *p == ' ' || *p == '\n';
        if (!blank)
            *to++ = *p;
        else if (to > text && to[-1] != ' ')
            *to++ = ' ';
    }
    *to = 0;
    if (!strstr(text, want))
        fail_msg("“%s” is not in “%s”", want, text);
    free(text);
}

static void on_the_terminal(void **state)
{
    (void)state;
    const char want[] = "off for 40 % of the time spent turning (33 to 50 %) and for 14 % of this "
                        "recording (12 to 21 %; 10 to 70 % if rest is left open)";
    struct fl_text_stream stream;
    struct fl_session *s = fl_session_new("one");
    fl_session_add(s, take_of(30, 10, 60));
    fl_session_study(s);
    expose(s->takes[0], 30, 10, 60);
    free(s->results);
    fl_study_results(s);
    fl_put_answers(fl_text_begin(&stream), s);
    says(&stream, want);
    fl_put_answers(fl_text_begin(&stream), s);
    says(&stream, "rest counts as on unless a lapse goes on through it");
    s->takes[0]->spec.play_drill = true;
    free(s->results);
    fl_study_results(s);
    fl_put_answers(fl_text_begin(&stream), s);
    says(&stream, "; of these deliberate flicks: off for 40 % of the time spent turning");
    fl_put_take_answer(fl_text_begin(&stream), s->takes[0]);
    says(&stream, want);
    fl_session_free(&s);
}

/* Two takes count by their length, and one that is refused leaves the range alone. */
static void over_takes(void **state)
{
    (void)state;
    struct fl_take *a = take_of(30, 10, 60), *b = take_of(100, 40, 60);
    const struct fl_take *const both[] = {a, b};
    b->exposure.off_share_of_take = 0.26;
    struct fl_off_shares o = fl_off_shares_of(both, 2);
    assert_true(fabs(o.take - (0.14 * 100 + 0.26 * 200) / 300) < 1e-12);
    assert_true(fabs(o.plain_low - 50.0 / 300) < 1e-12);
    assert_true(fabs(o.plain_high - 170.0 / 300) < 1e-12);
    assert_true(fabs(o.turning - 0.4) < 1e-12);
    b->exposure.off_share_of_take = FL_UNKNOWN;
    assert_true(isnan(fl_off_shares_of(both, 2).take));
    struct fl_text_stream stream;
    fl_put_take_answer(fl_text_begin(&stream), b);
    says(&stream, "and for 20 to 50 % of this recording (what rest hides cannot be inferred here)");
    fl_take_free(&a);
    fl_take_free(&b);
}

static void on_charts_for_publication(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("one");
    fl_session_add(s, take_of(30, 10, 60));
    fl_session_study(s);
    expose(s->takes[0], 30, 10, 60);
    free(s->results);
    fl_study_results(s);
    struct fl_chart ranking = fl_ranking_chart(&(struct fl_chart_of){.s = s}),
                    timeline = fl_timeline_chart(&(struct fl_chart_of){.t = s->takes[0]});
    assert_non_null(strstr(ranking.desc, "off for 40 % of the time spent turning (33 to 50 %) and "
                                         "for 14 % of this recording (12 to 21 %;"));
    assert_non_null(strstr(timeline.lead, "Off for 40 % of the time spent turning (33 to 50 %) and "
                                          "14 % of this recording (12 to 21 %), in "));
    assert_null(strstr(ranking.desc, "seen time"));
    assert_null(strstr(timeline.lead, "seen"));
    fl_chart_finish(&ranking);
    fl_chart_finish(&timeline);
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(on_the_terminal),
        cmocka_unit_test(over_takes),
        cmocka_unit_test(on_charts_for_publication),
    };
    return RUN_TESTS(tests);
}
