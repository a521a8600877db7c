/* Linux evdev streams: what reading /dev/input/event* gives, as it is.
 *
 * Records are the kernel's struct input_event (linux/input.h): on 64-bit machines two 8-byte times
 * (seconds, microseconds), u16 type, u16 code, s32 value, 24 bytes; on 32-bit ones the times have
 * 4 bytes each, 16 bytes. Little-endian, as every machine is that plays games. */
#include "trace/reader.h"

#include <math.h>
#include <string.h>

#include "trace/bytes.h"
#include "trace/evdev_packet.h"
#include "trace/report_events.h"

enum { WIDE = 24, NARROW = 16, RECORDS = 1024 };
/* Streams of several devices are interleaved as a reader woke up. */
static const double reach_s = 1;

struct record {
    double time_s;
    unsigned type, code;
    int32_t value;
};

/* False if this is no input event. */
static bool parse_record(struct record *r, const uint8_t *p, int size)
{
    const int at = size - 8; /* of what follows the times */
    const uint64_t s = size == WIDE ? fl_u64(p, false) : fl_u32(p, false);
    const uint64_t us = size == WIDE ? fl_u64(p + 8, false) : fl_u32(p + 4, false);
    *r = (struct record){(double)s + 1e-6 * (double)us, fl_u16(p + at, false),
                         fl_u16(p + at + 2, false), (int32_t)fl_u32(p + at + 4, false)};
    return us < 1000000 && s >> 34 == 0 && r->type <= FL_EV_MOST && r->code <= FL_EV_CODE_MOST;
}

/* Size of a record, by whether every one of the head is an event; 0 if it is none. */
static int record_size(const char *head, size_t size)
{
    static const int sizes[] = {WIDE, NARROW};
    for (int k = 0; k < 2; k++) {
        bool all = true, any = false;
        for (size_t at = 0; all && at + (size_t)sizes[k] <= size; at += (size_t)sizes[k]) {
            struct record r;
            all = parse_record(&r, (const uint8_t *)head + at, sizes[k]);
            any |= r.type != FL_EV_SYN;
        }
        if (all && any)
            return sizes[k];
    }
    return 0;
}

static bool looks_like_evdev(const char *head, size_t size)
{
    return record_size(head, size) > 0;
}

struct stream {
    FILE *file;
    int size; /* of a record */
    struct fl_trace *out;
    struct fl_report_events events;
    struct fl_evdev_packet packet;
    uint64_t records; /* read so far */
};

static void take(struct stream *s, const struct record *r)
{
    struct fl_input_report report;
    const enum fl_evdev_step step =
        fl_evdev_push(&s->packet, r->time_s, r->type, r->code, r->value, &report);
    if (step != FL_EVDEV_MORE && fl_report_says(&report))
        fl_report_events_add(&s->events, &report);
}

/* False once something is met that is no event. */
static bool take_block(struct stream *s, const uint8_t *p, size_t n)
{
    for (size_t i = 0; i < n && !s->events.list.full; i++, s->records++) {
        struct record r;
        if (!parse_record(&r, p + i * (size_t)s->size, s->size)) {
            fl_trace_say(s->out, "trace_broken",
                         "Record %llu of the trace is no input event; it was read up to there.",
                         (unsigned long long)s->records + 1);
            return false;
        }
        take(s, &r);
    }
    return !s->events.list.full;
}

/* The whole stream once; the last, unfinished record or report is not believed. */
static void pass(struct stream *s)
{
    uint8_t block[RECORDS * WIDE];
    size_t got;
    s->packet = (struct fl_evdev_packet){0};
    s->records = 0;
    rewind(s->file);
    do {
        got = fread(block, 1, (size_t)RECORDS * (size_t)s->size, s->file);
        if (!take_block(s, block, got / (size_t)s->size))
            return;
    } while (got == (size_t)RECORDS * (size_t)s->size);
    s->out->cut = got % (size_t)s->size != 0 || s->packet.open;
}

static void say_what_was_met(struct stream *s)
{
    s->out->lost = s->packet.lost;
    if (s->packet.lost)
        fl_trace_say(s->out, "trace_lost",
                     "The system's input buffer overran %lu times while the trace was recorded; "
                     "motion is missing there.",
                     s->packet.lost);
    if (s->packet.touch)
        fl_trace_say(s->out, "trace_touch",
                     "A touch pad or tablet is in the trace; its positions were left out.");
}

static enum flinch_code read_evdev(struct fl_trace *out, FILE *file, const char *path,
                                   const struct fl_trace_columns *columns, struct fl_error *err)
{
    (void)columns;
    struct stream s = {.file = file, .out = out};
    char head[4096];
    s.size = record_size(head, fread(head, 1, sizeof head, file));
    fl_report_events_init(&s.events, out, reach_s);
    pass(&s);
    if (!s.packet.touch && fl_report_events_again(&s.events))
        pass(&s);
    fl_report_events_finish(&s.events);
    say_what_was_met(&s);
    if (out->n == 0)
        return fl_fail(err, FLINCH_ERR_EMPTY,
                       "%s: input events, but none of a mouse or a pad; record the device that "
                       "turns the camera",
                       path);
    return FLINCH_OK;
}

const struct fl_trace_reader fl_trace_evdev = {"evdev", looks_like_evdev, read_evdev};
