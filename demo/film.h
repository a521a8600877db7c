/* Pictures of the output frames, in order, made when asked for. */
#ifndef STAGE_FILM_H
#define STAGE_FILM_H

#include "game.h"
#include "picture.h"

struct st_film;

/* All four must outlive the film. */
struct st_film *st_film_new(const struct st_scenario *scenario, const struct st_hand *hand,
                            const struct st_game *game, uint64_t seed);
void st_film_free(struct st_film **film);

/* The picture of one output frame. Ask in rising order; the last few stay valid. */
const struct st_picture *st_film_output(struct st_film *film, size_t output);

#endif
