/* Who measures reports and asks without knowing whether anybody watches. */
#include "base/progress.h"

#include <stddef.h>

void fl_progress_report(const struct fl_progress *p, const char *what, double done)
{
    if (p && p->report)
        p->report(p->ctx, what, done);
}

void fl_progress_note(const struct fl_progress *p, const char *text)
{
    if (p && p->note)
        p->note(p->ctx, text);
}

bool fl_progress_stop(const struct fl_progress *p)
{
    return p && p->stop && p->stop(p->ctx);
}
