/* Turn, roll and zoom fitted to the blocks' shifts; what they leave is parallax.
 *
 * A camera that turns moves every point of its picture by its place alone; one that is carried
 * moves near things further than far ones (Longuet-Higgins and Prazdny 1980, Proc R Soc B
 * 208:385-397). With x, y in focal lengths from the middle, a turn of a, b shifts a point by
 *
 *     a (1 + x²) + b x y,   a x y + b (1 + y²)
 *
 * a roll of r by -r y, r x and a zoom of z by z x, z y. Points are taken half way along their own
 * shift, which makes that exact to second order. Robust least squares: things that move by
 * themselves count for less, the more they differ (Tukey's biweight). */
#include "signal/view_motion.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "maths/robust.h"
#include "signal/block_shift.h"

enum { TURN_X, TURN_Y, ROLL, ZOOM, TERMS, ROUNDS = 6, FEWEST = 10 };
/* Choices. */
static const struct {
    float sure;      /* of 255: mean over a window from which a block tells */
    double fine_px;  /* working px a frame: what matching leaves of a part that goes along ... */
    double off_px;   /* ... and at most, where it is poor */
    double off_part; /* and this part of the block's own shift */
    double cut;      /* Tukey's, of the median residual */
} model = {.sure = 40, .fine_px = 0.05, .off_px = 0.25, .off_part = 0.15, .cut = 7};

/* What a turn leaves of itself. Turns of real engines have 0.8 and more of both, rides past things
 * nearby have 0.3 to 0.7 along, rides along a wall a bend of 0 to 0.3; a field of view that is a
 * half more than was said leaves a bend of 0.4. Choices. */
static const struct {
    double along, bend;
    double known; /* share of the motion in which the bend must be known */
} turn = {.along = 0.7, .bend = 0.4, .known = 0.5};

struct point {
    double x, y;           /* in focal lengths */
    double u, v;           /* its shift a frame, the same */
    double wu, wv;         /* weights */
    double left_u, left_v; /* by the fit */
    double trust;          /* 0..1, by what is left */
    int block;
};

/* Sums of products: of a shift that is the same all over (c), of what a turn adds to it outside the
 * middle (q), and of what was measured, less roll and zoom (d). */
struct bend {
    double n, cc, cq, qq, dc, dq, dd;
};

/* What one frame's fit makes of its blocks; in focal lengths. */
struct frame_fit {
    bool known;
    double f[TERMS];
    struct bend bend;
    struct {
        double u, v, speed, w; /* left by the fit; the block's own; weight, 0: does not tell */
    } left[FL_BLOCKS];
};

/* Share of a block that is scene. */
static double scene_share(const struct fl_signals *s, const struct fl_rows *r, int block)
{
    const struct fl_grid *g = &s->grid;
    int column = block % FL_BLOCKS_ACROSS * g->tiles / FL_BLOCKS_ACROSS,
        first = block / FL_BLOCKS_ACROSS * g->bands / FL_BLOCKS_DOWN,
        last = (block / FL_BLOCKS_ACROSS + 1) * g->bands / FL_BLOCKS_DOWN;
    double sum = 0;
    for (int b = first; b < last; b++)
        sum += r->tile_weight[b * g->tiles + column];
    return last > first ? sum / (last - first) : 0;
}

static size_t gather(struct point *p, const struct fl_block_shifts *b, const struct fl_grid *g,
                     const double *share, double focal_px)
{
    size_t n = 0;
    const double scale = 1 / (FL_BLOCK_PARTS * focal_px);
    for (int k = 0; k < FL_BLOCKS; k++) {
        const struct fl_block *q = &b->block[k];
        double x, y;
        if (share[k] < 0.5 || (q->sure_x < model.sure && q->sure_y < model.sure))
            continue;
        fl_block_middle(g, k, &x, &y);
        struct point *o = &p[n++];
        *o = (struct point){.u = q->x * scale, .v = q->y * scale, .block = k};
        o->x = (x - g->width / 2.0) / focal_px - o->u * b->back / 2;
        o->y = (y - g->height / 2.0) / focal_px - o->v * b->back / 2;
        o->wu = q->sure_x >= model.sure ? q->sure_x : 0;
        o->wv = q->sure_y >= model.sure ? q->sure_y : 0;
    }
    return n;
}

static void terms(const struct point *p, double u[TERMS], double v[TERMS])
{
    const double x = p->x, y = p->y;
    const double across[TERMS] = {1 + x * x, x * y, -y, x}, down[TERMS] = {x * y, 1 + y * y, x, y};
    memcpy(u, across, sizeof across);
    memcpy(v, down, sizeof down);
}

static void add_equation(double a[TERMS][TERMS + 1], const double *t, double value, double w)
{
    for (int i = 0; i < TERMS; i++) {
        for (int j = 0; j < TERMS; j++)
            a[i][j] += w * t[i] * t[j];
        a[i][TERMS] += w * t[i] * value;
    }
}

/* Gauss-Jordan with the largest pivot; false where the equations do not tell. */
static bool solve(double a[TERMS][TERMS + 1], double out[TERMS])
{
    for (int i = 0; i < TERMS; i++) {
        int best = i;
        for (int r = i + 1; r < TERMS; r++)
            best = fabs(a[r][i]) > fabs(a[best][i]) ? r : best;
        if (!(fabs(a[best][i]) > 1e-12))
            return false;
        for (int c = 0; c <= TERMS; c++) {
            double swap = a[i][c];
            a[i][c] = a[best][c];
            a[best][c] = swap;
        }
        for (int r = 0; r < TERMS; r++) {
            double k = r == i ? 0 : a[r][i] / a[i][i];
            for (int c = i; c <= TERMS; c++)
                a[r][c] -= k * a[i][c];
        }
    }
    for (int i = 0; i < TERMS; i++)
        out[i] = a[i][TERMS] / a[i][i];
    return true;
}

static double leave(struct point *p, const double f[TERMS])
{
    double tu[TERMS], tv[TERMS], u = p->u, v = p->v;
    terms(p, tu, tv);
    for (int i = 0; i < TERMS; i++) {
        u -= f[i] * tu[i];
        v -= f[i] * tv[i];
    }
    p->left_u = p->wu > 0 ? u : 0;
    p->left_v = p->wv > 0 ? v : 0;
    return hypot(p->left_u, p->left_v);
}

static double biweight(double x)
{
    return x < 1 ? (1 - x * x) * (1 - x * x) : 0;
}

static bool fit(struct point *p, size_t n, double floor, double f[TERMS])
{
    double left[FL_BLOCKS], scale = INFINITY;
    for (int round = 0; round < ROUNDS; round++) {
        double a[TERMS][TERMS + 1] = {{0}}, tu[TERMS], tv[TERMS];
        for (size_t i = 0; i < n; i++) {
            p[i].trust = biweight(hypot(p[i].left_u, p[i].left_v) / scale);
            terms(&p[i], tu, tv);
            add_equation(a, tu, p[i].u, p[i].trust * p[i].wu);
            add_equation(a, tv, p[i].v, p[i].trust * p[i].wv);
        }
        if (!solve(a, f))
            return false;
        for (size_t i = 0; i < n; i++)
            left[i] = leave(&p[i], f);
        scale = model.cut * fmax(fl_median(left, n), floor);
    }
    return true;
}

static void add_product(struct bend *b, double w, double c, double q, double d)
{
    b->n += w > 0;
    b->cc += w * c * c;
    b->cq += w * c * q;
    b->qq += w * q * q;
    b->dc += w * d * c;
    b->dq += w * d * q;
    b->dd += w * d * d;
}

static struct bend bend_of(const struct point *p, size_t n, const double f[TERMS])
{
    struct bend b = {0};
    double a = f[TURN_X], e = f[TURN_Y];
    for (size_t i = 0; i < n; i++) {
        double x = p[i].x, y = p[i].y;
        add_product(&b, p[i].trust * p[i].wu / 255, a, a * x * x + e * x * y,
                    p[i].u + f[ROLL] * y - f[ZOOM] * x);
        add_product(&b, p[i].trust * p[i].wv / 255, e, a * x * y + e * y * y,
                    p[i].v - f[ROLL] * x - f[ZOOM] * y);
    }
    return b;
}

static void add_bend(struct bend *t, const struct bend *b, int sign)
{
    t->n += sign * b->n;
    t->cc += sign * b->cc;
    t->cq += sign * b->cq;
    t->qq += sign * b->qq;
    t->dc += sign * b->dc;
    t->dq += sign * b->dq;
    t->dd += sign * b->dd;
}

/* d = α c + β q by least squares: β/α, if its standard error is small. Frames that overlap are not
 * independent of each other. */
static double solve_bend(const struct bend *b)
{
    const double overlap = 4, known_to = 0.2;
    double det = b->cc * b->qq - b->cq * b->cq;
    if (!(det > 1e-9 * b->cc * b->qq))
        return NAN;
    double alpha = (b->dc * b->qq - b->dq * b->cq) / det,
           beta = (b->dq * b->cc - b->dc * b->cq) / det;
    double left = fmax(0, b->dd - alpha * b->dc - beta * b->dq);
    double error = sqrt(left / (b->n / overlap) * b->cc / det) / fabs(alpha);
    return error < known_to ? beta / alpha : NAN;
}

static void fit_frame(struct frame_fit *out, const struct fl_block_shifts *b,
                      const struct fl_grid *g, const double *share, double focal_px)
{
    struct point p[FL_BLOCKS];
    size_t n = b->back ? gather(p, b, g, share, focal_px) : 0;
    *out = (struct frame_fit){.known = false};
    out->known = n >= FEWEST && fit(p, n, model.fine_px / focal_px, out->f);
    if (out->known)
        out->bend = bend_of(p, n, out->f);
    for (size_t i = 0; out->known && i < n; i++) {
        out->left[p[i].block].u = p[i].left_u;
        out->left[p[i].block].v = p[i].left_v;
        out->left[p[i].block].speed = hypot(p[i].u, p[i].v);
        out->left[p[i].block].w = p[i].wu + p[i].wv;
    }
}

/* Sums over the window, weighted but for f. */
struct sums {
    int frames;
    struct bend bend;
    double f[TERMS], u[FL_BLOCKS], v[FL_BLOCKS], speed[FL_BLOCKS], w[FL_BLOCKS];
};

static void add(struct sums *t, const struct frame_fit *f, int sign)
{
    if (!f->known)
        return;
    t->frames += sign;
    add_bend(&t->bend, &f->bend, sign);
    for (int i = 0; i < TERMS; i++)
        t->f[i] += sign * f->f[i];
    for (int k = 0; k < FL_BLOCKS; k++) {
        double w = sign * f->left[k].w;
        t->w[k] += w;
        t->u[k] += w * f->left[k].u;
        t->v[k] += w * f->left[k].v;
        t->speed[k] += w * f->left[k].speed;
    }
}

static struct fl_view_motion motion_of(const struct sums *t, double focal_px)
{
    double all = 0, along = 0, speed = 0, n = t->frames, floor = model.off_px / focal_px;
    if (n < 1)
        return (struct fl_view_motion){NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    for (int k = 0; k < FL_BLOCKS; k++) {
        if (!(t->w[k] > n))
            continue;
        bool goes = hypot(t->u[k], t->v[k]) <= floor * t->w[k] + model.off_part * t->speed[k];
        all += t->w[k];
        along += goes ? t->w[k] : 0;
        speed += t->speed[k];
    }
    return (struct fl_view_motion){(float)(t->f[TURN_X] / n * focal_px),
                                   (float)(t->f[TURN_Y] / n * focal_px),
                                   (float)(t->f[ROLL] / n),
                                   (float)(t->f[ZOOM] / n),
                                   (float)(speed / all * focal_px),
                                   (float)(along / all),
                                   (float)solve_bend(&t->bend)};
}

/* Most frames that lie within half_s before and after any one. */
static size_t widest_window(const double *time_s, size_t n, double half_s)
{
    size_t from = 0, to = 0, most = 0;
    for (size_t i = 0; i < n; i++) {
        while (to < n && time_s[to] <= time_s[i] + half_s)
            to++;
        while (time_s[from] < time_s[i] - half_s)
            from++;
        most = to - from > most ? to - from : most;
    }
    return most;
}

/* A frame's fit is far larger than all else that is kept of it: those of a window are held. */
void fl_view_motion_find(struct fl_view_motion *out, const struct fl_signals *s,
                         const struct fl_rows *r, const double *time_s, double half_s,
                         double focal_px)
{
    double share[FL_BLOCKS];
    /* frames come in before others go */
    const size_t held = 2 * widest_window(time_s, s->n, half_s) + 1;
    struct frame_fit *fits = FL_NEW(struct frame_fit, held);
    struct sums t = {.frames = 0};
    size_t from = 0, to = 0;
    for (int k = 0; k < FL_BLOCKS; k++)
        share[k] = scene_share(s, r, k);
    for (size_t i = 0; i < s->n; i++) {
        for (; to < s->n && time_s[to] <= time_s[i] + half_s; to++) {
            assert(to - from < held);
            fit_frame(&fits[to % held], fl_block_shifts(s, to), &s->grid, share, focal_px);
            add(&t, &fits[to % held], 1);
        }
        for (; time_s[from] < time_s[i] - half_s; from++)
            add(&t, &fits[from % held], -1);
        out[i] = motion_of(&t, focal_px);
    }
    free(fits);
}

void fl_view_sums_add(struct fl_view_sums *s, const struct fl_view_motion *m, int sign)
{
    if (isnan(m->along))
        return;
    const double w = sign * (double)m->speed;
    s->frames += sign;
    s->moved += w;
    s->along += w * m->along;
    s->bent += isnan(m->bend) ? 0 : w;
    s->bend += isnan(m->bend) ? 0 : w * m->bend;
}

bool fl_view_turns(const struct fl_view_sums *s)
{
    bool bend_known = s->bent > turn.known * s->moved;
    return s->moved > 0 && s->along >= turn.along * s->moved &&
           !(bend_known && s->bend < turn.bend * s->bent);
}
