/* Scene shift between working pictures, by phase correlation at half working size.
 *
 * What stays still while the scene moves (overlay, held objects) is learned as a mask and
 * weighed down. The strongest peaks away from zero are candidates; the caller chooses among
 * the candidates of neighbouring frames. */
#ifndef FL_SIGNAL_SCENE_H
#define FL_SIGNAL_SCENE_H

#include <stdint.h>

#include "signal/picture.h"

enum { FL_SCENE_PEAKS = 3 };

struct fl_scene_peak {
    float x, y;   /* shift of the content, working px over the whole distance */
    float height; /* of the whitened surface: 1 = identical pictures */
};

struct fl_scene; /* opaque; one thread */
struct fl_scene *fl_scene_new(const struct fl_grid *g); /* NULL: picture too small for a shift */
void fl_scene_free(struct fl_scene **s);

/* Takes the next working picture; compares it with the one two pictures before. Peaks are sorted
 * by height, the one at zero left out; zero_height is the surface at zero shift. Fewer peaks than
 * asked leave height 0. The first two pictures give no peaks. */
void fl_scene_push(struct fl_scene *s, const uint8_t *picture,
                   struct fl_scene_peak peaks[FL_SCENE_PEAKS], float *zero_height);

#endif
