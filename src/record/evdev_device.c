/* Opening, telling apart and reading of evdev devices, by the ioctls of linux/input.h. */
#include "record/evdev_device.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/input.h>
#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { EVENTS = 512 };

typedef unsigned char codes[KEY_CNT / 8 + 1];

static bool has(const unsigned char *bits, unsigned code)
{
    return bits[code / 8] >> code % 8 & 1;
}

static bool has_any(const unsigned char *bits, unsigned from, unsigned to)
{
    for (unsigned code = from; code < to; code++)
        if (has(bits, code))
            return true;
    return false;
}

/* ---- what it is ---- */

static bool looks_like_mouse(int fd)
{
    codes keys = {0}, steps = {0};
    return ioctl(fd, EVIOCGBIT(EV_KEY, sizeof keys), keys) >= 0 &&
           ioctl(fd, EVIOCGBIT(EV_REL, sizeof steps), steps) >= 0 && has(steps, REL_X) &&
           has(steps, REL_Y) && has(keys, BTN_LEFT);
}

static bool looks_like_pad(int fd)
{
    codes keys = {0}, axes = {0};
    return ioctl(fd, EVIOCGBIT(EV_KEY, sizeof keys), keys) >= 0 &&
           ioctl(fd, EVIOCGBIT(EV_ABS, sizeof axes), axes) >= 0 && has(axes, ABS_X) &&
           has(axes, ABS_Y) && !has_any(keys, BTN_DIGI, BTN_DIGI + 16) &&
           (has_any(keys, BTN_JOYSTICK, BTN_DIGI));
}

/* An axis of a stick rests about its middle; a trigger rests at an end. */
static bool stick_axis(int fd, enum fl_pad_axis axis, struct fl_stick *s, int i)
{
    struct input_absinfo a;
    if (ioctl(fd, EVIOCGABS(axis), &a) < 0 || a.maximum <= a.minimum)
        return false;
    const double width = (double)a.maximum - a.minimum, at = (a.value - (double)a.minimum) / width;
    s->low[i] = a.minimum;
    s->high[i] = a.maximum;
    s->centre[i] = at > 0.4 && at < 0.6 ? a.value : a.minimum + width / 2;
    return at > 0.25 && at < 0.75;
}

static void find_stick(struct fl_evdev_device *d, bool left)
{
    static const enum fl_pad_axis pairs[][2] = {
        {FL_AXIS_RX, FL_AXIS_RY}, {FL_AXIS_Z, FL_AXIS_RZ}, {FL_AXIS_X, FL_AXIS_Y}};
    static const char *const names[] = {"Rx, Ry", "Z, Rz", "X, Y"};
    struct fl_stick *s = &d->info.stick;
    for (int k = left ? 2 : 0; k < 3 && !s->known; k++) {
        s->known = stick_axis(d->fd, pairs[k][0], s, 0) && stick_axis(d->fd, pairs[k][1], s, 1);
        memcpy(d->info.axis, pairs[k], sizeof pairs[k]);
        snprintf(s->name, sizeof s->name, "%s", names[k]);
    }
}

/* The kernel is asked to pass on buttons only. */
static void mask_keys(int fd)
{
    codes wanted = {0};
    for (unsigned code = BTN_MOUSE; code < KEY_CNT; code++)
        if (fl_evdev_button(code))
            wanted[code / 8] |= (unsigned char)(1u << code % 8);
    struct input_mask mask = {EV_KEY, sizeof wanted, (uintptr_t)wanted};
    ioctl(fd, EVIOCSMASK, &mask);
    const unsigned char none[MSC_CNT / 8 + 1] = {0};
    mask = (struct input_mask){EV_MSC, sizeof none, (uintptr_t)none};
    ioctl(fd, EVIOCSMASK, &mask);
}

/* A stand-in tells nothing of itself: a stick of 16 bits on any pair is taken at its word. */
static void stand_in(struct fl_evdev_device *d, bool left)
{
    const struct fl_stick s = {
        .known = true, .low = {-32768, -32768}, .high = {32767, 32767}, .guessed = true};
    d->info.stick = s;
    d->info.axis[0] = left ? FL_AXIS_X : FL_AXIS_RX;
    d->info.axis[1] = left ? FL_AXIS_Y : FL_AXIS_RY;
    snprintf(d->info.name, sizeof d->info.name, "input events");
}

enum fl_evdev_opened fl_evdev_device_open(struct fl_evdev_device *d, const char *path, bool wanted,
                                          bool left_stick)
{
    int version, clock = CLOCK_MONOTONIC;
    *d = (struct fl_evdev_device){.fd = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC)};
    if (d->fd < 0)
        return errno == EACCES || errno == EPERM ? FL_EVDEV_FORBIDDEN : FL_EVDEV_FAILED;
    snprintf(d->info.place, sizeof d->info.place, "%s", path);
    d->real = ioctl(d->fd, EVIOCGVERSION, &version) >= 0;
    const bool mouse = d->real && looks_like_mouse(d->fd);
    d->info.pad = d->real && !mouse && looks_like_pad(d->fd);
    if (!mouse && !d->info.pad && !wanted) {
        fl_evdev_device_close(d);
        return FL_EVDEV_NOT_OURS;
    }
    if (!d->real) {
        stand_in(d, left_stick);
        return FL_EVDEV_OPENED;
    }
    mask_keys(d->fd);
    d->real = ioctl(d->fd, EVIOCSCLOCKID, &clock) >= 0;
    ioctl(d->fd, EVIOCGNAME(sizeof d->info.name - 1), d->info.name);
    if (d->info.pad)
        find_stick(d, left_stick);
    return FL_EVDEV_OPENED;
}

void fl_evdev_device_close(struct fl_evdev_device *d)
{
    if (d->fd >= 0)
        close(d->fd);
    d->fd = -1;
}

/* ---- reading ---- */

/* After lost events: what is down and where the axes stand, as the kernel has it. */
static void ask_state(struct fl_evdev_device *d, double time_s, const struct fl_evdev_take *take)
{
    codes keys = {0};
    struct fl_input_report r = {.time_s = time_s, .device = d->info.number};
    if (!d->real || ioctl(d->fd, EVIOCGKEY(sizeof keys), keys) < 0)
        return;
    for (unsigned code = BTN_MOUSE; code < KEY_CNT; code++) {
        const int button = fl_evdev_button(code);
        const bool down = button && has(keys, code);
        if (button && button <= 64 && down != (bool)(d->down >> (button - 1) & 1))
            fl_report_button(&r, button, down);
    }
    for (int i = 0; i < 2 && d->info.stick.known; i++) {
        struct input_absinfo a;
        if (ioctl(d->fd, EVIOCGABS(d->info.axis[i]), &a) < 0)
            continue;
        r.axes |= 1u << d->info.axis[i];
        r.axis[d->info.axis[i]] = a.value;
    }
    if (fl_report_says(&r))
        take->report(take->ctx, d, &r);
}

static void note_buttons(struct fl_evdev_device *d, const struct fl_input_report *r)
{
    for (int i = 0; i < r->n_buttons; i++) {
        const uint64_t bit = UINT64_C(1) << ((r->button[i].button - 1) & 63);
        d->down = r->button[i].state ? d->down | bit : d->down & ~bit;
    }
}

static void take_event(struct fl_evdev_device *d, const struct input_event *e,
                       const struct fl_evdev_take *take)
{
    struct fl_input_report r;
    const double time_s = (double)e->input_event_sec + 1e-6 * (double)e->input_event_usec;
    const enum fl_evdev_step step =
        fl_evdev_push(&d->packet, time_s, e->type, e->code, e->value, &r);
    if (step != FL_EVDEV_MORE && fl_report_says(&r)) {
        r.device = d->info.number;
        note_buttons(d, &r);
        take->report(take->ctx, d, &r);
    }
    if (step == FL_EVDEV_DROPPED) {
        take->lost(take->ctx, d);
        d->resync = true;
    } else if (d->resync && !d->packet.dropping) {
        d->resync = false;
        ask_state(d, time_s, take);
    }
}

bool fl_evdev_device_read(struct fl_evdev_device *d, const struct fl_evdev_take *take)
{
    struct input_event event[EVENTS];
    unsigned char *to = (unsigned char *)event;
    d->taken = 0;
    for (;;) {
        memcpy(to, d->part, d->n_part);
        const size_t room = sizeof event - d->n_part;
        const ssize_t got = read(d->fd, to + d->n_part, room);
        if (got < 0)
            return errno == EAGAIN || errno == EINTR;
        if (got == 0)
            return d->real || !d->begun; /* no one has opened the other end of a FIFO yet */
        d->begun = true;
        const size_t n = d->n_part + (size_t)got, whole = n / sizeof *event;
        for (size_t i = 0; i < whole; i++)
            take_event(d, &event[i], take);
        d->taken += whole;
        d->n_part = n % sizeof *event;
        memcpy(d->part, to + whole * sizeof *event, d->n_part);
        if ((size_t)got < room)
            return true; /* nothing more for now, without another call to learn so */
    }
}
