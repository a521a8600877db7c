/* Motion summed from the start, so that the mean over any window is a difference of two. */
#include "study/take/motion_integral.h"

#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"

struct knot {
    double t, x, y, known;
}; /* cumulated up to t; known: seconds */

struct fl_motion_integral {
    size_t n;
    struct knot *knot;
};

struct fl_motion_integral *fl_motion_integral_new(const double *time_s, const double *x,
                                                  const double *y, size_t n)
{
    struct fl_motion_integral *p = FL_NEW(struct fl_motion_integral, 1);
    p->n = n;
    p->knot = FL_NEW(struct knot, n + 1);
    for (size_t i = 0; i < n; i++) {
        struct knot k = i ? p->knot[i - 1] : (struct knot){0};
        if (i && fl_known(x[i]) && (!y || fl_known(y[i]))) {
            k.x += x[i];
            k.y += y ? y[i] : 0;
            k.known += time_s[i] - time_s[i - 1];
        }
        k.t = time_s[i];
        p->knot[i] = k;
    }
    return p;
}

void fl_motion_integral_free(struct fl_motion_integral **p)
{
    if (!*p)
        return;
    free((*p)->knot);
    free(*p);
    *p = NULL;
}

/* First knot at or after t, by bisection; n when there is none. */
static size_t knot_after(const struct fl_motion_integral *p, double t)
{
    size_t lo = 0, hi = p->n;
    while (lo < hi) {
        size_t mid = lo + (hi - lo) / 2;
        if (p->knot[mid].t < t)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo;
}

static struct knot at(const struct fl_motion_integral *p, double t)
{
    size_t i = knot_after(p, t);
    if (i == 0)
        return p->n ? p->knot[0] : (struct knot){0};
    if (i == p->n)
        return p->knot[p->n - 1];
    const struct knot *a = &p->knot[i - 1], *b = &p->knot[i];
    double u = (t - a->t) / (b->t - a->t);
    return (struct knot){t, a->x + u * (b->x - a->x), a->y + u * (b->y - a->y),
                         a->known + u * (b->known - a->known)};
}

bool fl_motion_integral_rate(const struct fl_motion_integral *p, double t_s, double w_s, double *x,
                             double *y)
{
    struct knot a = at(p, t_s - w_s / 2), b = at(p, t_s + w_s / 2);
    double known = b.known - a.known;
    bool enough = known > 0 && known >= w_s / 2 * (1 - 1e-9);
    *x = enough ? (b.x - a.x) / known : FL_UNKNOWN;
    if (y)
        *y = enough ? (b.y - a.y) / known : FL_UNKNOWN;
    return enough;
}
