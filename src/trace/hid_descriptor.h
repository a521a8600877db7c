/* A HID report descriptor: where in a device's reports its motion, wheel, buttons and axes lie.
 *
 * Items as in USB-IF, Device Class Definition for HID, version 1.11, chapter 6.2.2; usages as in
 * the HID Usage Tables (Generic Desktop and Button pages). Only fields of pointing devices and pads
 * are kept, so what a keyboard sends is never decoded. */
#ifndef FL_TRACE_HID_DESCRIPTOR_H
#define FL_TRACE_HID_DESCRIPTOR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "trace/input_report.h"

enum fl_hid_what {
    FL_HID_DX,
    FL_HID_DY,
    FL_HID_WHEEL,
    FL_HID_AXIS,     /* number: enum fl_pad_axis */
    FL_HID_BUTTON,   /* one bit; number: the button, as in struct fl_event */
    FL_HID_BUTTONS,  /* an array: each value is the number of a button that is down */
    FL_HID_POSITION, /* of an absolute pointer; number: 0 across, 1 down */
};

struct fl_hid_field {
    uint8_t report; /* id; 0: reports have none */
    uint8_t what;
    uint8_t number; /* FL_HID_BUTTONS: what is added to a value */
    uint8_t bits;   /* 1 to 32 */
    uint16_t count; /* values in an array, else 1 */
    uint32_t at;    /* first bit, after the id */
    int32_t low, high;
    bool null_state; /* a value outside low to high says nothing */
};

enum { FL_HID_FIELDS = 256 };

struct fl_hid_descriptor {
    struct fl_hid_field field[FL_HID_FIELDS];
    int n;
    bool has_ids;
    uint32_t bits[256]; /* of each input report, its id not counted */
};

/* Reads as far as the items make sense; false if that is not to the end. */
bool fl_hid_parse(struct fl_hid_descriptor *out, const uint8_t *item, size_t size);
/* Any motion, stick or button of a pointing device or pad? */
bool fl_hid_useful(const struct fl_hid_descriptor *d);
/* The mouse of the boot protocol (HID 1.11, appendix B.2), with a wheel in the fourth byte as most
 * have it (common practice, no source). */
const struct fl_hid_descriptor *fl_hid_boot_mouse(void);

#endif
