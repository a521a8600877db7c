#include <string.h>

#include "base/file.h"
#include "fake_take.h"
#include "show/store/csv.h"
#include "show/store/frame_columns.h"
#include "show/store/json.h"
#include "show_folder.h"
#include "test.h"
#include "study/compare/session_study.h"
#include "show/store/output_rounding.h"
#include "show/store/load.h"

static struct fl_take *one_take(const char *id)
{
    struct fl_take *t = fake_take(&(struct fake_settings){.id = id,
                                                          .game = "Glass Canyon",
                                                          .counts_per_inch = 800,
                                                          .degrees_per_count = 0.044,
                                                          .v50_deg_s = 300,
                                                          .slope = 3,
                                                          .flicks = 8,
                                                          .seed = 5});
    static const struct fl_span use[] = {{1, 9.5}};
    static const char *const keys[] = {"driver"}, *const values[] = {"1.2 \"beta\""};
    t->key = "footage=1;settings=2";
    t->spec.use = use;
    t->spec.n_use = 1;
    t->spec.note_keys = keys;
    t->spec.note_values = values;
    t->spec.n_notes = 1;
    t->spec.refresh_hz = 165;
    return t;
}

/* A folder with one written take. */
static char *folder_with(struct fl_take *t)
{
    char *folder = make_folder();
    struct fl_error err;
    assert_int_equal(fl_csv_writer.write_take(folder, t, NULL, &err), FLINCH_OK);
    assert_int_equal(fl_json_writer.write_take(folder, t, NULL, &err), FLINCH_OK);
    return folder;
}

static void same_number(double a, double b, double tolerance)
{
    if (isnan(a) || isnan(b))
        assert_true(isnan(a) && isnan(b));
    else
        assert_near(a, b, tolerance);
}

/* Every column of the frame table; the quantities that are there are the same. */
static void same_frames(const struct fl_take *a, const struct fl_take *b)
{
    size_t n;
    struct fl_frame_column *column = fl_frame_columns(&n);
    assert_int_equal(a->frames, b->frames);
    for (size_t k = 0; k < n; k++)
        for (long i = 0; i < a->frames; i++)
            same_number(fl_frame_value(a, &column[k], i), fl_frame_value(b, &column[k], i), 1e-6);
    for (int q = 0; q < FL_QUANTITIES; q++)
        assert_int_equal(!a->quantity[q], !b->quantity[q]);
    free(column);
}

static void same_tables(const struct fl_take *a, const struct fl_take *b)
{
    same_frames(a, b);
    assert_int_equal(a->flips.n, b->flips.n);
    for (size_t i = 0; i < a->flips.n; i++) {
        assert_near(a->flips.v[i].time_s, b->flips.v[i].time_s, 1e-6);
        assert_near(a->flips.v[i].row, b->flips.v[i].row, 1e-6);
        assert_int_equal(a->flips.v[i].frame, b->flips.v[i].frame);
        assert_int_equal(a->flips.v[i].kind, b->flips.v[i].kind);
        assert_int_equal(a->flips.v[i].in_blank, b->flips.v[i].in_blank);
    }
}

/* What the JSON holds is compared as JSON: whatever it says must come back. */
static void what_was_written_comes_back(void **state)
{
    (void)state;
    struct fl_take *t = one_take("a"), *back = NULL;
    t->states.lapse[0].evidence = FL_EVIDENCE_RATE | FL_EVIDENCE_SHARPNESS | FL_EVIDENCE_TRACE;
    t->states.lapse[0].start_range_s[0] = FL_UNKNOWN;
    t->flips.v[3].in_blank = true;
    struct fl_error err = {0};
    char *folder = folder_with(t);
    assert_int_equal(fl_take_load(folder, "a", &back, &err), FLINCH_OK);
    json_t *before = fl_take_json(t), *after = fl_take_json(back);
    assert_true(json_equal(before, after));
    same_tables(t, back);
    char *key = fl_stored_key(folder, "a");
    assert_string_equal(key, "footage=1;settings=2");
    free(key);
    json_decref(before);
    json_decref(after);
    fl_take_free(&t);
    fl_take_free(&back);
    remove_folder(folder);
}

/* The study of what was read back gives the same session, to the letter. */
static void a_session_can_be_rebuilt(void **state)
{
    (void)state;
    char *folder = make_folder();
    struct fl_session *s = fake_session(), *again = fl_session_new(s->name);
    for (size_t i = 0; i < s->n_takes; i++)
        fl_take_round(s->takes[i]);
    fl_session_study(s);
    assert_int_equal(write_all(folder, s, "csv", NULL), FLINCH_OK);
    assert_int_equal(write_all(folder, s, "json", NULL), FLINCH_OK);
    for (size_t i = 0; i < s->n_takes; i++) {
        struct fl_take *t;
        struct fl_error err;
        assert_int_equal(fl_take_load(folder, s->takes[i]->spec.id, &t, &err), FLINCH_OK);
        fl_session_add(again, t);
    }
    fl_session_add_failed(again, s->failed[0].id, s->failed[0].text);
    fl_session_study(again);
    json_t *a = fl_session_json(s), *b = fl_session_json(again);
    char *before = json_dumps(a, JSON_INDENT(1) | JSON_REAL_PRECISION(15));
    char *after = json_dumps(b, JSON_INDENT(1) | JSON_REAL_PRECISION(15));
    size_t same = 0;
    while (before[same] && before[same] == after[same])
        same++;
    if (before[same] || after[same])
        fail_msg("%.60s… became %.60s…", before + (same > 30 ? same - 30 : 0),
                 after + (same > 30 ? same - 30 : 0));
    free(before);
    free(after);
    json_decref(a);
    json_decref(b);
    fl_session_free(&s);
    fl_session_free(&again);
    remove_folder(folder);
}

static void spoil(const char *path, const char *from, const char *to)
{
    char *data, *at;
    size_t size;
    assert_int_equal(fl_read_file(path, 1 << 24, &data, &size, NULL), FLINCH_OK);
    at = strstr(data, from);
    assert_non_null(at);
    FILE *out = fopen(path, "wb");
    fprintf(out, "%.*s%s%s", (int)(at - data), data, to, at + strlen(from));
    fclose(out);
    free(data);
}

/* Changes one thing, expects one line that names the file and the fault. */
static void refused(const char *ending, const char *from, const char *to, const char *fault)
{
    struct fl_take *t = one_take("a"), *back = t;
    struct fl_error err = {0};
    char *folder = folder_with(t), *path = fl_take_path(folder, "a", ending);
    if (from)
        spoil(path, from, to);
    else
        unlink(path);
    assert_int_not_equal(fl_take_load(folder, "a", &back, &err), FLINCH_OK);
    assert_null(back);
    assert_non_null(strstr(err.text, folder));
    if (!strstr(err.text, fault))
        fail_msg("“%s” should say “%s”", err.text, fault);
    free(path);
    fl_take_free(&t);
    remove_folder(folder);
}

static void anything_missing_or_strange_is_refused(void **state)
{
    (void)state;
    refused(".json", NULL, NULL, "cannot open");
    refused("-frames.csv", NULL, NULL, "cannot open");
    refused("-flips.csv", NULL, NULL, "cannot open");
    refused("-flicks.csv", NULL, NULL, "missing");
    refused(".json", "\"version\": 2", "\"version\": 1", "version");
    refused(".json", "flinch-take", "other", "format");
    refused(".json", "\"kernel_ms\"", "\"kernel\"", "kernel_ms");
    refused(".json", "\"longest_s\": ", "\"longest_s\": \"x\", \"y\": ", "longest_s");
    refused(".json", "\"id\": \"a\"", "\"id\": \"b\"", "id");
    refused(".json", "\"state\": \"on\"", "\"state\": \"maybe\"", "state");
    refused(".json", "\"rate\"", "\"hearsay\"", "evidence");
    refused(".json", "\"camera_speed\"", "\"x\"", "quantities_measured");
    refused(".json", "{", "{{", "not JSON");
    refused(".json", "\"frames\": ", "\"frames\": 9", "fewer rows");
    refused(".json", "\"frames\": 1", "\"frames\": -1", "below 0");
    refused(".json", "\"flips\": ", "\"flips\": 1", "number of flips");
    /* 2³¹ - 1 is the largest int, and 2³² + 1 would be kept as 1 (C11 6.3.1.3). */
    refused(".json", "\"width\": ", "\"width\": 4294967297, \"x\": ", "beyond 2147483647");
    refused(".json", "\"width\": ", "\"width\": 2147483648, \"x\": ", "beyond 2147483647");
    refused(".json", "\"frames\": ", "\"frames\": 9223372036854775808, \"x\": ", "not JSON");
    refused("-frames.csv", "unique_rate_hz", "rate", "columns");
    refused("-frames.csv", "\n5,", "\n6,", "out of order");
    refused("-frames.csv", "\n5,", "\n5\n", "cells");
    refused("-frames.csv", "unseen", "unsaid", "unknown word");
    refused("-frames.csv", "\n7,", "\n7x,", "not a number");
    refused("-flips.csv", "rendered", "drawn", "unknown word");
}

/* Conversions that C leaves undefined begin with such figures; the sanitized build would stop. */
static void figures_that_no_recording_has_are_refused(void **state)
{
    (void)state;
    refused("-frames.csv", "\n0,0.000000", "\n0,1e308", "a-frames.csv:2: has a time");
    refused("-frames.csv", "\n0,0.000000", "\n0,-1.000000", "no recording has");
    refused("-frames.csv", "\n0,0.000000", "\n0,", "no recording has");
    refused("-frames.csv", "\n0,0.000000,-0,", "\n0,0.000000,1e308,", "out of range");
    refused("-flips.csv", "\n1.000000,120,0,", "\n1e308,120,0,", "no recording has");
    refused("-flips.csv", "\n1.000000,120,0,", "\n1.000000,1e308,0,", "not a whole number");
    refused("-flips.csv", "\n1.000000,120,0,", "\n1.000000,,0,", "not a whole number");
    refused("-flips.csv", "\n1.000000,120,0,", "\n1.000000,-1,0,", "not a whole number");
    refused("-flips.csv", "\n1.000000,120,0,", "\n1.000000,2.5,0,", "not a whole number");
    refused("-flips.csv", "\n1.000000,120,0,", "\n1.000000,1234567,0,", "capture frame");
    refused("-flips.csv", ",rendered,0", ",rendered,2", "too large");
    refused("-flips.csv", "\n1.000000,120,0,", "\n1.000000,120,1e308,", "out of range");
    refused(".json", "\"duration_s\": ", "\"duration_s\": 1e308, \"x\": ", "duration_s");
    refused(".json", "\"duration_s\": ", "\"duration_s\": null, \"x\": ", "duration_s");
    refused(".json",
            "\"capture_rate_hz\": ", "\"capture_rate_hz\": null, \"x\": ", "capture_rate_hz");
    refused(".json", "\"capture_rate_hz\": ", "\"capture_rate_hz\": 0, \"x\": ", "capture_rate_hz");
    refused(".json",
            "\"base_rate_on_hz\": ", "\"base_rate_on_hz\": 1e308, \"x\": ", "base_rate_on_hz");
    refused(".json", "\"start_s\": ", "\"start_s\": null, \"x\": ", "start_s");
    refused(".json", "\"end_s\": ", "\"end_s\": 1e308, \"x\": ", "end_s");
    refused(".json", "\"start_s\": ", "\"start_s\": 900000, \"x\": ", "before its start_s");
    refused(".json", "\"start_range_s\": [", "\"start_range_s\": [1e308], \"x\": [",
            "start_range_s");
    refused(".json", "\"peak_s\": ", "\"peak_s\": -3, \"x\": ", "peak_s");
}

static void a_table_cut_off_is_refused(void **state)
{
    (void)state;
    struct fl_take *t = one_take("a"), *back;
    struct fl_error err;
    char *folder = folder_with(t), *path = fl_take_path(folder, "a", "-frames.csv"), *data;
    size_t size;
    assert_int_equal(fl_read_file(path, 1 << 24, &data, &size, &err), FLINCH_OK);
    free(data);
    for (size_t cut = 1; cut < size; cut += size / 5) {
        assert_int_equal(truncate(path, (off_t)(size - cut)), 0);
        assert_int_not_equal(fl_take_load(folder, "a", &back, &err), FLINCH_OK);
    }
    free(path);
    fl_take_free(&t);
    remove_folder(folder);
}

static void no_key_where_there_is_none(void **state)
{
    (void)state;
    struct fl_take *t = one_take("a");
    t->key = NULL;
    char *folder = folder_with(t);
    assert_null(fl_stored_key(folder, "a"));
    assert_null(fl_stored_key(folder, "b"));
    fl_take_free(&t);
    remove_folder(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_written_comes_back),
        cmocka_unit_test(a_session_can_be_rebuilt),
        cmocka_unit_test(anything_missing_or_strange_is_refused),
        cmocka_unit_test(figures_that_no_recording_has_are_refused),
        cmocka_unit_test(a_table_cut_off_is_refused),
        cmocka_unit_test(no_key_where_there_is_none),
    };
    return RUN_TESTS(tests);
}
