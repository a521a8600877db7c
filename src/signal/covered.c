/* Tiles that rows judge to be no scene (signal/rows.c), and those of them that show nothing at all.
 */
#include "signal/covered.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "signal/bands.h"
#include "signal/scene_shift.h"

/* Frames that tell, and a tile that shows nothing. Choices. */
static const struct {
    float quality, px; /* of the scene's shift, working px: as overlay is told in signal/rows.c */
    float level;       /* grey levels by which coding changes a plain tile at most */
    double most;       /* share of the frames in which a bar may show something: a pointer passes */
} model = {.quality = 0.6f, .px = 3, .level = 0.5f, .most = 0.05};

static bool tells(const struct fl_signals *s, size_t i)
{
    const struct fl_scene_shift *shift = fl_scene_shifts(s, i);
    return i > 0 && shift->quality > model.quality && hypotf(shift->x, shift->y) > model.px;
}

void fl_covered_find(struct fl_covered *out, const struct fl_signals *s, const struct fl_rows *r)
{
    size_t n = (size_t)(s->grid.bands * s->grid.tiles), frames = 0, left = 0, bars = 0;
    size_t *shows = FL_NEW(size_t, n + 1);
    for (size_t i = 0; i < s->n; i++) {
        if (!tells(s, i))
            continue;
        const struct fl_tile *tile = fl_tiles(s, i);
        frames++;
        for (size_t k = 0; k < n; k++)
            shows[k] += tile[k].detail > 0 || fl_cost(tile[k].still) > model.level;
    }
    for (size_t k = 0; k < n; k++) {
        left += r->tile_weight[k] == 0;
        bars += r->tile_weight[k] == 0 && (double)shows[k] <= model.most * (double)frames;
    }
    free(shows);
    *out = (struct fl_covered){frames ? (double)left / (double)n : FL_UNKNOWN,
                               frames ? (double)bars / (double)n : FL_UNKNOWN};
}
