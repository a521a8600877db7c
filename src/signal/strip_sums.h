/* A strip of two pictures, compared at shifts by parts of a pixel. */
#ifndef FL_SIGNAL_STRIP_SUMS_H
#define FL_SIGNAL_STRIP_SUMS_H

#include <stdbool.h>
#include <stdint.h>

#include "signal/picture.h"

/* Over the strip's n pixels, a before and b now: e is now less before, x and y the slopes before.
 */
struct fl_strip_sums {
    double xx, xy, yy, xe, ye; /* weighted */
    double n, abs_e;
    double a, b, aa, bb, ab;
};

/* Pixels [x0, x1) by [y0, y1). */
struct fl_strip_box {
    int x0, x1, y0, y1;
};

/* Pictures must outlive it. */
struct fl_strip {
    const struct fl_grid *g;
    const uint8_t *before, *now;
    struct fl_strip_box box;
    float *was, *is; /* where it was read last: columns of the two pictures, with edges */
    int high;        /* of a column there */
    int was_x, was_y, is_x, is_y;
    bool read;
};

void fl_strip_open(struct fl_strip *s, const struct fl_grid *g, const uint8_t *before,
                   const uint8_t *now, const struct fl_strip_box *box);
/* Where what the strip shows moved by x, y, half of it before the strip's own place and half after.
 * Pixels that differ by more than limit have less weight. False where it lies outside a picture. */
bool fl_strip_compare(struct fl_strip *s, double x, double y, double limit,
                      struct fl_strip_sums *out);
/* Mean difference at whole pixels, every second row; negative where it lies outside a picture. */
double fl_strip_whole_difference(const struct fl_strip *s, int x, int y);
void fl_strip_close(struct fl_strip *s);

#endif
