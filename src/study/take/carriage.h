/* Where the camera was carried: by a lift, a vehicle, its own steps. */
#ifndef FL_STUDY_TAKE_CARRIAGE_H
#define FL_STUDY_TAKE_CARRIAGE_H

#include "study/take/take.h"

/* Sets carried[i] of each frame about which the picture's parts move, for 0.3 s, but do not go
 * along with a turn. All false without the take's view. */
void fl_carriage_find(bool *carried, const struct fl_take *t);

/* Keeps, as the take's own list, the stretches in which its camera speed is null for it, and warns.
 */
void fl_carriage_keep(struct fl_take *t, const bool *null_here);
/* Whether a stretch touches one of these, or a pause under 0.15 s lies between. */
bool fl_carriage_touches(const struct fl_take *t, double start_s, double end_s);

#endif
