#include "show/marks/marks.h"

#include <stdlib.h>
#include <string.h>

#include <jansson.h>
#include <libavutil/mathematics.h>

#include "base/file.h"
#include "marked_take.h"
#include "show/text/escape.h"
#include "show_folder.h"
#include "test.h"

static const struct fl_mark_settings plain;

static char *text_of(void (*write)(FILE *, const struct fl_marks *), const struct fl_take *t,
                     const struct fl_mark_settings *set)
{
    char *text = NULL;
    size_t size;
    struct fl_marks m;
    assert_true(fl_marks_make(&m, t, set));
    FILE *out = open_memstream(&text, &size);
    write(out, &m);
    fclose(out);
    fl_marks_finish(&m);
    assert_int_equal(strlen(text), size);
    return text;
}

static void says(const char *text, const char *want)
{
    if (!strstr(text, want))
        fail_msg("%s\n  is not in:\n%s", want, text);
}

static int count(const char *text, const char *what)
{
    int n = 0;
    for (const char *c = text; (c = strstr(c, what)); c += strlen(what))
        n++;
    return n;
}

/* ---- frames ---- */

static const double rates[] = {24000 / 1001.0,
                               24,
                               25,
                               30000 / 1001.0,
                               30,
                               50,
                               60000 / 1001.0,
                               60,
                               120000 / 1001.0,
                               120,
                               144,
                               240};

/* The mark on frame n is about frame n, within a frame and exactly on its beginning, over an hour
 * at 240/s; the times of cues fall on the same frame, by plain arithmetic. */
static void marks_are_on_their_frames(void **state)
{
    (void)state;
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++)
        for (int whole = 0; whole < 2; whole++) {
            long frames = lround(3600 * rates[r]);
            enum { N = 400 };
            struct marked_span spans[N];
            for (long i = 0; i < N; i++)
                spans[i] = (struct marked_span){1 + i * (frames / N) + i % 7,
                                                3 + i * (frames / N) + i % 11 % 5 + i % 7, 0};
            struct fl_take *t = marked_take(rates[r], frames, whole, spans, N, NULL, 0);
            struct fl_marks m;
            assert_true(fl_marks_make(&m, t, &plain));
            assert_int_equal(m.n, N);
            assert_true(m.own_rate);
            assert_int_equal(m.length, frames);
            for (size_t i = 0; i < N; i++) {
                assert_int_equal(m.v[i].in, spans[i].first);
                assert_int_equal(m.v[i].out, spans[i].after);
            }
            fl_marks_finish(&m);
            fl_take_free(&t);
        }
}

/* A rate that was fitted a little off, as measured rates are, and one that is none of the common.
 */
static void odd_rates_keep_their_frames(void **state)
{
    (void)state;
    static const double odd[] = {119.8802, 119.9, 117.3456, 143.9};
    for (size_t r = 0; r < sizeof odd / sizeof *odd; r++) {
        const struct marked_span span = {71234, 71300, 0};
        struct fl_take *t = marked_take(odd[r], 72000, false, &span, 1, NULL, 0);
        struct fl_marks m;
        assert_true(fl_marks_make(&m, t, &plain));
        assert_int_equal(m.v[0].in, span.first);
        assert_int_equal(m.v[0].out, span.after);
        fl_marks_finish(&m);
        fl_take_free(&t);
    }
}

static void lost_frames_keep_their_number(void **state)
{
    (void)state;
    const struct marked_span span = {50, 60, 0};
    struct fl_take *t = marked_take(60, 200, true, &span, 1, NULL, 0);
    /* Ten frames are missing after the 20th: the file holds 190, the 41st of them is number 50. */
    for (long i = 20; i < 190; i++)
        t->time_s[i] = (double)(i + 10) / 60;
    t->frames = 190;
    struct fl_marks m;
    assert_true(fl_marks_make(&m, t, &plain));
    assert_int_equal(m.v[0].in, 50);
    assert_int_equal(m.v[0].out, 60);
    assert_int_equal(m.length, 200);
    fl_marks_finish(&m);
    fl_take_free(&t);
}

/* The frames of the edit that show the capture frames, and no other: libavutil's rescaling. */
static void other_rates_follow_libavutil(void **state)
{
    (void)state;
    const struct marked_span spans[] = {{3, 4, 0}, {8, 15, 0}, {1234, 2345, 0}, {71000, 71999, 0}};
    static const AVRational to[] = {{24000, 1001}, {25, 1},       {30000, 1001}, {30, 1},
                                    {50, 1},       {60000, 1001}, {60, 1},       {120, 1}};
    struct fl_take *t = marked_take(120000 / 1001.0, 72000, false, spans, 4, NULL, 0);
    for (size_t r = 0; r < sizeof to / sizeof *to; r++) {
        const struct fl_mark_settings set = {.rate = {to[r].num, to[r].den}};
        struct fl_marks m;
        assert_true(fl_marks_make(&m, t, &set));
        for (size_t i = 0; i < 4; i++) {
            const AVRational from = {1001, 120000};
            long in = (long)av_rescale_q_rnd(spans[i].first, from, av_inv_q(to[r]), AV_ROUND_UP);
            long out = (long)av_rescale_q_rnd(spans[i].after, from, av_inv_q(to[r]), AV_ROUND_UP);
            assert_int_equal(m.v[i].in, in);
            assert_int_equal(m.v[i].out, out > in ? out : in + 1);
            for (long k = in - 1; k <= out; k++) { /* what each shows */
                long shown = (long)av_rescale_q_rnd(k, av_inv_q(to[r]), from, AV_ROUND_DOWN);
                assert_int_equal(k >= in && k < out,
                                 shown >= spans[i].first && shown < spans[i].after);
            }
        }
        fl_marks_finish(&m);
    }
    fl_take_free(&t);
}

static void the_last_frame_is_in_the_edit(void **state)
{
    (void)state;
    const struct marked_span span = {119, 120, 0};
    struct fl_take *t = marked_take(120, 120, true, &span, 1, NULL, 0);
    struct fl_marks m;
    assert_true(fl_marks_make(&m, t, &(struct fl_mark_settings){.rate = {25, 1}}));
    assert_int_equal(m.length, 25);
    assert_int_equal(m.v[0].in, 24);
    assert_int_equal(m.v[0].out, 25);
    fl_marks_finish(&m);
    fl_take_free(&t);
}

/* Variable frame rate: time decides. */
static void uneven_frames_go_by_time(void **state)
{
    (void)state;
    const struct marked_span span = {30, 40, 0};
    struct fl_take *t = marked_take(100, 100, true, &span, 1, NULL, 0);
    t->constant_rate = false;
    for (long i = 0; i < 100; i++)
        t->time_s[i] += 0.004 * (double)(i % 2); /* odd frames come late */
    t->states.lapse[0].start_s = 0.312; /* within frame 30, which lasts from 0.300 to 0.314 */
    struct fl_marks m;
    assert_true(fl_marks_make(&m, t, &(struct fl_mark_settings){.rate = {60, 1}}));
    assert_int_equal(m.v[0].in, 18);  /* 0.300 s */
    assert_int_equal(m.v[0].out, 24); /* 0.400 s */
    assert_near(m.v[0].start_s, 0.3, 1e-9);
    fl_marks_finish(&m);
    fl_take_free(&t);
}

/* ---- which ---- */

static void flicks_are_chosen(void **state)
{
    (void)state;
    const struct marked_span lapse = {24, 40, 0};
    const struct marked_span flicks[] = {
        {20, 30, FL_YES}, {60, 70, FL_NO}, {80, 90, FL_ANSWER_UNKNOWN}, {100, 110, FL_YES}};
    static const struct {
        enum fl_mark_flicks which;
        size_t n;
    } cases[] = {{FL_MARK_TRIPPED, 2}, {FL_MARK_HELD, 2}, {FL_MARK_ALL, 5}, {FL_MARK_NONE, 1}};
    struct fl_take *t = marked_take(60, 200, false, &lapse, 1, flicks, 4);
    t->flicks[3].at_risk = FL_NO; /* off as it began: neither tripped nor held */
    for (size_t i = 0; i < 4; i++) {
        struct fl_marks m;
        assert_true(fl_marks_make(&m, t, &(struct fl_mark_settings){.flicks = cases[i].which}));
        assert_int_equal(m.n, cases[i].n);
        for (size_t k = 1; k < m.n; k++)
            assert_true(m.v[k].in >= m.v[k - 1].in);
        fl_marks_finish(&m);
    }
    fl_take_free(&t);
}

static void words_say_what_is_known(void **state)
{
    (void)state;
    const struct marked_span lapses[] = {{0, 12, 0}, {24, 48, 0}, {100, 120, 0}};
    const struct marked_span flicks[] = {{60, 70, FL_NO}, {80, 90, FL_YES}};
    struct fl_take *t = marked_take(120, 120, true, lapses, 3, flicks, 2);
    t->flicks[1].peak[FL_CAMERA_SPEED] = FL_UNKNOWN;
    char *edl = text_of(fl_marks_edl, t, &(struct fl_mark_settings){.flicks = FL_MARK_ALL});
    says(edl, "Lapse 1: off for at least 0.100 s, its start not seen\n");
    says(edl, "Lapse 2: off for 0.200 s\n");
    says(edl, "Lapse 3: off for at least 0.167 s, its end not seen\n");
    says(edl, "Flick 1: held, peak 412 deg/s\n");
    says(edl, "Flick 2: tripped\n");
    says(edl, "00:00:00:100 00:00:01:000 00:00:00:100 00:00:01:000\n"); /* to the end, exclusive */
    free(edl);
    fl_take_free(&t);
}

/* ---- edit decision list ---- */

/* Labels of SMPTE ST 12-1 (test_timecode.c), at and after the first minute. */
static void events_carry_right_timecode(void **state)
{
    (void)state;
    const struct marked_span spans[] = {{1799, 1800, 0}, {1800, 3598, 0}, {17982, 18000, 0}};
    struct fl_take *t = marked_take(30000 / 1001.0, 20000, false, spans, 3, NULL, 0);
    char *plain_text = text_of(fl_marks_edl, t, &plain);
    says(plain_text, "TITLE: take-1\nFCM: NON-DROP FRAME\n\n001  AX       V     C        "
                     "00:00:59:29 00:01:00:00 00:00:59:29 00:01:00:00\n");
    says(plain_text, "counts 29.97 frames per second, non-drop.");
    free(plain_text);
    char *drop =
        text_of(fl_marks_edl, t, &(struct fl_mark_settings){.drop = true, .start = "01:00:00;00"});
    says(drop, "FCM: DROP FRAME\n");
    says(drop, "001  AX       V     C        00:00:59;29 00:01:00;02 01:00:59;29 01:01:00;02\n");
    says(drop, "002  AX       V     C        00:01:00;02 00:02:00;02 01:01:00;02 01:02:00;02\n");
    says(drop, "003  AX       V     C        00:10:00;00 00:10:00;18 01:10:00;00 01:10:00;18\n");
    says(drop, "* LOC: 01:10:00;00 RED     Lapse 3: off for ");
    says(drop, "* FROM CLIP NAME: glass canyon.mkv\n");
    says(drop, "counts 29.97 frames per second, drop-frame.");
    free(drop);
    fl_take_free(&t);
    t = marked_take(25, 2000, false, spans, 1, NULL, 0);
    char *refused =
        text_of(fl_marks_edl, t, &(struct fl_mark_settings){.drop = true, .start = "01:00:00:00"});
    says(refused, "FCM: NON-DROP FRAME\n");
    says(refused, "Drop-frame was asked for; it is not defined at this rate.");
    says(refused, "01:01:11:24 01:01:12:00\n");
    free(refused);
    fl_take_free(&t);
}

/* Lapses stay whole; a flick gives way, and keeps its locator. */
static void events_do_not_lie_on_each_other(void **state)
{
    (void)state;
    const struct marked_span lapses[] = {{24, 40, 0}, {60, 90, 0}, {120, 130, 0}};
    const struct marked_span flicks[] = {{20, 30, FL_YES},
                                         {70, 80, FL_YES},
                                         {85, 95, FL_YES},
                                         {120, 140, FL_YES},
                                         {150, 160, FL_YES}};
    struct fl_take *t = marked_take(100, 200, true, lapses, 3, flicks, 5);
    char *edl = text_of(fl_marks_edl, t, &plain);
    says(edl, "001  AX       V     C        00:00:00:20 00:00:00:24 ");
    says(edl, "002  AX       V     C        00:00:00:24 00:00:00:40 ");
    says(edl, "003  AX       V     C        00:00:00:60 00:00:00:90 ");
    says(edl, "004  AX       V     C        00:00:01:20 00:00:01:30 ");
    says(edl, "005  AX       V     C        00:00:01:50 00:00:01:60 ");
    assert_null(strstr(edl, "006  AX"));
    assert_int_equal(count(edl, "* LOC: "), 8);
    says(edl, "* LOC: 00:00:00:70 YELLOW  Flick 2: tripped");
    says(edl, "* LOC: 00:00:01:20 YELLOW  Flick 4: tripped");
    free(edl);
    fl_take_free(&t);
}

static void no_more_than_999_events(void **state)
{
    (void)state;
    enum { N = 1100 };
    struct marked_span *spans = FL_NEW(struct marked_span, N);
    for (long i = 0; i < N; i++)
        spans[i] = (struct marked_span){10 + 10 * i, 15 + 10 * i, 0};
    struct fl_take *t = marked_take(60, 10 * N + 100, false, spans, N, NULL, 0);
    char *edl = text_of(fl_marks_edl, t, &plain), *vtt = text_of(fl_marks_vtt, t, &plain);
    says(edl, "\n999  AX");
    assert_int_equal(count(edl, "  AX  "), 999);
    assert_int_equal(count(edl, "* LOC: "), 999);
    says(edl, "Of 1100 events the first 999 are here");
    assert_int_equal(count(vtt, " --> "), N);
    free(edl);
    free(vtt);
    free(spans);
    fl_take_free(&t);
}

/* ---- all files ---- */

static const char hostile[] =
    "<script>alert(\"1\")</script> 'x' \xd7\x90\xd7\x91 \xe2\x80\xae evil \xf0\x9f\x8e\xae --> "
    "00:00 =;#\\ %\nTITLE: y\r\n[CHAPTER]\x01\xff";

static void ascii_only(const char *text)
{
    for (; *text; text++)
        assert_true(*text == '\n' || (*text >= 0x20 && *text < 0x7f));
}

static void hostile_names_come_out_as_text(void **state)
{
    (void)state;
    char name[1000];
    memset(name, 'n', 300);
    strcpy(name + 300, hostile);
    const struct marked_span span = {24, 40, 0};
    const char *const names[] = {hostile, name};
    for (int i = 0; i < 2; i++) {
        struct fl_take *t = marked_take(60, 200, false, &span, 1, NULL, 0);
        t->spec.game = t->spec.condition = t->spec.footage = names[i];
        char *edl = text_of(fl_marks_edl, t, &plain), *vtt = text_of(fl_marks_vtt, t, &plain);
        char *meta = text_of(fl_marks_ffmeta, t, &plain), *otio = text_of(fl_marks_otio, t, &plain);
        ascii_only(edl);
        assert_int_equal(count(edl, "\nTITLE:"), 0);
        assert_int_equal(count(edl, "\n001  AX"), 1);
        for (const char *line = edl, *end; (end = strchr(line, '\n')); line = end + 1)
            assert_true(end - line < 255);
        assert_int_equal(count(vtt, "-->"), 1);
        assert_int_equal(count(vtt, "\n\n"), 2);
        says(meta, " --> 00:00 \\=\\;\\#\\\\ %");
        assert_int_equal(count(meta, "\n[CHAPTER]"),
                         3); /* what lies before and after the mark, too */
        assert_int_equal(count(meta, "\ntitle="), 4);
        json_t *o = json_loads(otio, 0, NULL);
        assert_non_null(o);
        json_decref(o);
        free(edl);
        free(vtt);
        free(meta);
        free(otio);
        fl_take_free(&t);
    }
}

/* Cues of chapters: apart, or one inside the other. */
static void cues_nest(void **state)
{
    (void)state;
    const struct marked_span lapses[] = {{24, 40, 0}, {60, 90, 0}};
    const struct marked_span flicks[] = {{20, 30, FL_YES}, {70, 80, FL_YES}, {85, 95, FL_YES}};
    struct fl_take *t = marked_take(100, 200, true, lapses, 2, flicks, 3);
    char *vtt = text_of(fl_marks_vtt, t, &plain), *meta = text_of(fl_marks_ffmeta, t, &plain);
    says(vtt, "flick-1\n00:00:00.200 --> 00:00:00.240\n");
    says(vtt, "lapse-1\n00:00:00.240 --> 00:00:00.400\n");
    says(vtt, "lapse-2\n00:00:00.600 --> 00:00:00.900\n");
    says(vtt, "flick-2\n00:00:00.700 --> 00:00:00.800\n");
    says(vtt, "flick-3\n00:00:00.850 --> 00:00:00.900\n");
    says(meta, "START=0\nEND=200\ntitle=No mark");
    says(meta, "START=950\nEND=2000\ntitle=No mark");
    says(meta, "START=600\nEND=700\ntitle=Lapse 2");
    says(meta, "START=700\nEND=800\ntitle=Flick 2");
    says(meta, "START=850\nEND=950\ntitle=Flick 3");
    free(vtt);
    free(meta);
    fl_take_free(&t);
}

static void long_footage_has_hours(void **state)
{
    (void)state;
    const struct marked_span span = {3723 * 4, 3725 * 4, 0};
    struct fl_take *t = marked_take(4, 20000, true, &span, 1, NULL, 0);
    char *vtt = text_of(fl_marks_vtt, t, &plain);
    says(vtt, "01:02:03.000 --> 01:02:05.000\n");
    free(vtt);
    fl_take_free(&t);
}

static void four_files_or_none(void **state)
{
    (void)state;
    static const char *const endings[] = {"edl", "vtt", "ffmeta", "otio"};
    struct fl_take *t = marked_take(60, 200, false, NULL, 0, NULL, 0), *empty = fl_take_new();
    char *folder = make_folder(), path[200], *data;
    size_t size;
    struct fl_error err = {0};
    empty->spec.id = "empty";
    assert_int_equal(fl_marks_writer.write_take(folder, t, NULL, &err), FLINCH_OK);
    assert_int_equal(fl_marks_writer.write_take(folder, empty, NULL, &err), FLINCH_OK);
    for (size_t i = 0; i < 4; i++) {
        snprintf(path, sizeof path, "%s/marks/take-1.%s", folder, endings[i]);
        assert_int_equal(fl_read_file(path, 1 << 20, &data, &size, NULL), FLINCH_OK);
        assert_true(size > 10);
        free(data);
        snprintf(path, sizeof path, "%s/marks/empty.%s", folder, endings[i]);
        assert_int_not_equal(fl_read_file(path, 1 << 20, &data, &size, NULL), FLINCH_OK);
    }
    remove_folder(folder);
    fl_take_free(&t);
    fl_take_free(&empty);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(marks_are_on_their_frames),
        cmocka_unit_test(odd_rates_keep_their_frames),
        cmocka_unit_test(lost_frames_keep_their_number),
        cmocka_unit_test(other_rates_follow_libavutil),
        cmocka_unit_test(the_last_frame_is_in_the_edit),
        cmocka_unit_test(uneven_frames_go_by_time),
        cmocka_unit_test(flicks_are_chosen),
        cmocka_unit_test(words_say_what_is_known),
        cmocka_unit_test(events_carry_right_timecode),
        cmocka_unit_test(events_do_not_lie_on_each_other),
        cmocka_unit_test(no_more_than_999_events),
        cmocka_unit_test(hostile_names_come_out_as_text),
        cmocka_unit_test(cues_nest),
        cmocka_unit_test(long_footage_has_hours),
        cmocka_unit_test(four_files_or_none),
    };
    return RUN_TESTS(tests);
}
