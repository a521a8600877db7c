/* The clock once states are known: a regression of the picture's speed on the hand's, in which
 * each state has its own lag. All cells of the grid take part; how much each says about the lag
 * is the hand's acceleration there. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "clock/clock.h"
#include "clock/track.h"
#include "maths/robust.h"

/* Unknowns: lag, drift, lag of off against on, gain of each axis, gain of off against on. */
enum { LAG, DRIFT, EXTRA, GAIN_X, GAIN_Y, GAIN_OFF, UNKNOWNS, BLOCKS = 20, ROUNDS = 8 };

static const double slope_step_s = 0.004; /* for the hand's acceleration */
static const double moving_s = 3;         /* each state must move for this long */
static const double moving_share = 0.2;   /* of the squeezed scale: counts as moving */
/* Wide expectations (s.d.) that hold an unknown of which the take says nothing. */
static const double expected[UNKNOWNS] = {0.05, 1e-4, 0.02, 0.5, 0.5, 0.2};

struct cell {
    double time_s, x, y; /* squeezed speed of the picture */
    double off, hold_s;  /* share of the window in state off; mean hold */
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

/* Share of each state in the window about t, and the mean hold; false if much of it is unseen. */
static bool state_about(struct cell *c, const struct fl_clock_phase *p, size_t n, size_t *from)
{
    const double a = c->time_s - FL_TRACK_WINDOW_S / 2, b = c->time_s + FL_TRACK_WINDOW_S / 2;
    double seen = 0, off = 0, hold = 0;
    while (*from < n && p[*from].end_s <= a)
        (*from)++;
    for (size_t k = *from; k < n && p[k].start_s < b; k++) {
        const double part = fmin(b, p[k].end_s) - fmax(a, p[k].start_s);
        if (part <= 0)
            continue;
        seen += part;
        off += p[k].off ? part : 0;
        hold += part * p[k].hold_s;
    }
    if (seen < 0.8 * FL_TRACK_WINDOW_S)
        return false;
    c->off = off / seen;
    c->hold_s = hold / seen;
    return true;
}

static void collect_cells(struct fit *f, const struct fl_shift_series *picture,
                          const struct fl_clock_phase *phases, size_t n)
{
    struct fl_track t;
    size_t from = 0;
    fl_track_of_picture(&t, picture);
    f->scale = t.scale;
    f->cell = FL_NEW(struct cell, t.n);
    for (size_t k = 0; k < t.n; k++) {
        struct cell c = {t.start_s + (double)k * t.step_s, (double)t.x[k], (double)t.y[k], 0, 0};
        if (t.known[k] && state_about(&c, phases, n, &from))
            f->cell[f->n++] = c;
    }
    fl_track_finish(&t);
}

/* ---- the model ---- */

/* Squeezed speed that the hand gives the picture at trace time t, before the fitted gains. */
static void hand_speed(const struct fit *f, double t_s, double speed[2])
{
    fl_motion_rate(f->motion, t_s, FL_TRACK_WINDOW_S, &speed[0], &speed[1]);
    speed[0] *= f->gain[0] / f->scale;
    speed[1] *= f->gain[1] / f->scale;
    const double squeeze = 1 / sqrt(1 + speed[0] * speed[0] + speed[1] * speed[1]);
    speed[0] *= squeeze;
    speed[1] *= squeeze;
}

/* Residual and slopes of one cell on one axis. */
struct row {
    double residual, slope[UNKNOWNS];
};

static void cell_rows(const struct fit *f, const struct cell *c, struct row row[2])
{
    double before[2], here[2], after[2];
    const double t = fl_clock_trace_time(&f->clock, c->time_s) - c->hold_s - f->report_s / 2 -
                     c->off * f->v[EXTRA];
    hand_speed(f, t - slope_step_s, before);
    hand_speed(f, t, here);
    hand_speed(f, t + slope_step_s, after);
    for (int axis = 0; axis < 2; axis++) {
        const double gain = (1 + f->v[GAIN_X + axis]) * (1 + c->off * f->v[GAIN_OFF]);
        const double slope = gain * (after[axis] - before[axis]) / (2 * slope_step_s);
        memset(&row[axis], 0, sizeof row[axis]);
        row[axis].residual = (axis ? c->y : c->x) - gain * here[axis];
        row[axis].slope[LAG] = slope;
        row[axis].slope[DRIFT] = slope * c->time_s;
        row[axis].slope[EXTRA] = -slope * c->off;
        row[axis].slope[GAIN_X + axis] = here[axis] * (1 + c->off * f->v[GAIN_OFF]);
        row[axis].slope[GAIN_OFF] = here[axis] * (1 + f->v[GAIN_X + axis]) * c->off;
    }
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

/* Normal equations of each block of the take, and the spread of the moving cells' residuals. */
static void build(struct fit *f, struct equations *block)
{
    double *moving = FL_NEW(double, f->n);
    memset(block, 0, BLOCKS * sizeof *block);
    for (size_t k = 0; k < f->n; k++) {
        struct row row[2];
        cell_rows(f, &f->cell[k], row);
        const double residual = hypot(row[0].residual, row[1].residual);
        const bool moves = hypot(f->cell[k].x, f->cell[k].y) > moving_share;
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
        const double strength = f->sigma * f->sigma / (expected[i] * expected[i]);
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
        if (hypot(f->cell[k].x, f->cell[k].y) <= moving_share)
            continue;
        *off_s += f->cell[k].off * FL_TRACK_STEP_S;
        *on_s += (1 - f->cell[k].off) * FL_TRACK_STEP_S;
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
    const double half_ms = 1e3 * 2.093 * extra_error_s(f, block); /* Student's t, 19 d.f., 95 % */
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
        f->cell[k].off = 0;
}

bool fl_clock_settle(struct fl_clock *c, const struct fl_shift_series *picture,
                     const struct fl_motion *motion, const struct fl_clock_phase *phases, size_t n)
{
    struct fit f = {.motion = motion, .clock = *c, .report_s = fl_motion_report_s(motion)};
    struct equations *block = FL_NEW(struct equations, BLOCKS);
    double step[UNKNOWNS];
    f.gain[0] = fl_known(c->gain_x) ? c->gain_x : 0;
    f.gain[1] = fl_known(c->gain_y) ? c->gain_y : 0;
    if (c->known)
        collect_cells(&f, picture, phases, n);
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
