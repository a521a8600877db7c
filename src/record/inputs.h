/* The pointing devices and pads of the machine, as they report.
 *
 * One implementation a system: inputs_linux.c (evdev), inputs_windows.c (raw input). Keyboards are
 * not opened, and of devices that are both, keys are never read. */
#ifndef FL_RECORD_INPUTS_H
#define FL_RECORD_INPUTS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "trace/input_report.h"
#include "trace/trace.h"

struct fl_input_device {
    uint32_t number; /* as in reports; from 1, never used again */
    char name[80], place[80];
    bool pad;              /* else a mouse */
    struct fl_stick stick; /* of a pad */
    enum fl_pad_axis axis[2];
};

struct fl_inputs_choice {
    /* Paths, or parts of names; none: all that look like mice and pads. */
    const char *const *wanted;
    size_t n;
    bool left_stick; /* of pads; else the right one */
};

/* Told from within fl_inputs_open and fl_inputs_next. Reports come in order of time. */
struct fl_inputs_sink {
    void (*came)(void *ctx, const struct fl_input_device *device);
    void (*gone)(void *ctx, const struct fl_input_device *device);
    void (*report)(void *ctx, const struct fl_input_device *device,
                   const struct fl_input_report *report);
    void (*lost)(void *ctx, const struct fl_input_device *device); /* a buffer overran */
    void (*ending)(void *ctx); /* the session ends: what is not written now may never be */
    void *ctx;
};

struct fl_inputs;
/* Errors: nothing that may be read (says what to do), a wanted path that cannot be opened. */
enum flinch_code fl_inputs_open(struct fl_inputs **out, const struct fl_inputs_choice *choice,
                                const struct fl_inputs_sink *sink, struct fl_error *err);
/* Waits up to wait_s and passes on what came. False once nothing can come any more: the system
 * ends the session, or all that was wanted were files, and they have ended. */
bool fl_inputs_next(struct fl_inputs *in, double wait_s);
void fl_inputs_close(struct fl_inputs **in); /* NULL is fine; clears the pointer */

/* Now, on the clock of the reports. */
double fl_inputs_now_s(void);
/* What that clock is, in a few words. */
const char *fl_inputs_clock(void);

#endif
