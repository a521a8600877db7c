/* The hand: where the mouse goes, or the stick is held, and what the device reports.
 *
 * All times are footage seconds. The camera turns by counts × degrees per count and by nothing
 * else, so trace and picture agree to the count. */
#ifndef STAGE_HAND_H
#define STAGE_HAND_H

#include <stddef.h>

#include "base/units.h"
#include "scenario.h"

struct st_move { /* bell-shaped speed from rest to rest, or steady with soft ends */
    double start_s, end_s, dx_deg, dy_deg; /* +x right, +y down */
    bool steady;
};

struct st_flick {
    double start_s, end_s, peak_deg_s, angle_deg;
};

struct st_track { /* slow following of something, speed 0: a rest */
    double start_s, end_s, speed_deg_s;
};

struct st_strafe {                   /* a way that the camera is carried: no mouse moves for it */
    double start_s, end_s, way_m[3]; /* east, north, up */
};

struct st_click {
    double press_s, release_s;
};

struct st_report {
    double time_s;
    long x, y; /* counts since the start */
};

struct st_reading { /* of a stick */
    double time_s;
    double at[2];         /* of full, -1..1: right, down */
    double turned_deg[2]; /* by the game until then, if it turns by each reading while it is held */
};

struct st_hand {
    struct st_move *moves;
    size_t n_moves, cap_moves;
    struct st_flick *flicks;
    size_t n_flicks, cap_flicks;
    struct st_track *tracks;
    size_t n_tracks, cap_tracks;
    struct st_strafe *strafes;
    size_t n_strafes, cap_strafes;
    struct st_click *clicks;
    size_t n_clicks, cap_clicks;
    struct fl_span still; /* no input, game paused; NaN = none */
    struct st_report *reports;
    size_t n_reports, cap_reports; /* 1000 a second */
    struct st_reading *readings;   /* of a pad's stick; its hand has no reports */
    size_t n_readings, cap_readings;
};

void st_hand_init(struct st_hand *h, const struct st_scenario *s, uint64_t seed);
void st_hand_finish(struct st_hand *h);

/* Counts reported by time t; calls may go in any order. */
void st_hand_counts(const struct st_hand *h, double t, long *x, long *y);
/* The last reading by time t, else the first. */
const struct st_reading *st_hand_reading(const struct st_hand *h, double t);
/* Where the camera is at time t: metres east, north and up of the place's middle. */
void st_hand_position(const struct st_hand *h, double t, double at[3]);
/* Seconds that the game has run by time t: pauses stop it. */
double st_hand_game_time(const struct st_hand *h, double t);

/* Trace clock of a footage time and back. */
double st_trace_time(const struct st_scenario *s, double footage_s);
double st_footage_time(const struct st_scenario *s, double trace_s);

#endif
