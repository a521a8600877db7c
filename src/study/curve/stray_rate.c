/* Chances with a stray rate at either end of the curve. */
#include "study/curve/stray_rate.h"

#include "maths/logistic.h"

double fl_stray_p(double guess, double lapse, double p)
{
    return guess + (1 - guess - lapse) * p;
}

double fl_stray_chance(double rate, double theta, double slope, double x, bool tripped)
{
    double p = fl_logistic_p(-slope * theta, slope, x), as_curve = tripped ? p : 1 - p;
    return rate > 0 ? rate * (1 - as_curve) / fl_stray_p(rate, rate, as_curve) : 0;
}
