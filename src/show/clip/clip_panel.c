/* Draws a clip's panel: the still ground once, then for each frame only the cells that changed
 * and the mark. */
#include "show/clip/clip_panel.h"
#include "base/mem.h"
#include "show/text/game_groups.h"

#include <cairo.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>

#include "show/clip/clip_course.h"
#include "show/clip/clip_text.h"
#include "show/draw/surface.h"
#include "show/text/escape.h"

/* Heights in units: names, figures, the state. */
#define SMALL FL_CLIP_SMALL
#define FIGURE 50
#define FIGURE_ROW 34
#define STATE 62
#define MARK_HALF 12 /* half the width of the mark's head */
enum { GROUNDS = 2, TEXT_SIZE = 96 };
#define SEPARATOR "\u00a0· "
#define LINE_END "\u2028"

const char fl_clip_notice[] = "Fast motion and flicker: may affect photosensitive viewers.";

/* Drawn anew when its text changes. */
struct readout {
    char *text; /* NULL: never drawn */
    enum fl_state state;
    struct fl_cover cover;
};

struct fl_clip_panel {
    const struct fl_take *t;
    const struct fl_coding *coding;
    struct fl_clip_layout l;
    struct fl_span span;
    int slow;
    double notice_s;
    enum fl_quantity speed;
    struct fl_cover ground[2];
    struct readout readout[FL_READOUTS];
    char *caption, *notice;
    /* the line in an even column, and in an odd one: covers lie on even ones */
    struct fl_cover mark[2];
};

/* ---- drawing ---- */

static cairo_t *begin(int width, int height)
{
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, width, height);
    cairo_t *cr = cairo_create(surface);
    cairo_surface_destroy(surface);
    return cr;
}

/* Ends the drawing: it becomes the cover. */
static void end(cairo_t *cr, struct fl_cover *cover, const struct fl_coding *coding)
{
    cairo_surface_t *s = cairo_get_target(cr);
    cairo_surface_flush(s);
    fl_cover_set(cover, coding, cairo_image_surface_get_data(s), cairo_image_surface_get_stride(s),
                 cairo_image_surface_get_width(s), cairo_image_surface_get_height(s));
    cairo_destroy(cr);
}

/* The line through graph and states, with a head; it begins in the middle of the cover, or a column
 * further. */
static void draw_mark(struct fl_clip_panel *f, int further)
{
    const double u = f->l.unit, line = fmax(1, floor(2 * u)), head = MARK_HALF * u;
    const int half = 2 * (int)ceil(MARK_HALF * u / 2) + 4, x = half + further;
    const int h = 2 * (int)ceil((f->l.course.h - FL_CLIP_AXIS * u) / 2) + 2;
    cairo_t *cr = begin(2 * half, h);
    fl_clip_box(cr, x - line, 0, 3 * line, h, FL_CLIP_GROUND);
    for (int pass = 0; pass < 2; pass++) {
        const double size = head + (pass ? 0 : 2 * u), middle = x + line / 2;
        cairo_move_to(cr, middle - size, 0);
        cairo_line_to(cr, middle + size, 0);
        cairo_line_to(cr, middle, 1.4 * size);
        cairo_close_path(cr);
        fl_clip_colour(cr, pass ? fl_clip_dark(FL_INK) : FL_CLIP_GROUND, 1);
        cairo_fill(cr);
    }
    fl_clip_box(cr, x, 0, line, h, fl_clip_dark(FL_INK));
    end(cr, &f->mark[further], f->coding);
}

/* ---- readouts ---- */

static const char *const state_words[] = {
    [FL_STATE_UNSEEN] = "unseen", [FL_STATE_ON] = "ON", [FL_STATE_OFF] = "OFF"};

static void draw_state(cairo_t *cr, const struct fl_clip_panel *f, const struct fl_clip_box *b,
                       enum fl_state state)
{
    const double u = f->l.unit, name = f->l.tall ? SMALL * u : 0,
                 h = b->h - name - (f->l.tall ? 22 * u : 8 * u);
    const double patch = fmin(0.8 * h, 88 * u), top = b->h - h;
    const double wanted =
        state == FL_STATE_UNSEEN ? (f->l.tall ? 46 : 36) * u : (f->l.tall ? STATE : FIGURE) * u;
    const unsigned rgb = state == FL_STATE_OFF  ? fl_clip_dark(FL_OFF)
                         : state == FL_STATE_ON ? fl_palette[FL_ON].light
                                                : fl_clip_dark(FL_MUTED);
    const double room = b->w - patch - 30 * u, /* some of it air before what stands beside it */
        width = fl_clip_text_width(cr, wanted, true, state_words[state]);
    const double size = width > room ? wanted * room / width * 0.98 : wanted;
    if (f->l.tall)
        fl_clip_text(cr, 0, SMALL * u, FL_LEFT, SMALL * u, false, fl_clip_dark(FL_MUTED), b->w,
                     "frame synthesis");
    fl_clip_box(cr, 0, top + (h - patch) / 2, patch, patch, fl_clip_dark(FL_RULE));
    fl_clip_band(cr, 0, top + (h - patch) / 2, patch, patch, u, state);
    fl_clip_text(cr, patch + 18 * u, top + h / 2 + 0.36 * size, FL_LEFT, size, true, rgb, 0,
                 state_words[state]);
}

/* "name\tfigure". */
static void draw_figure(cairo_t *cr, const struct fl_clip_panel *f, const struct fl_clip_box *b,
                        const char *text)
{
    const double u = f->l.unit;
    const char *tab = strchr(text, '\t'), *figure = tab ? tab + 1 : text;
    char *name = fl_strndup(text, tab ? (size_t)(tab - text) : 0);
    if (f->l.tall) {
        fl_clip_text(cr, 0, SMALL * u, FL_LEFT, SMALL * u, false, fl_clip_dark(FL_MUTED), b->w,
                     name);
        fl_clip_text(cr, 0, (SMALL + 12 + 0.85 * FIGURE) * u, FL_LEFT, FIGURE * u, true,
                     fl_clip_dark(FL_INK), b->w, figure);
    } else {
        fl_clip_text(cr, 0, 0.3 * b->h, FL_LEFT, 0.8 * SMALL * u, false, fl_clip_dark(FL_MUTED),
                     b->w - 10 * u, name);
        fl_clip_text(cr, 0, 0.83 * b->h, FL_LEFT, FIGURE_ROW * u, true, fl_clip_dark(FL_INK),
                     b->w - 10 * u, figure);
    }
    free(name);
}

static void draw_readout(struct fl_clip_panel *f, int i, const char *text, enum fl_state state)
{
    struct readout *c = &f->readout[i];
    const struct fl_clip_box *b = &f->l.readout[i];
    if (b->w <= 0 || b->h <= 0 || (c->text && !strcmp(c->text, text) && c->state == state))
        return;
    cairo_t *cr = begin(b->w, b->h);
    if (i == FL_READOUT_STATE)
        draw_state(cr, f, b, state);
    else if (i == FL_READOUT_CAPTION)
        fl_clip_paragraph(cr, SMALL * f->l.unit,
                          fl_clip_dark(text == f->notice ? FL_INK : FL_MUTED), b->w, b->h, text);
    else
        draw_figure(cr, f, b, text);
    end(cr, &c->cover, f->coding);
    free(c->text);
    c->text = fl_strdup(text);
    c->state = state;
}

/* ---- words ---- */

static void say_rate(char out[TEXT_SIZE], const struct fl_clip_panel *f,
                     const struct fl_clip_moment *m)
{
    const struct fl_states *s = &f->t->states;
    const double hz = m->frame >= 0 && m->frame < (long)s->n_frames && s->unique_rate_hz
                          ? s->unique_rate_hz[m->frame]
                          : FL_UNKNOWN;
    if (fl_known(hz))
        snprintf(out, TEXT_SIZE, "unique rate\t%.0f /s", hz);
    else
        snprintf(out, TEXT_SIZE, "unique rate\t–");
}

static void say_speed(char out[TEXT_SIZE], const struct fl_clip_panel *f,
                      const struct fl_clip_moment *m)
{
    if (f->speed == FL_QUANTITIES) {
        snprintf(out, TEXT_SIZE, "speed\t–");
        return;
    }
    const struct fl_quantity_info *info = fl_quantity_info(f->speed);
    const double v = m->frame >= 0 ? f->t->quantity[f->speed][m->frame] : FL_UNKNOWN;
    if (fl_known(v))
        snprintf(out, TEXT_SIZE, "%s\t%.*f %s", info->label,
                 v < 10 && f->speed != FL_CAMERA_SPEED ? 1 : 0, v, info->unit_label);
    else
        snprintf(out, TEXT_SIZE, "%s\t–", info->label);
}

static void say_time(char out[TEXT_SIZE], const struct fl_clip_panel *f,
                     const struct fl_clip_moment *m)
{
    char name[48], speed[24] = "";
    if (f->slow > 1)
        snprintf(speed, sizeof speed, ", 1/%d speed", f->slow);
    if (m->frame < 0)
        snprintf(name, sizeof name, "no footage");
    else
        snprintf(name, sizeof name, "%s %ld%s", m->lost ? "lost after frame" : "frame", m->frame,
                 speed);
    snprintf(out, TEXT_SIZE, "%s\t%.3f s", name, m->time_s);
}

/* What differs between takes beside each other: "400 DPI · 26 cm per turn · lapse 3"; "" if nothing
 * is known of it. malloc'ed. */
static char *label_of(const struct fl_clip_take *of)
{
    const struct fl_take_spec *s = &of->take->spec;
    char desk[FL_SETTING_SIZE] = "", lapse[32] = "";
    if (s->counts_per_inch > 0 || s->degrees_per_count > 0)
        fl_desk_text(desk, s->counts_per_inch, s->degrees_per_count);
    if (of->lapse)
        snprintf(lapse, sizeof lapse, "lapse\u00a0%zu", of->lapse);
    return fl_format("%s%s%s", desk, *desk && *lapse ? SEPARATOR : "", lapse);
}

/* The label, then whose it is: "Copper Harbour · harbour-400-a", on a line of its own where there
 * are two. The notice leaves a second line to the label. */
static void set_captions(struct fl_clip_panel *f, const struct fl_clip_take *of)
{
    const struct fl_take_spec *s = &of->take->spec;
    const bool plain = !s->condition || !strcmp(s->condition, "default"),
               two_lines = f->l.readout[FL_READOUT_CAPTION].h > 2 * FL_CLIP_SMALL * f->l.unit;
    const char *end = two_lines ? LINE_END : SEPARATOR;
    char *label = label_of(of);
    f->caption = fl_format("%s%s%s%s%s" SEPARATOR "%s", label, *label ? end : "", s->game,
                           plain ? "" : SEPARATOR, plain ? "" : s->condition, s->id);
    f->notice =
        fl_format("%s%s%s", two_lines ? label : "", two_lines && *label ? end : "", fl_clip_notice);
    free(label);
}

/* ---- the panel ---- */

static void draw_ground(struct fl_clip_panel *f, int i)
{
    const struct fl_clip_box *b = &f->l.ground[i];
    if (b->w <= 0 || b->h <= 0)
        return;
    cairo_t *cr = begin(b->w, b->h);
    fl_clip_colour(cr, FL_CLIP_GROUND, f->l.see_through ? 0.88 : 1);
    cairo_paint(cr);
    cairo_translate(cr, -b->x, -b->y);
    if (f->l.course.y >= b->y && f->l.course.y < b->y + b->h)
        fl_clip_course(cr, f->t, &f->l, f->span);
    end(cr, &f->ground[i], f->coding);
}

struct fl_clip_panel *fl_clip_panel_new(const struct fl_clip_take *of,
                                        const struct fl_clip_layout *l,
                                        const struct fl_coding *coding, struct fl_span span,
                                        int slow, double notice_s)
{
    struct fl_clip_panel *f = FL_NEW(struct fl_clip_panel, 1);
    *f = (struct fl_clip_panel){.t = of->take,
                                .coding = coding,
                                .l = *l,
                                .span = span,
                                .slow = slow,
                                .notice_s = notice_s,
                                .speed = fl_course_quantity(of->take)};
    set_captions(f, of);
    for (int i = 0; i < GROUNDS; i++) {
        draw_ground(f, i);
        draw_mark(f, i);
    }
    return f;
}

void fl_clip_panel_draw(struct fl_clip_panel *f, struct fl_canvas *canvas,
                        const struct fl_clip_moment *m)
{
    char text[TEXT_SIZE];
    for (int i = 0; i < GROUNDS; i++)
        if (f->ground[i].width)
            fl_cover_lay(&f->ground[i], canvas, f->l.ground[i].x, f->l.ground[i].y);
    draw_readout(f, FL_READOUT_STATE, "",
                 m->frame >= 0 ? fl_states_at(&f->t->states, m->time_s) : FL_STATE_UNSEEN);
    say_rate(text, f, m);
    draw_readout(f, FL_READOUT_RATE, text, FL_STATE_UNSEEN);
    say_speed(text, f, m);
    draw_readout(f, FL_READOUT_SPEED, text, FL_STATE_UNSEEN);
    say_time(text, f, m);
    draw_readout(f, FL_READOUT_TIME, text, FL_STATE_UNSEEN);
    draw_readout(f, FL_READOUT_CAPTION, m->clip_s < f->notice_s ? f->notice : f->caption,
                 FL_STATE_UNSEEN);
    for (int i = 0; i < FL_READOUTS; i++)
        if (f->readout[i].text)
            fl_cover_lay(&f->readout[i].cover, canvas, f->l.readout[i].x, f->l.readout[i].y);
    if (m->time_s >= f->span.start_s && m->time_s < f->span.end_s) {
        const int column = fl_clip_mark_column(&f->l, f->span, m->time_s);
        const struct fl_cover *mark = &f->mark[column & 1];
        fl_cover_lay(mark, canvas, (column & ~1) - mark->width / 2, f->l.course.y);
    }
}

void fl_clip_panel_free(struct fl_clip_panel **panel)
{
    struct fl_clip_panel *f = *panel;
    if (!f)
        return;
    for (int i = 0; i < GROUNDS; i++)
        fl_cover_finish(&f->ground[i]);
    for (int i = 0; i < GROUNDS; i++)
        fl_cover_finish(&f->mark[i]);
    for (int i = 0; i < FL_READOUTS; i++) {
        fl_cover_finish(&f->readout[i].cover);
        free(f->readout[i].text);
    }
    free(f->caption);
    free(f->notice);
    free(f);
    *panel = NULL;
}
