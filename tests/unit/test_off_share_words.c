/* Rest shows nothing, so seen time is mostly time off: whatever says an off share of seen time must
 * say beside it how far unseen time leaves it open. Shares by hand: of 30 s on, 10 s off and 60 s
 * unseen 10/40 of the seen, and from 10/100 to 70/100 of all. */
#include <stdlib.h>
#include <string.h>

#include "base/text_stream.h"
#include "fake_take.h"
#include "show/chart/plate.h"
#include "show/screen/answers.h"
#include "show/screen/summary.h"
#include "show/text/game_groups.h"
#include "study/compare/session_study.h"
#include "test.h"

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
    struct fl_exposure *e = &t->exposure;
    e->on_s = on_s;
    e->off_s = off_s;
    e->unseen_s = unseen_s;
    t->duration_s = on_s + off_s + unseen_s;
    e->off_share = off_s / (on_s + off_s);
    e->off_share_low = off_s / t->duration_s;
    e->off_share_high = (off_s + unseen_s) / t->duration_s;
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
    const char want[] = "off for 25 % of the time that could be told (10 to 70 % with the unseen)";
    struct fl_text_stream stream;
    struct fl_session *s = fl_session_new("one");
    fl_session_add(s, take_of(30, 10, 60));
    fl_session_study(s);
    fl_put_answers(fl_text_begin(&stream), s);
    says(&stream, want);
    fl_put_take_answer(fl_text_begin(&stream), s->takes[0]);
    says(&stream, want);
    fl_print_session(fl_text_begin(&stream), s, 0, NULL);
    says(&stream, "25.0 % (10.0-70.0)");
    fl_print_take(fl_text_begin(&stream), s->takes[0], NULL);
    says(&stream, "off share 25.0 % (10.0-70.0)");
    fl_session_free(&s);
}

/* "Never off" is a share too, of what was seen. */
static void on_the_terminal_where_it_was_only_seen_on(void **state)
{
    (void)state;
    struct fl_text_stream stream;
    struct fl_take *t = take_of(30, 0, 70);
    fl_put_take_answer(fl_text_begin(&stream), t);
    says(&stream, "on whenever it could be told (off for 0 to 70 % with the unseen)");
    fl_take_free(&t);
}

static void on_charts_for_publication(void **state)
{
    (void)state;
    struct fl_session *s = fl_session_new("one");
    fl_session_add(s, take_of(30, 10, 60));
    fl_session_study(s);
    struct fl_plate ranking = fl_ranking_plate(s), timeline = fl_timeline_plate(s->takes[0]);
    assert_non_null(
        strstr(ranking.desc, "off for 25 % of seen time (10 to 70 % with unseen time)"));
    assert_non_null(strstr(ranking.note, "range, thin line: if the unseen were all on or all off"));
    assert_non_null(strstr(timeline.lead, "(10 to 70 % of all time)"));
    fl_plate_finish(&ranking);
    fl_plate_finish(&timeline);
    fl_session_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(on_the_terminal),
        cmocka_unit_test(on_the_terminal_where_it_was_only_seen_on),
        cmocka_unit_test(on_charts_for_publication),
    };
    return RUN_TESTS(tests);
}
