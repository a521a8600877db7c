/* The game loop: rendered frames, the cut-off rule, and when each output frame reaches the screen.
 */
#ifndef STAGE_GAME_H
#define STAGE_GAME_H

#include "hand.h"
#include "stretch.h"

struct st_rendered {
    double sample_s, present_s;  /* mouse read; on screen (footage time) */
    long x, y;                   /* counts */
    double yaw_deg, pitch_deg;   /* cuts of the view not counted */
    double focal_px;             /* of the rendered picture */
    double speed_deg_s, step_px; /* since the rendered frame before: turn × nominal base rate */
    double change;               /* of the view since then, 0..1; NaN unless it is watched */
    bool on;                     /* synthesised frames follow it */
    int frames;                  /* output frames until the next: 1 if off */
};

struct st_output {
    double time_s; /* of the flip */
    bool synthesised;
    bool missing;    /* local recordings: not in the file */
    double part;     /* synthesised: its place between the rendered frames around, 0..1 */
    size_t rendered; /* itself, or the one before */
};

struct st_game {
    struct st_rendered *rendered;
    size_t n_rendered, cap_rendered;
    struct st_output *outputs;
    size_t n_outputs, cap_outputs;
    struct fl_span *off;
    size_t n_off, cap_off;
    struct st_stretches stretches;
};

void st_game_init(struct st_game *g, const struct st_scenario *s, const struct st_hand *h,
                  uint64_t seed);
void st_game_finish(struct st_game *g);

/* Of the unzoomed rendered picture. */
double st_focal_px(const struct st_scenario *s);

#endif
