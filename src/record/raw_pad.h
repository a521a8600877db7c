/* A game pad of Windows: its HID reports through the system's own parser (hid.dll). */
#ifndef FL_RECORD_RAW_PAD_H
#define FL_RECORD_RAW_PAD_H

#include <windows.h>

#include <hidsdi.h>

#include "record/inputs.h"

struct fl_raw_pad {
    PHIDP_PREPARSED_DATA parsed;
    struct {
        bool there, is_signed;
        int bits;
        int32_t low, high;
    } axis[FL_AXES];
    bool judged; /* the first report told which axes are sticks */
    bool left;   /* the left one is wanted */
    uint64_t down;
};

/* False if the device's reports cannot be read. */
bool fl_raw_pad_init(struct fl_raw_pad *p, HANDLE device, bool left_stick);
void fl_raw_pad_finish(struct fl_raw_pad *p);
/* One HID report; the first one decides the stick of *device. Time and device number are left to
 * the caller. */
void fl_raw_pad_report(struct fl_raw_pad *p, struct fl_input_device *device, BYTE *data, ULONG size,
                       struct fl_input_report *out);

#endif
