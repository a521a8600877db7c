/* What a device says at one time, in the terms that all binary formats share. */
#ifndef FL_TRACE_INPUT_REPORT_H
#define FL_TRACE_INPUT_REPORT_H

#include <stdbool.h>
#include <stdint.h>

/* Absolute axes of a pad, named as in HID's Generic Desktop page. */
enum fl_pad_axis { FL_AXIS_X, FL_AXIS_Y, FL_AXIS_Z, FL_AXIS_RX, FL_AXIS_RY, FL_AXIS_RZ, FL_AXES };

enum { FL_REPORT_BUTTONS = 64 };

struct fl_input_report {
    double time_s;
    uint32_t device; /* tells devices of one file apart */
    double dx, dy, wheel;
    int n_buttons;
    struct {
        uint8_t button, state; /* numbers as in struct fl_event */
    } button[FL_REPORT_BUTTONS];
    unsigned axes; /* bit k: axis[k] is told */
    int32_t axis[FL_AXES];
};

static inline void fl_report_button(struct fl_input_report *r, int button, bool down)
{
    if (r->n_buttons == FL_REPORT_BUTTONS)
        return;
    r->button[r->n_buttons].button = (uint8_t)button;
    r->button[r->n_buttons++].state = down;
}

/* False for a report that tells nothing. */
static inline bool fl_report_says(const struct fl_input_report *r)
{
    return r->dx != 0 || r->dy != 0 || r->wheel != 0 || r->n_buttons > 0 || r->axes != 0;
}

#endif
