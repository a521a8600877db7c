/* Camera motion that the trace tells of, for the second pass over the states.
 *
 * Rows that stand still say something only while the scene moves. The first pass takes that from
 * the rows around; a trace on its clock knows it better, also where a flip hides it. Motion
 * is used only as a chance to see, never as a reason to switch. */
#ifndef FL_STATE_MOTION_PRIOR_H
#define FL_STATE_MOTION_PRIOR_H

#include "clock/clock.h"
#include "signal/rows.h"
#include "signal/scene_speed.h"
#include "state/evidence.h"

/* A capture frame: speeds in working px a frame; NaN where the trace says nothing, or where the
 * picture does not go with it (zoom, menus, vehicles, cut scenes). */
struct fl_motion_prior {
    size_t frames;
    float *least; /* the scene moves at least this fast in one direction, wherever within its error
                     the clock lies */
    float *usual; /* as the clock lies */
    float *most;  /* at most this fast */
};

struct fl_motion_prior_settings {
    double factor; /* native px a working px */
    double trace_start_s, trace_end_s;
    double base_period_s; /* of state off: the longest that a moving row may stand */
};

/* moves: rows of the first pass, whose moves tell the scale and where picture and trace part. False
 * if the clock is refused or the two agree nowhere. */
bool fl_motion_prior_find(struct fl_motion_prior *out, const struct fl_rows *rows,
                          const struct fl_scan *scan, const struct fl_clock *clock,
                          const struct fl_motion *motion,
                          const struct fl_motion_prior_settings *set);
/* The scene's speed as the rows around a frame tell it, held within what the trace allows: new
 * values, for fl_scene_speed_finish. */
void fl_motion_prior_bound(struct fl_scene_speed *out, const struct fl_motion_prior *k,
                           const struct fl_scene_speed *seen);
void fl_motion_prior_finish(struct fl_motion_prior *k);

#endif
