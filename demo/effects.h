/* What a game does to a drawn picture as a whole. Luma changes; chroma follows where it must. */
#ifndef STAGE_EFFECTS_H
#define STAGE_EFFECTS_H

#include "picture.h"
#include "stretch.h"

/* Smears the picture along a shift in px, as a shutter open that long would. */
void st_smear(struct st_picture *p, double dx, double dy);
/* Noise, new at every index; sigma in grey levels. */
void st_add_grain(struct st_picture *p, double sigma, uint64_t index);
void st_relight(struct st_picture *p, struct st_light light);
/* Black, with a small wheel that turns with game time. */
void st_loading_screen(struct st_picture *p, double game_s);
/* Black bars at top and bottom, each this share of the height. */
void st_bars(struct st_picture *p, double share);

#endif
