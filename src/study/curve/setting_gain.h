/* Degrees per count that a take's setting goes by. */
#ifndef FL_STUDY_CURVE_SETTING_GAIN_H
#define FL_STUDY_CURVE_SETTING_GAIN_H

#include "study/take/session.h"

/* Two found figures nearer than this are one sensitivity: relative; each is told to 1.5 % and more,
 * and games' own steps are seldom under 5 % (common practice, no source). */
#define FL_GAIN_WITHIN 0.04

struct fl_setting_gain {
    double degrees; /* a count; NaN: neither given nor found */
    bool found;     /* from the picture: the session does not say */
};

/* As the session says; else what takes of the same game and resolution that do not say either show
 * (four digits of their mean, takes within FL_GAIN_WITHIN of one another together), or the one that
 * is given for others of them and agrees with that. A take that shows none goes with the others
 * where these show one sensitivity. */
struct fl_setting_gain fl_setting_gain(const struct fl_session *s, const struct fl_take *t);
/* The same sensitivity, as far as the two are known. */
bool fl_same_gain(struct fl_setting_gain a, struct fl_setting_gain b);

#endif
