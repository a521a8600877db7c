/* The invented places that the stage films, and the picture of a camera in them. */
#ifndef STAGE_SCENE_H
#define STAGE_SCENE_H

#include "raster.h"

enum st_place {
    ST_HARBOUR, /* an open yard under a cloudy sky: brick, crates, gravel; some flat plaster */
    ST_FOUNDRY, /* a dark hall: metal plates, pools of light, a nearly black side */
    ST_ORCHARD, /* a bright glass house: tiles, leaves, planks, plain walls */
    ST_CELLAR,  /* the foundry with its lamps turned down: little but darkness to see */
    ST_PARLOUR, /* the glass house with nothing but plain plaster walls */
    ST_PLACES
};

struct st_scene;

struct st_scene *st_scene_new(enum st_place place, uint64_t seed);
/* Posts round the middle, 3 m off and 14 m high: what a carried camera passes by. */
void st_scene_add_posts(struct st_scene *scene);
void st_scene_free(struct st_scene **scene);
const char *st_scene_name(enum st_place place);

/* Draws what the camera sees at game time game_s, which moves the things that move by themselves.
 * What stands still is kept for the next picture from the same place. */
void st_scene_draw(struct st_scene *scene, const struct st_camera *camera, double game_s,
                   struct st_picture *picture);

#endif
