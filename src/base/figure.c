/* "57 (33 to 103)", not "57.0 (32.6 to 103)": a tenth says nothing where tens are open. */
#include "base/figure.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/units.h"

double fl_round_digits(double x, int n)
{
    if (!isfinite(x) || x == 0)
        return x;
    char buf[40];
    snprintf(buf, sizeof buf, "%.*e", n - 1, x);
    return strtod(buf, NULL);
}

double fl_round_decimals(double x, int n)
{
    double scale = pow(10, n);
    return isfinite(x) && fabs(x) < 1e15 / scale ? round(x * scale) / scale : x;
}

/* Below 1 as many decimals as digits: leading zeros count. */
static const char *in_digits(char buf[FL_FIGURE_SIZE], double x, int digits)
{
    if (!isfinite(x)) {
        snprintf(buf, FL_FIGURE_SIZE, "–");
        return buf;
    }
    x = fl_round_digits(x, digits);
    double a = fabs(x);
    int before = a >= 100 ? 3 : a >= 10 ? 2 : a >= 1 ? 1 : 0;
    snprintf(buf, FL_FIGURE_SIZE, "%.*f", a == 0 || before > digits ? 0 : digits - before, x);
    return buf;
}

const char *fl_figure(char buf[FL_FIGURE_SIZE], double x)
{
    return in_digits(buf, x, 3);
}

const char *fl_rough_figure(char buf[FL_FIGURE_SIZE], double x)
{
    return in_digits(buf, x, 2);
}

enum { DIGITS = 3, LEAST = 2, OF_ERROR = 2, FINEST = -6 };

/* Power of ten of the last of n significant digits; FINEST where there is none. */
static int last_place(double x, int n)
{
    return fl_known(x) && x != 0 ? (int)floor(log10(fabs(x)) + 1e-9) - n + 1 : FINEST;
}

static void put(char buf[FL_FIGURE_SIZE], double x, int place)
{
    if (!fl_known(x)) {
        snprintf(buf, FL_FIGURE_SIZE, "–");
        return;
    }
    const double rounded = place > 0 ? round(x / pow(10, place)) * pow(10, place) : x;
    snprintf(buf, FL_FIGURE_SIZE, "%.*f", place < 0 ? -place : 0, rounded);
}

/* Half the interval, or the known part of it; NaN: none is known. */
static double half_width(double x, double low, double high)
{
    if (fl_known(low) && fl_known(high))
        return (high - low) / 2;
    return fl_known(low) ? fabs(x - low) : fl_known(high) ? fabs(high - x) : FL_UNKNOWN;
}

/* Where the last digit stands that a half-width supports: two of its digits if they are 10 to 35,
 * one if they are more, unless the figure itself would lose its second, which stands at least. */
static int error_place(double half, int least)
{
    const int two = last_place(half, OF_ERROR);
    const bool small = half < 35.45 * pow(10, two);
    return small || two + 1 > least ? two : two + 1;
}

static const struct fl_interval_text *put_all(struct fl_interval_text *t, double x, double low,
                                              double high, int place)
{
    put(t->at, x, place);
    put(t->low, low, place);
    put(t->high, high, place);
    return t;
}

static const struct fl_interval_text *without_error(struct fl_interval_text *t, double x,
                                                    double low, double high)
{
    fl_figure(t->at, x);
    fl_figure(t->low, low);
    fl_figure(t->high, high);
    return t;
}

static int place_of(double x, double low, double high, double half)
{
    const double figure = fl_known(x) ? x : fl_known(high) ? high : low;
    const int error = error_place(half, last_place(figure, LEAST));
    const int own = last_place(figure, DIGITS);
    return error > own ? error : own;
}

const struct fl_interval_text *fl_interval_text(struct fl_interval_text *t, double x, double low,
                                                double high)
{
    const double half = half_width(x, low, high);
    return half > 0 ? put_all(t, x, low, high, place_of(x, low, high, half))
                    : without_error(t, x, low, high);
}

const char *fl_error_text(char at[FL_FIGURE_SIZE], char error[FL_FIGURE_SIZE], double x, double se)
{
    if (!fl_known(x) || !(se > 0)) {
        fl_figure(error, se);
        return fl_figure(at, x);
    }
    const int place = place_of(x, x - se, x + se, se);
    put(error, se, place);
    put(at, x, place);
    return at;
}

static bool passes_for_one(double end, int place)
{
    const double unit = pow(10, place);
    return fl_known(end) && end != 1 && fabs(round(end / unit) * unit - 1) < unit / 4;
}

const struct fl_interval_text *fl_ratio_text(struct fl_interval_text *t, double ratio, double low,
                                             double high)
{
    const double half = half_width(ratio, low, high);
    if (!(half > 0))
        return without_error(t, ratio, low, high);
    int place = place_of(ratio, low, high, half);
    while (place > FINEST && (passes_for_one(low, place) || passes_for_one(high, place)))
        place--;
    return put_all(t, ratio, low, high, place);
}
