/* Small shared values: unknown numbers, spans, pi. */
#ifndef FL_BASE_UNITS_H
#define FL_BASE_UNITS_H

#include <math.h>
#include <stdbool.h>

/* Unknown is NaN everywhere inside; writers turn it into null or an empty cell. */
#define FL_UNKNOWN ((double)NAN)
static inline bool fl_known(double x)
{
    return !isnan(x);
}

#define FL_PI 3.14159265358979323846
#define FL_CM_PER_INCH 2.54

/* Half-open span of footage time, seconds. */
struct fl_span {
    double start_s, end_s;
};

/* Equal numbers (relative 1e-9), or both unknown. */
static inline bool fl_same_number(double a, double b)
{
    if (!fl_known(a) || !fl_known(b))
        return !fl_known(a) && !fl_known(b);
    return fabs(a - b) <= 1e-9 * fmax(fabs(a), fabs(b));
}

static inline double fl_clamp(double x, double lo, double hi)
{
    return x < lo ? lo : x > hi ? hi : x;
}
#endif
