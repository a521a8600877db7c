/* 8-bit pictures in three planes (Y', Cb, Cr; chroma halved both ways), and drawings laid over
 * them; beside them, where a movie is to have 10 bits, the same picture with 10.
 *
 * Levels are those of the footage that a canvas is made for: its matrix, its range, its transfer.
 */
#ifndef FL_MEDIA_CANVAS_H
#define FL_MEDIA_CANVAS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum fl_light { FL_LIGHT_SDR, FL_LIGHT_PQ, FL_LIGHT_HLG };

/* How colours are coded. */
struct fl_coding {
    double kr, kb; /* luma weights of red and blue */
    bool full_range;
    enum fl_light light;
    int primaries, transfer, matrix; /* code points of ITU-T H.273, 2: unknown */
};

/* The coding of a picture from its code points (H.273), as players take it: an unknown matrix is
 * BT.709 from 720 rows on, else BT.601; matrix becomes what was chosen. */
struct fl_coding fl_coding_of(int primaries, int transfer, int matrix, bool full_range, int height);
/* Y', Cb, Cr, 0..255, of a drawing's colour, r g b 0..1. White of a drawing lies at the reference
 * white of programmes: 58 % of the signal for PQ, 75 % for HLG (ITU-R BT.2408). */
void fl_coding_levels(const struct fl_coding *c, double r, double g, double b, double level[3]);
/* The way back for a picture: 0xRRGGBB of Y', Cb, Cr, 0..255 each, as coded, whatever light the
 * signal stands for; what no screen shows is clipped. */
uint32_t fl_coding_rgb(const struct fl_coding *c, const double level[3]);

struct fl_canvas {
    uint8_t *plane[3];
    ptrdiff_t stride[3];
    int width, height; /* even */
    /* The same with 10 bits a sample, for fills, covers and painted frames alike; NULL: none.
     * Strides are in samples. */
    uint16_t *deep[3];
    ptrdiff_t deep_stride[3];
};

/* Fills a rectangle (even x, y, width, height) with one colour, 0xRRGGBB. */
void fl_canvas_fill(struct fl_canvas *c, const struct fl_coding *coding, int x, int y, int w, int h,
                    unsigned rgb);

/* A drawing made ready to be laid over many canvases. */
struct fl_cover {
    int width, height;                  /* even */
    uint8_t *level[3], *clear, *clear2; /* levels times opacity; 255 − opacity, whole and halved */
    double deep_gain;                   /* 10-bit levels to one of 8 bits */
    uint16_t *first, *last; /* of each row: the columns that hold anything, [first, last) */
};
/* argb: rows of 32-bit words 0xAARRGGBB in the machine's order, colours multiplied by alpha, as
 * cairo draws; stride in bytes. Replaces what the cover held (zeroed: nothing). */
void fl_cover_set(struct fl_cover *cover, const struct fl_coding *coding, const uint8_t *argb,
                  ptrdiff_t stride, int width, int height);
/* x, y: even; parts outside the canvas are left out. */
void fl_cover_lay(const struct fl_cover *cover, struct fl_canvas *c, int x, int y);
void fl_cover_finish(struct fl_cover *cover);

#endif
