/* Inside the filmstrips: a strip while it is drawn. */
#ifndef FL_SHOW_CLIP_FILMSTRIP_SHEET_H
#define FL_SHOW_CLIP_FILMSTRIP_SHEET_H

#include "show/clip/filmstrip.h"
#include "show/clip/strip_levels.h"
#include "show/draw/surface.h"

/* Layout, px: as wide as the page is, so that it stands there at its own size. A frame is, from the
 * left: bracket, state bar, pictures, row bar, letters. */
enum { MARGIN = 12, COLUMNS = 3, BRACKET = 11, BAR = 9, GAP = 3, LETTERS = 18 };
enum { TOP = 10, BLOCK = 28, CAPTION = 18, WORDS = 38, LEGEND = 96 };

struct fl_sheet {
    struct fl_surface c;
    const struct fl_strip *s;
    const struct fl_take *t;
    const struct fl_lapse *lapse;
    struct fl_strip_levels levels;
    double head; /* height of what stands above the frames */
};

/* filmstrip_draw.c. Scan time of a frame, footage time. */
double fl_strip_start(const struct fl_sheet *h, const struct fl_strip_frame *c);
double fl_strip_end(const struct fl_sheet *h, const struct fl_strip_frame *c);
/* Pieces of the bars, BAR wide, and the line of a flip: frames and legend draw them alike. */
void fl_strip_state(struct fl_sheet *h, double x, double y, double height, enum fl_state state);
void fl_strip_rows(struct fl_sheet *h, double x, double y, double height, int verdict);
void fl_strip_flip(struct fl_sheet *h, double x0, double x1, double y, enum fl_kind kind);

/* filmstrip_words.c. */
/* What it is, why it is called so, and how to read it. Returns its height; dry: draws nothing. */
double fl_strip_head(struct fl_sheet *h, bool dry);
/* State and rows of a frame, in two lines under it. */
void fl_strip_frame_words(struct fl_sheet *h, const struct fl_strip_frame *c, double x, double y);
/* What the n frames from frame i on are there for. */
const char *fl_strip_title(const struct fl_sheet *h, size_t i, size_t n);
void fl_strip_legend(struct fl_sheet *h, double y);

#endif
