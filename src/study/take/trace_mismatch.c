/* Where the picture's turn and the trace's part for long, the picture decides. */
#include "study/take/trace_mismatch.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "clock/parting.h"

#define LONG_S 0.5
#define BRIDGE_S 0.1

struct pairs {
    const struct fl_pair_series *trace, *picture;
};

static bool pair_at(const void *ctx, size_t i, struct fl_motion_pair *out)
{
    const struct fl_pair_series *t = ((const struct pairs *)ctx)->trace,
                                *p = ((const struct pairs *)ctx)->picture;
    *out = (struct fl_motion_pair){{t->x[i], t->y[i]}, {p->x[i], p->y[i]}};
    return !isnan(t->x[i]) && !isnan(t->y[i]) && !isnan(p->x[i]) && !isnan(p->y[i]);
}

/* Ends of the run that starts at i: the last differing frame with no long pause before it. */
static size_t run_end(const enum fl_parting *parting, const double *time_s, size_t n, size_t i)
{
    size_t last = i;
    for (size_t k = i; k < n && time_s[k] - time_s[last] < BRIDGE_S; k++)
        if (parting[k] == FL_APART)
            last = k;
    return last;
}

double fl_trace_mismatch(bool *overruled, const double *time_s, const struct fl_pair_series *trace,
                         const struct fl_pair_series *picture)
{
    size_t n = trace->n;
    double seconds = 0;
    enum fl_parting *parting = FL_NEW(enum fl_parting, n + 1);
    fl_parting_find(parting, time_s, n, &fl_parting_for_speed, pair_at,
                    &(struct pairs){trace, picture});
    for (size_t i = 0; i < n; i++) {
        overruled[i] = false;
        if (parting[i] != FL_APART)
            continue;
        size_t end = run_end(parting, time_s, n, i);
        bool longer = time_s[end] - time_s[i] >= LONG_S;
        seconds += longer ? time_s[end] - time_s[i] : 0;
        for (; i < end; i++)
            overruled[i] = longer;
        overruled[end] = longer;
    }
    free(parting);
    return seconds;
}
