/* How the grey levels of a strip's pictures are drawn, so that dark scenes are seen and coding
 * noise is not. */
#ifndef FL_SHOW_CLIP_STRIP_LEVELS_H
#define FL_SHOW_CLIP_STRIP_LEVELS_H

#include <stddef.h>
#include <stdint.h>

/* Fewer levels than the eye tells apart here, and half the file. */
enum { FL_STRIP_PICTURE_LEVELS = 16, FL_STRIP_COLOUR_LEVELS = 12, FL_STRIP_DIFFERENCE_LEVELS = 5 };

/* Grey levels of one capture frame, and of its difference from the frame before in quarters of a
 * level (NULL: no frame before). */
struct fl_strip_grey {
    const uint8_t *picture, *difference;
};

struct fl_strip_levels {
    double dark, gain; /* picture: (grey - dark) × gain */
    double black;      /* difference drawn black, quarters of a grey level */
};

/* From all n frames of a strip together, each of `pixels` pixels. */
struct fl_strip_levels fl_strip_levels_of(const struct fl_strip_grey *v, size_t n, size_t pixels);
/* 0 black … 255 white, in steps. */
uint8_t fl_strip_picture_grey(const struct fl_strip_levels *l, uint8_t grey);
/* The same for each of a colour's three parts, 0xRRGGBB. */
uint32_t fl_strip_picture_rgb(const struct fl_strip_levels *l, uint32_t rgb);
/* How bright a colour looks: luma of ITU-R BT.709. */
uint8_t fl_strip_grey_of(uint32_t rgb);
uint8_t fl_strip_difference_grey(const struct fl_strip_levels *l, uint8_t difference);

#endif
