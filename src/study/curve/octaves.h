/* Speeds on the octave scale: log2 of the quantity. */
#ifndef FL_STUDY_CURVE_OCTAVES_H
#define FL_STUDY_CURVE_OCTAVES_H

#include <math.h>

#include "base/units.h"

/* 2^octaves; NaN where the end is open or leaves the range of numbers. */
static inline double fl_from_octaves(double octaves)
{
    double v = exp2(octaves);
    return isfinite(v) && v > 0 ? v : FL_UNKNOWN;
}

#endif
