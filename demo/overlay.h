/* What does not move with the scene: crosshair, counters, map, the thing in the hand, the menu. */
#ifndef STAGE_OVERLAY_H
#define STAGE_OVERLAY_H

#include <stdbool.h>

#include "picture.h"
#include "scene.h"

struct st_overlay;

/* panel: a list over a quarter of the picture, always open. */
struct st_overlay *st_overlay_new(enum st_place place, int width, int height, bool panel,
                                  uint64_t seed);
void st_overlay_free(struct st_overlay **overlay);

/* Draws over a finished scene. game_s shows on the timer; menu: the game is paused. */
void st_overlay_draw(const struct st_overlay *overlay, double game_s, bool menu,
                     struct st_picture *picture);

#endif
