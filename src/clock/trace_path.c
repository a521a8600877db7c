/* A table with lines between its points: the fits look the path up millions of times. */
#include "clock/trace_path.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"

/* On each side of a slope, s: FL_SPEED_STEP_S in all, about a frame. */
static const double slope_half_s = 0.004;

void fl_trace_path_init(struct fl_trace_path *p, const struct fl_motion *motion, double from_s,
                        double to_s)
{
    p->start_s = from_s;
    p->n = to_s > from_s ? (size_t)ceil((to_s - from_s) / FL_TRACE_PATH_STEP_S) + 2 : 2;
    p->at = FL_NEW(double, 2 * p->n);
    for (size_t k = 0; k < p->n; k++)
        fl_motion_path(motion, from_s + (double)k * FL_TRACE_PATH_STEP_S, &p->at[2 * k],
                       &p->at[2 * k + 1]);
}

void fl_trace_path_finish(struct fl_trace_path *p)
{
    free(p->at);
    memset(p, 0, sizeof *p);
}

void fl_trace_path_at(const struct fl_trace_path *p, double t_s, double at[2])
{
    const double u = fl_clamp((t_s - p->start_s) / FL_TRACE_PATH_STEP_S, 0, (double)p->n - 1.001);
    const size_t k = (size_t)u;
    assert(k + 1 < p->n);
    const double part = u - (double)k, *v = p->at + 2 * k;
    at[0] = v[0] + part * (v[2] - v[0]);
    at[1] = v[1] + part * (v[3] - v[1]);
}

void fl_trace_path_speed(const struct fl_trace_path *p, double t_s, double speed[2])
{
    double before[2], after[2];
    fl_trace_path_at(p, t_s - slope_half_s, before);
    fl_trace_path_at(p, t_s + slope_half_s, after);
    speed[0] = (after[0] - before[0]) / (2 * slope_half_s);
    speed[1] = (after[1] - before[1]) / (2 * slope_half_s);
}
