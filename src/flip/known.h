/* Camera motion that the trace tells of, for the second pass over the states.
 *
 * Rows that stand still say something only while the scene moves. The first pass takes that from
 * the rows around; a trace on its clock knows it better, also where a flip hides it. Motion
 * is used only as a chance to see, never as a reason to switch. */
#ifndef FL_FLIP_KNOWN_H
#define FL_FLIP_KNOWN_H

#include "clock/clock.h"
#include "flip/evidence.h"
#include "flip/rows.h"

/* A capture frame: speeds in working px a frame; NaN where the trace says nothing, or where the
 * picture does not go with it (zoom, menus, vehicles, cut scenes). */
struct fl_known {
    size_t frames;
    float *least; /* the scene moves at least this fast in one direction, wherever within its error
                     the clock lies */
    float *usual; /* as the clock lies */
    float *most;  /* at most this fast */
};

struct fl_known_settings {
    double factor;                       /* native px a working px */
    double trace_start_s, trace_end_s;
    double base_period_s;                /* of state off: the longest that a moving row may stand */
};

/* moves: rows of the first pass, whose moves tell the scale and where picture and trace part. False
 * if the clock is refused or the two agree nowhere. */
bool fl_known_find(struct fl_known *out, const struct fl_rows *rows, const struct fl_scan *scan,
                   const struct fl_clock *clock, const struct fl_motion *motion,
                   const struct fl_known_settings *set);
/* Bounds the speeds that the first pass guessed from the rows around. */
void fl_known_apply(const struct fl_known *k, struct fl_rows *rows);
void fl_known_finish(struct fl_known *k);

#endif
