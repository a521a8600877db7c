/* HID reports → input reports. */
#ifndef FL_TRACE_HID_REPORT_H
#define FL_TRACE_HID_REPORT_H

#include "trace/hid_descriptor.h"

/* What is down, and where an absolute pointer was; all zero at the start. */
struct fl_hid_state {
    uint64_t down; /* bit b-1: button b */
    bool placed;
    int32_t place[2];
};

enum fl_hid_result {
    FL_HID_TOLD,  /* *report is filled, but for time and device */
    FL_HID_OTHER, /* nothing of a pointing device or pad in it */
    FL_HID_SHORT, /* bytes are missing */
};

enum fl_hid_result fl_hid_decode(const struct fl_hid_descriptor *d, struct fl_hid_state *state,
                                 const uint8_t *data, size_t size, struct fl_input_report *report);

#endif
