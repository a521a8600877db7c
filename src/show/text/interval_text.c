/* "57 (33 to 103)", not "57.0 (32.6 to 103)": a tenth says nothing where tens are open. */
#include "show/text/interval_text.h"

#include <math.h>
#include <stdio.h>

#include "base/units.h"

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

const struct fl_interval_text *fl_interval_text(struct fl_interval_text *t, double x, double low,
                                                double high)
{
    const double half = half_width(x, low, high);
    if (!(half > 0)) {
        fl_figure(t->at, x);
        fl_figure(t->low, low);
        fl_figure(t->high, high);
        return t;
    }
    const double figure = fl_known(x) ? x : fl_known(high) ? high : low;
    const int error = error_place(half, last_place(figure, LEAST));
    const int own = last_place(figure, DIGITS);
    const int place = error > own ? error : own;
    put(t->at, x, place);
    put(t->low, low, place);
    put(t->high, high, place);
    return t;
}
