/* How long a trip and a return take: the share still waiting, falling step by step. Where a step
 * lies is known only to a bracket: its box is hatched. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/mem.h"
#include "base/text_stream.h"
#include "maths/survival.h"
#include "show/chart/chart.h"
#include "show/text/grouped_number.h"
#include "study/rule/delay.h"

enum { AXIS = 38, HEAD = 68, LEFT = 58, LEAST_H = 240, LEAST_W = 690, GAP = 26, STEPS_LEAST = 2 };

/* Of a group, the first of each; NULL: no case of it. */
struct waits {
    const struct fl_delay *trip, *back;
};

static struct waits waits_of(const struct fl_chart_of *of)
{
    struct waits w = {NULL, NULL};
    for (size_t i = 0; i < of->s->n_delays; i++) {
        const struct fl_delay *d = &of->s->delays[i];
        if (!fl_group_has(of->g, d->game, d->condition) || !d->n_cases)
            continue;
        if (d->trip && !w.trip)
            w.trip = d;
        if (!d->trip && !w.back)
            w.back = d;
    }
    return w;
}

bool fl_delay_chart_due(const struct fl_chart_of *of)
{
    const struct waits w = waits_of(of);
    return w.trip || w.back;
}

/* The estimate as brackets with their masses; steps of Kaplan–Meier are brackets of no width. */
struct steps {
    struct fl_turnbull_mass *v;
    size_t n;
};

static struct steps steps_of(const struct fl_delay *d)
{
    struct steps out = {FL_NEW(struct fl_turnbull_mass, 2 * d->n_cases + 1), 0};
    double *low = FL_NEW(double, d->n_cases + 1), *high = FL_NEW(double, d->n_cases + 1);
    bool *event = FL_NEW(bool, d->n_cases + 1),
         km = d->method && !strcmp(d->method, "kaplan_meier");
    for (size_t i = 0; i < d->n_cases; i++) {
        const struct fl_delay_case *c = &d->cases[i];
        event[i] = c->outcome == FL_DELAY_SWITCHED;
        low[i] = km ? (c->low_s + c->high_s) / 2 : c->low_s;
        high[i] = event[i] ? c->high_s : INFINITY;
    }
    if (km) {
        struct fl_km fit;
        fl_km_fit(&fit, low, event, d->n_cases, 0.95);
        double before = 1;
        for (size_t i = 0; i < fit.n; i++) {
            out.v[out.n++] =
                (struct fl_turnbull_mass){fit.step[i].t, fit.step[i].t, before - fit.step[i].s};
            before = fit.step[i].s;
        }
        fl_km_finish(&fit);
    } else {
        struct fl_turnbull fit;
        fl_turnbull_fit(&fit, low, high, d->n_cases);
        for (size_t i = 0; i < fit.n; i++)
            if (isfinite(fit.mass[i].high))
                out.v[out.n++] = fit.mass[i];
        fl_turnbull_finish(&fit);
    }
    free(low);
    free(high);
    free(event);
    return out;
}

static double share_at(const struct steps *k, double t)
{
    double s = 1;
    for (size_t i = 0; i < k->n && k->v[i].high <= t; i++)
        s -= k->v[i].p;
    return fmax(s, 0);
}

static double last_time(const struct fl_delay *d, const struct steps *k)
{
    double end = 0.02;
    for (size_t i = 0; i < k->n; i++)
        end = fmax(end, k->v[i].high);
    if (fl_known(d->high_s))
        end = fmax(end, fmin(d->high_s, 2 * end));
    for (size_t i = 0; i < d->n_cases && !k->n; i++)
        end = fmax(end, d->cases[i].low_s);
    return 1.1 * end;
}

static void draw_steps(struct fl_surface *c, const struct fl_axis *x, const struct fl_axis *y,
                       const struct steps *k)
{
    struct fl_box *boxes = FL_NEW(struct fl_box, k->n + 1);
    size_t n = 0;
    double s = 1, at = x->p0;
    for (size_t i = 0; i < k->n; i++) {
        double a = fl_axis_at(x, 1000 * k->v[i].low), b = fl_axis_at(x, 1000 * k->v[i].high);
        double top = fl_axis_at(y, 100 * s), next = fl_axis_at(y, 100 * fmax(s - k->v[i].p, 0));
        if (b - a > 0.5)
            boxes[n++] = (struct fl_box){a, top, b - a, next - top};
        s -= k->v[i].p;
    }
    fl_chart_hatch(c, boxes, n, 4.5, false, FL_SERIES_1);
    for (size_t i = 0; i < n; i++) {
        cairo_rectangle(c->cr, boxes[i].x, boxes[i].y, boxes[i].w, boxes[i].h);
        fl_stroke(c, 1, FL_SERIES_1, 0);
    }
    s = 1;
    cairo_new_path(c->cr);
    cairo_move_to(c->cr, at, fl_axis_at(y, 100));
    for (size_t i = 0; i < k->n; i++) {
        double a = fl_axis_at(x, 1000 * k->v[i].low), b = fl_axis_at(x, 1000 * k->v[i].high);
        cairo_line_to(c->cr, a, fl_axis_at(y, 100 * s));
        s = fmax(s - k->v[i].p, 0);
        if (b - a > 0.5) /* what is in the box is not known */
            cairo_move_to(c->cr, b, fl_axis_at(y, 100 * s));
        else
            cairo_line_to(c->cr, b, fl_axis_at(y, 100 * s));
    }
    cairo_line_to(c->cr, x->p1, fl_axis_at(y, 100 * s));
    fl_stroke(c, 2.4, FL_SERIES_1, 0);
    free(boxes);
}

/* On the line: where a wait was left unfinished. A ring: the hand crossed back; a stroke: not known
 * further. */
static void draw_unfinished(struct fl_surface *c, const struct fl_axis *x, const struct fl_axis *y,
                            const struct fl_delay *d, const struct steps *k)
{
    for (size_t i = 0; i < d->n_cases; i++) {
        const struct fl_delay_case *one = &d->cases[i];
        double t = one->low_s, at = fl_axis_at(x, 1000 * t);
        if (one->outcome == FL_DELAY_SWITCHED || at > x->p1)
            continue;
        double s = fl_axis_at(y, 100 * share_at(k, t));
        if (one->outcome == FL_DELAY_LEFT)
            fl_draw_mark(c, at, s, 0, 6, FL_MUTED, false);
        else
            fl_draw_line(c, at, s - 5, at, s + 5, 1.6, FL_INK, 0);
    }
}

enum { TEXT_SIZE = FL_FIGURE_SIZE + FL_RANGE_SIZE + 32 };

static void wait_text(char text[TEXT_SIZE], const struct fl_delay *d)
{
    char figure[FL_FIGURE_SIZE];
    struct fl_grouped_interval half;
    fl_grouped_interval(&half, 1000 * d->median_s, 1000 * d->low_s, 1000 * d->high_s);
    if (fl_known(d->median_s))
        snprintf(text, TEXT_SIZE, "half within %s ms (%s)", half.at, half.range);
    else if (fl_known(d->low_s) && d->low_s > 0)
        snprintf(text, TEXT_SIZE, "half not within %s ms",
                 fl_grouped_figure(figure, 1000 * d->low_s));
    else
        snprintf(text, TEXT_SIZE, "cannot tell");
}

/* "29 seen to switch, 3 crossed back first, 2 left open". */
static void count_text(char text[TEXT_SIZE], const struct fl_delay *d, bool narrow)
{
    int n = snprintf(text, TEXT_SIZE, narrow ? "%d switched" : "%d seen to switch", d->switched);
    if (d->left)
        n += snprintf(text + n, TEXT_SIZE - (size_t)n,
                      narrow ? ", %d crossed back" : ", %d crossed back first", d->left);
    if (d->censored)
        snprintf(text + n, TEXT_SIZE - (size_t)n, ", %d left open", d->censored);
}

static void draw_median(struct fl_surface *c, const struct fl_axis *x, double y,
                        const struct fl_delay *d)
{
    if (!fl_known(d->median_s))
        return;
    fl_chart_interval(c, x, y, fmax(1000 * d->low_s, 1e-9), 1000 * d->high_s, 5, FL_SERIES_2);
    fl_draw_mark(c, fl_axis_at(x, 1000 * d->median_s), y, 2, 10, FL_SERIES_2, true);
}

static void draw_shares(struct fl_surface *c, const struct fl_axis *x, const struct fl_axis *y)
{
    for (int share = 0; share <= 100; share += 25) {
        char text[16];
        const double at = fl_axis_at(y, share);
        snprintf(text, sizeof text, "%d %%", share);
        fl_draw_line(c, x->p0, at, x->p1, at, 0.8, FL_RULE, 0);
        if (share % 50 == 0)
            fl_draw_text(c, x->p0 - 7, at + 4, FL_RIGHT, FL_SMALL, FL_MUTED, 0, text);
    }
}

/* Whole rendered frames, the unit that a game judges in, as a grid: every one, or every so many
 * where they would touch. */
static void draw_frames(struct fl_surface *c, const struct fl_axis *x, const struct fl_axis *y,
                        double frame_s)
{
    enum { LEAST = 22 };
    const double step = fl_known(frame_s) ? fl_axis_at(x, 1000 * frame_s) - x->p0 : 0;
    if (!(step > 0))
        return;
    const int each = (int)fmax(1, ceil(LEAST / step));
    for (int k = each; x->p0 + k * step <= x->p1; k += each) {
        char text[16];
        const double at = x->p0 + k * step;
        snprintf(text, sizeof text, "%d", k);
        fl_draw_line(c, at, y->p1, at, y->p0, 0.8, FL_RULE, 0);
        fl_draw_text(c, at, y->p1 - 4, FL_CENTRE, FL_SMALL, FL_MUTED, 0, text);
    }
    fl_draw_text(c, x->p0 - 7, y->p1 - 9, FL_RIGHT, FL_SMALL, FL_MUTED, 0, "frames");
}

static void draw_panel(struct fl_surface *c, struct fl_box b, const struct fl_delay *d, bool trip)
{
    char text[TEXT_SIZE], theta[FL_FIGURE_SIZE];
    double x0 = b.x + LEFT, bottom = b.y + b.h - AXIS;
    fl_draw_text(c, x0, b.y + 12, FL_LEFT, FL_BOLD, FL_INK, b.w - LEFT,
                 trip ? "until it trips" : "until it returns");
    if (!d || !d->method) {
        fl_draw_text(c, x0 + (b.w - LEFT) / 2, b.y + b.h / 2, FL_CENTRE, FL_BOLD, FL_MUTED,
                     b.w - LEFT, d ? "cannot tell: no switch was seen" : "not measured");
        return;
    }
    struct steps k = steps_of(d);
    struct fl_axis x = {0, 1000 * last_time(d, &k), x0, b.x + b.w - 10, false},
                   y = {0, 100, bottom, b.y + HEAD + 8, false};
    wait_text(text, d);
    fl_draw_text(c, x0, b.y + 29, FL_LEFT, FL_PLAIN, FL_INK, b.w - LEFT, text);
    count_text(text, d, c->narrow);
    fl_draw_text(c, x0, b.y + 45, FL_LEFT, FL_SMALL, FL_MUTED, b.w - LEFT, text);
    draw_shares(c, &x, &y);
    draw_frames(c, &x, &y, d->frame_s);
    fl_draw_x_axis(c, &x, bottom, bottom, 6);
    draw_steps(c, &x, &y, &k);
    draw_unfinished(c, &x, &y, d, &k);
    draw_median(c, &x, fl_axis_at(&y, 50), d);
    snprintf(text, sizeof text, "ms since %s %s %s %s", fl_quantity_info(d->quantity)->label,
             trip ? "rose over" : "fell under", fl_grouped_figure(theta, d->threshold),
             fl_quantity_info(d->quantity)->unit_label);
    fl_draw_text(c, (x.p0 + x.p1) / 2, bottom + 32, FL_CENTRE, FL_SMALL, FL_MUTED, x.p1 - x.p0,
                 text);
    free(k.v);
}

/* Side by side, on a narrow surface one below the other. */
static double height(const void *data, double width)
{
    (void)data;
    return width < FL_SURFACE_NARROW ? 2 * LEAST_H + GAP : 0.42 * width;
}

static void draw(struct fl_surface *c, struct fl_box b, const void *data)
{
    const struct waits w = waits_of(data);
    struct fl_box trip = b, back = b;
    if (c->narrow) {
        trip.h = back.h = (b.h - GAP) / 2;
        back.y += trip.h + GAP;
    } else {
        trip.w = back.w = (b.w - GAP) / 2;
        back.x += trip.w + GAP;
    }
    draw_panel(c, trip, w.trip, true);
    draw_panel(c, back, w.back, false);
}

static void put_side(FILE *out, const struct fl_delay *d)
{
    char text[TEXT_SIZE];
    if (!d)
        return;
    wait_text(text, d);
    fprintf(out, " %s: %s; %d switched, %d crossed back first, %d not known.",
            d->trip ? "Trip" : "Return", text, d->switched, d->left, d->censored);
}

/* "trips within one rendered frame", "returns after 7 to 9 rendered frames"; NULL where that is not
 * known. malloc'ed. */
static char *found(const struct fl_chart_of *of, const struct fl_delay *d)
{
    const char *frames = d ? fl_delay_frames_text(d, of->s->arena) : NULL;
    return frames ? fl_format("%s %s%s", d->trip ? "trips" : "returns",
                              *frames >= '0' && *frames <= '9' ? "after " : "", frames)
                  : NULL;
}

static char *title(const struct fl_chart_of *of, const struct waits *w, const char *name)
{
    char *trip = found(of, w->trip), *back = found(of, w->back);
    char *text = trip || back ? fl_format("%s: %s%s%s", name, trip ? trip : "",
                                          trip && back ? ", " : "", back ? back : "")
                              : fl_format("%s: how long it takes to switch", name);
    free(trip);
    free(back);
    return text;
}

struct fl_chart fl_delay_chart(const struct fl_chart_of *of)
{
    struct fl_chart p = {
        .least_w = LEAST_W, .least_h = LEAST_H, .height = height, .draw = draw, .data = of};
    const struct fl_group *g = of->g;
    const struct waits w = waits_of(of);
    char *name = fl_chart_name(g->game, g->condition),
         *source = fl_chart_source(g->takes, g->n_takes, of->s->name);
    p.title = title(of, &w, name);
    p.note = fl_format(
        "Grid: rendered frames. Hatched: known only to lie in there. Ring: the hand crossed "
        "back first. Stroke: left open. Bar: 95 %% interval of the median. %s",
        source);
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    fputs("Share still waiting against time since the threshold was crossed.", out);
    put_side(out, w.trip);
    put_side(out, w.back);
    p.desc = fl_text_end(&stream);
    p.lead = fl_strdup("Share that has not switched yet, by time since the threshold was crossed");
    free(name);
    free(source);
    return p;
}
