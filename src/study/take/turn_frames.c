/* The mean of the strips' shifts (signal/middle.h), through the pinhole.
 *
 * A tear is where one strip shows an output frame more than the next; one that is crossed by it
 * fits nowhere: as much of it as moved goes with its neighbours. */
#include "study/take/turn_frames.h"

#include <math.h>

#include "base/mem.h"
#include "base/units.h"
#include "signal/middle.h"

/* Choices. */
static const struct {
    double fit;      /* correlation of strips that may tell the tilt: no tear crosses them */
    double least_px; /* native, of a frame that may tell the tilt */
    double
        error_px; /* of a strip's shift, working px: 0.05 on sharp pictures, more on coded ones */
    double straight; /* of the mean shift, by which strips may leave a straight line: a tear makes a
                        step of half of it or more */
} model = {.fit = 0.8, .least_px = 3, .error_px = 0.1, .straight = 0.1};
enum { N = FL_MIDDLE_STRIPS, LEAST_STRIPS = 2 };

/* What strips do. */
struct strips {
    double x[N], y[N]; /* of the content, native px */
    bool fits[N], sure[N];
    bool moves[N];   /* as a whole or in part */
    double moved[N]; /* share of it that moves, where it does not fit */
    int lost;        /* strips that fit nowhere, for no tear */
    int n, n_sure;   /* that fit or move; that are sure */
};

static struct strips strips_of(const struct fl_signals *s, size_t frame)
{
    const struct fl_middle *m = fl_middle_of(s, frame);
    const double scale = s->grid.factor;
    struct strips out = {.n = 0};
    for (int k = 0; k < N; k++) {
        out.x[k] = (double)m->strip[k].x * scale;
        out.y[k] = (double)m->strip[k].y * scale;
        out.fits[k] = m->strip[k].fit > 0;
        out.moved[k] = (double)m->strip[k].moved;
        out.moves[k] = out.moved[k] > 0;
        out.sure[k] = (double)m->strip[k].fit >= model.fit;
        out.n += out.fits[k] || out.moves[k];
        out.n_sure += out.sure[k];
        out.lost += !out.fits[k] && (out.moved[k] == 0 || out.moved[k] == 1);
    }
    return out;
}

/* The nearest strip above (step -1) or below that fits, and moves if it must; -1 if there is none.
 */
static int nearest(const struct strips *s, int from, int step, bool must_move)
{
    int k = from;
    while (k >= 0 && k < N && !(s->fits[k] && (s->moves[k] || !must_move)))
        k += step;
    return k < N ? k : -1;
}

/* What moves of a strip that a tear crosses goes with the nearest strip that moves. */
static double filled(const struct strips *s, const double *v, int k)
{
    if (s->fits[k])
        return v[k];
    const int above = nearest(s, k, -1, s->moves[k]), below = nearest(s, k, 1, s->moves[k]);
    const double whole = above < 0 && below < 0 ? v[k]
                         : above < 0            ? v[below]
                         : below < 0            ? v[above]
                                                : (v[above] + v[below]) / 2;
    return s->moves[k] ? s->moved[k] * whole : whole;
}

/* Where strips lie, over the focal length. */
struct places {
    double y[N], wide, high; /* wide, high: mean square of X and Y about a strip's middle */
};

static struct places places_of(const struct fl_grid *g, double focal_px)
{
    struct places out;
    for (int k = 0; k < N; k++) {
        const struct fl_strip_box box = fl_middle_box(g, k);
        const double wide = (box.x1 - box.x0) * g->factor / focal_px,
                     high = (box.y1 - box.y0) * g->factor / focal_px;
        out.y[k] = ((box.y0 + box.y1) / 2.0 * g->factor - g->native_height / 2.0) / focal_px;
        out.wide = wide * wide / 12;
        out.high = high * high / 12;
    }
    return out;
}

static void find_turn(struct fl_frame_turn *out, const struct strips *s, const struct places *p,
                      double focal_px)
{
    out->right = out->down = 0;
    for (int k = 0; k < N; k++) {
        out->right -= filled(s, s->x, k) / focal_px / (1 + p->wide) / N;
        out->down -= filled(s, s->y, k) / focal_px / (1 + p->y[k] * p->y[k] + p->high) / N;
    }
}

/* u = -f·a·cos t·(1 + X² - Y·tan t): strips that show the same output frames differ by tan t. */
static void find_lean(struct fl_frame_turn *out, const struct strips *s, const struct places *p,
                      double error_px)
{
    double mean = 0, at = 0, by = 0, spread = 0, off = 0;
    if (s->n_sure < N)
        return;
    for (int k = 0; k < N; k++) {
        mean += s->x[k] / N;
        at += p->y[k] / N;
    }
    for (int k = 0; k < N; k++) {
        by += s->x[k] * (p->y[k] - at);
        spread += (p->y[k] - at) * (p->y[k] - at);
    }
    for (int k = 0; k < N; k++)
        off = fmax(off, fabs(s->x[k] - mean - by / spread * (p->y[k] - at)));
    if (fabs(mean) < model.least_px || off > model.straight * fabs(mean))
        return;
    out->lean = -by / spread / mean * (1 + p->wide);
    out->lean_weight = mean * mean * spread / (error_px * error_px);
}

struct fl_frame_turn *fl_turn_frames(const struct fl_signals *s, double focal_px)
{
    struct fl_frame_turn *out = FL_NEW(struct fl_frame_turn, s->n + 1);
    const struct places p = places_of(&s->grid, focal_px);
    for (size_t i = 0; i < s->n; i++) {
        const struct strips strips = strips_of(s, i);
        out[i] = (struct fl_frame_turn){FL_UNKNOWN, FL_UNKNOWN, (double)strips.lost / N, 0, 0};
        if (strips.n < LEAST_STRIPS)
            continue;
        find_turn(&out[i], &strips, &p, focal_px);
        find_lean(&out[i], &strips, &p, model.error_px * s->grid.factor);
    }
    return out;
}
