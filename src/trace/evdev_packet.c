/* Linux input events, gathered up to each SYN_REPORT. */
#include "trace/evdev_packet.h"

#include <string.h>

int fl_evdev_button(unsigned code)
{
    if (code >= FL_BTN_MOUSE && code < FL_BTN_MOUSE + 16)
        return 1 + (int)(code - FL_BTN_MOUSE);
    if (code >= FL_BTN_GAMEPAD && code < FL_BTN_DIGI)
        return 17 + (int)(code - FL_BTN_GAMEPAD);
    if (code >= FL_BTN_JOYSTICK && code < FL_BTN_GAMEPAD)
        return 33 + (int)(code - FL_BTN_JOYSTICK);
    if (code >= FL_BTN_TRIGGER_HAPPY && code < FL_BTN_TRIGGER_HAPPY + 40)
        return 49 + (int)(code - FL_BTN_TRIGGER_HAPPY);
    return 0;
}

enum fl_pad_axis fl_evdev_axis(unsigned code)
{
    return code <= FL_AXIS_RZ ? (enum fl_pad_axis)code : FL_AXES;
}

static void add_motion(struct fl_evdev_packet *p, unsigned code, int32_t value)
{
    switch (code) {
    case FL_REL_X: p->now.dx += value; break;
    case FL_REL_Y: p->now.dy += value; break;
    case FL_REL_WHEEL: p->coarse += value; break;
    case FL_REL_WHEEL_FINE:
        p->fine = true;
        p->now.wheel += value / 120.0;
        break;
    default: break;
    }
}

static void add_button(struct fl_evdev_packet *p, unsigned code, int32_t value)
{
    const int button = fl_evdev_button(code);
    p->touch |= code >= FL_BTN_DIGI && code < FL_BTN_DIGI + 16;
    if (button && (value == 0 || value == 1)) /* 2 repeats what is held */
        fl_report_button(&p->now, button, value == 1);
}

static void add_axis(struct fl_evdev_packet *p, unsigned code, int32_t value)
{
    const enum fl_pad_axis axis = fl_evdev_axis(code);
    if (axis == FL_AXES)
        return;
    p->now.axes |= 1u << axis;
    p->now.axis[axis] = value;
}

static void close_report(struct fl_evdev_packet *p, double time_s, struct fl_input_report *report)
{
    p->now.time_s = time_s;
    if (!p->fine)
        p->now.wheel = p->coarse;
    if (p->touch)
        p->now.axes = 0;
    *report = p->now;
    memset(&p->now, 0, sizeof p->now);
    p->now.device = report->device;
    p->coarse = 0;
    p->open = p->fine = false;
}

static enum fl_evdev_step push_syn(struct fl_evdev_packet *p, double time_s, unsigned code,
                                   struct fl_input_report *report)
{
    if (code == FL_SYN_DROPPED) {
        close_report(p, time_s, report);
        p->dropping = true;
        p->lost++;
        return FL_EVDEV_DROPPED;
    }
    if (code != FL_SYN_REPORT)
        return FL_EVDEV_MORE;
    const bool whole = !p->dropping;
    p->dropping = false;
    if (!whole)
        return FL_EVDEV_MORE;
    close_report(p, time_s, report);
    return FL_EVDEV_REPORT;
}

enum fl_evdev_step fl_evdev_push(struct fl_evdev_packet *p, double time_s, unsigned type,
                                 unsigned code, int32_t value, struct fl_input_report *report)
{
    if (type == FL_EV_SYN)
        return push_syn(p, time_s, code, report);
    if (p->dropping)
        return FL_EVDEV_MORE;
    p->open = true;
    if (type == FL_EV_REL)
        add_motion(p, code, value);
    else if (type == FL_EV_KEY)
        add_button(p, code, value);
    else if (type == FL_EV_ABS)
        add_axis(p, code, value);
    return FL_EVDEV_MORE;
}
