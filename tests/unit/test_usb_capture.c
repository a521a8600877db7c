/* USB captures of every kind that is read. Formats as in draft-ietf-opsawg-pcap and -pcapng, the
 * kernel's usbmon.rst and tcpdump.org's link types; libpcap, where it is installed, writes some and
 * reads what is staged here. */
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#ifdef HAVE_PCAP
#include <pcap/pcap.h>
#include <pcap/usb.h>
#endif

#include "base/mem.h"
#include "test.h"
#include "trace/read_trace.h"
#include "trace_files.h"

static const char boot_mouse[] = /* HID 1.11, appendix E.10 */
    "05 01 09 02 A1 01 09 01 A1 00 05 09 19 01 29 03 15 00 25 01 95 03 75 01 81 02 95 01 75 05 "
    "81 01 05 01 09 30 09 31 15 81 25 7F 75 08 95 02 81 06 C0 C0";
static const char wide_mouse[] = /* report id 2: 5 buttons, two axes of 16 bits, a wheel */
    "05 01 09 02 A1 01 85 02 09 01 A1 00 05 09 19 01 29 05 15 00 25 01 95 05 75 01 81 02 95 01 "
    "75 03 81 01 05 01 09 30 09 31 16 01 80 26 FF 7F 75 10 95 02 81 06 09 38 15 81 25 7F 75 08 "
    "95 01 81 06 C0 C0";
static const char keyboard[] =
    "05 01 09 06 A1 01 05 07 19 E0 29 E7 15 00 25 01 75 01 95 08 81 02 75 08 95 07 26 FF 00 19 00 "
    "29 FF 81 00 C0";
static const char pad[] = /* a left stick on X, Y, a right one on Z, Rz, a trigger on Rx */
    "05 01 09 05 A1 01 15 00 26 FF 00 75 08 95 05 09 30 09 31 09 32 09 35 09 33 81 02 C0";
/* One configuration: interface 0 a keyboard on endpoint 81, interface 1 a mouse on 82. */
static const char two_interfaces[] =
    "09 02 3B 00 02 01 00 A0 32 "
    "09 04 00 00 01 03 01 01 00 09 21 11 01 00 01 22 24 00 07 05 81 03 08 00 01 "
    "09 04 01 00 01 03 01 02 00 09 21 11 01 00 01 22 43 00 07 05 82 03 08 00 01";

/* A capture under way. */
struct desk {
    struct bytes file;
    int link;
    bool ng, big;
    uint64_t time_us, id;
};

static void put_int(struct desk *d, uint64_t v, int n)
{
    if (d->big)
        put_be(&d->file, v, n);
    else
        put_le(&d->file, v, n);
}

static void put_interface(struct desk *d)
{
    put_int(d, 1, 4);
    put_int(d, 20, 4);
    put_int(d, (uint64_t)d->link, 2);
    put_int(d, 0, 2);
    put_int(d, 65535, 4);
    put_int(d, 20, 4);
}

static struct desk capture(int link, bool ng, bool big)
{
    struct desk d = {.link = link, .ng = ng, .big = big, .time_us = 100000000};
    put_int(&d, ng ? 0x0A0D0D0A : 0xA1B2C3D4, 4);
    if (ng) {
        put_int(&d, 28, 4);
        put_int(&d, 0x1A2B3C4D, 4);
        put_int(&d, 1, 2);
        put_int(&d, 0, 2);
        put_int(&d, UINT64_MAX, 8);
        put_int(&d, 28, 4);
        put_interface(&d);
        return d;
    }
    put_int(&d, 2, 2);
    put_int(&d, 4, 2);
    put_int(&d, 0, 8);
    put_int(&d, 65535, 4);
    put_int(&d, (uint64_t)link, 4);
    return d;
}

/* Of which only the first `captured` bytes are in the file. */
static void packet_in_part(struct desk *d, const struct bytes *p, size_t captured)
{
    const size_t padded = (captured + 3) & ~(size_t)3;
    if (d->ng) {
        put_int(d, 6, 4);
        put_int(d, 32 + padded, 4);
        put_int(d, 0, 4);
        put_int(d, d->time_us >> 32, 4);
        put_int(d, d->time_us & 0xFFFFFFFF, 4);
    } else {
        put_int(d, d->time_us / 1000000, 4);
        put_int(d, d->time_us % 1000000, 4);
    }
    put_int(d, captured, 4);
    put_int(d, p->n, 4);
    put(&d->file, p->at, captured);
    for (size_t i = captured; d->ng && i < padded; i++)
        put_le(&d->file, 0, 1);
    if (d->ng)
        put_int(d, 32 + padded, 4);
    d->time_us += 1000;
}

static void packet(struct desk *d, struct bytes *p)
{
    packet_in_part(d, p, p->n);
    bytes_free(p);
}

/* usbmon's header is in the byte order of the machine that captured. */
static void swap_header(struct bytes *p)
{
    static const int sizes[] = {8, 1, 1, 1, 1, 2, 1, 1, 8, 4, 4, 4, 4};
    uint8_t *at = p->at;
    for (size_t k = 0; k < sizeof sizes / sizeof *sizes; at += sizes[k++])
        for (int i = 0; i < sizes[k] / 2; i++) {
            const uint8_t keep = at[i];
            at[i] = at[sizes[k] - 1 - i];
            at[sizes[k] - 1 - i] = keep;
        }
}

static void usb(struct desk *d, char event, int transfer, int endpoint, int device,
                const uint8_t *setup, const void *data, size_t n)
{
    struct bytes p = {0};
    if (d->link != 249) {
        put_usbmon(&p, d->link, d->id, event, transfer, endpoint, device, setup, data, n);
        if (d->big)
            swap_header(&p);
    } else if (transfer != 2) {
        put_windows(&p, d->id, event == 'C', transfer, endpoint, device, -1, data, data ? n : 0);
    } else if (setup) {
        put_windows(&p, d->id, false, 2, 0, device, 0, setup, 8);
    } else {
        put_windows(&p, d->id, true, 2, 0x80, device, 3, data, data ? n : 0);
    }
    packet(d, &p);
}

/* The host asks for a descriptor and gets it. */
static void describe(struct desk *d, int device, int type, int index, const char *hex)
{
    struct bytes b = {0};
    put_hex(&b, hex);
    const uint8_t setup[8] = {
        type == 0x22 ? 0x81 : 0x80, 6, 0, (uint8_t)type, (uint8_t)index, 0, (uint8_t)b.n, 0};
    d->id++;
    usb(d, 'S', 2, 0x80, device, setup, NULL, b.n);
    usb(d, 'C', 2, 0x80, device, NULL, b.at, b.n);
    bytes_free(&b);
}

static void report(struct desk *d, int device, int endpoint, const char *hex)
{
    struct bytes b = {0};
    put_hex(&b, hex);
    d->id++;
    usb(d, 'S', 1, endpoint, device, NULL, NULL, 8);
    usb(d, 'C', 1, endpoint, device, NULL, b.at, b.n);
    bytes_free(&b);
}

static void expect(const struct fl_trace *t, size_t i, double time_s, double dx, double dy,
                   double wheel)
{
    assert_true(i < t->n);
    assert_near(t->events[i].time_s, time_s, 1e-9);
    assert_true((double)t->events[i].dx == dx && (double)t->events[i].dy == dy &&
                (double)t->events[i].wheel == wheel);
}

static void refuse(struct desk *d, const char *part)
{
    struct fl_error err = {0};
    struct fl_trace t = read_bytes(&d->file, &err);
    assert_null(t.events);
    if (!err.code || !strstr(err.text, part))
        fail_msg("'%s' lacks '%s'", err.text, part);
    bytes_free(&d->file);
}

/* CHECKS L-3: 107 bytes that libpcap wrote; one report of a boot mouse. */
static void the_sample_of_107_bytes(void **state)
{
    (void)state;
    struct bytes b = {0};
    put_hex(&b, "d4c3b2a1 0200 0400 00000000 00000000 ffff0000 dc000000"
                "64000000 05000000 43000000 43000000"
                "0000000000000000 43 01 81 05 0100 2d 00 6400000000000000 05000000 00000000"
                "03000000 03000000 0000000000000000 00000000 00000000 00000000 00000000 01fe03");
    assert_int_equal(b.n, 107);
    struct fl_trace t = read_bytes(&b, NULL);
    assert_string_equal(t.format, "usb capture");
    assert_int_equal(t.n, 1);
    expect(&t, 0, 100.000005, -2, 3, 0);
    assert_true(t.events[0].button == 1 && t.events[0].state == 1);
    assert_non_null(note_of(&t, "trace_boot"));
    fl_trace_finish(&t);
    bytes_free(&b);
}

/* A keyboard and a 16-bit mouse in one device; its descriptors as the host reads them. */
static void desk_day(struct desk *d)
{
    describe(d, 5, 2, 0, two_interfaces);
    describe(d, 5, 0x22, 0, keyboard);
    describe(d, 5, 0x22, 1, wide_mouse);
    report(d, 5, 0x82, "02 00 2C 01 D4 FE 00");
    report(d, 5, 0x81, "02 00 04 05 00 00 00 00"); /* typing */
    report(d, 5, 0x82, "02 01 00 00 01 80 FF");
    report(d, 5, 0x82, "02 00 FF FF 00 00 00");
}

static void every_kind_reads_alike(void **state)
{
    (void)state;
    static const int links[] = {189, 220, 249};
    for (int k = 0; k < 12; k++) {
        struct desk d = capture(links[k % 3], k / 3 & 1, k / 6 && links[k % 3] != 249);
        desk_day(&d);
        struct fl_trace t = read_bytes(&d.file, NULL);
        assert_int_equal(t.n, 3);
        assert_int_equal(t.n_notes, 0);
        expect(&t, 0, 100.007, 300, -300, 0);
        expect(&t, 1, 100.011, 0, -32767, -1);
        expect(&t, 2, 100.013, -1, 0, 0);
        assert_true(t.events[1].button == 1 && t.events[1].state == 1);
        assert_true(t.events[2].button == 1 && t.events[2].state == 0);
        fl_trace_finish(&t);
        bytes_free(&d.file);
    }
}

/* Sections of both byte orders, interfaces with resolutions and an offset, blocks that say nothing
 * here, packets without a time. */
static void pcapng_in_full(void **state)
{
    (void)state;
    struct desk d = capture(220, true, false);
    desk_day(&d);
    put_le(&d.file, 5, 4); /* statistics: not for us */
    put_le(&d.file, 16, 4);
    put_le(&d.file, 0xABCD, 4);
    put_le(&d.file, 16, 4);
    struct desk e = capture(220, true, true);
    e.file.n -= 20; /* another interface instead: 2^-10 s, from 1000 s on */
    put_hex(&e.file, "00000001 0000002C 00DC 0000 0000FFFF 0009 0001 8A 000000 000E 0008 "
                     "00000000000003E8 0000 0000 0000002C");
    e.time_us = 512;
    report(&e, 5, 0x82, "02 00 05 00 06 00 00");
    struct bytes p = {0};
    const uint8_t move[] = {2, 0, 7, 0, 8, 0, 0};
    put_usbmon(&p, 220, 99, 'C', 1, 0x82, 5, NULL, move, 7);
    swap_header(&p);
    put_be(&e.file, 3, 4); /* a simple packet */
    put_be(&e.file, 16 + 72, 4);
    put_be(&e.file, 71, 4);
    put(&e.file, p.at, p.n);
    put_be(&e.file, 0, 1);
    put_be(&e.file, 16 + 72, 4);
    put(&d.file, e.file.at, e.file.n);
    struct fl_trace t = read_bytes(&d.file, NULL);
    assert_int_equal(t.n, 4);
    expect(&t, 3, 1000 + (512 + 1000) / 1024.0, 12, 14, 0); /* both at one time */
    assert_int_equal(t.merged, 1);
    fl_trace_finish(&t);
    bytes_free(&p);
    bytes_free(&e.file);
    bytes_free(&d.file);
}

static void a_descriptor_may_come_late_or_change(void **state)
{
    (void)state;
    struct desk d = capture(220, false, false);
    report(&d, 5, 0x82, "02 00 05 00 06 00 00"); /* before anything is described */
    desk_day(&d);
    describe(&d, 5, 2, 0, two_interfaces); /* read again, unchanged */
    describe(&d, 5, 0x22, 1, wide_mouse);
    report(&d, 5, 0x82, "02 00 07 00 08 00 00");
    describe(&d, 5, 0x22, 1, boot_mouse); /* another mouse in its place */
    report(&d, 5, 0x82, "00 09 0A");
    struct fl_trace t = read_bytes(&d.file, NULL);
    assert_int_equal(t.n, 6);
    assert_true(t.events[0].dx == 5 && t.events[4].dx == 7 && t.events[5].dx == 9);
    assert_int_equal(t.n_notes, 0);
    fl_trace_finish(&t);
    bytes_free(&d.file);
}

static void boot_protocol_is_used_when_it_is_set(void **state)
{
    (void)state;
    struct desk d = capture(220, false, false);
    describe(&d, 5, 2, 0, two_interfaces);
    describe(&d, 5, 0x22, 1, wide_mouse);
    const uint8_t boot[8] = {0x21, 0x0B, 0, 0, 1, 0, 0, 0};
    const uint8_t back[8] = {0x21, 0x0B, 1, 0, 1, 0, 0, 0};
    usb(&d, 'S', 2, 0, 5, boot, NULL, 0);
    report(&d, 5, 0x82, "00 05 FB");
    usb(&d, 'S', 2, 0, 5, back, NULL, 0);
    report(&d, 5, 0x82, "02 00 2C 01 D4 FE 00");
    struct fl_trace t = read_bytes(&d.file, NULL);
    assert_int_equal(t.n, 2);
    assert_true(t.events[0].dx == 5 && t.events[0].dy == -5 && t.events[1].dx == 300);
    fl_trace_finish(&t);
    bytes_free(&d.file);
}

/* Without a configuration descriptor the report's id and length tell the interface. */
static void reports_are_told_apart_by_their_look(void **state)
{
    (void)state;
    struct desk d = capture(249, false, false);
    describe(&d, 5, 0x22, 0, keyboard);
    describe(&d, 5, 0x22, 1, wide_mouse);
    describe(&d, 6, 0x22, 0, boot_mouse);
    report(&d, 5, 0x81, "02 00 04 05 00 00 00 00");
    report(&d, 5, 0x82, "02 00 2C 01 D4 FE 00");
    report(&d, 6, 0x81, "00 01 01");
    struct fl_trace t = read_bytes(&d.file, NULL);
    assert_int_equal(t.n, 2);
    assert_true(t.events[0].dx == 300 && t.events[1].dx == 1);
    assert_string_equal(note_of(&t, "trace_devices"), "Counts of 2 devices are summed.");
    fl_trace_finish(&t);
    bytes_free(&d.file);
}

static void what_cannot_be_read_is_refused_with_a_way_out(void **state)
{
    (void)state;
    struct desk d = capture(220, false, false);
    report(&d, 7, 0x81, "00 01 00 FF FF 00 00 00");
    refuse(&d, "device 1.7 sends reports of 8 bytes, and the capture does not hold the descriptor");
    d = capture(1, true, false);
    struct bytes p = {0};
    put(&p, "whatever", 8);
    packet(&d, &p);
    refuse(&d, "link type 1, not of USB");
    d = capture(220, true, false);
    refuse(&d, "without reports");
    d = capture(220, false, false);
    describe(&d, 5, 0x22, 0, keyboard);
    report(&d, 5, 0x81, "02 00 04 05 00 00 00 00");
    refuse(&d, "without reports");
}

/* Cut anywhere, the reports before the cut are kept. */
static void a_cut_capture_keeps_what_came_before(void **state)
{
    (void)state;
    for (int ng = 0; ng < 2; ng++) {
        struct desk d = capture(220, ng, false);
        desk_day(&d);
        const size_t whole = d.file.n;
        size_t most = 0;
        for (size_t n = whole; n > whole - 300; n--) {
            struct fl_error err = {0};
            d.file.n = n;
            struct fl_trace t = read_bytes(&d.file, &err);
            assert_true(t.n >= 1 && t.n <= 3 && t.n + (whole - n) / 80 + 1 >= 3);
            most += t.cut;
            fl_trace_finish(&t);
        }
        assert_true(most > 250); /* all but the cuts between two packets */
        bytes_free(&d.file);
    }
}

static void impossible_lengths_stop_the_reader(void **state)
{
    (void)state;
    struct desk d = capture(220, false, false);
    desk_day(&d);
    put_hex(&d.file, "00000000 00000000 FFFFFF7F FFFFFF7F 00");
    struct fl_trace t = read_bytes(&d.file, NULL);
    assert_int_equal(t.n, 3);
    assert_non_null(strstr(note_of(&t, "trace_broken"), "after packet 14: a packet of impossible"));
    fl_trace_finish(&t);
    bytes_free(&d.file);
    static const char *const blocks[] = {
        "06000000 0B000000",
        "06000000 FFFFFF7F",
        "06000000 22000000",
        "06000000 20000000 05000000 00000000 00000000 00000000 00000000 20000000",
        "06000000 20000000 00000000 00000000 00000000 40000000 40000000 20000000",
        "09000000 10000000 00000000 20000000"};
    for (size_t i = 0; i < sizeof blocks / sizeof *blocks; i++) {
        d = capture(220, true, false);
        desk_day(&d);
        put_hex(&d.file, blocks[i]);
        t = read_bytes(&d.file, NULL);
        assert_int_equal(t.n, 3);
        assert_non_null(note_of(&t, "trace_broken"));
        fl_trace_finish(&t);
        bytes_free(&d.file);
    }
}

static void packets_captured_in_part_are_counted(void **state)
{
    (void)state;
    struct desk d = capture(220, false, false);
    desk_day(&d);
    struct bytes p = {0};
    const uint8_t move[] = {2, 0, 7, 0, 8, 0, 0};
    put_usbmon(&p, 220, 99, 'C', 1, 0x82, 5, NULL, move, 7);
    packet_in_part(&d, &p, p.n - 2);
    bytes_free(&p);
    struct fl_trace t = read_bytes(&d.file, NULL);
    assert_int_equal(t.n, 3);
    assert_non_null(strstr(note_of(&t, "trace_in_part"), "1 report"));
    fl_trace_finish(&t);
    bytes_free(&d.file);
}

/* The right stick rests at 120 of 0 to 255 and turns to the right end; the range is the
 * descriptor's. */
static void a_pads_right_stick(void **state)
{
    (void)state;
    struct desk d = capture(220, false, false);
    describe(&d, 5, 0x22, 0, pad);
    for (int i = 0; i < 300; i++) {
        char hex[32];
        const int right = i < 200 ? 120 : 120 + (int)lrint(135 * sin((i - 200) * M_PI / 100));
        snprintf(hex, sizeof hex, "80 80 %02X 78 00", (unsigned)right);
        report(&d, 5, 0x81, hex);
    }
    struct fl_trace t = read_bytes(&d.file, NULL);
    assert_true(t.has_stick && !t.has_motion);
    assert_string_equal(t.stick.name, "Z, Rz");
    assert_false(t.stick.guessed);
    assert_near(t.stick.high[0], 255, 1e-12);
    assert_near(t.stick.centre[0], 120, 1e-12);
    assert_near((double)t.events[100].stick_x, 0, 1e-6);
    assert_near((double)t.events[250].stick_x, 1, 1e-6);
    fl_trace_finish(&t);
    bytes_free(&d.file);
}

/* Hours of other traffic go through in bounded memory: 400 MB of it, in a file with holes. */
static void other_traffic_is_streamed(void **state)
{
    (void)state;
    enum { PACKETS = 50, SIZE = 8 << 20 };
    struct desk d = capture(220, false, false);
    struct rusage before, after;
    struct fl_trace t;
    struct fl_error err;
    desk_day(&d);
    FILE *f = fopen("test-large.pcap", "wb");
    assert_non_null(f);
    fwrite(d.file.at, 1, d.file.n, f);
    for (int i = 0; i < PACKETS; i++) {
        struct bytes head = {0};
        put_le(&head, 100, 8);
        put_le(&head, SIZE, 4);
        put_le(&head, SIZE, 4);
        put_le(&head, 0, 8);
        put_hex(&head, "43 03 83 09"); /* a bulk transfer's end */
        fwrite(head.at, 1, head.n, f);
        fseek(f, SIZE - 12, SEEK_CUR);
        bytes_free(&head);
    }
    const size_t first = d.file.n;
    d.time_us = 101000000;
    report(&d, 5, 0x82, "02 00 05 00 06 00 00");
    fwrite(d.file.at + first, 1, d.file.n - first, f);
    fclose(f);
    getrusage(RUSAGE_SELF, &before);
    if (fl_trace_read(&t, "test-large.pcap", &err))
        fail_msg("%s", err.text);
    getrusage(RUSAGE_SELF, &after);
    unlink("test-large.pcap");
    assert_int_equal(t.n, 4);
    print_message("memory grew by %ld kB\n", after.ru_maxrss - before.ru_maxrss);
    assert_true(after.ru_maxrss - before.ru_maxrss < 4096);
    fl_trace_finish(&t);
    bytes_free(&d.file);
}

#ifdef HAVE_PCAP
/* libpcap writes the packets, in micro- and in nanoseconds. */
static void what_libpcap_writes(void **state)
{
    (void)state;
    for (int nano = 0; nano < 2; nano++) {
        struct bytes p = {0}, file = {0};
        const uint8_t move[] = {1, 0xFE, 3};
        put_usbmon(&p, 189, 7, 'C', 1, 0x81, 5, NULL, move, 3);
        pcap_t *out = pcap_open_dead_with_tstamp_precision(
            DLT_USB_LINUX, 65535, nano ? PCAP_TSTAMP_PRECISION_NANO : PCAP_TSTAMP_PRECISION_MICRO);
        pcap_dumper_t *dump = pcap_dump_open(out, "test-libpcap.pcap");
        assert_non_null(dump);
        for (int i = 0; i < 5; i++) {
            const struct pcap_pkthdr head = {
                {1700000000, nano ? 123456000 + i * 1000000 : 123456 + i * 1000},
                (unsigned)p.n,
                (unsigned)p.n};
            pcap_dump((u_char *)dump, &head, p.at);
        }
        pcap_dump_close(dump);
        pcap_close(out);
        FILE *f = fopen("test-libpcap.pcap", "rb");
        for (int c; (c = fgetc(f)) != EOF;)
            put_le(&file, (uint64_t)c, 1);
        fclose(f);
        unlink("test-libpcap.pcap");
        struct fl_trace t = read_bytes(&file, NULL);
        assert_int_equal(t.n, 5);
        expect(&t, 4, 1700000000.127456, -2, 3, 0);
        assert_near(t.report_rate_hz, 1000, 1e-3);
        fl_trace_finish(&t);
        bytes_free(&p);
        bytes_free(&file);
    }
}

/* What is staged here is what libpcap takes for a capture of that kind, with the same times. */
static void libpcap_reads_what_is_staged(void **state)
{
    (void)state;
    for (int k = 0; k < 8; k++) {
        struct desk d = capture(k & 1 ? 220 : 189, k >> 1 & 1, k >> 2);
        char why[PCAP_ERRBUF_SIZE];
        struct pcap_pkthdr *head;
        const u_char *data;
        int n = 0;
        desk_day(&d);
        FILE *f = fopen("test-staged.pcap", "wb");
        fwrite(d.file.at, 1, d.file.n, f);
        fclose(f);
        pcap_t *in = pcap_open_offline("test-staged.pcap", why);
        if (!in)
            fail_msg("%s", why);
        assert_int_equal(pcap_datalink(in), d.link);
        while (pcap_next_ex(in, &head, &data) == 1) {
            pcap_usb_header usb; /* data need not lie as its fields would */
            memcpy(&usb, data, sizeof usb);
            assert_int_equal(head->ts.tv_sec, 100);
            assert_int_equal(head->ts.tv_usec, 1000 * n++);
            assert_int_equal(usb.device_address, 5);
            assert_int_equal(usb.bus_id, 1);
        }
        assert_int_equal(n, 14);
        pcap_close(in);
        unlink("test-staged.pcap");
        bytes_free(&d.file);
    }
}
#endif

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_sample_of_107_bytes),
        cmocka_unit_test(every_kind_reads_alike),
        cmocka_unit_test(pcapng_in_full),
        cmocka_unit_test(a_descriptor_may_come_late_or_change),
        cmocka_unit_test(boot_protocol_is_used_when_it_is_set),
        cmocka_unit_test(reports_are_told_apart_by_their_look),
        cmocka_unit_test(what_cannot_be_read_is_refused_with_a_way_out),
        cmocka_unit_test(a_cut_capture_keeps_what_came_before),
        cmocka_unit_test(impossible_lengths_stop_the_reader),
        cmocka_unit_test(packets_captured_in_part_are_counted),
        cmocka_unit_test(a_pads_right_stick),
        cmocka_unit_test(other_traffic_is_streamed),
#ifdef HAVE_PCAP
        cmocka_unit_test(what_libpcap_writes),
        cmocka_unit_test(libpcap_reads_what_is_staged),
#endif
    };
    return RUN_TESTS(tests);
}
