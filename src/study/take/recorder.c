/* A recorder of which nothing is known. */
#include "study/take/recorder.h"

#include "base/units.h"

void fl_recorder_init(struct fl_recorder *r)
{
    *r = (struct fl_recorder){.device = {.key_interval_s = FL_UNKNOWN,
                                         .rest_change = FL_UNKNOWN,
                                         .key_change = FL_UNKNOWN,
                                         .motion_change = FL_UNKNOWN},
                              .covered = {FL_UNKNOWN, FL_UNKNOWN},
                              .bits_per_px = FL_UNKNOWN,
                              .trace_start_s = FL_UNKNOWN,
                              .trace_end_s = FL_UNKNOWN,
                              .trace_report_hz = FL_UNKNOWN,
                              .polling = fl_polling_none(),
                              .slate_s = FL_UNKNOWN};
}
