/* USB captures: the reports of mice and pads out of a pcap or pcapng file.
 *
 * The file is gone through more than once: for the descriptors, which may come after the first
 * reports; for the reports; and again if a pad is in it, once its axes are known. Reports are
 * decoded by the report descriptor in the capture itself. Times are the packets'. */
#include "trace/reader.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "trace/packet_file.h"
#include "trace/report_events.h"
#include "trace/usb_devices.h"

enum { STRANGERS = 64 };

struct capture {
    FILE *stream;
    const char *path;
    struct fl_trace *out;
    struct fl_packet_file file;
    struct fl_usb_devices devices;
    struct fl_report_events events;
    struct fl_hid_state strangers[STRANGERS]; /* endpoints without any descriptor */
    uint32_t stranger_id[STRANGERS];
    int n_strangers;
    size_t in_part, by_boot, undescribed; /* reports */
    uint32_t undescribed_device;
    size_t undescribed_size;
    int other_link;      /* of a packet that is not of USB; 0 */
    uint32_t source[32]; /* interfaces that moved */
    int n_sources;
};

static struct fl_hid_state *stranger(struct capture *c, const struct fl_usb_packet *p)
{
    const uint32_t id = p->device << 4 | (p->endpoint & 0xF);
    int i = 0;
    while (i < c->n_strangers && c->stranger_id[i] != id)
        i++;
    if (i == STRANGERS)
        i = 0; /* so many devices without descriptors that two may share their buttons */
    if (i == c->n_strangers)
        c->stranger_id[c->n_strangers++] = id;
    return &c->strangers[i];
}

static void tell_ranges(struct capture *c, const struct fl_usb_source *s)
{
    for (int i = 0; i < s->hid->n; i++) {
        const struct fl_hid_field *f = &s->hid->field[i];
        if (f->what == FL_HID_AXIS)
            fl_stick_survey_range(c->events.survey, s->id, f->number, f->low, f->high);
    }
}

static void count_source(struct capture *c, const struct fl_input_report *r)
{
    int i = 0;
    if (r->dx == 0 && r->dy == 0)
        return;
    while (i < c->n_sources && c->source[i] != r->device)
        i++;
    if (i == c->n_sources && i < (int)(sizeof c->source / sizeof *c->source))
        c->source[c->n_sources++] = r->device;
}

static void take_report(struct capture *c, const struct fl_usb_packet *p, double time_s)
{
    struct fl_input_report report;
    const struct fl_usb_source s = fl_usb_source_of(&c->devices, p, c->file.read, stranger(c, p));
    if (!s.hid) {
        c->undescribed += s.undescribed;
        c->undescribed_device = s.undescribed ? p->device : c->undescribed_device;
        c->undescribed_size = s.undescribed ? p->sent : c->undescribed_size;
        return;
    }
    const enum fl_hid_result got = fl_hid_decode(s.hid, s.state, p->data, p->size, &report);
    c->in_part += got == FL_HID_SHORT && p->size < p->sent;
    if (got != FL_HID_TOLD)
        return;
    c->by_boot += s.boot;
    report.time_s = time_s;
    report.device = s.id;
    count_source(c, &report);
    if (report.axes && !c->events.second_pass)
        tell_ranges(c, &s);
    fl_report_events_add(&c->events, &report);
}

static void take_packet(struct capture *c, const struct fl_packet *packet, bool learn)
{
    struct fl_usb_packet p;
    if (!fl_usb_link(packet->link)) {
        c->other_link = packet->link;
        return;
    }
    if (!fl_usb_packet_parse(&p, packet->link, c->file.big, packet->data, packet->size))
        return;
    fl_usb_devices_watch(&c->devices, &p, c->file.read, learn);
    if (!learn && p.kind == FL_USB_INTERRUPT && p.endpoint & 0x80 && p.done && p.size > 0)
        take_report(c, &p, packet->time_s);
}

static void pass(struct capture *c, bool learn)
{
    struct fl_packet packet;
    fl_usb_devices_rewind(&c->devices);
    memset(c->strangers, 0, sizeof c->strangers);
    c->in_part = c->by_boot = c->undescribed = 0;
    fl_packet_file_open(&c->file, c->stream);
    while (!c->events.list.full && fl_packet_file_next(&c->file, &packet))
        take_packet(c, &packet, learn);
}

static void say_what_was_met(struct capture *c)
{
    struct fl_trace *t = c->out;
    if (c->file.broken[0])
        fl_trace_say(t, "trace_broken",
                     "The capture makes no sense after packet %llu: %s; it was read up to there.",
                     (unsigned long long)c->file.read, c->file.broken);
    t->cut = c->file.cut;
    if (c->in_part)
        fl_trace_say(t, "trace_in_part",
                     "%zu reports were captured in part and left out; capture whole packets.",
                     c->in_part);
    if (c->by_boot)
        fl_trace_say(t, "trace_boot",
                     "Reports were read by the boot protocol, as the capture holds no descriptor "
                     "for them; plug the mouse in while capturing to be sure.");
    if (c->n_sources > 1)
        fl_trace_say(t, "trace_devices", "Counts of %d devices are summed.", c->n_sources);
    if (c->undescribed)
        fl_trace_say(t, "trace_undescribed",
                     "Device %u.%u sends reports of %zu bytes that the capture does not describe; "
                     "they were left out.",
                     c->undescribed_device >> 16, c->undescribed_device & 0xFFFF,
                     c->undescribed_size);
}

static enum flinch_code refuse(const struct capture *c, struct fl_error *err)
{
    if (c->undescribed)
        return fl_fail(err, FLINCH_ERR_FORMAT,
                       "%s: device %u.%u sends reports of %zu bytes, and the capture does not hold "
                       "the descriptor to read them by; start the capture, then plug the mouse in",
                       c->path, c->undescribed_device >> 16, c->undescribed_device & 0xFFFF,
                       c->undescribed_size);
    if (c->other_link)
        return fl_fail(err, FLINCH_ERR_FORMAT,
                       "%s: a capture of link type %d, not of USB; capture the USB bus of the "
                       "mouse",
                       c->path, c->other_link);
    return fl_fail(err, FLINCH_ERR_EMPTY,
                   "%s: a capture without reports of a mouse or pad%s%s; capture the USB bus of "
                   "the mouse",
                   c->path, c->file.broken[0] ? ": " : "", c->file.broken);
}

static enum flinch_code read_capture(struct fl_trace *out, FILE *stream, const char *path,
                                     const struct fl_trace_columns *columns, struct fl_error *err)
{
    (void)columns;
    struct capture *c = FL_NEW(struct capture, 1);
    enum flinch_code code = FLINCH_OK;
    c->stream = stream;
    c->path = path;
    c->out = out;
    fl_report_events_init(&c->events, out, 1);
    pass(c, true);
    pass(c, false);
    if (fl_report_events_again(&c->events))
        pass(c, false);
    fl_report_events_finish(&c->events);
    if (out->n == 0)
        code = refuse(c, err);
    else
        say_what_was_met(c);
    fl_usb_devices_finish(&c->devices);
    free(c);
    return code;
}

const struct fl_trace_reader fl_trace_usb_capture = {"usb capture", fl_packet_file_is,
                                                     read_capture};
