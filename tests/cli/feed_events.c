/* Stands in for a mouse: writes input events to a file or FIFO, a report at a time.
 *
 * feed_events PATH REPORTS RATE [FIRST]: RATE reports a second, 0 as fast as they are taken. Report
 * i moves by (i mod 7) - 3 and (i mod 5) - 2 counts; every 500th presses, every 500th + 100
 * releases the left button. Times are those of the monotonic clock, or i × 125 µs from 1000 s where
 * RATE is 0; report numbers begin at FIRST. */
#include <fcntl.h>
#include <linux/input.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static int put(struct input_event *e, struct timespec t, int type, int code, int value)
{
    memset(e, 0, sizeof *e);
    e->input_event_sec = t.tv_sec;
    e->input_event_usec = t.tv_nsec / 1000;
    e->type = (unsigned short)type;
    e->code = (unsigned short)code;
    e->value = value;
    return 1;
}

static size_t fill(struct input_event *e, struct timespec t, long i)
{
    const int dx = (int)(i % 7) - 3, dy = (int)(i % 5) - 2;
    int n = 0;
    if (dx)
        n += put(e + n, t, EV_REL, REL_X, dx);
    if (dy)
        n += put(e + n, t, EV_REL, REL_Y, dy);
    if (i % 500 == 0 || i % 500 == 100)
        n += put(e + n, t, EV_KEY, BTN_LEFT, i % 500 == 0);
    n += put(e + n, t, EV_KEY, KEY_A, (int)(i & 1)); /* typing, not to be recorded */
    n += put(e + n, t, EV_SYN, SYN_REPORT, 0);
    return (size_t)n * sizeof *e;
}

static void add_ns(struct timespec *t, long ns)
{
    t->tv_nsec += ns;
    while (t->tv_nsec >= 1000000000) {
        t->tv_nsec -= 1000000000;
        t->tv_sec++;
    }
}

int main(int argc, char **argv)
{
    struct input_event e[8];
    if (argc < 4)
        return 2;
    const int fd = open(argv[1], O_WRONLY | O_CREAT, 0644);
    const long n = atol(argv[2]), rate = atol(argv[3]), first = argc > 4 ? atol(argv[4]) : 0;
    struct timespec next, t = {1000, 0};
    if (fd < 0)
        return perror(argv[1]), 1;
    add_ns(&t, (first % 8000) * 125000);
    t.tv_sec += first / 8000;
    clock_gettime(CLOCK_MONOTONIC, &next);
    for (long i = first; i < first + n; i++) {
        if (rate > 0) {
            add_ns(&next, 1000000000 / rate);
            clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &next, NULL);
            t = next;
        }
        const size_t size = fill(e, t, i);
        if (write(fd, e, size) != (ssize_t)size)
            return perror(argv[1]), 1;
        if (rate == 0)
            add_ns(&t, 125000);
    }
    return close(fd) != 0;
}
