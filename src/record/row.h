/* One row of the trace that is recorded. */
#ifndef FL_RECORD_ROW_H
#define FL_RECORD_ROW_H

#include "record/inputs.h"

#define FL_ROW_HEADER "time_us,dx,dy,wheel,button,state,stick_x,stick_y\n"
enum { FL_ROWS_MOST = FL_REPORT_BUTTONS * 96 }; /* bytes of one report's rows */

/* A report's rows, one for each button that changed and at least one; returns the bytes written.
 * out has room for FL_ROWS_MOST. */
size_t fl_rows_write(char *out, const struct fl_input_device *device,
                     const struct fl_input_report *report);
/* Deflection as it stands in the row, -1..1; false if the report tells none. */
bool fl_row_stick(const struct fl_input_device *device, const struct fl_input_report *report,
                  int across_or_down, double *value);

#endif
