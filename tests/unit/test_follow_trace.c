/* A trace that comes in pieces holds the events of the whole file. */
#include "trace/follow_trace.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "test.h"
#include "trace/read_trace.h"

static char path[64], kept[64];

static const char text[] = "# a logger's own words\n"
                           "time_us,dx,dy,button,state\n"
                           "1000,1,0,0,0\n2000,2,-1,0,0\n3000,0,0,1,1\n4000,0,0,1,0\n"
                           "5000,3,1,0,0\n6000,4,2,0,0\n";

static void names(void)
{
    snprintf(path, sizeof path, "test-follow-%ld.csv", (long)getpid());
    snprintf(kept, sizeof kept, "test-follow-kept-%ld.csv", (long)getpid());
    unlink(path);
    unlink(kept);
}

/* Cut into pieces of every length: lines, and numbers, come in parts. */
static void pieces_are_the_whole(void **state)
{
    (void)state;
    struct fl_error err;
    struct fl_trace whole;
    names();
    FILE *out = fopen(path, "wb");
    fputs(text, out);
    fclose(out);
    assert_int_equal(fl_trace_read(&whole, path, &err), 0);
    assert_int_equal(whole.n, 6);
    for (size_t piece = 1; piece < 60; piece += 7) {
        struct fl_follow_trace *f;
        const struct fl_event *e;
        size_t got = 0, n;
        names();
        out = fopen(path, "wb");
        assert_int_equal(fl_follow_trace_open(&f, path, NULL, kept, &err), 0);
        for (size_t at = 0; at < sizeof text - 1; at += piece) {
            const size_t rest = sizeof text - 1 - at;
            fwrite(text + at, 1, piece < rest ? piece : rest, out);
            fflush(out);
            assert_int_equal(fl_follow_trace_poll(f, &e, &n, &err), 0);
            for (size_t i = 0; i < n; i++, got++) {
                assert_near(e[i].time_s, whole.events[got].time_s, 1e-12);
                assert_near(e[i].dx, whole.events[got].dx, 1e-6);
                assert_near(e[i].dy, whole.events[got].dy, 1e-6);
                assert_int_equal(e[i].button, whole.events[got].button);
            }
        }
        fclose(out);
        assert_int_equal(got, whole.n);
        fl_follow_trace_close(&f);
        char copy[sizeof text] = "";
        FILE *in = fopen(kept, "rb");
        assert_int_equal(fread(copy, 1, sizeof copy, in), sizeof text - 1);
        fclose(in);
        assert_memory_equal(copy, text, sizeof text - 1);
    }
    fl_trace_finish(&whole);
    unlink(path);
    unlink(kept);
}

static void what_is_no_trace_is_said(void **state)
{
    (void)state;
    struct fl_error err;
    struct fl_follow_trace *f;
    const struct fl_event *e;
    size_t n;
    names();
    assert_int_equal(fl_follow_trace_open(&f, path, NULL, NULL, &err), FLINCH_ERR_OPEN);
    assert_null(f);
    FILE *out = fopen(path, "wb");
    fputs("weather,mood\n1,2\n3,4\n", out);
    fclose(out);
    assert_int_equal(fl_follow_trace_open(&f, path, NULL, NULL, &err), 0);
    assert_int_not_equal(fl_follow_trace_poll(f, &e, &n, &err), 0);
    assert_int_equal(n, 0);
    fl_follow_trace_close(&f);
    unlink(path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pieces_are_the_whole),
        cmocka_unit_test(what_is_no_trace_is_said),
    };
    return RUN_TESTS(tests);
}
