/* Medians by deflection, made monotone by pooling neighbours that fall (isotonic regression: Ayer
 * and others 1955, Annals of Mathematical Statistics 26:641-647).
 *
 * Games turn faster the farther a stick is out, past a dead zone, by a curve of their own choice;
 * acceleration over time, assistance at targets and the frames' own rhythm scatter about it. */
#include "clock/stick_response.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "clock/dead_zone.h"
#include "maths/robust.h"

/* Choices. */
static const struct {
    double window_s; /* over which stick and picture are averaged: several frames */
    double covered;  /* share of it in frames whose shift is known */
    double steady;   /* deflection by which the stick may change over a window */
} model = {.window_s = 0.05, .covered = 0.9, .steady = 0.15};
enum { LEAST_WINDOWS = 4, LEAST_RATES = 3 };

/* Picture speeds seen in one step of deflection. */
struct step {
    double *speed;
    size_t n, cap;
    double deflections;
};

/* Mean velocity of the picture over the window about frame i; false where it is not known. */
static bool picture_speed(const struct fl_shift_series *p, size_t i, double *speed)
{
    double x = 0, y = 0, known_s = 0, from_s = p->time_s[i] - model.window_s / 2;
    size_t k = i;
    while (k > 1 && p->time_s[k - 1] > from_s)
        k--;
    for (; k < p->n && p->time_s[k] <= from_s + model.window_s; k++) {
        if (!isfinite(p->x[k]) || !isfinite(p->y[k]) || k == 0)
            continue;
        x += p->x[k];
        y += p->y[k];
        known_s += p->time_s[k] - p->time_s[k - 1];
    }
    *speed = hypot(x, y) / known_s;
    return known_s >= model.covered * model.window_s;
}

static void add_window(struct step *steps, const struct fl_clock *c,
                       const struct fl_shift_series *p, const struct fl_motion *m, size_t i)
{
    double speed, mean[2], first[2], last[2];
    const double at = fl_clock_trace_time(c, p->time_s[i]), half = model.window_s / 2;
    if (!picture_speed(p, i, &speed) || !fl_motion_covers(m, at) ||
        !fl_motion_stick_mean(m, at, model.window_s, mean) ||
        !fl_motion_stick_mean(m, at - half, 0.002, first) ||
        !fl_motion_stick_mean(m, at + half, 0.002, last) ||
        hypot(last[0] - first[0], last[1] - first[1]) > model.steady)
        return;
    const double deflection = fmin(hypot(mean[0], mean[1]), 1);
    const int k = (int)fmin(FL_TURN_RATES * deflection, FL_TURN_RATES - 1);
    FL_PUSH(steps[k].speed, steps[k].n, steps[k].cap, speed);
    steps[k].deflections += deflection;
}

/* Neighbours of which the later is slower become one of both. */
static void make_monotone(struct fl_turn_rate *r, size_t n)
{
    double mean[FL_TURN_RATES], weight[FL_TURN_RATES];
    size_t of[FL_TURN_RATES], blocks = 0;
    for (size_t k = 0; k < n; k++) {
        mean[blocks] = r[k].speed;
        weight[blocks] = (double)r[k].frames;
        of[blocks++] = 1;
        while (blocks > 1 && mean[blocks - 2] > mean[blocks - 1]) {
            const double sum = weight[blocks - 2] + weight[blocks - 1];
            mean[blocks - 2] =
                (mean[blocks - 2] * weight[blocks - 2] + mean[blocks - 1] * weight[blocks - 1]) /
                sum;
            weight[blocks - 2] = sum;
            of[blocks - 2] += of[blocks - 1];
            blocks--;
        }
    }
    for (size_t b = 0, k = 0; b < blocks; b++)
        for (size_t i = 0; i < of[b]; i++)
            r[k++].speed = mean[b];
}

void fl_turn_curve_find(struct fl_turn_curve *out, struct fl_turn_rate *rate,
                        const struct fl_clock *c, const struct fl_shift_series *p,
                        const struct fl_motion *m)
{
    struct step steps[FL_TURN_RATES] = {0};
    *out = (struct fl_turn_curve){rate, 0, fl_motion_stick_rest(m), FL_UNKNOWN};
    for (size_t i = 1; i < p->n; i++)
        add_window(steps, c, p, m, i);
    for (int k = 0; k < FL_TURN_RATES; k++) {
        const struct step *s = &steps[k];
        if (s->n >= LEAST_WINDOWS)
            rate[out->n++] = (struct fl_turn_rate){s->deflections / (double)s->n,
                                                   fl_median(s->speed, s->n),
                                                   fl_quantile(s->speed, s->n, 0.25),
                                                   fl_quantile(s->speed, s->n, 0.75),
                                                   FL_UNKNOWN,
                                                   (long)s->n};
        free(s->speed);
    }
    make_monotone(rate, out->n);
    if (out->n < LEAST_RATES || !(rate[out->n - 1].speed > 0))
        out->n = 0;
    else
        out->dead_zone = fl_dead_zone(out);
}

struct fl_stick_response fl_turn_curve_response(const struct fl_turn_curve *t)
{
    struct fl_stick_response r = {.n = 0};
    const double fastest = t->rate[t->n - 1].speed;
    const double still = fl_known(t->dead_zone) ? t->dead_zone : 0;
    r.deflection[r.n] = still;
    r.rate[r.n++] = 0;
    for (size_t k = 0; k < t->n; k++)
        if (t->rate[k].deflection > still + 1e-6) {
            r.deflection[r.n] = t->rate[k].deflection;
            r.rate[r.n++] = 1000 * t->rate[k].speed / fastest;
        }
    return r;
}
