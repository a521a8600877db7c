/* The drawn part of a clip for one take: a still ground with graph and states, and what moves over
 * it. */
#ifndef FL_SHOW_CLIP_CLIP_PANEL_H
#define FL_SHOW_CLIP_CLIP_PANEL_H

#include "media/canvas.h"
#include "show/clip/clip_layout.h"

/* What is said of one frame of the clip. */
struct fl_clip_moment {
    long frame;    /* capture frame that is shown; -1: none */
    double time_s; /* footage time that the mark stands at */
    double clip_s; /* time in the clip */
    bool lost;     /* the recorder lost the frame of this time */
};

struct fl_clip_panel; /* opaque */

/* span: what the course shows. Keeps pointers to the take and the coding. slow >= 1. */
struct fl_clip_panel *fl_clip_panel_new(const struct fl_clip_take *of,
                                        const struct fl_clip_layout *l,
                                        const struct fl_coding *coding, struct fl_span span,
                                        int slow, double notice_s);
/* Draws ground, figures and mark for the moment. */
void fl_clip_panel_draw(struct fl_clip_panel *f, struct fl_canvas *canvas,
                        const struct fl_clip_moment *m);
void fl_clip_panel_free(struct fl_clip_panel **f);

#endif
