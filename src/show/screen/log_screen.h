/* What `flinch log --json` prints when a recording has ended. */
#ifndef FL_SHOW_SCREEN_LOG_SCREEN_H
#define FL_SHOW_SCREEN_LOG_SCREEN_H

#include "record/record.h"
#include "show/store/fields.h"

extern const struct fl_document fl_log_document;
/* out: path of the trace. */
json_t *fl_log_json(const char *out, const struct fl_record_counts *counts);

#endif
