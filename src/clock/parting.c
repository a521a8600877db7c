/* Running means over a window of the trace's and the picture's motion, and how far they differ. */
#include "clock/parting.h"

#include <assert.h>
#include <math.h>

static const double apart_share = 0.35;
enum { FEWEST = 3 }; /* frames; fewer are a flip's chance */

const struct fl_parting_use fl_parting_for_seeing = {.window_s = 0.2, .least = 0.4};
const struct fl_parting_use fl_parting_for_speed = {.window_s = 0.1, .least = 25};

struct sums {
    double trace[2], picture[2];
    size_t n;
};

static void add(struct sums *s, const struct fl_motion_pair *p, int sign)
{
    for (int axis = 0; axis < 2; axis++) {
        s->trace[axis] += sign * p->trace[axis];
        s->picture[axis] += sign * p->picture[axis];
    }
    assert(sign > 0 || s->n > 0);
    s->n += (size_t)sign;
}

static enum fl_parting compare(const struct sums *s, double least)
{
    if (s->n < FEWEST)
        return FL_PARTING_UNKNOWN;
    const double n = (double)s->n, trace = hypot(s->trace[0], s->trace[1]),
                 picture = hypot(s->picture[0], s->picture[1]),
                 apart = hypot(s->trace[0] - s->picture[0], s->trace[1] - s->picture[1]);
    const double limit = fmax(least, apart_share * (fmax(trace, picture) / n));
    return apart / n < limit ? FL_TOGETHER : FL_APART;
}

void fl_parting_find(enum fl_parting *out, const double *time_s, size_t n,
                     const struct fl_parting_use *use, fl_motion_pair_at *at, const void *ctx)
{
    struct sums s = {0};
    struct fl_motion_pair pair;
    size_t from = 0, to = 0;
    for (size_t i = 0; i < n; i++) {
        for (; to < n && time_s[to] < time_s[i] + use->window_s / 2; to++)
            if (at(ctx, to, &pair))
                add(&s, &pair, 1);
        for (; time_s[from] < time_s[i] - use->window_s / 2; from++)
            if (at(ctx, from, &pair))
                add(&s, &pair, -1);
        out[i] = compare(&s, use->least);
    }
}
