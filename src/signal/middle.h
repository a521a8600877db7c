/* How far strips in the picture's middle moved since the frame before, to a part of a pixel.
 *
 * There a turning camera moves the picture by its focal length times the turn, whatever the view's
 * width; the edges of a wide view move more. A strip is low, so that few tears cross it; where
 * one does, how much of it moved is told. */
#ifndef FL_SIGNAL_MIDDLE_H
#define FL_SIGNAL_MIDDLE_H

#include "signal/signals.h"
#include "signal/strip_sums.h"

enum { FL_MIDDLE_STRIPS = 4 };

/* From top to bottom. One that a tear crosses, or that fits nowhere, has a first guess only, 0
 * without one, and no fit; so have all of a picture too small for strips. */
struct fl_middle {
    struct fl_middle_strip {
        float x, y;  /* of the content that moved, working px */
        float fit;   /* correlation of the two pictures at that shift, 0.6 to 1; 0: none */
        float moved; /* without a fit: share of its rows that moved at all */
    } strip[FL_MIDDLE_STRIPS];
};

/* Where they lie. */
struct fl_strip_box fl_middle_box(const struct fl_grid *g, int strip);

extern const struct fl_signal_kind fl_middle_signal;

static inline struct fl_middle *fl_middle_of(const struct fl_signals *s, size_t frame)
{
    return fl_signals_row(s, &fl_middle_signal, frame);
}

/* One strip from a first guess, which may be a pixel or two off. */
void fl_middle_match(struct fl_middle_strip *strip, const struct fl_grid *g, const uint8_t *before,
                     const uint8_t *now, const struct fl_strip_box *box);

#endif
