/* The trace CSV: its stated behaviours, its errors, its speed; events → motion. */
#include "trace/trace.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "trace/motion.h"
#include "trace/parse_number.h"
#include "test.h"
#include "trace/read_trace.h"

static char path[64];

static void write_bytes(const char *text, size_t size)
{
    snprintf(path, sizeof path, "test-trace-%ld.csv", (long)getpid());
    FILE *f = fopen(path, "wb");
    assert_non_null(f);
    fwrite(text, 1, size, f);
    fclose(f);
}

static struct fl_trace read_text(const char *text)
{
    struct fl_trace t;
    struct fl_error err = {0};
    write_bytes(text, strlen(text));
    if (fl_trace_read(&t, path, &err) != FLINCH_OK)
        fail_msg("%s", err.text);
    unlink(path);
    return t;
}

/* The error must name the file, the line if > 0, and hold `part`. */
static void refuse(const char *text, size_t size, enum flinch_code code, int line, const char *part)
{
    struct fl_trace t;
    struct fl_error err = {0};
    char place[96];
    write_bytes(text, size);
    assert_int_equal(fl_trace_read(&t, path, &err), code);
    unlink(path);
    assert_null(t.events);
    snprintf(place, sizeof place, line > 0 ? "%s:%d: " : "%s: ", path, line);
    if (strncmp(err.text, place, strlen(place)) != 0 || !strstr(err.text, part))
        fail_msg("'%s' lacks '%s' or '%s'", err.text, place, part);
    assert_null(strchr(err.text, '\n'));
}

static void refuse_text(const char *text, enum flinch_code code, int line, const char *part)
{
    refuse(text, strlen(text), code, line, part);
}

static void every_time_unit_and_column_order(void **state)
{
    (void)state;
    const char *texts[] = {
        "time_s,dx,dy\n1.5,3,-4\n1.501,1,2\n",
        "dx,time_ms,dy\n3,1500,-4\n1,1501,2\n",
        "dy,dx,time_us\n-4,3,1500000\n2,1,1501000\n",
        "\xEF\xBB\xBFtime_ns , dx,\"dy\"\r\n1500000000,3,-4\r\n1501000000, 1 ,\"2\"\r\n\r\n",
    };
    for (int k = 0; k < 4; k++) {
        struct fl_trace t = read_text(texts[k]);
        assert_int_equal(t.n, 2);
        assert_near(t.events[0].time_s, 1.5, 1e-15);
        assert_near(t.events[1].time_s, 1.501, 1e-15);
        assert_true(t.events[0].dx == 3 && t.events[0].dy == -4 && t.events[1].dx == 1 &&
                    t.events[1].dy == 2);
        assert_true(t.has_motion && !t.has_buttons && !t.has_stick);
        assert_true(isnan(t.events[0].stick_x));
        assert_near(t.report_rate_hz, 1000, 1e-6);
        assert_near(t.start_s, 1.5, 1e-15);
        assert_near(t.end_s, 1.501, 1e-15);
        assert_string_equal(t.format, "csv");
        fl_trace_finish(&t);
    }
}

static void stated_behaviours(void **state)
{
    (void)state;
    struct fl_trace t = read_text("time_ms,dx,dy,button,state\n10,1,1,0,0\n10,2,3,1,1\n10,0,0,2,1\n"
                                  "9,100,100,0,0\n11,,5,,\n12,7,7,1,0");
    assert_int_equal(t.n, 3);
    assert_true(t.events[0].dx == 3 && t.events[0].dy == 4);
    assert_int_equal(t.events[0].button, 1);
    assert_int_equal(t.events[1].button, 2);
    assert_true(t.events[1].time_s > t.events[0].time_s);
    assert_near(t.events[1].time_s, 0.01, 1e-12);
    assert_true(t.events[2].dx == 0 && t.events[2].dy == 5);
    assert_int_equal(t.merged, 2);
    assert_int_equal(t.backward, 1);
    assert_int_equal(t.cut, 1);
    fl_trace_finish(&t);
}

static void lost_rows_are_gaps_and_rests_are_none(void **state)
{
    (void)state;
    struct fl_trace t =
        read_text("time_ms,dx\n0,20\n1,20\n200,20\n201,5\n202,1\n900,1\n901,9\n902,1\n");
    assert_int_equal(t.gaps, 1);
    fl_trace_finish(&t);
}

static void what_is_no_trace_is_refused_with_its_place(void **state)
{
    (void)state;
    refuse_text("", FLINCH_ERR_EMPTY, 0, "empty");
    refuse_text("time_s,dx\n", FLINCH_ERR_EMPTY, 0, "no complete row");
    refuse_text("time_s,dx", FLINCH_ERR_EMPTY, 0, "no complete row");
    refuse_text("time_s,dx\n1,2", FLINCH_ERR_EMPTY, 0, "no complete row");
    refuse_text("dx,dy\n1,2\n", FLINCH_ERR_FORMAT, 1, "no time column");
    refuse_text("time_s\n1\n", FLINCH_ERR_FORMAT, 1, "only a time column");
    refuse_text("time_s,time_ms,dx\n", FLINCH_ERR_FORMAT, 1, "second time column");
    refuse_text("time_s,dx,dx\n", FLINCH_ERR_FORMAT, 1, "twice");
    refuse_text("time_s,dx,speed\n", FLINCH_ERR_EMPTY, 0, "no complete row");
    refuse_text("time_s;dx;dy\n", FLINCH_ERR_EMPTY, 0, "no complete row");
    refuse_text("when,speed\n", FLINCH_ERR_FORMAT, 1, "neither time nor movement");
    refuse_text("when,delta x\n", FLINCH_ERR_FORMAT, 1, "the columns are 'when', 'delta x'");
    refuse_text("0,1,2\n1,1,2\n", FLINCH_ERR_FORMAT, 1, "holds numbers: put a header");
    refuse_text("time_s,button\n", FLINCH_ERR_FORMAT, 1, "state");
    refuse_text("time_s,dx\n1,2\n2,x\n", FLINCH_ERR_FORMAT, 3, "dx is not a number: 'x'");
    refuse_text("time_s,dx\n1,2\n,3\n", FLINCH_ERR_FORMAT, 3, "time_s is not a number");
    refuse_text("time_s,dx\n1,inf\n", FLINCH_ERR_FORMAT, 2, "not a number");
    refuse_text("time_s,dx\nnan,1\n", FLINCH_ERR_FORMAT, 2, "not a number");
    refuse_text("time_s,dx\n1,1e999\n", FLINCH_ERR_FORMAT, 2, "not a number");
    refuse_text("time_s,dx\n1,0x10\n", FLINCH_ERR_FORMAT, 2, "not a number");
    refuse_text("time_s,dx\n1,2,3\n", FLINCH_ERR_FORMAT, 2, "more cells");
    refuse_text("time_s,dx,dy\n1,2\n", FLINCH_ERR_FORMAT, 2, "fewer cells");
    refuse_text("time_s,button,state\n1,1,2\n", FLINCH_ERR_FORMAT, 2,
                "state is not a whole number");
    refuse_text("time_s,stick_x\n1,1.5\n", FLINCH_ERR_FORMAT, 2, "from -1 to 1");
    refuse("time_s,dx\n1,\0\n", 14, FLINCH_ERR_FORMAT, 2, "not a number");
    struct fl_trace t;
    struct fl_error err = {0};
    assert_int_equal(fl_trace_read(&t, "no-such-trace.csv", &err), FLINCH_ERR_OPEN);
    assert_int_equal(fl_trace_read(&t, ".", &err), FLINCH_ERR_OPEN);
}

static void overlong_lines_are_refused(void **state)
{
    (void)state;
    static char big[3000000];
    memset(big, '1', sizeof big);
    memcpy(big, "time_s,dx\n", 10);
    refuse(big, sizeof big, FLINCH_ERR_FORMAT, 2, "4096");
    memset(big, '1', sizeof big);
    refuse(big, sizeof big, FLINCH_ERR_FORMAT, 1, "4096");
}

static void numbers_are_read_to_the_last_digit(void **state)
{
    (void)state;
    const char *good[] = {"0",
                          "-0",
                          "1",
                          "+1.5",
                          ".5",
                          "5.",
                          "1e3",
                          "1.25E-3",
                          "123456789.123456",
                          "0.1",
                          "1e-30",
                          "1717171717171717171",
                          "0.000000000000000000000001"};
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        double v, want = strtod(good[i], NULL);
        assert_true(fl_parse_number(good[i], strlen(good[i]), &v));
        assert_true(v == want || fabs(v - want) <= 4e-16 * fabs(want));
    }
    const char *bad[] = {"",      "-",   ".",   "e5",  "1e",  "1e+", "1 2",
                         "1.2.3", "--1", "inf", "NaN", "0x1", "1,5", "1e400"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        double v;
        assert_false(fl_parse_number(bad[i], strlen(bad[i]), &v));
    }
}

/* Ten minutes of an 8 kHz mouse: about a second, and far more under a sanitizer. */
static void a_long_trace_reads_fast(void **state)
{
    (void)state;
    snprintf(path, sizeof path, "test-trace-%ld.csv", (long)getpid());
    FILE *f = fopen(path, "wb");
    assert_non_null(f);
    fputs("time_us,dx,dy\n", f);
    for (long i = 0; i < 4800000; i++)
        fprintf(f, "%ld,%ld,%ld\n", 125 * i, i % 7 - 3, i % 5 - 2);
    fclose(f);
    struct timespec a, b;
    struct fl_trace t;
    struct fl_error err = {0};
    clock_gettime(CLOCK_MONOTONIC, &a);
    assert_int_equal(fl_trace_read(&t, path, &err), FLINCH_OK);
    clock_gettime(CLOCK_MONOTONIC, &b);
    unlink(path);
    const double took_s = (double)(b.tv_sec - a.tv_sec) + 1e-9 * (double)(b.tv_nsec - a.tv_nsec);
    print_message("4.8 million rows in %.2f s\n", took_s);
    assert_int_equal(t.n, 4800000);
    assert_near(t.report_rate_hz, 8000, 1e-6);
    assert_true(took_s < 15);
    fl_trace_finish(&t);
}

static struct fl_motion *motion_of(const char *text, double spread_s)
{
    struct fl_trace t = read_text(text);
    struct fl_motion *m = fl_motion_new(&t, spread_s);
    fl_trace_finish(&t);
    return m;
}

static void counts_spread_over_the_gap_before_their_report(void **state)
{
    (void)state;
    struct fl_motion *m = motion_of("time_ms,dx,dy\n100,0,0\n110,10,-20\n200,4,0\n", 0.020);
    double x, y;
    const double want[][3] = {{0, 0, 0},        {0.100, 0, 0},    {0.105, 5, -10},
                              {0.110, 10, -20}, {0.179, 10, -20}, {0.190, 12, -20},
                              {0.200, 14, -20}, {9, 14, -20}};
    for (size_t i = 0; i < sizeof want / sizeof *want; i++) {
        fl_motion_path(m, want[i][0], &x, &y);
        assert_near(x, want[i][1], 1e-12);
        assert_near(y, want[i][2], 1e-12);
    }
    fl_motion_rate(m, 0.105, 0.010, &x, &y);
    assert_near(x, 1000, 1e-9);
    assert_near(y, -2000, 1e-9);
    double d, r;
    fl_motion_stick(m, 0.105, 0.01, &d, &r);
    assert_true(isnan(d) && isnan(r));
    fl_motion_free(&m);
    assert_null(m);
}

/* 20 counts a report at 125 Hz are 2500 counts/s (CHECKS L-4, by definition). */
static void twenty_counts_at_125_hz(void **state)
{
    (void)state;
    static char text[20000];
    size_t used = (size_t)sprintf(text, "time_ms,dx\n");
    for (int i = 0; i < 1000; i++)
        used += (size_t)sprintf(text + used, "%d,20\n", 8 * i);
    struct fl_motion *m = motion_of(text, 0.02);
    double x, y;
    for (double w = 0.003; w < 0.5; w *= 1.7) {
        fl_motion_rate(m, 4, w, &x, &y);
        assert_near(x, 2500, 1e-9);
        assert_near(y, 0, 1e-12);
    }
    fl_motion_free(&m);
}

static void a_stick_stays_where_it_was(void **state)
{
    (void)state;
    struct fl_motion *m = motion_of("time_s,stick_x,stick_y\n1,0,0\n2,0.6,0.8\n3,0,0\n", 0.01);
    double d, r;
    fl_motion_stick(m, 2.5, 0.2, &d, &r);
    assert_near(d, 1, 1e-6);
    assert_near(r, 0, 1e-12);
    fl_motion_stick(m, 2, 0.2, &d, &r);
    assert_near(d, 0.5, 1e-6);
    assert_near(r, 5, 1e-6);
    fl_motion_stick(m, 0.5, 0.2, &d, &r);
    assert_true(isnan(d) && isnan(r));
    fl_motion_stick(m, 5, 0.2, &d, &r);
    assert_near(d, 0, 1e-12);
    fl_motion_free(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_time_unit_and_column_order),
        cmocka_unit_test(stated_behaviours),
        cmocka_unit_test(lost_rows_are_gaps_and_rests_are_none),
        cmocka_unit_test(what_is_no_trace_is_refused_with_its_place),
        cmocka_unit_test(overlong_lines_are_refused),
        cmocka_unit_test(numbers_are_read_to_the_last_digit),
        cmocka_unit_test(a_long_trace_reads_fast),
        cmocka_unit_test(counts_spread_over_the_gap_before_their_report),
        cmocka_unit_test(twenty_counts_at_125_hz),
        cmocka_unit_test(a_stick_stays_where_it_was),
    };
    return RUN_TESTS(tests);
}
