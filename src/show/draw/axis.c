/* Axes: round values, their text, their lines. */
#include <math.h>
#include <stdio.h>

#include "show/draw/surface.h"
#include "show/text/chart_number.h"
#include "show/text/escape.h"

double fl_axis_at(const struct fl_axis *a, double v)
{
    double share = a->log ? log(v / a->v0) / log(a->v1 / a->v0) : (v - a->v0) / (a->v1 - a->v0);
    return a->p0 + share * (a->p1 - a->p0);
}

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
    if (a->log)
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

/* Which ticks get their number: rank by rank of roundness, unless it would touch one that is there.
 */
struct labels {
    double at[FL_TICKS], half[FL_TICKS];
    int n;
};

static bool fits(const struct labels *l, double at, double half)
{
    for (int i = 0; i < l->n; i++)
        if (fabs(l->at[i] - at) < l->half[i] + half)
            return false;
    return true;
}

static void take_place(struct labels *l, double at, double half)
{
    l->at[l->n] = at;
    l->half[l->n++] = half;
}

/* 0: a power of ten, … 5: a value between; always 0 on a linear axis. */
static int roundness(const struct fl_axis *a, double v)
{
    static const double mantissa[] = {1, 5, 2, 3, 1.5, 7};
    if (!a->log || !(v > 0))
        return 0;
    double m = v / pow(10, floor(log10(v) + 1e-9));
    for (int i = 0; i < 6; i++)
        if (fabs(m - mantissa[i]) < 1e-6)
            return i;
    return 5;
}

void fl_draw_y_axis(struct fl_chart *c, const struct fl_axis *a, double x0, double x1, int wanted)
{
    double tick[FL_TICKS];
    struct labels labels = {.n = 0};
    int n = fl_axis_ticks(a, wanted, tick);
    for (int rank = 0; rank < 6; rank++)
        for (int i = 0; i < n; i++) {
            char text[32];
            double y = fl_axis_at(a, tick[i]);
            if (roundness(a, tick[i]) != rank)
                continue;
            fl_draw_line(c, x0, y, x1, y, 0.8, FL_RULE, 0);
            if (!fits(&labels, y, 7))
                continue;
            take_place(&labels, y, 7);
            fl_tick_text(text, tick[i]);
            fl_draw_text(c, x0 - 7, y + 4, FL_RIGHT, FL_SMALL, FL_MUTED, 0, text);
        }
}

void fl_draw_x_axis(struct fl_chart *c, const struct fl_axis *a, double y, double top, int wanted)
{
    double tick[FL_TICKS];
    struct labels labels = {.n = 0};
    int n = fl_axis_ticks(a, wanted, tick);
    for (int rank = 0; rank < 6; rank++)
        for (int i = 0; i < n; i++) {
            char text[32];
            double x = fl_axis_at(a, tick[i]);
            if (roundness(a, tick[i]) != rank)
                continue;
            fl_tick_text(text, tick[i]);
            double half = fl_text_width(c, FL_SMALL, text) / 2 + 4;
            if (top < y)
                fl_draw_line(c, x, top, x, y, 0.8, FL_RULE, 0);
            if (!fits(&labels, x, half))
                continue;
            take_place(&labels, x, half);
            fl_draw_line(c, x, y, x, y + 4, 1, FL_MUTED, 0);
            fl_draw_text(c, x, y + 16, FL_CENTRE, FL_SMALL, FL_MUTED, 0, text);
        }
    fl_draw_line(c, a->p0, y, a->p1, y, 1, FL_MUTED, 0);
}
