/* How fast pictures follow one another: intervals from flip to flip as rates, upward and solid
 * while on, downward and hatched while off. Bins are equal ratios, so that twice as fast is the
 * same way along the axis everywhere. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/mem.h"
#include "maths/robust.h"
#include "show/chart/chart.h"
#include "show/text/grouped_number.h"
#include "study/take/pacing_measure.h"

enum { AXIS = 38, LEFT = 76, LEAST = 220, BINS = 60, ON = 0, OFF = 1, SIDES = 2 };
static const enum fl_state state_of[SIDES] = {[ON] = FL_STATE_ON, [OFF] = FL_STATE_OFF};
static const char *const word_of[SIDES] = {[ON] = "on", [OFF] = "off"};
/* The axis holds all intervals but so many at either end: one flip that stands askew would else
 * press all others together. */
static const double beyond = 0.005;

struct side {
    double share[BINS];             /* of its intervals, % */
    long intervals;                 /* 0: its rate could not be counted */
    double mean_hz;                 /* pictures over the time that they took; NaN */
    double shortest_ms, longest_ms; /* that nine in ten lie between; NaN */
    double seen_s;                  /* in that state, its rate counted or not */
};

struct rates {
    double low, ratio; /* lower edge of the first bin, flips/s; of a bin's edges */
    struct side side[SIDES];
    double most;
    size_t takes;      /* that count */
    double capture_hz; /* the fastest of them */
    bool control;      /* all have synthesis disabled */
    bool over;         /* twice the rate seen off is more than any of them captures */
};

/* A control has no on to be set against; its takes count only where all are controls. */
static bool counts(const struct fl_group *g, size_t k)
{
    return g->takes[k]->capture_rate_hz > 0 &&
           (g->control || !g->takes[k]->spec.synthesis_disabled);
}

/* Of all takes that count, sorted, malloc'ed. */
static double *intervals_of(const struct fl_group *g, int side, size_t *n)
{
    size_t room = 1;
    for (size_t k = 0; k < g->n_takes; k++)
        room += counts(g, k) ? g->takes[k]->flips.n : 0;
    double *v = FL_NEW(double, room);
    *n = 0;
    for (size_t k = 0; k < g->n_takes; k++)
        if (counts(g, k))
            *n += fl_pacing_intervals(g->takes[k], state_of[side], v + *n);
    return v;
}

static void sum_side(struct side *s, const double *v, size_t n)
{
    s->intervals = (long)n;
    s->mean_hz = n ? 1 / fl_mean(v, n) : FL_UNKNOWN;
    s->shortest_ms = n ? 1000 * fl_quantile(v, n, 0.05) : FL_UNKNOWN;
    s->longest_ms = n ? 1000 * fl_quantile(v, n, 0.95) : FL_UNKNOWN;
}

static void set_bins(struct rates *r, double *const v[SIDES], const size_t n[SIDES])
{
    double low = INFINITY, high = 0;
    for (int k = 0; k < SIDES; k++)
        if (n[k]) {
            low = fmin(low, 1 / fl_quantile(v[k], n[k], 1 - beyond));
            high = fmax(high, 1 / fl_quantile(v[k], n[k], beyond));
        }
    const double pad = fmax(pow(high / low, 0.15), 1.1); /* room for the words */
    r->low = low / pad;
    r->ratio = pow(high / low * pad * pad, 1.0 / BINS);
}

static void fill(struct rates *r, int side, const double *v, size_t n)
{
    struct side *s = &r->side[side];
    for (size_t i = 0; i < n; i++) {
        const double bin = log(1 / v[i] / r->low) / log(r->ratio);
        if (bin >= 0 && bin < BINS)
            s->share[(int)bin] += 100.0 / (double)n;
    }
    for (int b = 0; b < BINS; b++)
        r->most = fmax(r->most, s->share[b]);
}

static struct rates count_rates(const struct fl_group *g)
{
    struct rates r = {.control = g->control};
    double *v[SIDES];
    size_t n[SIDES];
    for (size_t k = 0; k < g->n_takes; k++)
        if (counts(g, k)) {
            r.takes++;
            r.capture_hz = fmax(r.capture_hz, g->takes[k]->capture_rate_hz);
            r.side[ON].seen_s += g->takes[k]->exposure.on_s;
            r.side[OFF].seen_s += g->takes[k]->exposure.off_s;
        }
    for (int k = 0; k < SIDES; k++) {
        v[k] = intervals_of(g, k, &n[k]);
        sum_side(&r.side[k], v[k], n[k]);
    }
    if (n[ON] + n[OFF])
        set_bins(&r, v, n);
    for (int k = 0; k < SIDES; k++) {
        fill(&r, k, v[k], n[k]);
        free(v[k]);
    }
    r.over = 2 * r.side[OFF].mean_hz > r.capture_hz;
    return r;
}

bool fl_rate_chart_due(const struct fl_chart_of *of)
{
    return count_rates(of->g).most > 0;
}

static double edge(const struct rates *r, int bin)
{
    return r->low * pow(r->ratio, bin);
}

static void draw_bars(struct fl_surface *c, const struct rates *r, const struct fl_axis *x,
                      const struct fl_axis *y, int side)
{
    struct fl_box box[BINS];
    size_t n = 0;
    double zero = fl_axis_at(y, 0);
    for (int b = 0; b < BINS; b++) {
        double a = fl_axis_at(x, edge(r, b)), w = fl_axis_at(x, edge(r, b + 1)) - a;
        double high = fabs(fl_axis_at(y, r->side[side].share[b]) - zero);
        if (high > 0)
            box[n++] = (struct fl_box){a + 0.6, side == ON ? zero - high : zero, w - 1.2, high};
    }
    for (size_t i = 0; i < n && side == ON; i++)
        fl_draw_box(c, box[i].x, box[i].y, box[i].w, box[i].h, FL_ON_STRONG);
    if (side == OFF) {
        fl_chart_hatch(c, box, n, 5, true, FL_OFF);
        for (size_t i = 0; i < n; i++) {
            cairo_rectangle(c->cr, box[i].x, box[i].y, box[i].w, box[i].h);
            fl_stroke(c, 1.4, FL_OFF, 0);
        }
    }
}

/* A rate that could not be counted is not a state that was not seen. */
enum { MISSING_SIZE = 96 };
static const char *missing(char buf[MISSING_SIZE], const struct rates *r, int side)
{
    const double seen_s = r->side[side].seen_s;
    char time[FL_FIGURE_SIZE];
    if (seen_s > 0 && side == ON && r->over)
        snprintf(buf, MISSING_SIZE,
                 "on: more pictures a second than this capture can count (over %s)",
                 fl_grouped_short(time, r->capture_hz));
    else if (seen_s > 0)
        snprintf(buf, MISSING_SIZE, "%s for %s s, but its rate could not be counted", word_of[side],
                 fl_grouped_short(time, seen_s));
    else if (side == ON && r->control)
        snprintf(buf, MISSING_SIZE, "a control: synthesis is disabled, so none is expected");
    else
        snprintf(buf, MISSING_SIZE, "never seen %s", word_of[side]);
    return buf;
}

/* "nine in ten intervals: 6.2 to 8.1 ms". */
enum { SPREAD_SIZE = FL_RANGE_SIZE + 32 };
static const char *spread(char buf[SPREAD_SIZE], const struct side *s, bool narrow)
{
    struct fl_grouped_interval ms;
    fl_grouped_interval(&ms, FL_UNKNOWN, s->shortest_ms, s->longest_ms);
    snprintf(buf, SPREAD_SIZE, "nine in ten%s: %s ms", narrow ? "" : " intervals", ms.range);
    return buf;
}

static void draw_missing(struct fl_surface *c, const struct rates *r, const struct fl_axis *x,
                         double middle, int side)
{
    char text[MISSING_SIZE];
    missing(text, r, side);
    if (c->narrow)
        fl_draw_paragraph(c, x->p0 + 8, middle - 24, x->p1 - x->p0 - 16, 3, FL_PLAIN, FL_MUTED,
                          false, text);
    else
        fl_draw_text(c, (x->p0 + x->p1) / 2, middle + 4, FL_CENTRE, FL_BOLD, FL_MUTED, 0, text);
}

/* Mean rate as a line, the words on the side with more room. */
static void draw_words(struct fl_surface *c, const struct rates *r, const struct fl_axis *x,
                       const struct fl_axis *y, int side)
{
    const struct side *s = &r->side[side];
    char text[96], rate[FL_FIGURE_SIZE], said[SPREAD_SIZE];
    double end = fl_axis_at(y, y->v1), line = side == ON ? end + 12 : end - 4;
    if (!s->intervals) {
        draw_missing(c, r, x, (fl_axis_at(y, 0) + end) / 2, side);
        return;
    }
    double at = fl_axis_at(x, s->mean_hz), from = at,
           to = at; /* of bars high enough to reach the words */
    for (int k = 0; k < BINS; k++)
        if (s->share[k] > 0.6 * r->most) {
            from = fmin(from, fl_axis_at(x, edge(r, k)));
            to = fmax(to, fl_axis_at(x, edge(r, k + 1)));
        }
    bool left = x->p1 - to < from - x->p0;
    double words = left ? from - 8 : to + 8;
    enum fl_anchor anchor = left ? FL_RIGHT : FL_LEFT;
    fl_draw_line(c, at, fl_axis_at(y, 0), at, end, 1.6, FL_INK, 2);
    snprintf(text, sizeof text, "%s: %s a second", word_of[side],
             fl_grouped_short(rate, s->mean_hz));
    fl_draw_text(c, words, side == ON ? line : line - 15, anchor, FL_BOLD, FL_INK, 0, text);
    spread(said, s, c->narrow);
    if (fl_text_width(c, FL_SMALL, said) <= (left ? words - x->p0 : x->p1 - words))
        fl_draw_text(c, words, side == ON ? line + 15 : line, anchor, FL_SMALL, FL_MUTED, 0, said);
}

static double height(const void *data, double width)
{
    (void)data;
    return width < FL_SURFACE_NARROW ? 260 : 0.36 * width;
}

static void draw(struct fl_surface *c, struct fl_box b, const void *data)
{
    struct rates r = count_rates(data);
    double bottom = b.y + b.h - AXIS, middle = (b.y + bottom) / 2, most = 1.12 * r.most;
    struct fl_axis x = {r.low, edge(&r, BINS), b.x + (c->narrow ? 52 : LEFT), b.x + b.w - 8, true};
    struct fl_axis up = {0, most, middle, b.y, false}, down = {0, most, middle, bottom, false},
                   below = {1e-6 * most, most, middle, bottom, false}; /* one nought is enough */
    fl_draw_y_axis(c, &up, x.p0, x.p1, 4);
    fl_draw_y_axis(c, &below, x.p0, x.p1, 4);
    fl_draw_x_axis(c, &x, bottom, b.y, c->narrow ? 5 : 10);
    draw_bars(c, &r, &x, &up, ON);
    draw_bars(c, &r, &x, &down, OFF);
    fl_draw_line(c, x.p0, middle, x.p1, middle, 1.4, FL_INK, 0);
    draw_words(c, &r, &x, &up, ON);
    draw_words(c, &r, &x, &down, OFF);
    fl_draw_text(c, b.x, (b.y + middle) / 2 + 4, FL_LEFT, FL_BOLD, FL_INK, 0, "on");
    fl_draw_text(c, b.x, (bottom + middle) / 2 + 4, FL_LEFT, FL_BOLD, FL_INK, 0, "off");
    fl_draw_text(c, (x.p0 + x.p1) / 2, bottom + 32, FL_CENTRE, FL_SMALL, FL_MUTED, 0,
                 c->narrow ? "pictures a second (1 / interval)"
                           : "pictures a second (1 / interval from one new picture to the next)");
}

/* "on: mean rate 140 a second over 5200 intervals; nine in ten intervals: 6.2 to 8.1 ms". */
static char *describe(const struct rates *r, int side)
{
    const struct side *s = &r->side[side];
    char text[MISSING_SIZE], mean[FL_FIGURE_SIZE], said[SPREAD_SIZE], n[FL_COUNT_SIZE];
    if (!s->intervals)
        return fl_strdup(missing(text, r, side));
    return fl_format(
        "%s: mean rate %s a second over %s; %s", word_of[side], fl_grouped_short(mean, s->mean_hz),
        fl_chart_count(n, s->intervals, "interval", "intervals"), spread(said, s, false));
}

struct fl_chart fl_rate_chart(const struct fl_chart_of *of)
{
    const struct fl_session *s = of->s;
    const struct fl_group *g = of->g;
    struct fl_chart p = {
        .least_w = 560, .least_h = LEAST, .height = height, .draw = draw, .data = g};
    struct rates r = count_rates(g);
    char *name = fl_chart_name(g->game, g->condition),
         *source = fl_chart_source(g->takes, g->n_takes, s->name);
    char takes[FL_COUNT_SIZE], on[FL_COUNT_SIZE], off[FL_COUNT_SIZE];
    fl_chart_count(takes, (long)r.takes, "take", "takes");
    p.title = fl_format("%s: pictures a second%s", name, g->control ? "" : ", on and off");
    p.lead =
        fl_format("Share of intervals between new pictures, in %%, by the rate that each stands "
                  "for: %s on, %s off; %s",
                  fl_chart_count(on, r.side[ON].intervals, "interval", "intervals"),
                  fl_chart_count(off, r.side[OFF].intervals, "interval", "intervals"), takes);
    p.note =
        fl_format("Up and solid: on, down and hatched: off, each as a share of its own; dotted: "
                  "mean rate. %s",
                  source);
    char *said[SIDES];
    for (int side = 0; side < SIDES; side++)
        said[side] = describe(&r, side);
    p.desc = fl_format("Intervals between new pictures, as rates. %s. %s.", said[ON], said[OFF]);
    free(said[ON]);
    free(said[OFF]);
    free(name);
    free(source);
    return p;
}
