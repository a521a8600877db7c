/* --columns, by the reader's own syntax (trace/columns.h). */
#include "cli/trace_option.h"

#include <stddef.h>

enum flinch_code fl_trace_option_read(const struct fl_trace_columns **c,
                                      struct fl_trace_columns *kept, const char *text,
                                      struct fl_error *err)
{
    *c = NULL;
    if (!text)
        return FLINCH_OK;
    if (fl_trace_columns_parse(kept, text, err))
        return fl_fail_in(err, "--columns");
    *c = kept;
    return FLINCH_OK;
}
