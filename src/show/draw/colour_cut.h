/* A picture's colours brought down to few: median cut (P. Heckbert, Color image quantization for
 * frame buffer display, SIGGRAPH 1982). */
#ifndef FL_SHOW_DRAW_COLOUR_CUT_H
#define FL_SHOW_DRAW_COLOUR_CUT_H

#include <stdint.h>

/* Colours are counted in cells of 5 bits a channel. */
#define FL_COLOUR_CELLS (1 << 15)
int fl_colour_cell(uint32_t rgb); /* of 0xRRGGBB: 0 .. FL_COLOUR_CELLS - 1 */

/* At most n colours that stand for those counted (count: FL_COLOUR_CELLS pixels of each cell), the
 * same for the same counts. Returns how many. */
int fl_colour_cut(const uint32_t *count, uint32_t *colour, int n);

#endif
