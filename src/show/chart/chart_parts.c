/* Pieces that several charts use. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/mem.h"
#include "base/text_stream.h"
#include "show/chart/chart.h"
#include "show/text/grouped_number.h"
#include "show/text/escape.h"
#include "study/curve/curve.h"

#define LEFT_TO_RIGHT "\xe2\x80\x8e" /* U+200E, no width */

/* Cuts s after n characters (of UTF-8); true if there were more. */
static bool cut(char *s, size_t n)
{
    for (; *s; s++) {
        bool begins = ((unsigned char)*s & 0xc0) != 0x80;
        if (begins && !n) {
            *s = 0;
            return true;
        }
        n -= begins;
    }
    return false;
}

char *fl_chart_name(const char *game, const char *condition)
{
    char *raw = fl_group_name(game, condition), *name = fl_clean_text(raw);
    bool more = cut(name, FL_CHART_NAME);
    char *closed = fl_format("%s%s" LEFT_TO_RIGHT, name, more ? "…" : "");
    free(raw);
    free(name);
    return closed;
}

const char *fl_chart_count(char buf[FL_COUNT_SIZE], long n, const char *one, const char *many)
{
    char plain[FL_FIGURE_SIZE], figure[FL_FIGURE_SIZE];
    snprintf(plain, sizeof plain, "%ld", n);
    snprintf(buf, FL_COUNT_SIZE, "%s %s", fl_group_digits(figure, sizeof figure, plain),
             n == 1 ? one : many);
    return buf;
}

/* Days of recording, ISO 8601: " 2026-11-03" or " 2026-11-03/2026-11-05"; nothing when not given.
 */
static bool put_days(FILE *out, const struct fl_take *const *takes, size_t n)
{
    enum { DAY = 10 };
    const char *first = NULL, *last = NULL;
    for (size_t i = 0; i < n; i++) {
        const char *at = takes[i]->spec.recorded_at;
        if (!at || strlen(at) < DAY)
            continue;
        first = !first || strncmp(at, first, DAY) < 0 ? at : first;
        last = !last || strncmp(at, last, DAY) > 0 ? at : last;
    }
    if (first)
        fprintf(out, " %.*s", DAY, first);
    if (first && strncmp(first, last, DAY) != 0)
        fprintf(out, "/%.*s", DAY, last);
    return first != NULL;
}

static void put_capture(FILE *out, const struct fl_take *const *takes, size_t n)
{
    size_t local = 0, variable = 0;
    double least = INFINITY, most = 0;
    for (size_t i = 0; i < n; i++) {
        local += takes[i]->spec.capture_local;
        variable += takes[i]->spec.output_variable;
        if (takes[i]->capture_rate_hz > 0) {
            least = fmin(least, takes[i]->capture_rate_hz);
            most = fmax(most, takes[i]->capture_rate_hz);
        }
    }
    char a[FL_FIGURE_SIZE], b[FL_FIGURE_SIZE];
    fputs(!local       ? "Capture card"
          : local == n ? "Local recording"
                       : "Capture card and local recording",
          out);
    if (most > 0 && most - least < 0.005 * most)
        fprintf(out, ", %s frames/s", fl_grouped_figure(a, most));
    else if (most > 0)
        fprintf(out, ", %s to %s frames/s", fl_grouped_figure(a, least),
                fl_grouped_figure(b, most));
    fprintf(out, ", %s refresh.",
            !variable       ? "fixed"
            : variable == n ? "variable"
                            : "fixed and variable");
}

char *fl_chart_source(const struct fl_take *const *takes, size_t n, const char *session)
{
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    bool dated = false;
    if (n) {
        put_capture(out, takes, n);
        dated = put_days(out, takes, n);
    }
    if (session && *session) {
        char *clean = fl_clean_text(session);
        fprintf(out, "%s %s" LEFT_TO_RIGHT, dated ? "," : "", clean);
        free(clean);
    }
    return fl_text_end(&stream);
}

void fl_chart_text(struct fl_surface *c, double x, double y, enum fl_anchor anchor,
                   enum fl_face face, enum fl_colour colour, double limit, const char *longer,
                   const char *shorter)
{
    const bool fits = fl_text_width(c, face, longer) <= limit;
    fl_draw_text(c, x, y, anchor, face, colour, limit, fits ? longer : shorter);
}

static void end_mark(struct fl_surface *c, double x0, double y0, double x1, double y1,
                     enum fl_colour colour)
{
    fl_draw_line(c, x0, y0, x1, y1, 2, colour, 0);
}

void fl_chart_interval(struct fl_surface *c, const struct fl_axis *a, double y, double low,
                       double high, double cap, enum fl_colour colour)
{
    double from = fl_known(low) && low > 0 ? fl_axis_at(a, low) : -INFINITY,
           to = fl_known(high) ? fl_axis_at(a, high) : INFINITY;
    bool open_from = from<a->p0, open_to = to> a->p1;
    from = fl_clamp(from, a->p0, a->p1);
    to = fl_clamp(to, a->p0, a->p1);
    if (!open_from)
        end_mark(c, from, y - cap, from, y + cap, colour);
    if (!open_to)
        end_mark(c, to, y - cap, to, y + cap, colour);
    fl_draw_line(c, from + (open_from ? 4 : 0), y, to - (open_to ? 4 : 0), y, 2.4, colour, 0);
    if (open_from)
        fl_draw_arrow(c, a->p0, y, false, colour);
    if (open_to)
        fl_draw_arrow(c, a->p1, y, true, colour);
}

static void up_arrow(struct fl_surface *c, double x, double y, bool up, enum fl_colour colour)
{
    cairo_save(c->cr);
    cairo_translate(c->cr, x, y);
    cairo_rotate(c->cr, up ? -FL_PI / 2 : FL_PI / 2);
    fl_draw_arrow(c, 0, 0, true, colour);
    cairo_restore(c->cr);
}

void fl_chart_upright(struct fl_surface *c, const struct fl_axis *a, double x, double low,
                      double high, double cap, enum fl_colour colour)
{
    double from = fl_known(low) && low > 0 ? fl_axis_at(a, low) : INFINITY,
           to = fl_known(high) ? fl_axis_at(a, high) : -INFINITY;
    bool open_from = from > a->p0, open_to = to < a->p1; /* p0 is the lower end on the picture */
    from = fl_clamp(from, a->p1, a->p0);
    to = fl_clamp(to, a->p1, a->p0);
    if (!open_from)
        end_mark(c, x - cap, from, x + cap, from, colour);
    if (!open_to)
        end_mark(c, x - cap, to, x + cap, to, colour);
    fl_draw_line(c, x, from - (open_from ? 4 : 0), x, to + (open_to ? 4 : 0), 2.4, colour, 0);
    if (open_from)
        up_arrow(c, x, a->p0, false, colour);
    if (open_to)
        up_arrow(c, x, a->p1, true, colour);
}

void fl_chart_flicks(struct fl_surface *c, const struct fl_axis *a, double y, double room, bool up,
                     const struct fl_curve *curve, bool tripped, int shape, enum fl_colour colour)
{
    enum { BINS = 512 };
    const double size = fmin(fl_clamp(room / 7, 6.5, 10), room), step = size * 0.92;
    int stack[BINS] = {0}, highest = 0;
    for (int pass = 0; pass < 2; pass++) { /* first: how high the stacks become */
        double rise = highest * step > room ? room / highest : step;
        memset(stack, 0, sizeof stack);
        for (int i = 0; i < curve->flicks; i++) {
            const struct fl_point *p = &curve->points[i];
            double x = p->v > 0 ? fl_axis_at(a, p->v) : NAN;
            if (p->tripped != tripped || !(x >= a->p0 - 1 && x <= a->p1 + 1))
                continue;
            int bin = (int)fl_clamp((x - a->p0) / step, 0, BINS - 1), level = stack[bin]++;
            highest = pass == 0 && stack[bin] > highest ? stack[bin] : highest;
            double off = (level + 0.5) * rise;
            if (pass)
                fl_draw_mark(c, x, up ? y - off : y + off, shape, size, colour, tripped);
        }
    }
}

/* Lines slant by 45 degrees; those of all boxes lie on one grid, so neighbouring boxes join. */
static void slant(cairo_t *cr, const struct fl_box *b, double step, bool backward)
{
    if (backward) {
        double from = floor((b->x + b->y) / step) * step, to = b->x + b->w + b->y + b->h;
        for (double k = from; k < to; k += step) { /* x + y = k, downward to the left */
            cairo_move_to(cr, k - b->y, b->y);
            cairo_line_to(cr, k - b->y - b->h, b->y + b->h);
        }
        return;
    }
    double from = floor((b->x - b->y - b->h) / step) * step, to = b->x + b->w - b->y;
    for (double k = from; k < to; k += step) { /* x − y = k, downward to the right */
        cairo_move_to(cr, k + b->y, b->y);
        cairo_line_to(cr, k + b->y + b->h, b->y + b->h);
    }
}

void fl_chart_hatch(struct fl_surface *c, const struct fl_box *boxes, size_t n, double step,
                    bool backward, enum fl_colour colour)
{
    if (!n)
        return;
    struct fl_box all = boxes[0];
    cairo_save(c->cr);
    cairo_new_path(c->cr);
    for (size_t i = 0; i < n; i++) {
        cairo_rectangle(c->cr, boxes[i].x, boxes[i].y, boxes[i].w, boxes[i].h);
        double right = fmax(all.x + all.w, boxes[i].x + boxes[i].w),
               end = fmax(all.y + all.h, boxes[i].y + boxes[i].h);
        all.x = fmin(all.x, boxes[i].x);
        all.y = fmin(all.y, boxes[i].y);
        all.w = right - all.x;
        all.h = end - all.y;
    }
    cairo_clip(c->cr);
    slant(c->cr, &all, step, backward);
    fl_stroke(c, 1.1, colour, 0);
    cairo_restore(c->cr);
}
