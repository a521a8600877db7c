/* What else a recorder lays over a game's picture: a mouse pointer and subtitles. */
#ifndef STAGE_DESK_H
#define STAGE_DESK_H

#include "picture.h"

/* As they stand at time t. */
void st_desk_draw(double t, struct st_picture *picture);
/* Black bars at the left and the right, each this share of the width. */
void st_pillars(struct st_picture *picture, double share);

#endif
