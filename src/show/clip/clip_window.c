/* The frame is painted once more in its own size, and a part of it copied: no pixel is scaled. */
#include "show/clip/clip_window.h"

#include <cairo.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "show/clip/clip_course.h"
#include "show/clip/clip_text.h"

#define WIDE 0.36 /* of the picture, at most */
#define HIGH 0.4
enum { LINE = 4, STRIDE = 64 }; /* px of the frame about it, with its dark rim; of rows in memory */

struct fl_clip_window {
    struct fl_clip_window_place place;
    struct fl_canvas whole;   /* the frame in its own size */
    struct fl_cover about[2]; /* frames about the source, and about the window with its name */
    int x[2], y[2];           /* of the covers */
};

static int even(double v)
{
    return 2 * (int)floor(v / 2);
}

struct fl_clip_window_place fl_clip_window_place(const struct fl_take *t,
                                                 const struct fl_clip_layout *l, const double at[2])
{
    const struct fl_clip_box *p = &l->picture;
    const int bottom = l->see_through ? l->ground[0].y : p->y + p->h; /* what a panel leaves open */
    const int width = t->width & ~1, height = t->height & ~1,
              w = (int)fmin(even(WIDE * p->w), width), h = (int)fmin(even(HIGH * p->h), height),
              edge = even(16 * l->unit) + LINE;
    return (struct fl_clip_window_place){
        .from = {even(fl_clamp(at[0] * width - w / 2.0, 0, width - w)),
                 even(fl_clamp(at[1] * height - h / 2.0, 0, height - h)), w, h},
        .to = {at[0] > 0.5 ? p->x + edge : p->x + p->w - w - edge, bottom - h - edge, w, h}};
}

static void make_canvas(struct fl_canvas *c, int width, int height, bool deep)
{
    *c = (struct fl_canvas){.width = width, .height = height};
    for (int p = 0; p < 3; p++) {
        const size_t rows = (size_t)(height / (p ? 2 : 1) + 2);
        c->stride[p] = (width / (p ? 2 : 1) + STRIDE - 1) / STRIDE * STRIDE + STRIDE;
        c->plane[p] = FL_NEW(uint8_t, (size_t)c->stride[p] * rows);
        c->deep_stride[p] = c->stride[p];
        c->deep[p] = deep ? FL_NEW(uint16_t, (size_t)c->stride[p] * rows) : NULL;
    }
}

/* A frame about a box of w by h, LINE wide on every side; name NULL: none. */
static void make_frame(struct fl_cover *cover, const struct fl_coding *coding, double unit, int w,
                       int h, const char *name)
{
    const int width = w + 2 * LINE, height = h + 2 * LINE;
    cairo_surface_t *s = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, width, height);
    cairo_t *cr = cairo_create(s);
    for (int pass = 0; pass < 2; pass++) {
        const double line = pass ? 2 : LINE;
        cairo_rectangle(cr, LINE / 2.0, LINE / 2.0, width - LINE, height - LINE);
        fl_clip_colour(cr, pass ? fl_clip_dark(FL_INK) : FL_CLIP_GROUND, 1);
        cairo_set_line_width(cr, line);
        cairo_stroke(cr);
    }
    if (name) {
        const double px = 0.8 * FL_CLIP_SMALL * unit,
                     room = fl_clip_text_width(cr, px, false, name);
        fl_clip_box(cr, LINE, LINE, room + 12 * unit, 1.5 * px, FL_CLIP_GROUND);
        fl_clip_text(cr, LINE + 6 * unit, LINE + 1.1 * px, FL_LEFT, px, false, fl_clip_dark(FL_INK),
                     0, name);
    }
    cairo_destroy(cr);
    cairo_surface_flush(s);
    fl_cover_set(cover, coding, cairo_image_surface_get_data(s), cairo_image_surface_get_stride(s),
                 width, height);
    cairo_surface_destroy(s);
}

struct fl_clip_window *fl_clip_window_new(const struct fl_take *t, const struct fl_clip_layout *l,
                                          const struct fl_coding *coding, const double at[2],
                                          bool deep)
{
    struct fl_clip_window *w = FL_NEW(struct fl_clip_window, 1);
    *w = (struct fl_clip_window){.place = fl_clip_window_place(t, l, at)};
    const struct fl_clip_box *from = &w->place.from, *to = &w->place.to, *p = &l->picture;
    const double scale = (double)p->w / (t->width & ~1);
    make_canvas(&w->whole, t->width & ~1, t->height & ~1, deep);
    make_frame(&w->about[0], coding, l->unit, even(scale * from->w), even(scale * from->h), NULL);
    make_frame(&w->about[1], coding, l->unit, to->w, to->h, "1:1 pixels");
    w->x[0] = p->x + even(scale * from->x) - LINE;
    w->y[0] = p->y + even(scale * from->y) - LINE;
    w->x[1] = to->x - LINE;
    w->y[1] = to->y - LINE;
    return w;
}

static void copy_part(const struct fl_clip_window *w, struct fl_canvas *to)
{
    const struct fl_clip_box *a = &w->place.from, *b = &w->place.to;
    for (int p = 0; p < 3; p++) {
        const int half = p ? 2 : 1;
        for (int row = 0; row < a->h / half; row++) {
            memcpy(to->plane[p] + (b->y / half + row) * to->stride[p] + b->x / half,
                   w->whole.plane[p] + (a->y / half + row) * w->whole.stride[p] + a->x / half,
                   (size_t)(a->w / half));
            if (to->deep[p])
                memcpy(to->deep[p] + (b->y / half + row) * to->deep_stride[p] + b->x / half,
                       w->whole.deep[p] + (a->y / half + row) * w->whole.deep_stride[p] +
                           a->x / half,
                       (size_t)(a->w / half) * sizeof *to->deep[p]);
        }
    }
}

enum flinch_code fl_clip_window_draw(struct fl_clip_window *w, struct fl_clip_reader *reader,
                                     struct fl_canvas *canvas, struct fl_error *err)
{
    enum flinch_code code =
        fl_clip_reader_paint(reader, &w->whole, 0, 0, w->whole.width, w->whole.height, err);
    if (code)
        return code;
    fl_cover_lay(&w->about[0], canvas, w->x[0], w->y[0]);
    copy_part(w, canvas);
    fl_cover_lay(&w->about[1], canvas, w->x[1], w->y[1]);
    return FLINCH_OK;
}

void fl_clip_window_free(struct fl_clip_window **window)
{
    struct fl_clip_window *w = *window;
    if (!w)
        return;
    for (int p = 0; p < 3; p++) {
        free(w->whole.plane[p]);
        free(w->whole.deep[p]);
    }
    for (int i = 0; i < 2; i++)
        fl_cover_finish(&w->about[i]);
    free(w);
    *window = NULL;
}
