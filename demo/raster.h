/* Perspective drawing of textured rectangles. */
#ifndef STAGE_RASTER_H
#define STAGE_RASTER_H

#include <stdbool.h>

#include "picture.h"
#include "texture.h"

/* World: x east, y north, z up, metres. Yaw 0 looks east and grows to the left; pitch grows
 * upwards. */
struct st_camera {
    double position[3];
    double yaw_deg, pitch_deg;
    double focal_px;
};

/* A rectangle seen from the side where a points right and b down. */
struct st_rect {
    double origin[3], a[3], b[3]; /* corner, unit vectors */
    double width, height;         /* m along a and b */
    const struct st_texture *texture;
    double texels_per_m; /* of level 0; 0 = the texture covers the rectangle once */
    double u0, v0;       /* offset, texels */
    float *light;        /* (light_w × light_h) factors at grid corners; NULL = flat */
    int light_w, light_h;
    float flat_light;
    bool smooth; /* blend edges: for things in front of others */
};

/* A camera prepared for many rectangles. */
struct st_view {
    double position[3], forward[3], right[3], down[3];
    double focal_px;
    struct st_picture *picture;
};

void st_view_init(struct st_view *view, const struct st_camera *camera, struct st_picture *picture);
/* Draws the rectangle if it faces the camera. */
void st_draw_rect(const struct st_view *view, const struct st_rect *rect);

#endif
