/* Footage times → a scan of equally long periods, which evidence along the rows is gathered on. */
#include "media/scan.h"

#include <assert.h>
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
    assert(t->n < 2 || t->rate_hz > 0);
    const long most = lrint(ceil(FL_SCAN_LONGEST_GAP_S * t->rate_hz)) + 1;
    long last = 0; /* on the whole grid, with all of its gaps */
    for (size_t i = 1; i < t->n; i++) {
        const long place = t->constant ? t->slot[i] : lrint(t->time_s[i] / out->period_s);
        const long step = place > last ? place - last : 1;
        last += step;
        out->number[i] = out->number[i - 1] + (step < most ? step : most);
        out->longest_gap_s = fmax(out->longest_gap_s, t->time_s[i] - t->time_s[i - 1]);
    }
}

void fl_scan_finish(struct fl_scan *s)
{
    free(s->number);
    *s = (struct fl_scan){0};
}
