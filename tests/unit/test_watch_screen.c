/* The screen of `flinch watch` as text: always 24 lines, none too wide, whatever there is to say.
 */
#include "show/screen/watch_screen.h"

#include <stdlib.h>
#include <string.h>

#include "base/text_stream.h"
#include "base/units.h"
#include "show/screen/terminal_text.h"
#include "test.h"

static struct fl_watch_view empty(void)
{
    return (struct fl_watch_view){.input = "a.mkv",
                                  .width = 640,
                                  .height = 360,
                                  .why = "still",
                                  .on_hz = FL_UNKNOWN,
                                  .off_hz = FL_UNKNOWN,
                                  .last_deg_s = FL_UNKNOWN,
                                  .answer = {FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN, 230, false},
                                  .wanted = 0.1};
}

/* Everything at once, and every text too long. */
static struct fl_watch_view full(struct fl_usable *u, char *text)
{
    struct fl_watch_view v = empty();
    memset(text, 'x', FL_WATCH_NOTE - 1);
    text[FL_WATCH_NOTE - 1] = 0;
    *u = (struct fl_usable){.n = 9};
    for (int i = 0; i < u->n; i++) {
        snprintf(u->finding[i].found, sizeof u->finding[i].found, "%.150s", text);
        snprintf(u->finding[i].change, sizeof u->finding[i].change, "%.150s", text);
    }
    v.input = v.clock = v.note = v.keep = text;
    v.keep_why = text;
    v.usable = u;
    v.why = NULL;
    v.state = FL_STATE_OFF;
    v.width = v.height = 16384;
    v.rate_hz = 239.76;
    v.time_s = 360000;
    v.on_hz = 140.2;
    v.off_hz = 69.9;
    v.on_s = v.off_s = 99999;
    v.trips = 123456;
    v.shown = FL_WATCH_FLICKS;
    v.flicks = 999999;
    for (int i = 0; i < v.shown; i++)
        v.flick[i] = (struct fl_watch_flick){1, 2, i ? 1234 : FL_UNKNOWN, FL_YES, FL_YES};
    v.degrees = true;
    v.answer = (struct fl_next_speed_answer){211.7, 190.2, 240.9, 1200, false};
    v.fitted = v.fitted_trips = 99999;
    v.last_deg_s = 1000;
    v.session = (struct fl_watch_session){99, 98, text, 5, true, false, 99};
    v.waiting_s = 99999;
    v.kept_mb = 1e9;
    return v;
}

/* Lines without what moves the cursor or changes letters; returns how many. */
static int lines_of(const struct fl_watch_view *v, bool utf8, char line[][512])
{
    struct fl_text_stream s;
    fl_watch_draw(fl_text_begin(&s), v, utf8);
    char *text = fl_text_end(&s);
    int n = 0;
    size_t at = 0;
    for (const char *c = text; *c; c++) {
        if (*c == '\033') {
            while (*c < '@' || *c == '[')
                c++;
        } else if (*c == '\n') {
            line[n++][at] = 0;
            at = 0;
            assert_true(n < FL_WATCH_ROWS);
        } else if (*c != '\r') {
            assert_true(at < 511);
            line[n][at++] = *c;
        }
    }
    line[n++][at] = 0;
    free(text);
    return n;
}

static void fits_in_24_by_80(void **state)
{
    (void)state;
    static char line[FL_WATCH_ROWS][512];
    static char text[FL_WATCH_NOTE];
    struct fl_usable u;
    const struct fl_watch_view views[] = {empty(), full(&u, text)};
    for (int k = 0; k < 2; k++) {
        assert_int_equal(lines_of(&views[k], false, line), FL_WATCH_ROWS);
        for (int i = 0; i < FL_WATCH_ROWS; i++)
            if (fl_text_columns(line[i]) > FL_COLUMNS)
                fail_msg("line %d is %d columns wide: %s", i, fl_text_columns(line[i]), line[i]);
    }
}

static bool says(char line[][512], const char *words)
{
    for (int i = 0; i < FL_WATCH_ROWS; i++)
        if (strstr(line[i], words))
            return true;
    return false;
}

static void says_what_to_do(void **state)
{
    (void)state;
    static char line[FL_WATCH_ROWS][512];
    struct fl_watch_view v = empty();
    lines_of(&v, false, line);
    assert_true(says(line, "waiting for motion"));
    assert_true(says(line, "give --fov"));
    assert_false(says(line, "NEXT"));
    v.degrees = true;
    v.last_deg_s = 200;
    lines_of(&v, false, line);
    /* 90 · 1.875 / 230 = 0.734 */
    assert_true(
        says(line, "NEXT  230 deg/s: a quarter turn in 0.73 s, a little faster than the last"));
    v.answer = (struct fl_next_speed_answer){200, 185, 216, 230, true};
    lines_of(&v, false, line);
    assert_true(says(line, "DONE  known within 10 %"));
    assert_false(says(line, "NEXT"));
    v.answer = (struct fl_next_speed_answer){65, FL_UNKNOWN, 117, 67, false};
    lines_of(&v, false, line);
    assert_true(says(line, "V50   65 deg/s   95 %: up to 117   from"));
    v.session = (struct fl_watch_session){4, 1, "reef-a", 0.3, false, false, 3};
    v.answer = (struct fl_next_speed_answer){200, 170, 236, 230, false};
    lines_of(&v, false, line);
    assert_true(says(line, "in 3 takes"));
    assert_true(says(line, "NEXT"));
    /* 2^0.3 = 1.231 */
    assert_true(says(line, "SESSION  1 of 4 settings finished; change to reef-a (±23 %)"));
    v.session.take_done = true;
    lines_of(&v, false, line);
    assert_true(says(line, "TAKE DONE  it is known within 10 %"));
    assert_false(says(line, "NEXT"));
    v.session.next = NULL;
    v.session.finished = 4;
    v.answer.enough = true;
    lines_of(&v, false, line);
    assert_true(says(line, "this setting is finished"));
    assert_true(says(line, "all 4 settings are finished"));
    v.waiting_s = 5;
    lines_of(&v, false, line);
    assert_true(says(line, "nothing has come for 5 s"));
    v.usual_wait_s = 4.9; /* a recorder that writes every 5 s */
    lines_of(&v, false, line);
    assert_false(says(line, "nothing has come"));
    v.waiting_s = 8;
    lines_of(&v, false, line);
    assert_true(says(line, "nothing has come for 8 s"));
}

static void words_for_speeds(void **state)
{
    (void)state;
    assert_string_equal(fl_watch_against(410, 200), "much faster");
    assert_string_equal(fl_watch_against(300, 200), "faster");
    assert_string_equal(fl_watch_against(220, 200), "a little faster");
    assert_string_equal(fl_watch_against(203, 200), "the same");
    assert_string_equal(fl_watch_against(180, 200), "a little slower");
    assert_string_equal(fl_watch_against(130, 200), "slower");
    assert_string_equal(fl_watch_against(90, 200), "much slower");
    assert_null(fl_watch_against(90, FL_UNKNOWN));
}

static struct fl_usable findings(const char *a, const char *b)
{
    struct fl_usable u = {.n = 3};
    u.finding[0] = (struct fl_finding){FL_LIMIT, a, "found", "change"};
    u.finding[1] = (struct fl_finding){FL_ADVICE, b, "found", ""};
    u.finding[2] = (struct fl_finding){FL_NOTE, "note", "found", ""};
    return u;
}

static char *told_of(struct fl_watch_told *told, const struct fl_usable *u)
{
    struct fl_text_stream s;
    fl_watch_tell_findings(fl_text_begin(&s), true, told, u, 1);
    return fl_text_end(&s);
}

/* By name, not by how many there are: one may take another's place. */
static void a_finding_is_told_when_it_is_new(void **state)
{
    (void)state;
    struct fl_watch_told told = {.n = 0};
    const struct fl_usable u[] = {findings("dark", "short"), findings("dark", "slow"),
                                  findings("dark", "slow"), findings("short", "dark")};
    const char *const news[][2] = {{"dark", "short"}, {"slow"}, {NULL}, {"short"}};
    for (int k = 0; k < 4; k++) {
        char *text = told_of(&told, &u[k]);
        int lines = 0, wanted = 0;
        for (const char *c = text; *c; c++)
            lines += *c == '\n';
        for (; wanted < 2 && news[k][wanted]; wanted++)
            assert_non_null(strstr(text, news[k][wanted]));
        assert_int_equal(lines, wanted);
        free(text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fits_in_24_by_80),
        cmocka_unit_test(says_what_to_do),
        cmocka_unit_test(words_for_speeds),
        cmocka_unit_test(a_finding_is_told_when_it_is_new),
    };
    return RUN_TESTS(tests);
}
