/* How fast a picture moves at each deflection of a stick: what is found of it. */
#ifndef FL_CLOCK_TURN_CURVE_H
#define FL_CLOCK_TURN_CURVE_H

#include <stddef.h>

/* A deflection and what the picture does at it. */
struct fl_turn_rate {
    double deflection; /* 0..1, middle of what it stands for */
    double speed;      /* of the picture, its unit a second: median; never falls with deflection */
    double low, high;  /* quartiles of what was seen */
    double deg_s;      /* the same as speed, of the camera; NaN: left to the caller */
    long frames;       /* that it rests on, each with the 50 ms about it */
};

enum { FL_TURN_RATES = 20 };

struct fl_turn_curve {
    struct fl_turn_rate *rate; /* n, by rising deflection; the caller's */
    size_t n;                  /* 0: not known */
    double rest;      /* deflection under which the stick stays 95 % of the time it is let go */
    double dead_zone; /* deflection up to which the picture stays; NaN if it is not told */
};

#endif
