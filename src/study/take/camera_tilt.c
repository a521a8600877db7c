/* Maximum of the posterior on a grid of degrees, errors of Student's t; a parabola through it. */
#include "study/take/camera_tilt.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"

#define RADIANS (FL_PI / 180)
/* Choices. */
static const struct {
    double usual_deg;   /* players look about the horizon: standard deviation */
    double wanders_deg; /* of one stretch's beginning from the take's */
    double stretch_s;
    double error;    /* of a frame's lean beyond what its strips are told to: near things */
    double tails;    /* degrees of freedom of Student's t */
    double alike;    /* neighbouring frames share their errors: one in so many is new */
    double strange;  /* share by which camera and mouse differ where it is carried or zoomed;
                        cos t of the tilt looked for is part of it */
    double most_rad; /* past it players seldom look, and 1 / cos grows without end */
} model = {.usual_deg = 15,
           .wanders_deg = 3,
           .stretch_s = 8,
           .error = 0.05,
           .tails = 2,
           .alike = 4,
           .strange = 0.4,
           .most_rad = 1.4};
enum { MOST_DEG = 80, GRID = 2 * MOST_DEG + 1, REACH = 3 };

/* Frames of one stretch, and what is expected of its beginning. */
struct stretch {
    const struct fl_turning *m;
    const bool *asked; /* a frame */
    size_t from, to;
    double down_per_count, expected_deg, spread_deg;
};

static double cost_at(const struct stretch *s, double begins_deg)
{
    const double off = (begins_deg - s->expected_deg) / s->spread_deg;
    double sum = off * off / 2;
    for (size_t i = s->from; i < s->to; i++) {
        const struct fl_frame_turn *t = &s->m->turn[i];
        if (!s->asked[i] || !fl_known(s->m->down[i]))
            continue;
        const double tilt = fl_clamp(begins_deg * RADIANS + s->m->down[i] * s->down_per_count,
                                     -model.most_rad, model.most_rad);
        const double e = t->lean - tan(tilt);
        const double u = e * e / (1 / t->lean_weight + model.error * model.error);
        sum += (model.tails + 1) / 2 * log1p(u / model.tails) / model.alike;
    }
    return sum;
}

/* Where the tilt was when no count was made, degrees. */
static double begins(const struct stretch *s, double *error_deg)
{
    double cost[GRID];
    int best = 1;
    for (int k = 0; k < GRID; k++)
        cost[k] = cost_at(s, k - MOST_DEG);
    for (int k = 1; k < GRID - 1; k++)
        best = cost[k] < cost[best] ? k : best;
    const double bend = cost[best - 1] - 2 * cost[best] + cost[best + 1];
    *error_deg = bend > 0 ? fmin(1 / sqrt(bend), s->spread_deg) : s->spread_deg;
    const double part = bend > 0 ? (cost[best - 1] - cost[best + 1]) / (2 * bend) : 0;
    return best - MOST_DEG + fl_clamp(part, -1, 1);
}

/* The camera turns about as the mouse says, over the frames around. */
static bool follows(const struct fl_turning *m, size_t i, double right_per_count)
{
    const size_t from = i > REACH ? i - REACH : 1, to = i + REACH < m->n ? i + REACH : m->n - 1;
    double turn = 0, counts = m->across[to] - m->across[from - 1];
    for (size_t k = from; k <= to; k++)
        turn += fl_known(m->turn[k].right) ? m->turn[k].right : 0;
    const double expected = counts * right_per_count;
    return fabs(turn - expected) <= model.strange * fabs(expected);
}

static bool *frames_to_ask(const struct fl_turning *m, double right_per_count)
{
    bool *asked = FL_NEW(bool, m->n + 1);
    for (size_t i = 1; i < m->n; i++)
        asked[i] =
            m->turn[i].lean_weight > 0 && (right_per_count == 0 || follows(m, i, right_per_count));
    return asked;
}

double fl_camera_tilt(double *tilt, const struct fl_turning *m, double down_per_count,
                      double right_per_count)
{
    double error_deg, unused;
    bool *asked = frames_to_ask(m, right_per_count);
    const struct stretch all = {m, asked, 0, m->n, down_per_count, 0, model.usual_deg};
    const double begins_deg = begins(&all, &error_deg);
    for (size_t from = 0, to = 0; from < m->n; from = to) {
        while (to < m->n && m->time_s[to] < m->time_s[from] + model.stretch_s)
            to++;
        const struct stretch own = {
            m, asked, from, to, down_per_count, begins_deg, model.wanders_deg};
        const double here_deg = begins(&own, &unused);
        for (size_t i = from; i < to; i++)
            tilt[i] = here_deg * RADIANS + m->down[i] * down_per_count;
    }
    free(asked);
    return error_deg * RADIANS;
}
