/* Linux input events → reports.
 *
 * Numbers as in the kernel's linux/input-event-codes.h, meaning as in its
 * Documentation/input/event-codes.rst: events up to SYN_REPORT are one report; after SYN_DROPPED
 * everything up to and including the next SYN_REPORT is to be ignored. Only motion, wheel, the
 * buttons of pointing devices and pads, and a pad's axes are taken; keys of keyboards are not even
 * looked at. */
#ifndef FL_TRACE_EVDEV_PACKET_H
#define FL_TRACE_EVDEV_PACKET_H

#include "trace/input_report.h"

enum {
    FL_EV_SYN = 0,
    FL_EV_KEY = 1,
    FL_EV_REL = 2,
    FL_EV_ABS = 3,
    FL_EV_MOST = 0x1f,
    FL_EV_CODE_MOST = 0x2ff,
    FL_SYN_REPORT = 0,
    FL_SYN_DROPPED = 3,
    FL_REL_X = 0,
    FL_REL_Y = 1,
    FL_REL_WHEEL = 8,
    FL_REL_WHEEL_FINE = 0x0b, /* REL_WHEEL_HI_RES: 120 to a step */
    FL_BTN_MOUSE = 0x110,
    FL_BTN_JOYSTICK = 0x120,
    FL_BTN_GAMEPAD = 0x130,
    FL_BTN_DIGI = 0x140, /* touch pads and tablets, up to 0x14f */
    FL_BTN_TRIGGER_HAPPY = 0x2c0,
};

struct fl_evdev_packet {
    struct fl_input_report now;
    bool open;     /* something came since the last SYN_REPORT */
    bool dropping; /* after SYN_DROPPED */
    bool touch;    /* a touch pad or tablet: its axes are positions on a surface, not a stick */
    bool fine;     /* this report tells fine steps of the wheel, which make up the coarse ones */
    double coarse; /* whole steps of this report */
    unsigned long lost; /* SYN_DROPPED so far */
};

enum fl_evdev_step {
    FL_EVDEV_MORE,    /* the report goes on */
    FL_EVDEV_REPORT,  /* *report is complete */
    FL_EVDEV_DROPPED, /* events were lost from here on; *report, if it says anything, came before */
};

/* One event. *report may be used until the next call. */
enum fl_evdev_step fl_evdev_push(struct fl_evdev_packet *p, double time_s, unsigned type,
                                 unsigned code, int32_t value, struct fl_input_report *report);
/* Number of a button as in struct fl_event; 0 if it is no button of a mouse or pad. */
int fl_evdev_button(unsigned code);
/* FL_AXES if it is none of a pad's. */
enum fl_pad_axis fl_evdev_axis(unsigned code);

#endif
