/* Axes: round values, their text, their lines. */
#include <math.h>
#include <stdio.h>

#include "show/draw/surface.h"
#include "base/figure.h"
#include "show/text/grouped_number.h"

double fl_axis_at(const struct fl_axis *a, double v)
{
    double share = a->log ? log(v / a->v0) / log(a->v1 / a->v0) : (v - a->v0) / (a->v1 - a->v0);
    return a->p0 + share * (a->p1 - a->p0);
}

/* Up to this ratio of its ends a log axis is numbered as a linear one: of 1, 2, 5 hardly any would
 * lie on it. */
static const double short_log = 3;

static int log_ticks(const struct fl_axis *a, int wanted, double tick[FL_TICKS])
{
    static const double mantissa[] = {1, 2, 5, 1.5, 3, 7};
    double decades = log10(a->v1 / a->v0);
    int use = decades * 3 >= wanted * 0.6 ? 3 : 6; /* a short axis needs the values between */
    int n = 0;
    for (int e = (int)floor(log10(a->v0)); e <= (int)ceil(log10(a->v1)); e++)
        for (int m = 0; m < (decades > 3 ? 1 : use); m++) {
            double v = mantissa[m] * pow(10, e);
            if (v >= a->v0 * (1 - 1e-9) && v <= a->v1 * (1 + 1e-9) && n < FL_TICKS)
                tick[n++] = v;
        }
    return n;
}

int fl_axis_ticks(const struct fl_axis *a, int wanted, double tick[FL_TICKS])
{
    if (!(a->v1 > a->v0) || !isfinite(a->v1 - a->v0) || (a->log && !(a->v0 > 0)))
        return 0;
    if (a->log && a->v1 > short_log * a->v0)
        return log_ticks(a, wanted, tick);
    double raw = (a->v1 - a->v0) / wanted, power = pow(10, floor(log10(raw)));
    double step = raw / power > 5 ? 10 : raw / power > 2 ? 5 : raw / power > 1 ? 2 : 1;
    int n = 0;
    for (double k = ceil(a->v0 / (step * power) - 1e-9); n < FL_TICKS; k++) {
        double v = k * step * power;
        if (v > a->v1 + 1e-9 * (a->v1 - a->v0))
            break;
        tick[n++] = fabs(v) < step * power * 1e-9 ? 0 : v;
    }
    return n;
}

void fl_tick_text(char buf[32], double v)
{
    char plain[FL_FIGURE_SIZE];
    double a = fabs(v);
    snprintf(plain, sizeof plain, a >= 1e6 && a < 1e15 ? "%.0f" : "%.6g", v);
    fl_group_digits(buf, 32, plain);
}

enum { ROUNDNESS = 6 };

/* 0: a power of ten, … 5: a value between; always 0 on a linear axis. */
static int roundness(const struct fl_axis *a, double v)
{
    static const double mantissa[ROUNDNESS] = {1, 5, 2, 3, 1.5, 7};
    if (!a->log || !(v > 0))
        return 0;
    double m = v / pow(10, floor(log10(v) + 1e-9));
    for (int i = 0; i < ROUNDNESS; i++)
        if (fabs(m - mantissa[i]) < 1e-6)
            return i;
    return ROUNDNESS - 1;
}

/* A tick where it is drawn; numbered unless its number would touch one of a rounder tick. */
struct tick {
    double at, half; /* half: of its number's extent along the axis, and some room */
    char text[32];
    bool numbered;
};

static bool has_room(const struct tick *before, int n, const struct tick *t)
{
    for (int i = 0; i < n; i++)
        if (before[i].numbered && fabs(before[i].at - t->at) < before[i].half + t->half)
            return false;
    return true;
}

/* The axis' ticks, the roundest first. Returns how many. */
static int place_ticks(struct fl_surface *c, const struct fl_axis *a, int wanted, bool upright,
                       struct tick out[FL_TICKS])
{
    double v[FL_TICKS];
    int n = fl_axis_ticks(a, wanted, v), placed = 0;
    for (int rank = 0; rank < ROUNDNESS; rank++)
        for (int i = 0; i < n; i++) {
            if (roundness(a, v[i]) != rank)
                continue;
            struct tick *t = &out[placed];
            t->at = fl_axis_at(a, v[i]);
            fl_tick_text(t->text, v[i]);
            t->half = upright ? 7 : fl_text_width(c, FL_SMALL, t->text) / 2 + 4;
            t->numbered = has_room(out, placed, t);
            placed++;
        }
    return placed;
}

void fl_draw_y_axis(struct fl_surface *c, const struct fl_axis *a, double x0, double x1, int wanted)
{
    struct tick tick[FL_TICKS];
    int n = place_ticks(c, a, wanted, true, tick);
    for (int i = 0; i < n; i++) {
        double y = tick[i].at;
        fl_draw_line(c, x0, y, x1, y, 0.8, FL_RULE, 0);
        if (tick[i].numbered)
            fl_draw_text(c, x0 - 7, y + 4, FL_RIGHT, FL_SMALL, FL_MUTED, 0, tick[i].text);
    }
}

void fl_draw_x_axis(struct fl_surface *c, const struct fl_axis *a, double y, double top, int wanted)
{
    struct tick tick[FL_TICKS];
    int n = place_ticks(c, a, wanted, false, tick);
    for (int i = 0; i < n; i++) {
        double x = tick[i].at;
        if (top < y)
            fl_draw_line(c, x, top, x, y, 0.8, FL_RULE, 0);
        if (!tick[i].numbered)
            continue;
        fl_draw_line(c, x, y, x, y + 4, 1, FL_MUTED, 0);
        fl_draw_text(c, x, y + 16, FL_CENTRE, FL_SMALL, FL_MUTED, 0, tick[i].text);
    }
    fl_draw_line(c, a->p0, y, a->p1, y, 1, FL_MUTED, 0);
}
