/* Bytes that come through a pipe or a growing file: whole, in order, copied on the way. */
#include "media/byte_source.h"

#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <libavformat/avio.h>

#include "test.h"

enum { MANY = 300000, MOST = 2 * MANY };

static char from[64], kept[64];

static void names(void)
{
    snprintf(from, sizeof from, "test-source-%ld", (long)getpid());
    snprintf(kept, sizeof kept, "test-kept-%ld", (long)getpid());
    unlink(from);
    unlink(kept);
}

static uint8_t byte_at(size_t i)
{
    return (uint8_t)(i * 7 + i / 251);
}

static void append(int fd, size_t first, size_t n)
{
    uint8_t *data = malloc(n);
    for (size_t i = 0; i < n; i++)
        data[i] = byte_at(first + i);
    for (size_t done = 0; done < n;) {
        const ssize_t w = write(fd, data + done, n - done);
        assert_true(w > 0);
        done += (size_t)w;
    }
    free(data);
}

/* Reads up to n bytes, or to the end; checks each. Returns how many. */
static size_t drain(struct fl_byte_source *s, size_t first, size_t n)
{
    uint8_t *data = malloc(n);
    const int got = avio_read(fl_byte_source_io(s), data, (int)n);
    for (int i = 0; i < got; i++)
        assert_int_equal(data[i], byte_at(first + (size_t)i));
    free(data);
    return got > 0 ? (size_t)got : 0;
}

static void *feed_pipe(void *unused)
{
    (void)unused;
    const int fd = open(from, O_WRONLY);
    append(fd, 0, MANY);
    close(fd);
    return NULL;
}

static void reads_a_pipe_to_its_end(void **state)
{
    (void)state;
    struct fl_byte_source *s;
    struct fl_error err;
    pthread_t writer;
    names();
    assert_int_equal(mkfifo(from, 0600), 0);
    assert_true(fl_byte_source_is_stream(from));
    assert_int_equal(pthread_create(&writer, NULL, feed_pipe, NULL), 0);
    assert_int_equal(
        fl_byte_source_open(&s, from, &(struct fl_byte_source_settings){.keep = kept}, &err), 0);
    assert_int_equal(drain(s, 0, MOST), MANY);
    pthread_join(writer, NULL);
    struct fl_byte_source_state st;
    fl_byte_source_state(s, &st);
    assert_int_equal(st.bytes, MANY);
    assert_int_equal(st.kept, MANY);
    fl_byte_source_close(&s);
    /* The copy is the same, byte for byte. */
    assert_false(fl_byte_source_is_stream(kept));
    assert_int_equal(fl_byte_source_open(&s, kept, &(struct fl_byte_source_settings){0}, &err), 0);
    assert_int_equal(drain(s, 0, MOST), MANY);
    fl_byte_source_close(&s);
    unlink(from);
    unlink(kept);
}

static bool asked_to_stop(void *ctx)
{
    return *(bool *)ctx;
}

static void follows_a_file_until_stopped(void **state)
{
    (void)state;
    struct fl_byte_source *s;
    struct fl_error err;
    bool stop = false;
    names();
    const int fd = open(from, O_WRONLY | O_CREAT | O_APPEND, 0600);
    const struct fl_byte_source_settings how = {
        .follow = true, .stopped = asked_to_stop, .ctx = &stop};
    assert_int_equal(fl_byte_source_open(&s, from, &how, &err), 0);
    for (size_t k = 0; k < 3; k++) {
        append(fd, k * 1000, 1000);
        assert_int_equal(drain(s, k * 1000, 1000), 1000);
    }
    stop = true;
    assert_int_equal(drain(s, 3000, 1000), 0);
    fl_byte_source_close(&s);
    close(fd);
    unlink(from);
}

/* A file that may not grow past some size stands for a disk without room. */
static void goes_on_without_its_copy(void **state)
{
    (void)state;
    struct fl_byte_source *s;
    struct fl_error err;
    struct rlimit before, little;
    names();
    const int fd = open(from, O_WRONLY | O_CREAT | O_APPEND, 0600);
    append(fd, 0, MANY);
    close(fd);
    signal(SIGXFSZ, SIG_IGN);
    getrlimit(RLIMIT_FSIZE, &before);
    little = (struct rlimit){100000, before.rlim_max};
    assert_int_equal(
        fl_byte_source_open(&s, from, &(struct fl_byte_source_settings){.keep = kept}, &err), 0);
    setrlimit(RLIMIT_FSIZE, &little);
    const size_t got = drain(s, 0, MOST);
    setrlimit(RLIMIT_FSIZE, &before);
    assert_int_equal(got, MANY);
    struct fl_byte_source_state st;
    fl_byte_source_state(s, &st);
    assert_int_equal(st.kept, 100000);
    assert_non_null(strstr(st.keep_why, "the copy ends after 0.1 MB"));
    fl_byte_source_close(&s);
    unlink(from);
    unlink(kept);
}

static void refuses_in_one_line(void **state)
{
    (void)state;
    struct fl_byte_source *s;
    struct fl_error err;
    const struct fl_byte_source_settings plain = {0}, keeps = {.keep = kept};
    names();
    assert_int_equal(fl_byte_source_open(&s, from, &plain, &err), FLINCH_ERR_OPEN);
    assert_null(s);
    assert_int_equal(fl_byte_source_open(&s, ".", &plain, &err), FLINCH_ERR_OPEN);
    assert_non_null(strstr(err.text, "is a folder"));
    /* Nothing that is there is written over. */
    const int fd = open(from, O_WRONLY | O_CREAT, 0600);
    close(fd);
    close(open(kept, O_WRONLY | O_CREAT, 0600));
    assert_int_equal(fl_byte_source_open(&s, from, &keeps, &err), FLINCH_ERR_WRITE);
    assert_non_null(strstr(err.text, "not there yet"));
    unlink(from);
    unlink(kept);
}

static bool at_the_third_time(void *times)
{
    return ++*(int *)times == 3;
}

/* Whoever reads faster than the stream comes has to wait, and that is counted. */
static void counts_how_often_it_waits(void **state)
{
    (void)state;
    struct fl_byte_source *s;
    struct fl_byte_source_state st;
    struct fl_error err;
    int times = 0;
    names();
    const int fd = open(from, O_WRONLY | O_CREAT | O_APPEND, 0600);
    append(fd, 0, MANY);
    close(fd);
    const struct fl_byte_source_settings follow = {
        .follow = true, .stopped = at_the_third_time, .ctx = &times};
    assert_int_equal(fl_byte_source_open(&s, from, &follow, &err), 0);
    fl_byte_source_state(s, &st);
    assert_int_equal(st.waits, 0);
    assert_int_equal(drain(s, 0, MOST), MANY);
    fl_byte_source_state(s, &st);
    assert_int_equal(st.waits, 2); /* then no more was wanted */
    fl_byte_source_close(&s);
    unlink(from);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_a_pipe_to_its_end),   cmocka_unit_test(follows_a_file_until_stopped),
        cmocka_unit_test(counts_how_often_it_waits), cmocka_unit_test(goes_on_without_its_copy),
        cmocka_unit_test(refuses_in_one_line),
    };
    return RUN_TESTS(tests);
}
