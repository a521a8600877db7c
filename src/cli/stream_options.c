/* Standard input is one stream: it cannot be two recordings, nor a recording and its trace. */
#include "cli/stream_options.h"

#include <string.h>

enum flinch_code fl_stream_options_check(char *const *footage, int n, const char *trace,
                                         struct fl_error *err)
{
    int uses = trace && !strcmp(trace, "-");
    for (int i = 0; i < n; i++)
        uses += !strcmp(footage[i], "-");
    return uses > 1
               ? fl_fail(err, FLINCH_ERR_USAGE,
                         "-: standard input is one stream; give the other through a named pipe")
               : FLINCH_OK;
}
