/* docs/log.schema.json: what was recorded. */
#include "show/screen/log_screen.h"

struct log {
    const char *out;
    const struct fl_record_counts *counts;
};

#define COUNT(member, kind) FL_AT(fl_record_counts, member, kind), FL_THROUGH(log, counts)
static const struct fl_field log_fields[] = {
    {"trace", FL_AT(log, out, TEXT), .meaning = "Path of the trace."},
    {"lasted_s", COUNT(lasted_s, TIME), FL_FROM_ZERO, .meaning = "Length of the recording, s."},
    {"reports", COUNT(reports, WHOLE), FL_FROM_ZERO,
     .meaning = "Reports of all devices that are in the trace."},
    {"moved", COUNT(moved, WHOLE), FL_FROM_ZERO, .meaning = "Reports that tell of motion."},
    {"wheel", COUNT(wheel, WHOLE), FL_FROM_ZERO, .meaning = "Reports that tell of the wheel."},
    {"presses", COUNT(presses, WHOLE), FL_FROM_ZERO, .meaning = "Buttons pressed."},
    {"dx", COUNT(dx, FIGURE), .meaning = "Counts to the right, all in all."},
    {"dy", COUNT(dy, FIGURE), .meaning = "Counts downward, all in all."},
    {"overruns", COUNT(lost, WHOLE), FL_FROM_ZERO,
     .meaning = "Times at which the system's buffer lost events."},
    {"slate_seen", COUNT(slate_seen, BOOL), .meaning = "The slate that was asked for was made."},
    {0},
};

const struct fl_document fl_log_document = {
    .name = "log",
    .title = "What flinch log --json prints",
    .meaning = "What a recording of input holds, once it has ended.",
    .format = "flinch-log",
    .version = 1,
    .fields = log_fields,
};

json_t *fl_log_json(const char *out, const struct fl_record_counts *counts)
{
    const struct log log = {out, counts};
    return fl_document_json(&fl_log_document, &log);
}
