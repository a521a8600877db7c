/* The clock once states are known: a regression of the picture's speed on the hand's, in which
 * each state has its own lag. All cells of the grid take part; how much each says about the lag
 * is the hand's acceleration there. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "clock/clock.h"
#include "clock/pace.h"
#include "maths/robust.h"

/* Unknowns: lag, drift, lag of off against on, gain of each axis, gain of off against on. */
enum {
    LAG,
    DRIFT,
    EXTRA,
    GAIN_X,
    GAIN_Y,
    GAIN_OFF,
    UNKNOWNS,
    BLOCKS = 20,
    ROUNDS = 8,
    STRETCH = 64
};

static const double slope_step_s = 0.004; /* for the hand's acceleration */
static const double alike = 4; /* neighbouring cells share their errors: one in four is new */
static const double least_likeness = 0.6; /* correlation of picture and hand in a stretch */
static const double model_error_ms = 0.5; /* what simulated takes show beyond chance */
static const double moving_s = 3;         /* each state must move for this long */
static const double softness = 3;         /* squeezes only the fastest, so that shapes stay true */
static const double moving_share = 0.1;   /* of a middling flick's speed: counts as moving */
/* Wide expectations (s.d.) that hold an unknown of which the take says nothing. */
static const double expected[UNKNOWNS] = {0.05, 1e-4, 0.02, 0.5, 0.5, 0.2};

/* What is shown at one instant, on average: share in state off, mean hold. */
struct shown {
    double off, hold_s;
};

struct cell {
    double time_s, x, y;     /* squeezed speed of the picture */
    struct shown begin, end; /* at the ends of its window: a switch stretches or squeezes time */
};

struct equations {
    double a[UNKNOWNS][UNKNOWNS], b[UNKNOWNS];
};

struct fit {
    const struct fl_motion *motion;
    struct cell *cell;
    size_t n;
    double scale;    /* of the picture's squeezing */
    double report_s; /* half of it: counts run ahead of their reports */
    double gain[2];  /* picture per count, as the clock has it */
    struct fl_clock clock;
    double v[UNKNOWNS]; /* LAG and DRIFT go into the clock, and stay 0 here */
    double sigma;
};

/* ---- cells ---- */

/* About one grid step around t; false if much of it is unseen. */
static bool shown_at(struct shown *s, double t_s, const struct fl_clock_phase *p, size_t n,
                     size_t from)
{
    const double a = t_s - FL_PACE_STEP_S / 2, b = t_s + FL_PACE_STEP_S / 2;
    double seen = 0;
    *s = (struct shown){0, 0};
    for (size_t k = from; k < n && p[k].start_s < b; k++) {
        const double part = fmin(b, p[k].end_s) - fmax(a, p[k].start_s);
        if (part <= 0)
            continue;
        seen += part;
        s->off += p[k].off ? part : 0;
        s->hold_s += part * p[k].hold_s;
    }
    s->off /= seen;
    s->hold_s /= seen;
    return seen > 0.8 * FL_PACE_STEP_S;
}

/* *from: the first phase that may still matter. */
static bool ends_shown(struct cell *c, const struct fl_clock_phase *p, size_t n, size_t *from)
{
    const double half = FL_PACE_WINDOW_S / 2;
    while (*from < n && p[*from].end_s <= c->time_s - half - FL_PACE_STEP_S)
        (*from)++;
    return shown_at(&c->begin, c->time_s - half, p, n, *from) &&
           shown_at(&c->end, c->time_s + half, p, n, *from);
}

static void collect_cells(struct fit *f, const struct fl_shift_series *picture,
                          const struct fl_clock_phase *phases, size_t n)
{
    struct fl_pace t;
    size_t from = 0;
    fl_pace_of_picture(&t, picture, softness);
    f->scale = t.scale;
    f->cell = FL_NEW(struct cell, t.n);
    for (size_t k = 0; k < t.n; k++) {
        struct cell c = {
            t.start_s + (double)k * t.step_s, (double)t.x[k], (double)t.y[k], {0, 0}, {0, 0}};
        if (t.known[k] && ends_shown(&c, phases, n, &from))
            f->cell[f->n++] = c;
    }
    fl_pace_finish(&t);
}

/* ---- the model ---- */

/* Where the hand that is on screen at t was, in scaled picture units, and how fast. */
static void hand_at(const struct fit *f, double t_s, const struct shown *s, double at[2],
                    double speed[2])
{
    const double t =
        fl_clock_trace_time(&f->clock, t_s) - s->hold_s - f->report_s / 2 - s->off * f->v[EXTRA];
    double before[2], after[2];
    fl_motion_path(f->motion, t, &at[0], &at[1]);
    fl_motion_path(f->motion, t - slope_step_s, &before[0], &before[1]);
    fl_motion_path(f->motion, t + slope_step_s, &after[0], &after[1]);
    for (int axis = 0; axis < 2; axis++) {
        const double unit = f->gain[axis] * (1 + f->v[GAIN_X + axis]) / f->scale;
        at[axis] *= unit;
        speed[axis] = unit * (after[axis] - before[axis]) / (2 * slope_step_s);
    }
}

/* Residual and slopes of one cell on one axis. */
struct row {
    double residual, slope[UNKNOWNS];
};

/* Speed over the window and its slopes, not yet squeezed; residual holds the speed. */
static void plain_rows(const struct fit *f, const struct cell *c, struct row row[2])
{
    const double half = FL_PACE_WINDOW_S / 2, begin_s = c->time_s - half, end_s = c->time_s + half;
    const double off = (c->begin.off + c->end.off) / 2, gain = 1 + off * f->v[GAIN_OFF];
    double from[2], to[2], v0[2], v1[2];
    hand_at(f, begin_s, &c->begin, from, v0);
    hand_at(f, end_s, &c->end, to, v1);
    memset(row, 0, 2 * sizeof *row);
    for (int axis = 0; axis < 2; axis++) {
        const double speed = (to[axis] - from[axis]) / FL_PACE_WINDOW_S;
        const double unit = gain / FL_PACE_WINDOW_S;
        row[axis].residual = gain * speed;
        row[axis].slope[LAG] = unit * (v1[axis] - v0[axis]);
        row[axis].slope[DRIFT] = unit * (v1[axis] * end_s - v0[axis] * begin_s);
        row[axis].slope[EXTRA] = -unit * (v1[axis] * c->end.off - v0[axis] * c->begin.off);
        row[axis].slope[GAIN_X + axis] = gain * speed / (1 + f->v[GAIN_X + axis]);
        row[axis].slope[GAIN_OFF] = off * speed;
    }
}

/* With s = q·v and q = 1/√(1 + v²), ds = q·(dv - s·(s·dv)). */
static void cell_rows(const struct fit *f, const struct cell *c, struct row row[2])
{
    plain_rows(f, c, row);
    const double vx = row[0].residual, vy = row[1].residual;
    const double q = 1 / sqrt(1 + vx * vx + vy * vy), x = q * vx, y = q * vy;
    for (int i = 0; i < UNKNOWNS; i++) {
        const double dx = row[0].slope[i], dy = row[1].slope[i], along = x * dx + y * dy;
        row[0].slope[i] = q * (dx - x * along);
        row[1].slope[i] = q * (dy - y * along);
    }
    row[0].residual = c->x - x;
    row[1].residual = c->y - y;
}

/* Tukey's bisquare: pictures that follow no hand have no say. */
static double trust(double residual, double sigma)
{
    const double u = residual / (4.685 * sigma);
    return fabs(u) < 1 ? (1 - u * u) * (1 - u * u) : 0;
}

static void add_row(struct equations *e, const struct row *r, double weight)
{
    for (int i = 0; i < UNKNOWNS; i++) {
        e->b[i] += weight * r->slope[i] * r->residual;
        for (int j = 0; j < UNKNOWNS; j++)
            e->a[i][j] += weight * r->slope[i] * r->slope[j];
    }
}

/* Cut scenes, menus, vehicles: stretches of half a second in which the picture goes its own way
 * leave, before they can pull. */
static void drop_strangers(struct fit *f)
{
    size_t kept = 0;
    for (size_t first = 0; first < f->n; first += STRETCH) {
        const size_t end = first + STRETCH < f->n ? first + STRETCH : f->n;
        double cross = 0, own = 0, other = 0;
        for (size_t k = first; k < end; k++) {
            const struct cell *c = &f->cell[k];
            struct row row[2];
            cell_rows(f, c, row);
            const double x = c->x - row[0].residual, y = c->y - row[1].residual;
            cross += c->x * x + c->y * y;
            own += c->x * c->x + c->y * c->y;
            other += x * x + y * y;
        }
        if (cross > least_likeness * sqrt(own * other)) {
            memmove(f->cell + kept, f->cell + first, (end - first) * sizeof *f->cell);
            kept += end - first;
        }
    }
    f->n = kept;
}

/* Normal equations of each block of the take, and the spread of the moving cells' residuals. */
static void build(struct fit *f, struct equations *block)
{
    double *moving = FL_NEW(double, f->n);
    memset(block, 0, BLOCKS * sizeof *block);
    for (size_t k = 0; k < f->n; k++) {
        struct row row[2];
        cell_rows(f, &f->cell[k], row);
        const double residual = hypot(row[0].residual, row[1].residual);
        const bool moves = hypot(f->cell[k].x, f->cell[k].y) > moving_share / softness;
        moving[k] = moves ? residual : FL_UNKNOWN;
        const double w = f->sigma > 0 ? trust(residual, f->sigma) : 1;
        add_row(&block[k * BLOCKS / f->n], &row[0], w);
        add_row(&block[k * BLOCKS / f->n], &row[1], w);
    }
    const double median = fl_median(moving, f->n);
    f->sigma = fl_known(median) ? fmax(1.4826 * median, 1e-3) : 1e-3;
    free(moving);
}

/* Gaussian elimination with pivots, in place; the prior keeps the matrix regular. */
static void solve(struct equations *e, double x[UNKNOWNS])
{
    for (int i = 0; i < UNKNOWNS; i++) {
        int pivot = i;
        for (int r = i + 1; r < UNKNOWNS; r++)
            pivot = fabs(e->a[r][i]) > fabs(e->a[pivot][i]) ? r : pivot;
        for (int j = 0; j < UNKNOWNS; j++) {
            const double swap = e->a[i][j];
            e->a[i][j] = e->a[pivot][j];
            e->a[pivot][j] = swap;
        }
        const double swap = e->b[i];
        e->b[i] = e->b[pivot];
        e->b[pivot] = swap;
        for (int r = i + 1; r < UNKNOWNS; r++) {
            const double factor = e->a[r][i] / e->a[i][i];
            for (int j = i; j < UNKNOWNS; j++)
                e->a[r][j] -= factor * e->a[i][j];
            e->b[r] -= factor * e->b[i];
        }
    }
    for (int i = UNKNOWNS; i-- > 0;) {
        x[i] = e->b[i];
        for (int j = i + 1; j < UNKNOWNS; j++)
            x[i] -= e->a[i][j] * x[j];
        x[i] /= e->a[i][i];
    }
}

/* Step from all blocks but one (skip < 0: from all). */
static void step_without(const struct fit *f, const struct equations *block, int skip,
                         double step[UNKNOWNS])
{
    struct equations sum = {0};
    const double at[UNKNOWNS] = {
        0, 1e-6 * f->clock.drift_ppm, f->v[EXTRA], f->v[GAIN_X], f->v[GAIN_Y], f->v[GAIN_OFF]};
    for (int k = 0; k < BLOCKS; k++)
        for (int i = 0; i < UNKNOWNS && k != skip; i++) {
            sum.b[i] += block[k].b[i];
            for (int j = 0; j < UNKNOWNS; j++)
                sum.a[i][j] += block[k].a[i][j];
        }
    for (int i = 0; i < UNKNOWNS; i++) {
        const double strength = alike * f->sigma * f->sigma / (expected[i] * expected[i]);
        sum.a[i][i] += strength;
        sum.b[i] -= strength * at[i];
    }
    solve(&sum, step);
}

static void take_step(struct fit *f, const double step[UNKNOWNS])
{
    f->clock.offset_s += step[LAG];
    f->clock.drift_ppm += 1e6 * step[DRIFT];
    for (int i = EXTRA; i < UNKNOWNS; i++)
        f->v[i] += step[i];
}

/* ---- the result ---- */

static void moving_time(const struct fit *f, double *on_s, double *off_s)
{
    *on_s = *off_s = 0;
    for (size_t k = 0; k < f->n; k++) {
        if (hypot(f->cell[k].x, f->cell[k].y) <= moving_share / softness)
            continue;
        const double off = (f->cell[k].begin.off + f->cell[k].end.off) / 2;
        *off_s += off * FL_PACE_STEP_S;
        *on_s += (1 - off) * FL_PACE_STEP_S;
    }
}

/* Delete-one-block jackknife: neighbouring cells are alike, blocks are not. */
static double extra_error_s(const struct fit *f, const struct equations *block)
{
    double value[BLOCKS], step[UNKNOWNS], sum = 0;
    for (int k = 0; k < BLOCKS; k++) {
        step_without(f, block, k, step);
        value[k] = step[EXTRA];
    }
    const double mean = fl_mean(value, BLOCKS);
    for (int k = 0; k < BLOCKS; k++)
        sum += (value[k] - mean) * (value[k] - mean);
    return sqrt(sum * (BLOCKS - 1) / BLOCKS);
}

static void note_extra(struct fl_clock *c, const struct fit *f, const struct equations *block)
{
    double on_s, off_s;
    moving_time(f, &on_s, &off_s);
    if (on_s < moving_s || off_s < moving_s)
        return;
    /* 2.093: Student's t, 19 degrees of freedom, 95 % */
    const double half_ms = hypot(2.093e3 * extra_error_s(f, block), model_error_ms);
    c->off_minus_on_ms = 1e3 * f->v[EXTRA];
    c->off_minus_on_low_ms = c->off_minus_on_ms - half_ms;
    c->off_minus_on_high_ms = c->off_minus_on_ms + half_ms;
}

/* A take that never shows on has nothing to set its delay against. */
static void single_state(struct fit *f)
{
    double on_s, off_s;
    moving_time(f, &on_s, &off_s);
    for (size_t k = 0; k < f->n && on_s < 0.25; k++)
        f->cell[k].begin.off = f->cell[k].end.off = 0;
}

bool fl_clock_settle(struct fl_clock *c, const struct fl_shift_series *picture,
                     const struct fl_motion *motion, const struct fl_clock_phase *phases, size_t n)
{
    struct fit f = {.motion = motion, .clock = *c, .report_s = fl_motion_report_s(motion)};
    struct equations *block = FL_NEW(struct equations, BLOCKS);
    double step[UNKNOWNS];
    f.gain[0] = fl_known(c->gain_x) ? c->gain_x : 0;
    f.gain[1] = fl_known(c->gain_y) ? c->gain_y : 0;
    if (c->known) {
        collect_cells(&f, picture, phases, n);
        if (f.scale > 0)
            drop_strangers(&f);
    }
    const bool enough = f.n > 100 && f.scale > 0;
    if (enough) {
        single_state(&f);
        for (int round = 0; round < ROUNDS; round++) {
            build(&f, block);
            step_without(&f, block, -1, step);
            take_step(&f, step);
        }
    }
    const double at = f.n ? f.cell[f.n / 2].time_s : 0;
    const double moved = fl_clock_trace_time(&f.clock, at) - fl_clock_trace_time(c, at);
    const bool good = enough && fabs(moved) < 0.05;
    if (good) {
        c->offset_s = f.clock.offset_s;
        c->drift_ppm = f.clock.drift_ppm;
        note_extra(c, &f, block);
    }
    free(f.cell);
    free(block);
    return good;
}
