/* Strays: flicks whose outcome goes against the curve (a lapse read wrongly, a load on the machine,
 * a hitch), at any speed. */
#ifndef FL_STUDY_CURVE_STRAY_RATE_H
#define FL_STUDY_CURVE_STRAY_RATE_H

#include <stdbool.h>

/* guess + (1 - guess - lapse)·p (Wichmann & Hill 2001, Percept Psychophys 63:1293-1313). */
double fl_stray_p(double guess, double lapse, double p);
/* Chance that a flick of log2 peak x went against logistic(slope·(x - theta)), given what it did.
 * rate: share of flicks that stray, at either end. */
double fl_stray_chance(double rate, double theta, double slope, double x, bool tripped);

#endif
