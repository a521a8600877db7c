/* Footage times → a scan of equally long periods, which evidence along the rows is gathered on. */
#include "media/scan.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"

void fl_scan_init(struct fl_scan *out, const struct fl_timeline *t, double blank)
{
    *out = (struct fl_scan){.n = t->n,
                            .time_s = t->time_s,
                            .number = FL_NEW(long, t->n),
                            .period_s = 1 / t->rate_hz,
                            .blank = blank};
    for (size_t i = 0; i < t->n; i++) {
        long place = t->constant ? t->slot[i] : lrint(t->time_s[i] / out->period_s);
        bool taken = i && place <= out->number[i - 1];
        out->number[i] = taken ? out->number[i - 1] + 1 : place;
    }
}

void fl_scan_finish(struct fl_scan *s)
{
    free(s->number);
    *s = (struct fl_scan){0};
}
