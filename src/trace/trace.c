#include "trace/trace.h"

#include <stdlib.h>
#include <string.h>

void fl_trace_finish(struct fl_trace *t)
{
    free(t->events);
    memset(t, 0, sizeof *t);
}
