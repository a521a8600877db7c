/* A small moving picture that the recorder lays over a corner: 30 a second, whatever the game does.
 */
#ifndef STAGE_INSET_H
#define STAGE_INSET_H

#include "picture.h"

struct st_inset;

struct st_inset *st_inset_new(int width, int height, uint64_t seed); /* of the whole picture */
void st_inset_free(struct st_inset **inset);
/* Lays what it shows at time t over the picture. */
void st_inset_draw(struct st_inset *inset, double t, struct st_picture *picture);

#endif
