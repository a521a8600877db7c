/* Least squares in each stretch, and a weighted mean of the slopes.
 *
 * A long stretch counts by how long it lasts, as rates wander; a short one by less, as its slope is
 * a time between two flips, each with its own error. */
#include "state/rhythm.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"

/* Sum of squares, periods, at which the errors of a stretch's slope by its flips' times and by its
 * own wandering are about alike: a flip is found to some 3 % of a period, rates wander by some per
 * cent. A choice. */
static const double evenly_spread = 2;

void fl_stretch_flip(struct fl_stretches *s, double at, double time_s)
{
    if (!s->here) {
        s->first_at = at;
        s->first_s = time_s;
    }
    const double u = at - s->first_at, t = time_s - s->first_s;
    s->here++;
    s->at += u;
    s->time_s += t;
    s->at_at += u * u;
    s->at_time += u * t;
    s->last_at = u;
}

void fl_stretch_end(struct fl_stretches *s)
{
    const double n = (double)s->here;
    if (s->here >= 2) {
        const double spread = s->at_at - s->at * s->at / n;
        const double slope = (s->at_time - s->at * s->time_s / n) / spread;
        FL_PUSH(s->weight, s->n, s->cap_weight, s->last_at * spread / (spread + evenly_spread));
        s->n--;
        FL_PUSH(s->period_s, s->n, s->cap_period, slope);
        s->flips += s->here;
        s->lasts_s += slope * s->last_at;
    }
    s->here = 0;
    s->at = s->time_s = s->at_at = s->at_time = s->last_at = 0;
}

void fl_stretches_finish(struct fl_rhythm *out, struct fl_stretches *s)
{
    fl_stretch_end(s);
    double sum = 0, weight = 0, square = 0;
    for (size_t i = 0; i < s->n; i++) {
        sum += s->period_s[i] * s->weight[i];
        weight += s->weight[i];
    }
    const double mean = s->n ? sum / weight : FL_UNKNOWN;
    for (size_t i = 0; i < s->n; i++) {
        const double part = s->weight[i] / weight * (s->period_s[i] / mean - 1);
        square += part * part;
    }
    const double n = (double)s->n;
    *out = (struct fl_rhythm){mean, s->n > 1 ? sqrt(square * n / (n - 1)) : FL_UNKNOWN, s->flips,
                              s->lasts_s};
    free(s->period_s);
    free(s->weight);
    *s = (struct fl_stretches){0};
}
