/* How fast the picture moves at each deflection of a stick: the game's own response. */
#ifndef FL_CLOCK_STICK_RESPONSE_H
#define FL_CLOCK_STICK_RESPONSE_H

#include "clock/clock.h"

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

/* Of a motion that is a stick's, by a clock that is known; rate: place for FL_TURN_RATES. Not known
 * where the stick is held at fewer than three deflections that differ. */
void fl_turn_curve_find(struct fl_turn_curve *out, struct fl_turn_rate *rate,
                        const struct fl_clock *c, const struct fl_shift_series *picture,
                        const struct fl_motion *motion);
/* As the motion takes it: rates in thousandths of the fastest. */
struct fl_stick_response fl_turn_curve_response(const struct fl_turn_curve *t);

#endif
