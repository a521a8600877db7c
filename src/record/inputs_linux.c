/* Linux: every evdev device that looks like a mouse or a pad, also those plugged in later.
 *
 * A device's buffer holds some 64 events or more (the kernel's drivers/input/evdev.c), 21 reports
 * of a fast mouse, so it is emptied at least every millisecond; not oftener, or waking up would
 * cost more than the rest. Reports of several devices are put in order: all that happened before a
 * round of reading is in hand after it. */
#include "record/inputs.h"

#include <dirent.h>
#include <errno.h>
#include <math.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/inotify.h>
#include <time.h>
#include <unistd.h>

#include "base/mem.h"
#include "base/monotonic.h"
#include "base/units.h"
#include "record/evdev_device.h"

#define FOLDER "/dev/input"
enum { DEVICES = 32, EVENTS_A_ROUND = 56 };
static const double least_pause_s = 0.0005, most_pause_s = 0.004;

struct queued {
    struct fl_input_report report;
    struct fl_input_device *device;
    unsigned long order;
};

struct fl_inputs {
    struct fl_inputs_choice choice;
    struct fl_inputs_sink sink;
    struct fl_evdev_device *device[DEVICES];
    int n;
    uint32_t numbered;
    int watch; /* of FOLDER; -1 */
    bool forbidden;
    struct queued *queue;
    size_t queued, cap;
    unsigned long ordered;
    double read_s;  /* of the last round that brought something */
    double pause_s; /* until the next one */
};

double fl_inputs_now_s(void)
{
    return fl_now_s();
}

const char *fl_inputs_clock(void)
{
    return "the kernel's, CLOCK_MONOTONIC, in microseconds";
}

/* ---- which devices ---- */

static bool is_path(const char *wanted)
{
    return strchr(wanted, '/') != NULL;
}

static bool open_already(const struct fl_inputs *in, const char *path)
{
    for (int i = 0; i < in->n; i++)
        if (!strcmp(in->device[i]->info.place, path))
            return true;
    return false;
}

/* Wanted by path or by a part of its name; or nothing in particular is. */
static bool is_wanted(const struct fl_inputs *in, const struct fl_input_device *d)
{
    for (size_t i = 0; i < in->choice.n; i++)
        if (!strcmp(in->choice.wanted[i], d->place) ||
            (!is_path(in->choice.wanted[i]) && strstr(d->name, in->choice.wanted[i])))
            return true;
    return in->choice.n == 0;
}

static void add(struct fl_inputs *in, struct fl_evdev_device *opened)
{
    struct fl_evdev_device *d = FL_NEW(struct fl_evdev_device, 1);
    *d = *opened;
    d->info.number = ++in->numbered;
    d->packet.now.device = d->info.number;
    in->device[in->n++] = d;
    in->sink.came(in->sink.ctx, &d->info);
}

static enum fl_evdev_opened try_path(struct fl_inputs *in, const char *path, bool by_path)
{
    struct fl_evdev_device d;
    if (in->n == DEVICES || open_already(in, path))
        return FL_EVDEV_NOT_OURS;
    const enum fl_evdev_opened opened =
        fl_evdev_device_open(&d, path, by_path, in->choice.left_stick);
    if (opened != FL_EVDEV_OPENED)
        return opened;
    if (is_wanted(in, &d.info))
        add(in, &d);
    else
        fl_evdev_device_close(&d);
    return opened;
}

static void scan(struct fl_inputs *in)
{
    DIR *folder = opendir(FOLDER);
    struct dirent *entry;
    while (folder && (entry = readdir(folder)) != NULL) {
        char path[sizeof entry->d_name + sizeof FOLDER + 1];
        if (strncmp(entry->d_name, "event", 5) != 0)
            continue;
        snprintf(path, sizeof path, FOLDER "/%s", entry->d_name);
        in->forbidden |= try_path(in, path, false) == FL_EVDEV_FORBIDDEN;
    }
    if (folder)
        closedir(folder);
}

/* Does the choice leave room for devices to be found? */
static bool searches(const struct fl_inputs *in)
{
    for (size_t i = 0; i < in->choice.n; i++)
        if (!is_path(in->choice.wanted[i]))
            return true;
    return in->choice.n == 0;
}

/* Paths are opened at once; those of real devices may come back after they were unplugged. */
static enum flinch_code open_paths(struct fl_inputs *in, struct fl_error *err)
{
    for (size_t i = 0; i < in->choice.n; i++) {
        const char *path = in->choice.wanted[i];
        if (!is_path(path))
            continue;
        const enum fl_evdev_opened opened = try_path(in, path, true);
        if (opened == FL_EVDEV_FORBIDDEN || opened == FL_EVDEV_FAILED)
            return fl_fail(err, FLINCH_ERR_OPEN, "%s: cannot be read: %s%s", path, strerror(errno),
                           opened == FL_EVDEV_FORBIDDEN
                               ? "; join the group 'input' or record as root"
                               : "; check the path");
    }
    return FLINCH_OK;
}

enum flinch_code fl_inputs_open(struct fl_inputs **out, const struct fl_inputs_choice *choice,
                                const struct fl_inputs_sink *sink, struct fl_error *err)
{
    struct fl_inputs *in = FL_NEW(struct fl_inputs, 1);
    in->choice = *choice;
    in->sink = *sink;
    in->watch = inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
    if (in->watch >= 0)
        inotify_add_watch(in->watch, FOLDER, IN_CREATE | IN_ATTRIB | IN_MOVED_TO);
    enum flinch_code code = open_paths(in, err);
    if (!code && searches(in))
        scan(in);
    if (!code && in->n == 0 && in->forbidden)
        code = fl_fail(err, FLINCH_ERR_OPEN,
                       FOLDER ": no mouse or pad that may be read; join the group 'input' or "
                              "record as root");
    else if (!code && in->n == 0 && access(FOLDER, R_OK))
        code = fl_fail(err, FLINCH_ERR_OPEN,
                       FOLDER ": %s; this system has no input events to record", strerror(errno));
    if (code)
        fl_inputs_close(&in);
    *out = in;
    return code;
}

void fl_inputs_close(struct fl_inputs **inputs)
{
    struct fl_inputs *in = *inputs;
    if (!in)
        return;
    for (int i = 0; i < in->n; i++) {
        fl_evdev_device_close(in->device[i]);
        free(in->device[i]);
    }
    if (in->watch >= 0)
        close(in->watch);
    free(in->queue);
    free(in);
    *inputs = NULL;
}

/* ---- reports, in order ---- */

static void queue_report(void *ctx, struct fl_evdev_device *d, const struct fl_input_report *r)
{
    struct fl_inputs *in = ctx;
    const struct queued q = {*r, &d->info, in->ordered++};
    FL_PUSH(in->queue, in->queued, in->cap, q);
}

static void pass_lost(void *ctx, struct fl_evdev_device *d)
{
    struct fl_inputs *in = ctx;
    in->sink.lost(in->sink.ctx, &d->info);
}

static int by_time(const void *x, const void *y)
{
    const struct queued *a = x, *b = y;
    if (a->report.time_s != b->report.time_s)
        return a->report.time_s < b->report.time_s ? -1 : 1;
    return a->order < b->order ? -1 : a->order > b->order;
}

/* Passes on what happened before until_s; the rest waits for what other devices may still tell. */
static void pass_on(struct fl_inputs *in, double until_s)
{
    size_t k = 0;
    if (in->n > 1)
        qsort(in->queue, in->queued, sizeof *in->queue, by_time);
    for (; k < in->queued && in->queue[k].report.time_s <= until_s; k++)
        in->sink.report(in->sink.ctx, in->queue[k].device, &in->queue[k].report);
    in->queued -= k;
    if (in->queued > 0)
        memmove(in->queue, in->queue + k, in->queued * sizeof *in->queue);
}

static bool all_real(const struct fl_inputs *in)
{
    for (int i = 0; i < in->n; i++)
        if (!in->device[i]->real)
            return false;
    return true;
}

/* Its reports still queued point to it, so they go first. */
static void drop(struct fl_inputs *in, int i)
{
    struct fl_evdev_device *d = in->device[i];
    pass_on(in, HUGE_VAL);
    in->sink.gone(in->sink.ctx, &d->info);
    fl_evdev_device_close(d);
    free(d);
    in->device[i] = in->device[--in->n];
}

static void read_all(struct fl_inputs *in, const struct pollfd *ready)
{
    const struct fl_evdev_take take = {queue_report, pass_lost, in};
    const double before_s = fl_inputs_now_s();
    size_t most = 0;
    for (int i = in->n; i-- > 0;) {
        if (!ready[i].revents)
            continue;
        const bool there = fl_evdev_device_read(in->device[i], &take);
        most = in->device[i]->taken > most ? in->device[i]->taken : most;
        if (!there)
            drop(in, i);
    }
    if (most > 0) {
        const double since_s = before_s - in->read_s;
        in->pause_s =
            fl_clamp(since_s * EVENTS_A_ROUND / (double)most, least_pause_s, most_pause_s);
        in->read_s = before_s;
    }
    pass_on(in, in->n > 1 && all_real(in) ? before_s : HUGE_VAL);
}

/* Something changed in FOLDER: a device came, or may be read now. */
static void look_for_more(struct fl_inputs *in)
{
    char waste[4096];
    while (read(in->watch, waste, sizeof waste) > 0)
        ;
    if (searches(in))
        scan(in);
    for (size_t i = 0; i < in->choice.n; i++)
        if (is_path(in->choice.wanted[i]) && !strncmp(in->choice.wanted[i], FOLDER "/", 11))
            try_path(in, in->choice.wanted[i], true);
}

/* Files and FIFOs that have ended do not come back. */
static bool may_come(const struct fl_inputs *in)
{
    bool more = in->n > 0 || searches(in);
    for (size_t i = 0; i < in->choice.n; i++)
        more |= !strncmp(in->choice.wanted[i], FOLDER "/", 11);
    return more;
}

static void sleep_s(double s)
{
    const struct timespec t = {(time_t)s, (long)(1e9 * (s - (double)(time_t)s))};
    nanosleep(&t, NULL);
}

/* A FIFO that no one writes to yet, and one that has ended, both say so at once. */
static bool only_idle_files(const struct fl_inputs *in, const struct pollfd *p)
{
    for (int i = 0; i < in->n; i++)
        if (p[i].revents & POLLIN || in->device[i]->real || in->device[i]->begun)
            return false;
    return in->n > 0;
}

bool fl_inputs_next(struct fl_inputs *in, double wait_s)
{
    struct pollfd p[DEVICES + 1];
    const double rested_s = fl_inputs_now_s() - in->read_s;
    if (rested_s < in->pause_s)
        sleep_s(in->pause_s - rested_s);
    for (int i = 0; i < in->n; i++)
        p[i] = (struct pollfd){.fd = in->device[i]->fd, .events = POLLIN};
    p[in->n] = (struct pollfd){.fd = in->watch, .events = POLLIN};
    const int n = in->n;
    const int ready = poll(p, (nfds_t)n + 1, (int)(1e3 * wait_s) + 1);
    if (ready > 0) {
        if (only_idle_files(in, p))
            sleep_s(most_pause_s);
        read_all(in, p);
        if (p[n].revents & POLLIN)
            look_for_more(in);
    } else if (in->queued > 0) {
        pass_on(in, HUGE_VAL); /* nothing came meanwhile that could be earlier */
    }
    return may_come(in);
}
