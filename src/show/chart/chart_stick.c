/* What a game makes of a controller's stick: how fast the camera turns at each deflection. Beside
 * it a straight response from the dead zone to the fastest rate seen: how far the curve hangs below
 * it is how fine slow turns are made. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/mem.h"
#include "base/text_stream.h"
#include "maths/robust.h"
#include "show/chart/chart.h"
#include "show/chart/chart_axes.h"
#include "show/text/grouped_number.h"

enum { MOST = 6, AXIS = 40, LEFT = 56, LEAST = 240, LINE = 19 };

struct curves {
    const struct fl_take *v[MOST]; /* takes in which a curve was found */
    size_t n, left_out;
    bool degrees;               /* deg/s, which every one of them has; else px/s */
    double highest;             /* upper quartile of the fastest, in that unit */
    double fastest, at;         /* median rate at the greatest deflection of all, and that */
    double dead_low, dead_high; /* dead zones found; NaN: none */
    double half;                /* deflection of half the fastest rate; NaN */
};

/* A rate of the picture as one of the camera, where that is known. */
static double in_unit(const struct curves *k, const struct fl_turn_rate *r, double speed)
{
    if (!k->degrees)
        return speed;
    return r->speed > 0 ? speed * r->deg_s / r->speed : 0;
}

static double rate_of(const struct curves *k, const struct fl_turn_rate *r)
{
    return !k->degrees ? r->speed : fl_known(r->deg_s) ? r->deg_s : 0;
}

static bool in_degrees(const struct fl_turn_curve *c)
{
    for (size_t i = 0; i < c->n; i++)
        if (!fl_known(c->rate[i].deg_s) && c->rate[i].speed > 0)
            return false;
    return true;
}

static void add(struct curves *k, const struct fl_take *t)
{
    if (k->n == MOST) {
        k->left_out++;
        return;
    }
    k->v[k->n++] = t;
    k->degrees &= in_degrees(&t->turn_curve);
    k->dead_low = fmin(k->dead_low, t->turn_curve.dead_zone); /* fmin passes over NaN */
    k->dead_high = fmax(k->dead_high, t->turn_curve.dead_zone);
}

/* Where the take's curve reaches a rate, on straight lines between its deflections; NaN: nowhere.
 */
static double reached_at(const struct curves *k, const struct fl_turn_curve *c, double rate)
{
    for (size_t i = 1; i < c->n; i++) {
        const double a = rate_of(k, &c->rate[i - 1]), b = rate_of(k, &c->rate[i]);
        if (a < rate && b >= rate)
            return c->rate[i - 1].deflection +
                   (rate - a) / (b - a) * (c->rate[i].deflection - c->rate[i - 1].deflection);
    }
    return FL_UNKNOWN;
}

static void sum_up(struct curves *k)
{
    double half[MOST];
    size_t n = 0;
    for (size_t i = 0; i < k->n; i++) {
        const struct fl_turn_curve *c = &k->v[i]->turn_curve;
        for (size_t j = 0; j < c->n; j++)
            k->highest = fmax(k->highest, in_unit(k, &c->rate[j], c->rate[j].high));
        const struct fl_turn_rate *last = &c->rate[c->n - 1];
        if (last->deflection > k->at) {
            k->at = last->deflection;
            k->fastest = rate_of(k, last);
        }
    }
    for (size_t i = 0; i < k->n; i++) {
        const double at = reached_at(k, &k->v[i]->turn_curve, k->fastest / 2);
        if (fl_known(at))
            half[n++] = at;
    }
    k->half = n ? fl_median(half, n) : FL_UNKNOWN;
}

static struct curves curves_of(const struct fl_group *g)
{
    struct curves k = {.degrees = true, .dead_low = FL_UNKNOWN, .dead_high = FL_UNKNOWN};
    for (size_t i = 0; i < g->n_takes; i++)
        if (g->takes[i]->turn_curve.n > 1)
            add(&k, g->takes[i]);
    sum_up(&k);
    return k;
}

bool fl_stick_chart_due(const struct fl_chart_of *of)
{
    return curves_of(of->g).highest > 0;
}

static double height(const void *data, double width)
{
    (void)data;
    return width < FL_SURFACE_NARROW ? 300 : 0.42 * width;
}

static const char *unit_of(const struct curves *k)
{
    return k->degrees ? "deg/s" : "px/s";
}

static void draw_curve(struct fl_surface *c, const struct curves *k, const struct fl_axis *x,
                       const struct fl_axis *y, size_t i)
{
    const struct fl_turn_curve *t = &k->v[i]->turn_curve;
    for (size_t j = 0; j < t->n; j++)
        (j ? cairo_line_to : cairo_move_to)(c->cr, fl_axis_at(x, t->rate[j].deflection),
                                            fl_axis_at(y, rate_of(k, &t->rate[j])));
    fl_stroke(c, 2, fl_series_colour(i), (int)i);
    for (size_t j = 0; j < t->n; j++) {
        const struct fl_turn_rate *r = &t->rate[j];
        const double at = fl_axis_at(x, r->deflection);
        fl_draw_line(c, at, fl_axis_at(y, in_unit(k, r, r->low)), at,
                     fl_axis_at(y, in_unit(k, r, r->high)), 1.4, fl_series_colour(i), 0);
        fl_draw_mark(c, at, fl_axis_at(y, rate_of(k, r)), (int)i, 8, fl_series_colour(i), true);
    }
}

/* Up to the dead zone nothing is expected; from there a straight response would go so. */
static void draw_straight(struct fl_surface *c, const struct curves *k, const struct fl_axis *x,
                          const struct fl_axis *y)
{
    if (!fl_known(k->dead_low))
        return;
    const double from = (k->dead_low + k->dead_high) / 2, at = fl_axis_at(x, from);
    fl_draw_line(c, at, y->p0, fl_axis_at(x, k->at), fl_axis_at(y, k->fastest), 1.4, FL_MUTED, 2);
    fl_draw_line(c, at, y->p0, at, y->p0 - 14, 1.6, FL_INK, 0);
}

/* In the upper left corner, which a curve that rises leaves free. */
static void draw_legend(struct fl_surface *c, const struct curves *k, const struct fl_axis *x,
                        double top)
{
    const double room = (c->narrow ? 0.5 : 0.42) * (x->p1 - x->p0);
    for (size_t i = 0; i < k->n; i++) {
        const double y = top + LINE * ((double)i + 0.7), left = x->p0 + 12;
        fl_draw_line(c, left, y, left + 26, y, 2, fl_series_colour(i), (int)i);
        fl_draw_mark(c, left + 13, y, (int)i, 8, fl_series_colour(i), true);
        fl_draw_text(c, left + 34, y + 4, FL_LEFT, FL_SMALL, FL_INK, room - 34, k->v[i]->spec.id);
    }
    if (k->left_out) {
        char more[48];
        snprintf(more, sizeof more, "and %zu more", k->left_out);
        fl_draw_text(c, x->p0 + 46, top + LINE * ((double)k->n + 0.7) + 4, FL_LEFT, FL_SMALL,
                     FL_MUTED, 0, more);
    }
}

static void draw(struct fl_surface *c, struct fl_box b, const void *data)
{
    const struct curves k = curves_of(data);
    const double bottom = b.y + b.h - AXIS, top = b.y + 18;
    const struct fl_axis x = {0, 100, b.x + LEFT, b.x + b.w - 12, false},
                         y = {0, 1.06 * k.highest, bottom, top, false};
    struct fl_axis share = x;
    share.v1 = 1;
    fl_draw_text(c, b.x, b.y + 9, FL_LEFT, FL_SMALL, FL_MUTED, 0,
                 k.degrees ? "turn rate, deg/s" : "speed of the picture, px/s");
    fl_draw_y_axis(c, &y, x.p0, x.p1, 6);
    fl_draw_x_axis(c, &x, bottom, top, c->narrow ? 5 : 10);
    fl_draw_text(c, (x.p0 + x.p1) / 2, bottom + 33, FL_CENTRE, FL_SMALL, FL_MUTED, 0,
                 "deflection of the stick, % of full");
    draw_straight(c, &k, &share, &y);
    for (size_t i = 0; i < k.n; i++)
        draw_curve(c, &k, &share, &y, i);
    draw_legend(c, &k, &x, top);
}

/* ---- words ---- */

/* "29 %" with a space that does not break, "25 to 29 %"; "" where none was found. */
enum { ZONE_SIZE = 48 };
static const char *zone(char buf[ZONE_SIZE], const struct curves *k)
{
    const double low = rint(100 * k->dead_low), high = rint(100 * k->dead_high);
    *buf = 0;
    if (fl_known(low) && low < high)
        snprintf(buf, ZONE_SIZE, "%.0f to %.0f\u00a0%%", low, high);
    else if (fl_known(low))
        snprintf(buf, ZONE_SIZE, "%.0f\u00a0%%", low);
    return buf;
}

static char *lead_of(const struct curves *k)
{
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    char found[ZONE_SIZE];
    fputs("How fast the camera turns at each deflection of the stick", out);
    if (*zone(found, k))
        fprintf(out, ". Dead zone up to %s of full deflection", found);
    if (fl_known(k->half))
        fprintf(out, "; half of the fastest rate at %.0f\u00a0%%", 100 * k->half);
    return fl_text_end(&stream);
}

/* Each take's curve at a few deflections. */
static char *describe(const struct curves *k)
{
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    fputs("Turn rate against deflection.", out);
    for (size_t i = 0; i < k->n; i++) {
        const struct fl_turn_curve *c = &k->v[i]->turn_curve;
        fprintf(out, " %s:", k->v[i]->spec.id);
        for (size_t j = 0; j < c->n; j++) {
            char rate[FL_FIGURE_SIZE];
            fprintf(out, "%s %.0f %%: %s", j ? "," : "", 100 * c->rate[j].deflection,
                    fl_grouped_short(rate, rate_of(k, &c->rate[j])));
        }
        fprintf(out, " %s.", unit_of(k));
    }
    return fl_text_end(&stream);
}

struct fl_chart fl_stick_chart(const struct fl_chart_of *of)
{
    const struct fl_group *g = of->g;
    const struct curves k = curves_of(g);
    struct fl_chart p = {
        .least_w = 520, .least_h = LEAST, .height = height, .draw = draw, .data = g};
    char fastest[FL_FIGURE_SIZE], takes[FL_COUNT_SIZE];
    char *name = fl_chart_name(g->game, g->condition),
         *source = fl_chart_source(g->takes, g->n_takes, of->s->name);
    p.title = fl_format("%s: the stick turns the camera at up to %s %s", name,
                        fl_grouped_short(fastest, k.fastest), unit_of(&k));
    p.lead = lead_of(&k);
    p.note = fl_format("Marks: medians, bars: quartiles of what was seen; dotted: a straight "
                       "response from the dead zone on. %s. %s",
                       fl_chart_count(takes, (long)(k.n + k.left_out), "take", "takes"), source);
    p.desc = describe(&k);
    free(name);
    free(source);
    return p;
}
