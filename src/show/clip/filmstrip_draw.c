/* One strip on paper. Scan time runs down each capture frame and on at the top of the next one. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "show/clip/filmstrip_sheet.h"
#include "show/draw/indexed_png.h"
#include "show/draw/surface.h"
#include "show/text/escape.h"

static double pitch(const struct fl_strip *s)
{
    return BRACKET + BAR + GAP + s->width + GAP + BAR + LETTERS;
}

static double line_height(const struct fl_strip *s)
{
    return CAPTION + 2 * s->height + GAP + WORDS;
}

/* Frames of the unbroken stretch that begins at i. */
static size_t block_length(const struct fl_strip *s, size_t i)
{
    size_t n = 1;
    while (i + n < s->n && s->frame[i + n].number == s->frame[i + n - 1].number + 1)
        n++;
    return n;
}

/* Where things go: blocks flow from left to right, one longer than a row goes on below. */
struct flow {
    size_t column; /* next free one */
    double y;      /* top of the row */
};

/* Moves to where a block of n frames begins; returns how many of them go on a row. */
static size_t place(struct flow *f, const struct fl_strip *s, size_t n)
{
    size_t a_row = n < COLUMNS ? n : COLUMNS;
    if (f->column && f->column + n > COLUMNS) {
        f->column = 0;
        f->y += BLOCK + line_height(s);
    }
    return a_row;
}

/* Moves past it. */
static void pass(struct flow *f, const struct fl_strip *s, size_t n, size_t a_row)
{
    f->y += (double)((n - 1) / a_row) * line_height(s);
    f->column = n > a_row ? COLUMNS : f->column + n;
}

static struct flow flow_all(const struct fl_strip *s, double head)
{
    struct flow f = {0, head};
    for (size_t i = 0, n; i < s->n; i += n) {
        n = block_length(s, i);
        pass(&f, s, n, place(&f, s, n));
    }
    return f;
}

static int sheet_width(const struct fl_strip *s)
{
    return (int)ceil(2 * MARGIN + COLUMNS * pitch(s));
}

/* ---- time and place ---- */

double fl_strip_start(const struct fl_sheet *h, const struct fl_strip_frame *c)
{
    return h->t->time_s[c->number];
}

double fl_strip_end(const struct fl_sheet *h, const struct fl_strip_frame *c)
{
    double usual = h->t->time_s[c->number] + 1 / h->t->capture_rate_hz;
    return h->t->constant_rate || c->number + 1 >= h->t->frames ? usual
                                                                : h->t->time_s[c->number + 1];
}

/* px below the picture's top at which the scan was at that time; NaN outside the frame. */
static double scan_at(const struct fl_sheet *h, const struct fl_strip_frame *c, double time_s)
{
    double from = fl_strip_start(h, c), to = fl_strip_end(h, c);
    if (time_s < from || time_s >= to)
        return FL_UNKNOWN;
    return fmin(1, (time_s - from) / ((to - from) * (1 - h->t->blank))) * h->s->height;
}

/* ---- pictures ---- */

/* One of the two where it is not NULL. */
static void paint(struct fl_sheet *h, double x, double y, const uint32_t *picture,
                  const uint8_t *difference)
{
    int w = h->s->width, height = h->s->height;
    cairo_surface_t *image = cairo_image_surface_create(CAIRO_FORMAT_RGB24, w, height);
    unsigned char *data = cairo_image_surface_get_data(image);
    int stride = cairo_image_surface_get_stride(image);
    if (!data)
        fl_out_of_memory();
    cairo_surface_flush(image);
    for (int v = 0; v < height; v++)
        for (int u = 0; u < w; u++) {
            const int k = v * w + u;
            uint32_t rgb = picture
                               ? fl_strip_picture_rgb(&h->levels, picture[k])
                               : fl_strip_difference_grey(&h->levels, difference[k]) * 0x010101u;
            memcpy(data + v * stride + 4 * u, &rgb, sizeof rgb);
        }
    cairo_surface_mark_dirty(image);
    cairo_set_source_surface(h->c.cr, image, x, y);
    cairo_paint(h->c.cr);
    cairo_surface_destroy(image);
}

static void frame_box(struct fl_sheet *h, double x, double y, double w)
{
    fl_set_colour(&h->c, FL_MUTED);
    cairo_set_line_width(h->c.cr, 1);
    cairo_rectangle(h->c.cr, x - 0.5, y - 0.5, w + 1, h->s->height + 1.0);
    cairo_stroke(h->c.cr);
}

static struct fl_strip_levels levels_of(const struct fl_strip *s)
{
    const size_t pixels = (size_t)s->width * (size_t)s->height;
    struct fl_strip_grey *grey = FL_NEW(struct fl_strip_grey, s->n + 1);
    uint8_t *levels_of_all = FL_NEW(uint8_t, s->n * pixels + 1);
    for (size_t i = 0; i < s->n; i++) {
        uint8_t *to = levels_of_all + i * pixels;
        for (size_t k = 0; s->frame[i].picture && k < pixels; k++)
            to[k] = fl_strip_grey_of(s->frame[i].picture[k]);
        grey[i] = (struct fl_strip_grey){s->frame[i].picture ? to : NULL, s->frame[i].difference};
    }
    const struct fl_strip_levels levels = fl_strip_levels_of(grey, s->n, pixels);
    free(levels_of_all);
    free(grey);
    return levels;
}

/* ---- bars beside the pictures ---- */

void fl_strip_state(struct fl_sheet *h, double x, double y, double height, enum fl_state state)
{
    if (state == FL_STATE_UNSEEN)
        fl_draw_hatch(&h->c, x, y, BAR, height, FL_UNSEEN);
    else
        fl_draw_box(&h->c, x, y, BAR, height, state == FL_STATE_ON ? FL_ON : FL_OFF);
}

static void draw_states(struct fl_sheet *h, const struct fl_strip_frame *c, double x, double y)
{
    const struct fl_states *s = &h->t->states;
    double from = fl_strip_start(h, c), to = fl_strip_end(h, c);
    for (size_t i = 0; i < s->n_spans; i++) {
        const struct fl_state_span *v = &s->span[i];
        if (v->end_s <= from || v->start_s >= to)
            continue;
        double top = v->start_s > from ? scan_at(h, c, v->start_s) : 0;
        double bottom = v->end_s < to ? scan_at(h, c, v->end_s) : h->s->height;
        fl_strip_state(h, x, y + top, bottom - top, v->state);
    }
    frame_box(h, x, y, BAR);
}

void fl_strip_rows(struct fl_sheet *h, double x, double y, double height, int verdict)
{
    if (verdict < 0)
        fl_draw_box(&h->c, x, y, BAR, height, FL_INK);
    else if (verdict == 0)
        fl_draw_hatch(&h->c, x, y, BAR, height, FL_UNSEEN);
}

static void draw_rows(struct fl_sheet *h, const struct fl_strip_frame *c, double x, double y)
{
    int bands = h->t->bands;
    double each = (double)h->s->height / bands;
    for (int b = 0, n; b < bands; b += n) {
        for (n = 1; b + n < bands && c->bands[b + n] == c->bands[b];)
            n++;
        fl_strip_rows(h, x, y + b * each, n * each, c->bands[b]);
    }
    frame_box(h, x, y, BAR);
}

/* ---- flips ---- */

static const char *letter(enum fl_kind kind)
{
    return kind == FL_KIND_RENDERED ? "R" : kind == FL_KIND_SYNTHESISED ? "S" : "?";
}

/* Dark on a light rim: seen on any picture. */
void fl_strip_flip(struct fl_sheet *h, double x0, double x1, double y, enum fl_kind kind)
{
    fl_draw_line(&h->c, x0, y, x1, y, 3.4, FL_PAPER, 0);
    fl_draw_line(&h->c, x0, y, x1, y, 1.4, FL_OFF,
                 kind == FL_KIND_RENDERED      ? 0
                 : kind == FL_KIND_SYNTHESISED ? 1
                                               : 2);
}

static void draw_flips(struct fl_sheet *h, const struct fl_strip_frame *c, double x, double y)
{
    double end = x + h->s->width + GAP + BAR + 3, below = h->s->height + GAP, free_y = y - 2;
    for (size_t i = 0; i < h->t->flips.n; i++) {
        const struct fl_flip *f = &h->t->flips.v[i];
        if (f->frame != c->number)
            continue;
        double at = y + f->row / h->t->height * h->s->height;
        fl_strip_flip(h, x, end, at, f->kind);
        fl_strip_flip(h, x, end, at + below, f->kind);
        free_y = fmax(free_y, at + 4); /* letters of flips close together give way downward */
        fl_draw_text(&h->c, end + 3, free_y, FL_LEFT, FL_SMALL, FL_INK, 0, letter(f->kind));
        free_y += 12;
    }
}

/* ---- edges ---- */

static void draw_bracket(struct fl_sheet *h, const struct fl_strip_frame *c, double x, double y,
                         double edge_s, const double range_s[2])
{
    double from = fl_strip_start(h, c), to = fl_strip_end(h, c), right = x + BRACKET - 1;
    if (range_s[1] >= from && range_s[0] < to && range_s[1] > range_s[0]) {
        double top = scan_at(h, c, range_s[0]), bottom = scan_at(h, c, range_s[1]);
        fl_draw_line(&h->c, x + 2, y + (fl_known(top) ? top : 0), x + 2,
                     y + (fl_known(bottom) ? bottom : h->s->height), 1.6, FL_INK, 0);
        if (fl_known(top))
            fl_draw_line(&h->c, x + 1.2, y + top, right, y + top, 1.6, FL_INK, 0);
        if (fl_known(bottom))
            fl_draw_line(&h->c, x + 1.2, y + bottom, right, y + bottom, 1.6, FL_INK, 0);
    }
    double at = scan_at(h, c, edge_s);
    if (fl_known(at))
        fl_draw_arrow(&h->c, right, y + at, true, FL_OFF);
}

static void draw_frame(struct fl_sheet *h, const struct fl_strip_frame *c, double x, double y)
{
    const struct fl_strip *s = h->s;
    double picture = x + BRACKET + BAR + GAP, top = y + CAPTION, below = top + s->height + GAP;
    char text[80];
    snprintf(text, sizeof text, "%.4f s · frame %ld", fl_strip_start(h, c), c->number);
    fl_draw_text(&h->c, picture, y + 13, FL_LEFT, FL_SMALL, FL_MUTED, 0, text);
    if (c->picture)
        paint(h, picture, top, c->picture, NULL);
    if (c->difference)
        paint(h, picture, below, NULL, c->difference);
    else
        fl_draw_text(&h->c, picture + s->width / 2.0, below + s->height / 2.0, FL_CENTRE, FL_SMALL,
                     FL_MUTED, s->width, "no frame before");
    frame_box(h, picture, top, s->width);
    frame_box(h, picture, below, s->width);
    draw_states(h, c, x + BRACKET, top);
    draw_states(h, c, x + BRACKET, below);
    draw_rows(h, c, picture + s->width + GAP, top);
    draw_rows(h, c, picture + s->width + GAP, below);
    draw_flips(h, c, picture, top);
    draw_bracket(h, c, x, top, h->lapse->start_s, h->lapse->start_range_s);
    draw_bracket(h, c, x, top, h->lapse->end_s, h->lapse->end_range_s);
    fl_strip_frame_words(h, c, picture, below + s->height + 14);
}

static void draw_sheet(struct fl_sheet *h)
{
    const struct fl_strip *s = h->s;
    struct flow f = {0, h->head};
    fl_draw_box(&h->c, 0, 0, h->c.width, h->c.height, FL_PAPER);
    fl_strip_head(h, false);
    for (size_t i = 0, n; i < s->n; i += n) {
        n = block_length(s, i);
        size_t a_row = place(&f, s, n);
        double x = MARGIN + (double)f.column * pitch(s);
        fl_draw_text(&h->c, x + BRACKET, f.y + 19, FL_LEFT, FL_BOLD, FL_INK, 0,
                     fl_strip_title(h, i, n));
        for (size_t k = 0; k < n; k++)
            draw_frame(h, &s->frame[i + k], x + (double)(k % a_row) * pitch(s),
                       f.y + BLOCK + (double)(k / a_row) * line_height(s));
        pass(&f, s, n, a_row);
    }
    fl_strip_legend(h, h->c.height - LEGEND);
}

/* Height that the strip needs; its words are laid out on a surface that is thrown away. */
static int measure(struct fl_sheet *h, int width)
{
    cairo_surface_t *scratch = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1, 1);
    h->c = (struct fl_surface){cairo_create(scratch), width, 1, false};
    h->head = fl_strip_head(h, true);
    cairo_destroy(h->c.cr);
    cairo_surface_destroy(scratch);
    return (int)ceil(flow_all(h->s, h->head).y + BLOCK + line_height(h->s) + LEGEND);
}

enum flinch_code fl_strip_write(const struct fl_strip *s, const char *path, struct fl_error *err)
{
    locale_t was = fl_point_begin();
    struct fl_sheet h = {
        .s = s, .t = s->take, .lapse = &s->take->states.lapse[s->lapse], .levels = levels_of(s)};
    const int width = sheet_width(s), height = measure(&h, width);
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    enum flinch_code code = FLINCH_OK;
    if (cairo_surface_status(surface))
        code = fl_fail(err, FLINCH_ERR_WRITE, "%s: cannot draw a picture of %d by %d pixels", path,
                       width, height);
    if (!code) {
        h.c = (struct fl_surface){cairo_create(surface), width, height, false};
        draw_sheet(&h);
        cairo_destroy(h.c.cr);
        cairo_surface_flush(surface);
        code = fl_indexed_write(
            (const uint32_t *)(const void *)cairo_image_surface_get_data(surface), width, height,
            (size_t)cairo_image_surface_get_stride(surface) / 4, path, err);
    }
    cairo_surface_destroy(surface);
    fl_point_end(was);
    return code;
}
