/* One take's course: state as height, unique rate, speed with its flicks, on one time axis. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/mem.h"
#include "show/chart/chart_axes.h"
#include "show/chart/chart.h"
#include "show/text/grouped_number.h"
#include "show/text/result_words.h"

enum { AXIS = 38, HEAD = 21, STATE = 46, LOW = 15, LEAST = 290, MARKS = 17, PAGE_PANEL = 104 };

struct layout {
    struct fl_axis time;
    double state, rate, speed, high; /* upper edges; height of the two panels */
    double left, right;              /* room beside them */
};

/* Over the speeds: their name, and on a narrow surface the marks' in a line of their own. */
static double speed_head(bool narrow)
{
    return HEAD + 6 + (narrow ? MARKS : 0);
}

static double height(const void *data, double width)
{
    (void)data;
    return 4 + STATE + HEAD + 8 + 2 * PAGE_PANEL + speed_head(width < FL_SURFACE_NARROW) + AXIS;
}

static struct layout lay_out(struct fl_surface *c, const struct fl_take *t, struct fl_box b)
{
    struct layout l = {.state = b.y + 4, .left = c->narrow ? 46 : 76, .right = 30};
    if (!c->narrow)
        l.right = 9 + fl_text_width(c, FL_SMALL, "seen from 100");
    l.time = (struct fl_axis){0, t->duration_s > 0 ? t->duration_s : 1, b.x + l.left,
                              b.x + b.w - l.right, false};
    l.rate = l.state + STATE + HEAD + 8;
    l.high = (b.y + b.h - AXIS - l.rate - speed_head(c->narrow)) / 2;
    l.speed = l.rate + l.high + speed_head(c->narrow);
    return l;
}

/* On stands high, off low, unseen is a hatched line between: the same in grey and without any
 * colour. Off is drawn last and never thinner than a line, so that short lapses stay visible. */
static void draw_states(struct fl_surface *c, const struct layout *l, const struct fl_states *s)
{
    struct fl_box *unseen = FL_NEW(struct fl_box, s->n_spans + 1);
    size_t n = 0;
    double y = l->state, rule = y + STATE + 1.5;
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = 0; i < s->n_spans; i++) {
            const struct fl_state_span *span = &s->span[i];
            double a = fl_axis_at(&l->time, span->start_s),
                   w = fl_axis_at(&l->time, span->end_s) - a;
            if (span->state == FL_STATE_UNSEEN && pass)
                unseen[n++] = (struct fl_box){a, y + STATE - LOW - 12, w, 7};
            else if (span->state == FL_STATE_ON && !pass)
                fl_draw_box(c, a, y, w, STATE, FL_ON_STRONG);
            else if (span->state == FL_STATE_OFF && pass)
                fl_draw_box(c, a, y + STATE - LOW, fmax(w, 1), LOW, FL_OFF);
        }
    fl_chart_hatch(c, unseen, n, 4, false, FL_MUTED);
    free(unseen);
    fl_draw_line(c, l->time.p0, rule, l->time.p1, rule, 1, FL_MUTED, 0);
    double right = l->time.p0 - 8;
    fl_draw_text(c, right, y + 10, FL_RIGHT, FL_SMALL_BOLD, FL_INK, 0, "on");
    fl_draw_text(c, right, y + STATE - LOW - 5, FL_RIGHT, FL_SMALL, FL_MUTED, l->left - 4,
                 "unseen");
    fl_draw_text(c, right, y + STATE - 2, FL_RIGHT, FL_SMALL_BOLD, FL_INK, 0, "off");
}

/* A level with its name and figure on the right. */
static void draw_level(struct fl_surface *c, const struct layout *l, const struct fl_axis *y,
                       double v, const char *name, const char *figure, double shift)
{
    char text[64];
    if (!fl_known(v) || v > y->v1)
        return;
    double at = fl_axis_at(y, v);
    fl_draw_line(c, l->time.p0, at, l->time.p1, at, 1.2, FL_MUTED, 2);
    snprintf(text, sizeof text, c->narrow ? "%s" : "%s %s", name, figure);
    fl_draw_text(c, l->time.p1 + 7, at + 4 + shift, FL_LEFT, FL_SMALL, FL_INK, l->right - 7, text);
}

static void draw_rate(struct fl_surface *c, const struct layout *l, const struct fl_take *t)
{
    const struct fl_states *s = &t->states;
    const double on = fl_states_on_output_hz(s);
    struct fl_axis y = fl_rate_axis(s, l->rate + l->high, l->rate);
    fl_draw_text(c, l->time.p0, l->rate - 7, FL_LEFT, FL_SMALL_BOLD, FL_INK, 0,
                 "new pictures a second (unique rate)");
    fl_shade_lapses(c, &l->time, s, l->rate, l->high);
    fl_draw_y_axis(c, &y, l->time.p0, l->time.p1, 4);
    bool crowded = fabs(fl_axis_at(&y, on) - fl_axis_at(&y, s->base_rate_off_hz)) < 13;
    char figure[FL_FIGURE_SIZE];
    draw_level(c, l, &y, on, "on", fl_grouped_short(figure, on), crowded ? -6 : 0);
    draw_level(c, l, &y, s->base_rate_off_hz, "off", fl_grouped_short(figure, s->base_rate_off_hz),
               crowded ? 6 : 0);
    size_t n = s->n_frames < (size_t)t->frames ? s->n_frames : (size_t)t->frames;
    if (s->unique_rate_hz && n)
        fl_draw_steps(c, &l->time, &y, t->time_s, s->unique_rate_hz, n, 1.8, FL_INK);
    else
        fl_draw_text(c, (l->time.p0 + l->time.p1) / 2, l->rate + l->high / 2, FL_CENTRE, FL_BOLD,
                     FL_MUTED, 0, "no rate was seen");
}

static void mark_flicks(struct fl_surface *c, const struct layout *l, const struct fl_take *t,
                        const struct fl_axis *y, enum fl_quantity q)
{
    const double scale = t->n_flicks > 120 ? 0.65 : 1;
    for (size_t i = 0; i < t->n_flicks; i++) {
        const struct fl_flick *f = &t->flicks[i];
        if (!fl_known(f->peak[q]) || !fl_known(f->peak_s))
            continue;
        double x = fl_axis_at(&l->time, f->peak_s), at = fl_axis_at(y, fmin(f->peak[q], y->v1));
        if (!fl_flick_counts(f))
            fl_draw_mark(c, x, at, 1, 4 * scale, FL_MUTED, true);
        else
            fl_draw_mark(c, x, at, f->tripped == FL_YES ? 3 : 0, 8 * scale,
                         f->tripped == FL_YES ? FL_OFF : FL_INK, f->tripped == FL_YES);
    }
}

/* From the right: what the marks are. */
static void name_marks(struct fl_surface *c, double right, double y)
{
    static const struct {
        const char *text;
        int shape;
        enum fl_colour colour;
        bool filled;
        double size;
    } mark[] = {{"not used", 1, FL_MUTED, true, 4},
                {"held", 0, FL_INK, false, 8},
                {"tripped", 3, FL_OFF, true, 8}};
    for (int i = 0; i < 3; i++) {
        fl_draw_text(c, right, y, FL_RIGHT, FL_SMALL, FL_INK, 0, mark[i].text);
        right -= fl_text_width(c, FL_SMALL, mark[i].text) + 10;
        fl_draw_mark(c, right, y - 4, mark[i].shape, mark[i].size, mark[i].colour, mark[i].filled);
        right -= 14;
    }
    fl_draw_text(c, right, y, FL_RIGHT, FL_SMALL, FL_MUTED, 0, "flicks:");
}

static void draw_speed(struct fl_surface *c, const struct layout *l, const struct fl_take *t)
{
    enum fl_quantity q = fl_course_quantity(t);
    fl_shade_lapses(c, &l->time, &t->states, l->speed, l->high);
    if (q == FL_QUANTITIES) {
        fl_draw_text(c, (l->time.p0 + l->time.p1) / 2, l->speed + l->high / 2, FL_CENTRE, FL_BOLD,
                     FL_MUTED, 0, "no motion could be measured");
        return;
    }
    const struct fl_quantity_info *info = fl_quantity_info(q);
    char title[80], figure[FL_FIGURE_SIZE];
    snprintf(title, sizeof title, "%s, %s", info->label, info->unit_label);
    struct fl_axis y = {0, 1.15 * fl_greatest(t->quantity[q], (size_t)t->frames, 1),
                        l->speed + l->high, l->speed, false};
    fl_draw_text(c, l->time.p0, l->speed - 7 - (c->narrow ? MARKS : 0), FL_LEFT, FL_SMALL_BOLD,
                 FL_INK, 0, title);
    fl_draw_y_axis(c, &y, l->time.p0, l->time.p1, 4);
    if (q == FL_CAMERA_SPEED && fl_axis_at(&y, t->visible_floor_deg_s) < y.p0 - 8)
        draw_level(c, l, &y, t->visible_floor_deg_s, c->narrow ? "seen" : "seen from",
                   fl_rough_figure(figure, t->visible_floor_deg_s), 0);
    fl_draw_series(c, &l->time, &y, t->time_s, t->quantity[q], (size_t)t->frames, 1.4, FL_SERIES_1);
    if (t->n_flicks)
        name_marks(c, l->time.p1, l->speed - 7);
    mark_flicks(c, l, t, &y, q);
}

static void draw(struct fl_surface *c, struct fl_box b, const void *data)
{
    const struct fl_take *t = data;
    struct layout l = lay_out(c, t, b);
    double bottom = l.speed + l.high;
    draw_states(c, &l, &t->states);
    draw_rate(c, &l, t);
    draw_speed(c, &l, t);
    fl_draw_x_axis(c, &l.time, bottom, bottom, c->narrow ? 5 : 10);
    fl_draw_text(c, (l.time.p0 + l.time.p1) / 2, bottom + 31, FL_CENTRE, FL_SMALL, FL_MUTED, 0,
                 "footage time, s");
}

/* "13 % of this recording (12 to 15 %)"; what is refused leaves its range. */
static char *of_recording(const struct fl_exposure *e)
{
    char at[FL_SHARE_SIZE], range[FL_SHARE_SIZE];
    fl_share_range(range, e->off_share_of_take_low, e->off_share_of_take_high);
    return fl_known(e->off_share_of_take)
               ? fl_format("%s of this recording (%s)", fl_share_text(at, e->off_share_of_take),
                           range)
               : fl_format("%s of this recording", range);
}

/* "76 % of the time spent turning (73 to 77 %) and ", where it turned. */
static char *of_turning(const struct fl_exposure *e)
{
    char at[FL_SHARE_SIZE], range[FL_SHARE_SIZE];
    if (!fl_known(e->off_share_in_motion))
        return fl_strdup("");
    return fl_format(
        "%s of the time spent turning (%s) and ", fl_share_text(at, e->off_share_in_motion),
        fl_share_range(range, e->off_share_in_motion_low, e->off_share_in_motion_high));
}

static char *lead(const struct fl_take *t)
{
    const struct fl_exposure *e = &t->exposure;
    char lapses[FL_COUNT_SIZE], longest[FL_FIGURE_SIZE];
    if (t->spec.synthesis_disabled)
        return fl_strdup(
            "A control: synthesis was disabled for the whole take, so every picture is "
            "a rendered one");
    if (!(e->on_s + e->off_s > 0))
        return fl_strdup("Cannot tell: nothing moved fast enough to show on from off");
    if (!(e->on_s > 0))
        return fl_strdup("Never seen on, so nothing can be called a lapse");
    char *turning = of_turning(e), *take = of_recording(e);
    fl_chart_count(lapses, (long)t->states.n_lapses, "lapse", "lapses");
    char *text = fl_format("%sff for %s%s, in %s%s%s%s",
                           t->spec.play_drill ? "Of these deliberate flicks o" : "O", turning, take,
                           lapses, t->states.n_lapses ? ", the longest " : "",
                           t->states.n_lapses ? fl_rough_figure(longest, e->longest_s) : "",
                           t->states.n_lapses ? " s" : "");
    free(turning);
    free(take);
    return text;
}

struct fl_chart fl_timeline_chart(const struct fl_chart_of *of)
{
    const struct fl_take *t = of->t;
    struct fl_chart p = {.lead = lead(t),
                         .least_w = 620,
                         .least_h = LEAST,
                         .height = height,
                         .draw = draw,
                         .data = t};
    char *name = fl_chart_name(t->spec.game, t->spec.condition),
         *source = fl_chart_source(&t, 1, NULL);
    char off[FL_FIGURE_SIZE], unseen[FL_FIGURE_SIZE];
    const bool control = t->spec.synthesis_disabled;
    p.title = fl_format("%s: %s", name, control ? "a control" : "when synthesis was off");
    p.note = fl_format("Take %s. %sHatched: unseen, too little moved to show on from off. %s",
                       t->spec.id, control ? "" : "Shaded: lapses. ", source);
    p.desc =
        fl_format("State, unique rate and speed of take %s over %.1f s: %zu lapses, off for %s s, "
                  "unseen for %s s.",
                  t->spec.id, t->duration_s, t->states.n_lapses, fl_figure(off, t->exposure.off_s),
                  fl_figure(unseen, t->exposure.unseen_s));
    free(name);
    free(source);
    return p;
}
