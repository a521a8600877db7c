/* CSV traces as loggers write them: other names, separators, decimal commas, positions, comments.
 */
#include "trace/columns.h"

#include <string.h>
#include <unistd.h>

#include "test.h"
#include "trace/read_trace.h"
#include "trace_files.h"

static struct fl_trace read_as(const char *text, const char *columns)
{
    struct fl_trace_columns c;
    struct fl_trace t;
    struct fl_error err = {0};
    FILE *f = fopen("test-columns.csv", "wb");
    assert_non_null(f);
    fputs(text, f);
    fclose(f);
    if (fl_trace_columns_parse(&c, columns ? columns : "dx=dx", &err))
        fail_msg("%s", err.text);
    if (fl_trace_read_as(&t, "test-columns.csv", columns ? &c : NULL, &err))
        fail_msg("%s", err.text);
    unlink("test-columns.csv");
    return t;
}

/* The error for text that cannot be read. */
static const char *refused(const char *text, const char *columns)
{
    static struct fl_error err;
    struct fl_trace_columns c;
    struct fl_trace t;
    FILE *f = fopen("test-columns.csv", "wb");
    assert_non_null(f);
    fputs(text, f);
    fclose(f);
    assert_int_equal(fl_trace_columns_parse(&c, columns ? columns : "dx=dx", &err), FLINCH_OK);
    assert_int_equal(fl_trace_read_as(&t, "test-columns.csv", columns ? &c : NULL, &err),
                     FLINCH_ERR_FORMAT);
    unlink("test-columns.csv");
    assert_null(t.events);
    return err.text;
}

/* The same three reports in each. */
static void every_dialect_says_the_same(void **state)
{
    (void)state;
    static const struct {
        const char *text, *columns;
    } dialect[] = {
        {"time_ms,dx,dy\n1500.25,3,-4\n1501.25,0,7\n1502.25,-1,0\n", NULL},
        {"Stamp (ms);Move X;Move Y\n1500,25;3;-4\n1501,25;0;7\n1502,25;-1;0\n",
         "time_ms=Stamp (ms),dx=Move X,dy=Move Y"},
        {"Stamp (ms);Move X;Move Y\r\n1500.25;3;-4\r\n1501.25;0;7\r\n1502.25;-1;0\r\n",
         "time_ms=Stamp (ms),dx=Move X,dy=Move Y"},
        {"\xEF\xBB\xBFsep=;\n# a logger\n// of another kind\nt\tname\tv\th\n1,50025\tm\t-4\t3\n"
         "1,50125\tm\t7\t0\n# half way\n\n1,50225\tm\t0\t-1\n",
         "time_s=t,dy=v,dx=h"},
        {"who,\"t, us\",a,b,\n\"x, y\",1500250,3,-4,\n\"q\"\"q\",1501250,0,7,\nz,1502250,-1,0,\n",
         "time_us=\"t, us\",dx=a,dy=b"},
        {"time_ns;x;y\n1500250000;100;50\n1501250000;100;57\n1502250000;99;57\n", NULL},
    };
    for (size_t k = 0; k < sizeof dialect / sizeof *dialect; k++) {
        struct fl_trace t = read_as(dialect[k].text, dialect[k].columns);
        const size_t first = k == 5 ? 1 : 0; /* the first position is no step */
        assert_int_equal(t.n, 3);
        assert_near(t.events[0].time_s, 1.50025, 1e-12);
        assert_true(first || (t.events[0].dx == 3 && t.events[0].dy == -4));
        assert_true(t.events[1].dx == 0 && t.events[1].dy == 7);
        assert_true(t.events[2].dx == -1 && t.events[2].dy == 0);
        assert_near(t.events[2].time_s, 1.50225, 1e-12);
        assert_true(t.has_motion && !t.has_buttons && !t.has_stick);
        fl_trace_finish(&t);
    }
}

static void extra_columns_are_left_out_with_one_note(void **state)
{
    (void)state;
    struct fl_trace t = read_as("time_s,window,dx,speed\n1,\"a, b\",2,9.5\n2,,3,fast\n", NULL);
    assert_int_equal(t.n, 2);
    assert_int_equal(t.n_notes, 1);
    assert_string_equal(note_of(&t, "trace_columns"),
                        "Columns of the trace that were not read: 'window', 'speed'.");
    fl_trace_finish(&t);
}

static void positions_become_steps_with_a_warning(void **state)
{
    (void)state;
    struct fl_trace t =
        read_as("time_ms,x,y\n0,500,500\n1,510,490\n1,512,\n0.5,0,0\n3,,480\n4,400,480\n", NULL);
    assert_non_null(strstr(note_of(&t, "trace_positions"), "edge"));
    assert_int_equal(t.n, 4);
    assert_int_equal(t.backward, 1);
    assert_true(t.events[0].dx == 0 && t.events[0].dy == 0);
    assert_true(t.events[1].dx == 12 && t.events[1].dy == -10);
    assert_true(t.events[2].dx == 0 && t.events[2].dy == -10);
    assert_true(t.events[3].dx == -112 && t.events[3].dy == 0);
    fl_trace_finish(&t);
    t = read_as("time_ms,dx,dy,x,y\n0,1,2,500,500\n1,1,2,900,900\n", NULL);
    assert_true(t.events[1].dx == 1 && t.events[1].dy == 2); /* steps go before positions */
    assert_null(note_of(&t, "trace_positions"));
    fl_trace_finish(&t);
}

static void what_is_there_is_told_by_the_cells(void **state)
{
    (void)state;
    struct fl_trace t = read_as("time_ms,dx,dy,wheel,button,state,stick_x,stick_y\n"
                                "0,1,2,,,,,\n1,,,-1,,,,\n2,,,,1,1,,\n",
                                NULL);
    assert_true(t.has_motion && t.has_buttons && !t.has_stick);
    assert_true(t.events[1].wheel == -1 && t.events[2].button == 1);
    fl_trace_finish(&t);
    t = read_as("time_ms,dx,dy,stick_x,stick_y\n0,,,0.5,0\n1,,,0,0\n", NULL);
    assert_true(!t.has_motion && t.has_stick);
    fl_trace_finish(&t);
}

/* A stick in a pad's own units, resting at 130 of 0 to 255. */
static void a_mapped_stick_is_scaled_to_its_range(void **state)
{
    (void)state;
    char text[4096];
    size_t used = (size_t)sprintf(text, "t;lx;ly\n0;130;130\n");
    for (int i = 0; i <= 40; i++) /* to the right end and back, after 5 s of rest */
        used += (size_t)sprintf(text + used, "%d;%d;130\n", 5000 + 10 * i,
                                130 + (int)lrint(125 * sin(i * M_PI / 40)));
    sprintf(text + used, "9000;130;130\n");
    struct fl_trace t = read_as(text, "time_ms=t,stick_x=lx,stick_y=ly");
    assert_true(t.has_stick);
    assert_near(t.stick.low[0], 0, 1e-12);
    assert_near(t.stick.high[0], 255, 1e-12);
    assert_near(t.stick.centre[0], 130, 1e-12);
    double most = 0;
    for (size_t i = 0; i < t.n; i++)
        most = fmax(most, (double)t.events[i].stick_x);
    assert_near(most, 1, 1e-6);
    assert_near((double)t.events[0].stick_x, 0, 1e-6);
    fl_trace_finish(&t);
}

/* What the message proposes must read the file. */
static void an_unknown_header_is_shown_the_mapping_that_reads_it(void **state)
{
    (void)state;
    static const struct {
        const char *text, *proposed;
    } file[] = {
        {"Stamp (ms),Move X,Move Y,Window\n5,1,2,a\n7,3,4,b\n",
         "time_ms=Stamp (ms),dx=Move X,dy=Move Y"},
        {"elapsedMicros;DeltaX;DeltaY;WheelSteps\n5;1;2;0\n7;3;4;1\n",
         "time_us=elapsedMicros,dx=DeltaX,dy=DeltaY,wheel=WheelSteps"},
        {"Cursor X\tCursor Y\tClock [s]\n1\t2\t5\n3\t4\t6\n",
         "x=Cursor X,y=Cursor Y,time_s=Clock [s]"},
        {"\"time, ns\",x_rel,y_rel\n5,1,2\n7,3,4\n", "time_ns=\"time, ns\",dx=x_rel,dy=y_rel"},
        {"a;b;x_rel\n1;2;3\n2;3;4\n", "time_ms=a,dy=b,dx=x_rel"},
    };
    for (size_t k = 0; k < sizeof file / sizeof *file; k++) {
        const char *text = refused(file[k].text, NULL);
        const char *at = strstr(text, "--columns '");
        char mapping[256];
        assert_non_null(
            strstr(text, "test-columns.csv:1: no column of a trace; the columns are '"));
        assert_non_null(at);
        assert_int_equal(sscanf(at, "--columns '%255[^']", mapping), 1);
        assert_string_equal(mapping, file[k].proposed);
        struct fl_trace t = read_as(file[k].text, mapping);
        assert_int_equal(t.n, 2);
        assert_true(t.has_motion);
        fl_trace_finish(&t);
    }
    assert_non_null(strstr(refused("time_ms,a,b\n1,2,3\n", "dx=c"),
                           "no column 'c', which dx is mapped to; the columns are 'time_ms', 'a'"));
    /* Whatever a session names as a trace: a key, say, is not told on. */
    const char *secret = refused("-----BEGIN KEY-----\nabc,def\n", NULL);
    assert_non_null(strstr(secret, "neither time nor movement"));
    assert_null(strstr(secret, "BEGIN"));
    secret = refused("root:5ecret:1,0\nabc,def\n", "dx=c");
    assert_null(strstr(secret, "5ecret"));
    assert_non_null(strstr(refused("time;dx\n1,5;2\n1.234,5;3\n", "time_ms=time"), "1.234,5"));
}

static void what_a_power_cut_leaves_is_cut_off(void **state)
{
    (void)state;
    struct bytes b = {0};
    put(&b, "time_ms,dx\n1,2\n3,4\n", 19);
    for (size_t zeros = 3; zeros < 1 << 20; zeros = zeros * 40) {
        struct bytes c = {0};
        put(&c, b.at, b.n);
        for (size_t i = 0; i < zeros; i++)
            put_le(&c, 0, 1);
        struct fl_trace t = read_bytes(&c, NULL);
        assert_int_equal(t.n, 2);
        assert_int_equal(t.cut, 1);
        assert_non_null(note_of(&t, "trace_cut"));
        fl_trace_finish(&t);
        bytes_free(&c);
    }
    bytes_free(&b);
}

static void a_mapping_is_read_or_refused(void **state)
{
    (void)state;
    struct fl_trace_columns c;
    struct fl_error err;
    assert_int_equal(fl_trace_columns_parse(&c, "dy=\"a \"\"b\"\", c\",time_us=t", &err),
                     FLINCH_OK);
    assert_string_equal(c.named[FL_TRACE_COLUMN_DY], "a \"b\", c");
    assert_string_equal(c.named[FL_TRACE_COLUMN_TIME_US], "t");
    assert_true(fl_trace_columns_any(&c));
    static const char *const bad[] = {
        "", "dx", "dx=", "speed=a", "dx=\"a", "dx=\"a\"b", "dx=a,dx=b", "time_s=a,time_ms=b", "=a"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        err.text[0] = 0;
        assert_int_equal(fl_trace_columns_parse(&c, bad[i], &err), FLINCH_ERR_USAGE);
        assert_true(err.text[0] != 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_dialect_says_the_same),
        cmocka_unit_test(extra_columns_are_left_out_with_one_note),
        cmocka_unit_test(positions_become_steps_with_a_warning),
        cmocka_unit_test(what_is_there_is_told_by_the_cells),
        cmocka_unit_test(a_mapped_stick_is_scaled_to_its_range),
        cmocka_unit_test(an_unknown_header_is_shown_the_mapping_that_reads_it),
        cmocka_unit_test(what_a_power_cut_leaves_is_cut_off),
        cmocka_unit_test(a_mapping_is_read_or_refused),
    };
    return RUN_TESTS(tests);
}
