/* How often each unique rate was met: upward and solid while on, downward and hatched while off. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "maths/robust.h"
#include "show/chart/chart.h"
#include "show/text/grouped_number.h"
#include "show/text/escape.h"

enum { AXIS = 38, LEFT = 76, LEAST = 220, BINS = 60, ON = 0, OFF = 1, SIDES = 2 };

struct rates {
    double low, width;               /* of the first bin; flips/s */
    double share[SIDES][BINS], most; /* of the side's own time */
    double time_s[SIDES], median[SIDES], unseen_s;
    double seen_s[SIDES]; /* in that state, its rate counted or not */
    size_t takes;         /* that count */
    double capture_hz;    /* the fastest of them */
    bool over;            /* twice the rate seen off is more than any of them captures */
};

/* A frame's rate is of flips in its own state alone. */
static int side_of(const struct fl_take *t, size_t i)
{
    enum fl_state state = t->states.frame_state[i];
    if (!isfinite(t->states.unique_rate_hz[i]) || state == FL_STATE_UNSEEN)
        return -1;
    return state == FL_STATE_ON ? ON : OFF;
}

static bool has_rates(const struct fl_take *t)
{
    return t->states.unique_rate_hz && t->states.frame_state && t->capture_rate_hz > 0;
}

/* Rates seen on one side, in no order; appended to v, which has room. */
static void collect(const struct fl_take *t, int side, double *v, size_t *n)
{
    for (size_t i = 0; i < t->states.n_frames; i++)
        if (side_of(t, i) == side)
            v[(*n)++] = t->states.unique_rate_hz[i];
}

/* A control has no on to be set against; its takes count only where all are controls. */
static bool counts(const struct fl_group *g, size_t k)
{
    return has_rates(g->takes[k]) && (g->control || !g->takes[k]->spec.synthesis_disabled);
}

static void find_range(const struct fl_group *g, double *low, double *high)
{
    *low = INFINITY;
    *high = -INFINITY;
    for (size_t k = 0; k < g->n_takes; k++) {
        const struct fl_states *s = &g->takes[k]->states;
        for (size_t i = 0; counts(g, k) && i < s->n_frames; i++)
            if (side_of(g->takes[k], i) >= 0) {
                *low = fmin(*low, s->unique_rate_hz[i]);
                *high = fmax(*high, s->unique_rate_hz[i]);
            }
    }
}

static double median_of(const struct fl_group *g, int side)
{
    size_t room = 1, n = 0;
    for (size_t k = 0; k < g->n_takes; k++)
        room += counts(g, k) ? g->takes[k]->states.n_frames : 0;
    double *v = FL_NEW(double, room);
    for (size_t k = 0; k < g->n_takes; k++)
        if (counts(g, k))
            collect(g->takes[k], side, v, &n);
    double median = n ? fl_quantile(v, n, 0.5) : FL_UNKNOWN;
    free(v);
    return median;
}

static void count_take(struct rates *r, const struct fl_take *t)
{
    const struct fl_states *s = &t->states;
    r->takes++;
    r->capture_hz = fmax(r->capture_hz, t->capture_rate_hz);
    r->seen_s[ON] += t->exposure.on_s;
    r->seen_s[OFF] += t->exposure.off_s;
    for (size_t i = 0; i < s->n_frames; i++) {
        int side = side_of(t, i);
        if (side < 0) {
            r->unseen_s += 1 / t->capture_rate_hz;
            continue;
        }
        int bin = (int)fl_clamp((s->unique_rate_hz[i] - r->low) / r->width, 0, BINS - 1);
        r->share[side][bin] += 1 / t->capture_rate_hz;
        r->time_s[side] += 1 / t->capture_rate_hz;
    }
}

static struct rates count_rates(const struct fl_group *g)
{
    struct rates r = {0};
    double low, high;
    find_range(g, &low, &high);
    if (!(high >= low))
        return r;
    double pad = fmax(0.15 * (high - low), 6);
    r.low = fmax(0, low - pad);
    r.width = (high + pad - r.low) / BINS;
    for (size_t k = 0; k < g->n_takes; k++)
        if (counts(g, k))
            count_take(&r, g->takes[k]);
    for (int side = 0; side < SIDES; side++) {
        r.median[side] = median_of(g, side);
        r.over = side == OFF && 2 * r.median[OFF] > r.capture_hz;
        for (int b = 0; b < BINS && r.time_s[side] > 0; b++) {
            r.share[side][b] *= 100 / r.time_s[side];
            r.most = fmax(r.most, r.share[side][b]);
        }
    }
    return r;
}

bool fl_rate_chart_due(const struct fl_chart_of *of)
{
    return count_rates(of->g).most > 0;
}

static void draw_bars(struct fl_surface *c, const struct rates *r, const struct fl_axis *x,
                      const struct fl_axis *y, int side)
{
    struct fl_box box[BINS];
    size_t n = 0;
    double zero = fl_axis_at(y, 0);
    for (int b = 0; b < BINS; b++) {
        double a = fl_axis_at(x, r->low + b * r->width),
               w = fl_axis_at(x, r->low + (b + 1) * r->width) - a;
        double high = fabs(fl_axis_at(y, r->share[side][b]) - zero);
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
    char time[FL_FIGURE_SIZE];
    const char *state = side == ON ? "on" : "off";
    if (r->seen_s[side] > 0 && side == ON && r->over)
        snprintf(buf, MISSING_SIZE,
                 "on: more pictures a second than this capture can count (over %s)",
                 fl_grouped_short(time, r->capture_hz));
    else if (r->seen_s[side] > 0)
        snprintf(buf, MISSING_SIZE, "%s for %s s, but its rate could not be counted", state,
                 fl_grouped_short(time, r->seen_s[side]));
    else
        snprintf(buf, MISSING_SIZE, "never seen %s", state);
    return buf;
}

/* Median rate as a line, the words on the side with more room. */
static void draw_words(struct fl_surface *c, const struct rates *r, const struct fl_axis *x,
                       const struct fl_axis *y, int side)
{
    char text[96], rate[FL_FIGURE_SIZE], time[FL_FIGURE_SIZE], count[64];
    double end = fl_axis_at(y, y->v1), line = side == ON ? end + 12 : end - 4;
    if (!(r->time_s[side] > 0)) {
        const double middle = (fl_axis_at(y, 0) + end) / 2;
        missing(text, r, side);
        if (c->narrow)
            fl_draw_paragraph(c, x->p0 + 8, middle - 24, x->p1 - x->p0 - 16, 3, FL_PLAIN, FL_MUTED,
                              false, text);
        else
            fl_draw_text(c, (x->p0 + x->p1) / 2, middle + 4, FL_CENTRE, FL_BOLD, FL_MUTED, 0, text);
        return;
    }
    double at = fl_axis_at(x, r->median[side]), from = at,
           to = at; /* of bars high enough to reach the words */
    for (int k = 0; k < BINS; k++)
        if (r->share[side][k] > 0.6 * r->most) {
            from = fmin(from, fl_axis_at(x, r->low + k * r->width));
            to = fmax(to, fl_axis_at(x, r->low + (k + 1) * r->width));
        }
    bool left = x->p1 - to < from - x->p0;
    double words = left ? from - 8 : to + 8;
    enum fl_anchor anchor = left ? FL_RIGHT : FL_LEFT;
    fl_draw_line(c, at, fl_axis_at(y, 0), at, end, 1.6, FL_INK, 2);
    snprintf(text, sizeof text, "%s: %s a second", side == ON ? "on" : "off",
             fl_grouped_short(rate, r->median[side]));
    snprintf(count, sizeof count, "median over %s s", fl_grouped_short(time, r->time_s[side]));
    fl_draw_text(c, words, side == ON ? line : line - 15, anchor, FL_BOLD, FL_INK, 0, text);
    fl_draw_text(c, words, side == ON ? line + 15 : line, anchor, FL_SMALL, FL_MUTED, 0, count);
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
    struct fl_axis x = {r.low, r.low + BINS * r.width, b.x + (c->narrow ? 52 : LEFT), b.x + b.w - 8,
                        false};
    struct fl_axis up = {0, most, middle, b.y, false}, down = {0, most, middle, bottom, false};
    fl_draw_y_axis(c, &up, x.p0, x.p1, 4);
    fl_draw_y_axis(c, &down, x.p0, x.p1, 4);
    fl_draw_x_axis(c, &x, bottom, b.y, c->narrow ? 5 : 10);
    draw_bars(c, &r, &x, &up, ON);
    draw_bars(c, &r, &x, &down, OFF);
    fl_draw_line(c, x.p0, middle, x.p1, middle, 1.4, FL_INK, 0);
    draw_words(c, &r, &x, &up, ON);
    draw_words(c, &r, &x, &down, OFF);
    fl_draw_text(c, b.x, (b.y + middle) / 2 + 4, FL_LEFT, FL_BOLD, FL_INK, 0, "on");
    fl_draw_text(c, b.x, (bottom + middle) / 2 + 4, FL_LEFT, FL_BOLD, FL_INK, 0, "off");
    fl_draw_text(c, (x.p0 + x.p1) / 2, bottom + 32, FL_CENTRE, FL_SMALL, FL_MUTED, 0,
                 c->narrow ? "new pictures a second"
                           : "new pictures a second (unique rate in 0.25 s windows)");
}

/* "on: median 150 a second over 12.0 s". */
static char *describe(const struct rates *r, int side)
{
    char text[MISSING_SIZE], median[FL_FIGURE_SIZE];
    if (!(r->time_s[side] > 0))
        return fl_strdup(missing(text, r, side));
    return fl_format("%s: median %s a second over %.1f s", side == ON ? "on" : "off",
                     fl_figure(median, r->median[side]), r->time_s[side]);
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
    char unseen[FL_FIGURE_SIZE], takes[FL_COUNT_SIZE];
    fl_chart_count(takes, (long)r.takes, "take", "takes");
    p.title = fl_format("%s: pictures a second, on and off", name);
    p.lead = fl_format(
        "Share of time on (up) and off (down), in %%, by the rate of new pictures. %s; none "
        "counted in %s s",
        takes, fl_grouped_short(unseen, r.unseen_s));
    p.note = fl_format(
        "Solid: on, hatched: off, each as a share of its own time; dotted: median. %s", source);
    char *said[SIDES];
    for (int side = 0; side < SIDES; side++)
        said[side] = describe(&r, side);
    p.desc = fl_format("Unique rate in 0.25 s windows: %s; %s.", said[ON], said[OFF]);
    free(said[ON]);
    free(said[OFF]);
    free(name);
    free(source);
    return p;
}
