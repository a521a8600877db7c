/* Two settings beside each other, from what the session's model knows of both. */
#include "study/curve/contrast.h"

#include "study/curve/curve.h"
#include "study/curve/octaves.h"
#include "study/curve/trip_density.h"

#define LEVEL 0.95

void fl_contrast_v50(struct fl_contrast *out, const struct fl_curve *a, const struct fl_curve *b)
{
    *out = (struct fl_contrast){a->v50 / b->v50, FL_UNKNOWN, FL_UNKNOWN, FL_UNKNOWN};
    if (!a->posterior || !b->posterior || a->takes < FL_CONTRAST_TAKES ||
        b->takes < FL_CONTRAST_TAKES)
        return;
    struct fl_trip_ratio r = fl_trip_ratio_of(a->posterior, b->posterior, LEVEL);
    out->low = fl_from_octaves(r.low);
    out->high = fl_from_octaves(r.high);
    out->p = r.p;
}

void fl_contrast_bounds(double *low, double *high, const struct fl_curve *a,
                        const struct fl_curve *b)
{
    *low = *high = FL_UNKNOWN;
    if (a->bound == FL_BOUND_ABOVE && b->bound == FL_BOUND_NONE)
        *low = a->bound_at / b->v50_high;
    else if (a->bound == FL_BOUND_BELOW && b->bound == FL_BOUND_NONE)
        *high = a->bound_at / b->v50_low;
    else if (b->bound == FL_BOUND_ABOVE && a->bound == FL_BOUND_NONE)
        *high = a->v50_high / b->bound_at;
    else if (b->bound == FL_BOUND_BELOW && a->bound == FL_BOUND_NONE)
        *low = a->v50_low / b->bound_at;
    else if (a->bound == FL_BOUND_ABOVE && b->bound == FL_BOUND_BELOW)
        *low = a->bound_at / b->bound_at;
    else if (a->bound == FL_BOUND_BELOW && b->bound == FL_BOUND_ABOVE)
        *high = a->bound_at / b->bound_at;
}
