/* Frames in a row over which the counts go one way, and not slowly. */
#include "study/take/strokes.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"

/* Choices. */
static const struct {
    double slow;     /* of a stroke's fastest frame: slower, it has ended */
    double known;    /* share of a stroke's way in frames whose turn is known */
    double least;    /* rad, that a stroke turns: 1.5 degrees, some 13 px of 960 at 90 degrees */
    double steepest; /* other axis' way to this one's: what is seen across a fast turn is the turn's
                        own error */
    double most_tilt; /* rad: past 75 degrees a turn about the upright hardly moves the middle */
} model = {.slow = 0.05, .known = 0.9, .least = 0.026, .steepest = 2, .most_tilt = 1.3};
enum {
    REACH = 1,
    LEAST_FRAMES = 3,
    MARGIN = 3
}; /* REACH: frames that a pace is taken over, on both sides */

struct axis {
    const struct fl_turning *m;
    const double *tilt, *counts, *other;
    bool right;
};

/* Counts a frame about frame i; NaN at the ends and where they are not known. */
static double pace(const struct axis *a, size_t i)
{
    if (i < REACH + 1 || i + REACH >= a->m->n)
        return FL_UNKNOWN;
    return (a->counts[i + REACH] - a->counts[i - REACH - 1]) / (2 * REACH + 1);
}

static double turn_at(const struct axis *a, size_t i)
{
    const struct fl_frame_turn *t = &a->m->turn[i];
    if (!a->right)
        return t->down;
    return fabs(a->tilt[i]) < model.most_tilt ? t->right / cos(a->tilt[i]) : FL_UNKNOWN;
}

/* Frames [from, to). */
static void add_stroke(struct fl_strokes *out, const struct axis *a, size_t from, size_t to)
{
    struct fl_stroke s = {0};
    double way = 0, other = 0, path_speed = 0;
    for (size_t i = from; i < to; i++) {
        const double step = a->counts[i] - a->counts[i - 1], turn = turn_at(a, i),
                     took_s = a->m->time_s[i] - a->m->time_s[i - 1];
        way += fabs(step);
        other += fabs(a->other[i] - a->other[i - 1]);
        path_speed += step * step / took_s;
        s.doubt += fabs(step) * a->m->turn[i].doubt;
        if (!fl_known(turn))
            continue;
        s.counts += step;
        s.turn_rad += turn;
    }
    s.speed = path_speed / way;
    s.doubt /= way;
    if (fabs(s.counts) >= model.known * way && fabs(s.turn_rad) >= model.least &&
        other <= model.steepest * way)
        FL_PUSH(out->v, out->n, out->cap, s);
}

/* Frames beside a stroke in which the hand is slow: with them it begins and ends slowly however
 * suddenly it starts, wherever the picture is behind. */
static size_t slow_beside(const struct axis *a, size_t from, int step, double slow)
{
    size_t n = 0;
    for (long i = (long)from; n < MARGIN && i > 0 && i < (long)a->m->n; i += step, n++)
        if (!(fabs(pace(a, (size_t)i)) < slow))
            break;
    return n;
}

/* Parts of a run that are slower than its fastest frame by far belong to no stroke. */
static void cut_run(struct fl_strokes *out, const struct axis *a, size_t from, size_t to,
                    double slow_counts)
{
    double most = 0;
    for (size_t i = from; i < to; i++)
        most = fmax(most, fabs(pace(a, i)));
    const double slow = fmax(slow_counts, model.slow * most);
    size_t begin = from;
    for (size_t i = from; i <= to; i++)
        if (i == to || fabs(pace(a, i)) < slow) {
            if (i >= begin + LEAST_FRAMES)
                add_stroke(out, a, begin - slow_beside(a, begin - 1, -1, slow),
                           i + slow_beside(a, i, 1, slow));
            begin = i + 1;
        }
}

void fl_strokes_find(struct fl_strokes *out, const struct fl_turning *m, const double *tilt_rad,
                     bool right, double slow_counts)
{
    const struct axis a = {m, tilt_rad, right ? m->across : m->down, right ? m->down : m->across,
                           right};
    size_t from = 0;
    int way = 0;
    *out = (struct fl_strokes){0};
    for (size_t i = 0; i <= m->n; i++) {
        const double v = i < m->n ? pace(&a, i) : FL_UNKNOWN;
        const int now = v > 0 ? 1 : v < 0 ? -1 : 0;
        if (now == way)
            continue;
        if (way)
            cut_run(out, &a, from, i, slow_counts);
        from = i;
        way = now;
    }
}
