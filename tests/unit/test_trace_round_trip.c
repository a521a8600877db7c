/* The same motion in every format comes back the same. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "maths/random.h"
#include "test.h"
#include "trace_files.h"

enum { N = 5000, REL = 2, KEY = 1, LEFT = 0x110 };

struct move {
    uint64_t time_us;
    int dx, dy, wheel, button, state;
};

static void make_moves(struct move *m)
{
    struct fl_random r;
    int down[6] = {0};
    uint64_t t = UINT64_C(1700000000123456);
    fl_random_seed(&r, 14);
    for (int i = 0; i < N; i++) {
        t += 120 + fl_random_below(&r, 12);
        m[i] = (struct move){
            t, (int)fl_random_below(&r, 4001) - 2000, (int)fl_random_below(&r, 4001) - 2000, 0, 0,
            0};
        m[i].dx += m[i].dx == 0 && m[i].dy == 0;
        if (fl_random_below(&r, 50) == 0)
            m[i].wheel = fl_random_below(&r, 2) ? 1 : -1;
        if (fl_random_below(&r, 40) == 0) {
            m[i].button = 1 + (int)fl_random_below(&r, 5);
            m[i].state = down[m[i].button] ^= 1;
        }
    }
}

static void write_csv(struct bytes *b, const struct move *m)
{
    char line[96] = "time_us,dx,dy,wheel,button,state\n";
    put(b, line, strlen(line));
    for (int i = 0; i < N; i++, m++) {
        const int n = m->button
                          ? sprintf(line, "%llu,%d,%d,%d,%d,%d\n", (unsigned long long)m->time_us,
                                    m->dx, m->dy, m->wheel, m->button, m->state)
                          : sprintf(line, "%llu,%d,%d,%d,,\n", (unsigned long long)m->time_us,
                                    m->dx, m->dy, m->wheel);
        put(b, line, (size_t)n);
    }
}

static void write_evdev(struct bytes *b, const struct move *m, bool narrow)
{
    for (int i = 0; i < N; i++, m++) {
        if (m->button)
            put_input_event(b, narrow, m->time_us, KEY, LEFT + m->button - 1, m->state);
        if (m->dx)
            put_input_event(b, narrow, m->time_us, REL, 0, m->dx);
        if (m->dy)
            put_input_event(b, narrow, m->time_us, REL, 1, m->dy);
        if (m->wheel)
            put_input_event(b, narrow, m->time_us, REL, 8, m->wheel);
        put_input_event(b, narrow, m->time_us, 0, 0, 0);
    }
}

/* 8 buttons, two axes of 16 bits, a wheel; no report id. */
static const char mouse[] =
    "05 01 09 02 A1 01 09 01 A1 00 05 09 19 01 29 08 15 00 25 01 75 01 95 08 81 02 05 01 16 01 80 "
    "26 FF 7F 75 10 95 02 09 30 09 31 81 06 15 81 25 7F 75 08 95 01 09 38 81 06 C0 C0";

static void put_transfer(struct bytes *b, int link, uint64_t us, char event, int transfer,
                         const uint8_t *setup, const void *data, size_t n)
{
    struct bytes p = {0};
    if (link == 249 && transfer == 2)
        put_windows(&p, 1, !setup, 2, setup ? 0 : 0x80, 4, setup ? 0 : 3, setup ? setup : data,
                    setup ? 8 : n);
    else if (link == 249)
        put_windows(&p, 2, true, 1, 0x81, 4, -1, data, n);
    else
        put_usbmon(&p, link, transfer, event, transfer, transfer == 2 ? 0x80 : 0x81, 4, setup, data,
                   n);
    put_pcap_packet(b, us, &p);
    bytes_free(&p);
}

static void write_usb(struct bytes *b, const struct move *m, int link)
{
    struct bytes descriptor = {0};
    put_hex(&descriptor, mouse);
    const uint8_t setup[8] = {0x81, 6, 0, 0x22, 0, 0, (uint8_t)descriptor.n, 0};
    unsigned down = 0;
    put_pcap_header(b, link);
    put_transfer(b, link, m->time_us, 'S', 2, setup, NULL, 0);
    put_transfer(b, link, m->time_us, 'C', 2, NULL, descriptor.at, descriptor.n);
    for (int i = 0; i < N; i++, m++) {
        if (m->button)
            down ^= 1u << (m->button - 1);
        const uint8_t report[6] = {(uint8_t)down,
                                   (uint8_t)m->dx,
                                   (uint8_t)((unsigned)m->dx >> 8),
                                   (uint8_t)m->dy,
                                   (uint8_t)((unsigned)m->dy >> 8),
                                   (uint8_t)m->wheel};
        put_transfer(b, link, m->time_us, 'C', 1, NULL, report, sizeof report);
    }
    bytes_free(&descriptor);
}

static void every_format_holds_the_same_motion(void **state)
{
    (void)state;
    static struct move m[N];
    static const char *const formats[] = {"csv",         "evdev",       "evdev",
                                          "usb capture", "usb capture", "usb capture"};
    static const int links[] = {0, 0, 0, 189, 220, 249};
    make_moves(m);
    for (int k = 0; k < 6; k++) {
        struct bytes b = {0};
        if (k == 0)
            write_csv(&b, m);
        else if (k <= 2)
            write_evdev(&b, m, k == 2);
        else
            write_usb(&b, m, links[k]);
        struct fl_trace t = read_bytes(&b, NULL);
        assert_string_equal(t.format, formats[k]);
        assert_int_equal(t.n, N);
        assert_true(t.has_motion && t.has_buttons && !t.has_stick && t.n_notes == 0);
        for (int i = 0; i < N; i++) {
            const struct fl_event *e = &t.events[i];
            assert_true(fabs(e->time_s - (double)m[i].time_us / 1e6) < 5e-7);
            assert_true(e->dx == (float)m[i].dx && e->dy == (float)m[i].dy);
            assert_true(e->wheel == (float)m[i].wheel && e->button == m[i].button &&
                        e->state == m[i].state);
        }
        fl_trace_finish(&t);
        bytes_free(&b);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_format_holds_the_same_motion)};
    return RUN_TESTS(tests);
}
