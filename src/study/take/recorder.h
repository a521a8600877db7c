/* What recorder, encoder and trace logger did, as far as their files tell. */
#ifndef FL_STUDY_TAKE_RECORDER_H
#define FL_STUDY_TAKE_RECORDER_H

#include <stdbool.h>

#include "signal/device.h"
#include "signal/covered.h"
#include "trace/polling.h"

struct fl_recorder {
    struct fl_device device;
    struct fl_covered covered;
    double bits_per_px; /* of the coded video, a pixel and frame; NaN */
    bool repeats_told;  /* false: the output's own rhythm may explain the identical frames */
    long jumps;      /* frames in state on in which the whole picture moved twice as far as in its
                        neighbours */
    bool jumps_told; /* they are frames that the recorder lost and closed the gap in its times;
                        false: or pictures that the output skipped */
    double trace_start_s, trace_end_s; /* trace clock; NaN without a trace */
    double trace_report_hz;            /* NaN if unknown */
    long trace_gaps;                   /* silences in the middle of motion */
    struct fl_polling polling; /* against the report rate that was given; unknown without one */
    double slate_s; /* trace time of the first slate's first click; NaN: there is none. Not kept in
                       files */
};

void fl_recorder_init(struct fl_recorder *r);
#endif
