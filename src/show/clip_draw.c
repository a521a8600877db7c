#include "show/clip_draw.h"

#include <cairo.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>

#include "show/chart.h"
#include "show/clip_text.h"
#include "show/escape.h"

/* Heights in units: text of axes and names, figures, the state; parts of the course. */
#define SMALL 25
#define FIGURE 50
#define FIGURE_ROW 34
#define STATE 62
#define TRACK 34
#define AXIS 38
#define LEAST_GRAPH 40 /* there is none in less room */
#define MARK_HALF 12 /* half the width of the mark's head */
enum { GROUNDS = 2, TEXT_SIZE = 96 };

const char fl_clip_notice[] = "Fast motion and flicker: may affect photosensitive viewers.";

/* A cell: drawn anew when its text changes. */
struct cell {
    char *text; /* NULL: never drawn */
    enum fl_state state;
    struct fl_cover cover;
};

struct fl_clip_face {
    const struct fl_take *t;
    const struct fl_coding *coding;
    struct fl_clip_layout l;
    struct fl_span span;
    int slow;
    double notice_s;
    enum fl_quantity speed;
    struct fl_cover ground[2];
    struct cell cell[FL_CELLS];
    char *caption;
    struct fl_cover mark[2]; /* the line in an even column, and in an odd one: covers lie on even ones */
};

/* ---- drawing ---- */

static unsigned dark(enum fl_colour c)
{
    return fl_palette[c].dark;
}

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
    fl_cover_set(cover, coding, cairo_image_surface_get_data(s), cairo_image_surface_get_stride(s), cairo_image_surface_get_width(s),
                 cairo_image_surface_get_height(s));
    cairo_destroy(cr);
}

static void box(cairo_t *cr, double x, double y, double w, double h, unsigned rgb)
{
    fl_clip_colour(cr, rgb, 1);
    cairo_rectangle(cr, x, y, w, h);
    cairo_fill(cr);
}

static void hatch(cairo_t *cr, double x, double y, double w, double h, double step, unsigned rgb)
{
    cairo_save(cr);
    cairo_rectangle(cr, x, y, w, h);
    cairo_clip(cr);
    fl_clip_colour(cr, rgb, 1);
    cairo_set_line_width(cr, step / 4);
    for (double k = floor((x - h) / step) * step; k < x + w; k += step) {
        cairo_move_to(cr, k, y + h);
        cairo_line_to(cr, k + h, y);
    }
    cairo_stroke(cr);
    cairo_restore(cr);
}

/* On lies high and is pale, off lies low and is bright, what cannot be told is hatched in the middle. */
static void band(cairo_t *cr, double x, double y, double w, double h, double unit, enum fl_state state)
{
    if (state == FL_STATE_ON)
        box(cr, x, y, w, 0.5 * h, fl_palette[FL_ON].light);
    else if (state == FL_STATE_OFF)
        box(cr, x, y + 0.5 * h, w, 0.5 * h, dark(FL_OFF));
    else
        hatch(cr, x, y + 0.3 * h, w, 0.4 * h, 10 * unit, dark(FL_UNSEEN));
}

/* ---- the course ---- */

struct course {
    cairo_t *cr;
    const struct fl_clip_face *f;
    struct fl_axis time, rate;
    double top, bottom, track, unit; /* of the graph; of the states */
};

static double greatest(const struct fl_clip_face *f)
{
    const struct fl_states *s = &f->t->states;
    double most = fmax(fmax(2 * s->base_rate_on_hz, s->base_rate_off_hz), 10);
    for (size_t i = 0; i < s->n_frames && i < (size_t)f->t->frames; i++)
        if (f->t->time_s[i] >= f->span.start_s && f->t->time_s[i] < f->span.end_s && isfinite(s->unique_rate_hz[i]))
            most = fmax(most, s->unique_rate_hz[i]);
    return most;
}

static void mark_lapses(const struct course *c)
{
    const struct fl_states *s = &c->f->t->states;
    for (size_t i = 0; i < s->n_lapses; i++) {
        const double a = fmax(fl_axis_at(&c->time, s->lapse[i].start_s), c->time.p0);
        const double b = fmin(fl_axis_at(&c->time, s->lapse[i].end_s), c->time.p1);
        char text[40];
        if (b <= a)
            continue;
        box(c->cr, a, c->top, b - a, c->bottom - c->top, dark(FL_OFF_SOFT));
        snprintf(text, sizeof text, "lapse %zu", i + 1);
        if (fl_clip_text_width(c->cr, SMALL * c->unit, false, text) < b - a - 8 * c->unit)
            fl_clip_text(c->cr, (a + b) / 2, c->bottom - 9 * c->unit, FL_CENTRE, SMALL * c->unit, false, dark(FL_OFF), 0, text);
    }
}

/* Names of lines that lie close together are kept apart: the next one at or below *free_from. */
static void reference(const struct course *c, double hz, const char *name, double *free_from)
{
    char text[40];
    if (!fl_known(hz) || hz <= 0 || hz > c->rate.v1)
        return;
    const double y = floor(fl_axis_at(&c->rate, hz)) + 0.5;
    const double dash[] = {6 * c->unit, 6 * c->unit};
    fl_clip_colour(c->cr, dark(FL_MUTED), 0.8);
    cairo_set_line_width(c->cr, fmax(1, 1.5 * c->unit));
    cairo_set_dash(c->cr, dash, 2, 0);
    cairo_move_to(c->cr, c->time.p0, y);
    cairo_line_to(c->cr, c->time.p1, y);
    cairo_stroke(c->cr);
    cairo_set_dash(c->cr, NULL, 0, 0);
    const double base = fmax(y + 9 * c->unit, *free_from);
    *free_from = base + SMALL * c->unit;
    snprintf(text, sizeof text, "%s %.0f", name, hz);
    fl_clip_text(c->cr, c->time.p1 + 12 * c->unit, base, FL_LEFT, SMALL * c->unit, false, dark(FL_MUTED), 0, text);
}

/* Least and greatest of each column, so that long spans stay cheap. */
static void draw_rate(const struct course *c)
{
    const struct fl_take *t = c->f->t;
    const struct fl_states *s = &t->states;
    bool pen = false;
    long column = -1;
    for (size_t i = 0; i < s->n_frames && i < (size_t)t->frames; i++) {
        const double time = t->time_s[i], v = s->unique_rate_hz[i];
        if (time < c->f->span.start_s || time >= c->f->span.end_s || !isfinite(v)) {
            pen = false;
            continue;
        }
        const double x = fl_axis_at(&c->time, time), y = fl_axis_at(&c->rate, fmin(v, c->rate.v1));
        if (pen && lrint(2 * x) == column)
            continue;
        column = lrint(2 * x);
        (pen ? cairo_line_to : cairo_move_to)(c->cr, x, y);
        if (!pen)
            cairo_line_to(c->cr, x, y);
        pen = true;
    }
    fl_clip_colour(c->cr, dark(FL_INK), 1);
    cairo_set_line_width(c->cr, 3.5 * c->unit);
    cairo_set_line_join(c->cr, CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_cap(c->cr, CAIRO_LINE_CAP_ROUND);
    cairo_stroke(c->cr);
    cairo_set_line_cap(c->cr, CAIRO_LINE_CAP_BUTT);
}

static void draw_track(const struct course *c)
{
    const struct fl_states *s = &c->f->t->states;
    const double h = TRACK * c->unit;
    box(c->cr, c->time.p0, c->track, c->time.p1 - c->time.p0, h, dark(FL_RULE));
    for (size_t i = 0; i < s->n_spans; i++) {
        const double a = fmax(fl_axis_at(&c->time, s->span[i].start_s), c->time.p0);
        const double b = fmin(fl_axis_at(&c->time, s->span[i].end_s), c->time.p1);
        if (b > a)
            band(c->cr, a, c->track, b - a, h, c->unit, s->span[i].state);
    }
}

static void draw_times(const struct course *c)
{
    double tick[FL_TICKS];
    const int n = fl_axis_ticks(&c->time, c->time.p1 - c->time.p0 > 1200 * c->unit ? 10 : 5, tick);
    const double y = c->track + TRACK * c->unit, base = y + AXIS * c->unit - 6 * c->unit;
    for (int i = 0; i < n; i++) {
        char text[40];
        const double x = fl_axis_at(&c->time, tick[i]);
        snprintf(text, sizeof text, "%.6g s", tick[i]);
        box(c->cr, floor(x), y, fmax(1, floor(2 * c->unit)), 6 * c->unit, dark(FL_MUTED));
        const double half = fl_clip_text_width(c->cr, SMALL * c->unit, false, text) / 2;
        fl_clip_text(c->cr, fl_clamp(x, c->time.p0 + half, c->time.p1 - half + 60 * c->unit), base, FL_CENTRE, SMALL * c->unit, false,
                     dark(FL_MUTED), 0, text);
    }
}

/* Room to the right of the plot, for the names of the reference lines. */
#define NAMES 104

static struct fl_axis time_axis(const struct fl_clip_layout *l, struct fl_span span)
{
    const struct fl_box *b = &l->course;
    return (struct fl_axis){span.start_s, span.end_s, b->x, b->x + b->w - NAMES * l->unit, false};
}

int fl_clip_mark_column(const struct fl_clip_layout *l, struct fl_span span, double time_s)
{
    const struct fl_axis a = time_axis(l, span);
    return (int)lrint(fl_axis_at(&a, time_s));
}

static void draw_graph(const struct course *c)
{
    const double u = c->unit, on = 2 * c->f->t->states.base_rate_on_hz, off = c->f->t->states.base_rate_off_hz;
    double free_from = 0;
    mark_lapses(c);
    reference(c, fmax(on, off) == on ? on : off, fmax(on, off) == on ? "on" : "off", &free_from);
    reference(c, fmax(on, off) == on ? off : on, fmax(on, off) == on ? "off" : "on", &free_from);
    box(c->cr, c->time.p0, c->bottom, c->time.p1 - c->time.p0, fmax(1, 2 * u), dark(FL_RULE));
    draw_rate(c);
    fl_clip_text(c->cr, c->time.p0, c->top - 7 * u, FL_LEFT, 0.9 * SMALL * u, false, dark(FL_MUTED), 0, "unique rate, pictures a second");
}

static void draw_course(cairo_t *cr, const struct fl_clip_face *f)
{
    const struct fl_box *b = &f->l.course;
    const double u = f->l.unit;
    struct course c = {.cr = cr, .f = f, .time = time_axis(&f->l, f->span), .unit = u};
    c.track = b->y + b->h - (TRACK + AXIS) * u;
    c.top = b->y + (22 + 0.9 * SMALL) * u; /* below the head of the mark and the name of the graph */
    c.bottom = c.track - 8 * u;
    c.rate = (struct fl_axis){0, 1.12 * greatest(f), c.bottom, c.top, false};
    if (c.bottom - c.top >= LEAST_GRAPH * u)
        draw_graph(&c);
    draw_track(&c);
    draw_times(&c);
}

/* The line through graph and states, with a head; it begins in the middle of the cover, or a column further. */
static void draw_mark(struct fl_clip_face *f, int further)
{
    const double u = f->l.unit, line = fmax(1, floor(2 * u)), head = MARK_HALF * u;
    const int half = 2 * (int)ceil(MARK_HALF * u / 2) + 4, x = half + further;
    const int h = 2 * (int)ceil((f->l.course.h - AXIS * u) / 2) + 2;
    cairo_t *cr = begin(2 * half, h);
    box(cr, x - line, 0, 3 * line, h, FL_CLIP_GROUND);
    for (int pass = 0; pass < 2; pass++) {
        const double size = head + (pass ? 0 : 2 * u), middle = x + line / 2;
        cairo_move_to(cr, middle - size, 0);
        cairo_line_to(cr, middle + size, 0);
        cairo_line_to(cr, middle, 1.4 * size);
        cairo_close_path(cr);
        fl_clip_colour(cr, pass ? dark(FL_INK) : FL_CLIP_GROUND, 1);
        cairo_fill(cr);
    }
    box(cr, x, 0, line, h, dark(FL_INK));
    end(cr, &f->mark[further], f->coding);
}

/* ---- cells ---- */

static const char *const state_words[] = {[FL_STATE_UNSEEN] = "unseen", [FL_STATE_ON] = "ON", [FL_STATE_OFF] = "OFF"};

static void draw_state(cairo_t *cr, const struct fl_clip_face *f, const struct fl_box *b, enum fl_state state)
{
    const double u = f->l.unit, name = f->l.tall ? SMALL * u : 0, h = b->h - name - (f->l.tall ? 22 * u : 8 * u);
    const double patch = fmin(0.8 * h, 88 * u), top = b->h - h;
    const double wanted = state == FL_STATE_UNSEEN ? (f->l.tall ? 46 : 36) * u : (f->l.tall ? STATE : FIGURE) * u;
    const unsigned rgb = state == FL_STATE_OFF ? dark(FL_OFF) : state == FL_STATE_ON ? fl_palette[FL_ON].light : dark(FL_MUTED);
    const double room = b->w - patch - 18 * u, width = fl_clip_text_width(cr, wanted, true, state_words[state]);
    const double size = width > room ? wanted * room / width * 0.98 : wanted;
    if (f->l.tall)
        fl_clip_text(cr, 0, SMALL * u, FL_LEFT, SMALL * u, false, dark(FL_MUTED), b->w, "frame synthesis");
    box(cr, 0, top + (h - patch) / 2, patch, patch, dark(FL_RULE));
    band(cr, 0, top + (h - patch) / 2, patch, patch, u, state);
    fl_clip_text(cr, patch + 18 * u, top + h / 2 + 0.36 * size, FL_LEFT, size, true, rgb, 0, state_words[state]);
}

/* "name\tfigure". */
static void draw_figure(cairo_t *cr, const struct fl_clip_face *f, const struct fl_box *b, const char *text)
{
    const double u = f->l.unit;
    const char *tab = strchr(text, '\t'), *figure = tab ? tab + 1 : text;
    char *name = strndup(text, tab ? (size_t)(tab - text) : 0);
    if (f->l.tall) {
        fl_clip_text(cr, 0, SMALL * u, FL_LEFT, SMALL * u, false, dark(FL_MUTED), b->w, name);
        fl_clip_text(cr, 0, (SMALL + 12 + 0.85 * FIGURE) * u, FL_LEFT, FIGURE * u, true, dark(FL_INK), b->w, figure);
    } else {
        fl_clip_text(cr, 0, 0.3 * b->h, FL_LEFT, 0.8 * SMALL * u, false, dark(FL_MUTED), b->w - 10 * u, name);
        fl_clip_text(cr, 0, 0.83 * b->h, FL_LEFT, FIGURE_ROW * u, true, dark(FL_INK), b->w - 10 * u, figure);
    }
    free(name);
}

static void draw_cell(struct fl_clip_face *f, int i, const char *text, enum fl_state state)
{
    struct cell *c = &f->cell[i];
    const struct fl_box *b = &f->l.cell[i];
    if (b->w <= 0 || b->h <= 0 || (c->text && !strcmp(c->text, text) && c->state == state))
        return;
    cairo_t *cr = begin(b->w, b->h);
    if (i == FL_CELL_STATE)
        draw_state(cr, f, b, state);
    else if (i == FL_CELL_CAPTION)
        fl_clip_paragraph(cr, SMALL * f->l.unit, dark(text == fl_clip_notice ? FL_INK : FL_MUTED), b->w, f->l.tall ? b->h : 0, text);
    else
        draw_figure(cr, f, b, text);
    end(cr, &c->cover, f->coding);
    free(c->text);
    c->text = fl_strdup(text);
    c->state = state;
}

/* ---- words ---- */

static void say_rate(char out[TEXT_SIZE], const struct fl_clip_face *f, const struct fl_clip_moment *m)
{
    const struct fl_states *s = &f->t->states;
    const double hz = m->frame >= 0 && m->frame < (long)s->n_frames && s->unique_rate_hz ? s->unique_rate_hz[m->frame] : FL_UNKNOWN;
    if (fl_known(hz))
        snprintf(out, TEXT_SIZE, "unique rate\t%.0f /s", hz);
    else
        snprintf(out, TEXT_SIZE, "unique rate\t–");
}

static void say_speed(char out[TEXT_SIZE], const struct fl_clip_face *f, const struct fl_clip_moment *m)
{
    if (f->speed == FL_QUANTITIES) {
        snprintf(out, TEXT_SIZE, "speed\t–");
        return;
    }
    const struct fl_quantity_info *info = fl_quantity_info(f->speed);
    const double v = m->frame >= 0 ? f->t->quantity[f->speed][m->frame] : FL_UNKNOWN;
    if (fl_known(v))
        snprintf(out, TEXT_SIZE, "%s\t%.*f %s", info->label, v < 10 && f->speed != FL_CAMERA_SPEED ? 1 : 0, v, info->unit_label);
    else
        snprintf(out, TEXT_SIZE, "%s\t–", info->label);
}

static void say_time(char out[TEXT_SIZE], const struct fl_clip_face *f, const struct fl_clip_moment *m)
{
    char name[48], speed[24] = "";
    if (f->slow > 1)
        snprintf(speed, sizeof speed, ", 1/%d speed", f->slow);
    if (m->frame < 0)
        snprintf(name, sizeof name, "no footage");
    else
        snprintf(name, sizeof name, "%s %ld%s", m->lost ? "lost after frame" : "frame", m->frame, speed);
    snprintf(out, TEXT_SIZE, "%s\t%.3f s", name, m->time_s);
}

static char *caption_of(const struct fl_take *t)
{
    char *text = NULL;
    const bool plain = !t->spec.condition || !strcmp(t->spec.condition, "default");
    if (asprintf(&text, "%s%s%s ·\u00a0%s", t->spec.game, plain ? "" : " ·\u00a0", plain ? "" : t->spec.condition, t->spec.id) < 0)
        abort();
    return text;
}

/* ---- the face ---- */

static enum fl_quantity speed_of(const struct fl_take *t)
{
    static const enum fl_quantity order[] = {FL_CAMERA_SPEED, FL_HAND_SPEED, FL_COUNT_RATE, FL_STICK_DEFLECTION, FL_IMAGE_STEP};
    for (size_t i = 0; i < sizeof order / sizeof *order; i++)
        if (t->quantity[order[i]])
            return order[i];
    return FL_QUANTITIES;
}

static void draw_ground(struct fl_clip_face *f, int i)
{
    const struct fl_box *b = &f->l.ground[i];
    if (b->w <= 0 || b->h <= 0)
        return;
    cairo_t *cr = begin(b->w, b->h);
    fl_clip_colour(cr, FL_CLIP_GROUND, f->l.see_through ? 0.88 : 1);
    cairo_paint(cr);
    cairo_translate(cr, -b->x, -b->y);
    if (f->l.course.y >= b->y && f->l.course.y < b->y + b->h)
        draw_course(cr, f);
    end(cr, &f->ground[i], f->coding);
}

struct fl_clip_face *fl_clip_face_new(const struct fl_take *t, const struct fl_clip_layout *l, const struct fl_coding *coding,
                                      struct fl_span span, int slow, double notice_s)
{
    struct fl_clip_face *f = FL_NEW(struct fl_clip_face, 1);
    *f = (struct fl_clip_face){.t = t, .coding = coding, .l = *l, .span = span, .slow = slow, .notice_s = notice_s, .speed = speed_of(t), .caption = caption_of(t)};
    for (int i = 0; i < GROUNDS; i++) {
        draw_ground(f, i);
        draw_mark(f, i);
    }
    return f;
}

void fl_clip_face_draw(struct fl_clip_face *f, struct fl_canvas *canvas, const struct fl_clip_moment *m)
{
    char text[TEXT_SIZE];
    for (int i = 0; i < GROUNDS; i++)
        if (f->ground[i].width)
            fl_cover_lay(&f->ground[i], canvas, f->l.ground[i].x, f->l.ground[i].y);
    draw_cell(f, FL_CELL_STATE, "", m->frame >= 0 ? fl_states_at(&f->t->states, m->time_s) : FL_STATE_UNSEEN);
    say_rate(text, f, m);
    draw_cell(f, FL_CELL_RATE, text, FL_STATE_UNSEEN);
    say_speed(text, f, m);
    draw_cell(f, FL_CELL_SPEED, text, FL_STATE_UNSEEN);
    say_time(text, f, m);
    draw_cell(f, FL_CELL_TIME, text, FL_STATE_UNSEEN);
    draw_cell(f, FL_CELL_CAPTION, m->clip_s < f->notice_s ? fl_clip_notice : f->caption, FL_STATE_UNSEEN);
    for (int i = 0; i < FL_CELLS; i++)
        if (f->cell[i].text)
            fl_cover_lay(&f->cell[i].cover, canvas, f->l.cell[i].x, f->l.cell[i].y);
    if (m->time_s >= f->span.start_s && m->time_s < f->span.end_s) {
        const int column = fl_clip_mark_column(&f->l, f->span, m->time_s);
        const struct fl_cover *mark = &f->mark[column & 1];
        fl_cover_lay(mark, canvas, (column & ~1) - mark->width / 2, f->l.course.y);
    }
}

void fl_clip_face_free(struct fl_clip_face **face)
{
    struct fl_clip_face *f = *face;
    if (!f)
        return;
    for (int i = 0; i < GROUNDS; i++)
        fl_cover_finish(&f->ground[i]);
    for (int i = 0; i < GROUNDS; i++)
        fl_cover_finish(&f->mark[i]);
    for (int i = 0; i < FL_CELLS; i++) {
        fl_cover_finish(&f->cell[i].cover);
        free(f->cell[i].text);
    }
    free(f->caption);
    free(f);
    *face = NULL;
}
