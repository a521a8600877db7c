/* Scene shift between working pictures, by phase correlation at half working size.
 *
 * What stays still while the scene moves (overlay, held objects) is learned as a mask and
 * weighed down. The strongest peaks away from zero are candidates; the caller chooses among
 * the candidates of neighbouring frames. The window weighs the middle of the picture most, so a
 * candidate is the shift that most of the detail there shares: with near and far things in view,
 * that of whichever fills more of the middle. */
#ifndef FL_SIGNAL_SCENE_H
#define FL_SIGNAL_SCENE_H

#include <stdint.h>

#include "signal/picture.h"

enum { FL_SCENE_PEAKS = 3 };

struct fl_scene_peak {
    float x, y;   /* shift of the content, working px a frame */
    float height; /* of the whitened surface: 1 = identical pictures; 0 = none */
    int back;     /* pictures compared: 2 apart, or 1 */
};

/* A picture against those before it. */
struct fl_scene_match {
    struct fl_scene_peak peak[FL_SCENE_PEAKS]; /* sorted by height; those about zero are left out */
    struct fl_scene_peak zero; /* about zero: height at no shift; x, y: the drift, if a peak lies
                                  within 1 px a frame */
};

struct fl_scene;                                        /* opaque; one thread */
struct fl_scene *fl_scene_new(const struct fl_grid *g); /* NULL: picture too small for a shift */
void fl_scene_free(struct fl_scene **s);

/* Takes the next working picture and compares it with the one two pictures before; where that finds
 * little, or a shift too long for two pictures to share much, with the one before too. The first
 * two pictures match nothing. A picture that does not differ from the one two before is at rest. */
void fl_scene_push(struct fl_scene *s, const uint8_t *picture, struct fl_scene_match *match);

#endif
