/* Inside the filmstrips: a strip while it is drawn. */
#ifndef FL_SHOW_CLIP_FILMSTRIP_SHEET_H
#define FL_SHOW_CLIP_FILMSTRIP_SHEET_H

#include "show/clip/filmstrip.h"
#include "show/clip/strip_levels.h"
#include "show/draw/surface.h"

/* Layout, px. A frame is, from the left: bracket, state bar, pictures, row bar, letters. */
enum {
    MARGIN = 18,
    COLUMNS = 10,
    LEAST_WIDTH = 1640,
    BRACKET = 11,
    BAR = 9,
    GAP = 3,
    LETTERS = 18
};
enum { HEAD = 62, BLOCK = 26, CAPTION = 17, WORDS = 20, LEGEND = 62 };

struct fl_sheet {
    struct fl_surface c;
    const struct fl_strip *s;
    const struct fl_take *t;
    const struct fl_lapse *lapse;
    struct fl_strip_levels levels;
};

/* filmstrip_draw.c. Scan time of a frame, footage time. */
double fl_strip_start(const struct fl_sheet *h, const struct fl_strip_frame *c);
double fl_strip_end(const struct fl_sheet *h, const struct fl_strip_frame *c);
/* Pieces of the bars, BAR wide, and the line of a flip: frames and legend draw them alike. */
void fl_strip_state(struct fl_sheet *h, double x, double y, double height, enum fl_state state);
void fl_strip_rows(struct fl_sheet *h, double x, double y, double height, int verdict);
void fl_strip_flip(struct fl_sheet *h, double x0, double x1, double y, enum fl_kind kind);

/* filmstrip_words.c. */
void fl_strip_head(struct fl_sheet *h);
/* What the n frames from frame i on are there for. */
const char *fl_strip_title(const struct fl_sheet *h, size_t i, size_t n);
void fl_strip_legend(struct fl_sheet *h, double y);

#endif
