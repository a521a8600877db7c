/* Flashes in a sequence of pictures, by the usual rule for general and red flashes.
 *
 * Source: WCAG 2.2, success criterion 2.3.1 and its definition of the general flash and red flash
 * thresholds; Recommendation ITU-R BT.1702 has the same general flash (20 cd/m² of 200, darker
 * below 160). A flash is a pair of opposing changes of relative luminance, each 10 % or more of the
 * most, the darker picture below 0.80; a red flash, of changes to or from a saturated red
 * (R/(R+G+B) >= 0.8, linear) by more than 0.2 in the CIE 1976 UCS diagram. A sequence exceeds the
 * rule where more than three happen within a second and those that happen at once take more than a
 * quarter of the picture, which stands for a quarter of any 10 degree field.
 *
 * The picture is divided into cells; each follows its own peaks and valleys, and changes that end
 * within 1/30 s or one picture of each other happen at once (that figure: common practice, no
 * source). It is a measure that warns, not a certificate of any authority. */
#ifndef FL_MEDIA_FLASH_H
#define FL_MEDIA_FLASH_H

#include <stddef.h>

#include "media/canvas.h"

/* One cell's mean light, linear: 1 is the most of a standard display (200 cd/m²). */
struct fl_cell_light {
    float r, g, b; /* BT.709 primaries */
};

struct fl_flash; /* opaque */

struct fl_flash_span {
    double start_s,
        end_s; /* of the picture times given: the changes that make it exceed lie in it */
    int most;  /* flashes within one second, at most */
    bool red;
};
struct fl_flash_report {
    /* n, malloc'ed, in time order, general before red; n 0: the rule holds */
    struct fl_flash_span *span;
    size_t n;
    int most, most_red; /* flashes within any one second, whether or not that exceeds */
};

struct fl_flash *fl_flash_new(int cells);
/* One picture, cells long; times increase. */
void fl_flash_push(struct fl_flash *f, const struct fl_cell_light *cell, double time_s);
void fl_flash_finish(struct fl_flash **f, struct fl_flash_report *out); /* frees f */

/* Columns and rows that a picture of this size is divided into, about square. */
void fl_flash_grid(int width, int height, int *columns, int *rows);
/* Means over the cells of a canvas, row by row, from every other chroma sample. */
void fl_flash_cells(struct fl_cell_light *cell, const struct fl_canvas *c,
                    const struct fl_coding *coding, int columns, int rows);

#endif
