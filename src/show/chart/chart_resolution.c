/* V50 against counts per inch, in four quantities side by side. All four span the same ratio from
 * bottom to top, so that equal slopes are equal ratios, and level means that resolution does not
 * matter. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/mem.h"
#include "base/text_stream.h"
#include "show/chart/chart_axes.h"
#include "show/chart/chart.h"
#include "show/text/grouped_number.h"
#include "study/compare/comparison.h"
#include "study/compare/verdict.h"
#include "study/curve/curve.h"

enum {
    PANELS = 4,
    MOST = 16,
    HEAD = 22,
    FOOT = 98,
    LEAST_H = 250,
    LEAST_W = 690,
    LEFT = 40,
    GAP = 14
};
static const enum fl_quantity shown[PANELS] = {FL_HAND_SPEED, FL_COUNT_RATE, FL_CAMERA_SPEED,
                                               FL_IMAGE_STEP};

struct settings {
    const struct fl_curve *v[MOST];
    size_t n;
    double cpi[MOST]; /* n_cpi, rising */
    size_t n_cpi;
};

static void add_resolution(struct settings *k, double cpi)
{
    size_t i = 0;
    while (i < k->n_cpi && k->cpi[i] < cpi)
        i++;
    if (i < k->n_cpi && k->cpi[i] == cpi)
        return;
    memmove(&k->cpi[i + 1], &k->cpi[i], (k->n_cpi - i) * sizeof *k->cpi);
    k->cpi[i] = cpi;
    k->n_cpi++;
}

static struct settings settings_of(const struct fl_chart_of *r, enum fl_quantity q)
{
    struct settings k = {.n = 0};
    for (size_t i = 0; i < r->s->n_curves && k.n < MOST; i++) {
        const struct fl_curve *c = &r->s->curves[i];
        if (c->pooled || c->quantity != q || !fl_known(c->counts_per_inch) ||
            !fl_group_has(r->g, c->game, c->condition))
            continue;
        k.v[k.n++] = c;
        add_resolution(&k, c->counts_per_inch);
    }
    return k;
}

bool fl_resolution_chart_due(const struct fl_chart_of *r)
{
    for (int i = 0; i < PANELS; i++)
        if (settings_of(r, shown[i]).n_cpi >= 2)
            return true;
    return false;
}

/* The comparison between the lowest and the highest resolution; of several sensitivities the first.
 */
static const struct fl_comparison *comparison_of(const struct fl_chart_of *r, enum fl_quantity q)
{
    struct settings k = settings_of(r, q);
    const struct fl_comparison *best = NULL;
    double widest = 1;
    for (size_t i = 0; i < r->s->n_comparisons; i++) {
        const struct fl_comparison *c = &r->s->comparisons[i];
        if (c->pair != FL_PAIR_RESOLUTION || c->quantity != q ||
            !fl_group_has(r->g, c->game, c->a->condition))
            continue;
        double ratio = fmax(c->a->counts_per_inch, c->b->counts_per_inch) /
                       fmin(c->a->counts_per_inch, c->b->counts_per_inch);
        ratio *= c->held && k.n > k.n_cpi ? 1.001 : 1; /* one that holds something says more */
        if (ratio > widest) {
            widest = ratio;
            best = c;
        }
    }
    return best;
}

/* What has to be seen of a curve. */
static double figure_of(const struct fl_curve *c)
{
    return c->bound == FL_BOUND_NONE ? c->v50 : c->bound_at;
}

static void span_of(const struct settings *k, double *low, double *high)
{
    *low = INFINITY;
    *high = 0;
    for (size_t i = 0; i < k->n; i++) {
        const struct fl_curve *c = k->v[i];
        const double v[] = {figure_of(c), fmax(c->v50_low, c->v50 / 3),
                            fmin(c->v50_high, c->v50 * 3)};
        for (int j = 0; j < 3; j++)
            fl_widen(low, high, v[j]);
    }
}

/* The ratio that all panels span. */
static double common_ratio(const struct fl_chart_of *r)
{
    double most = 2;
    for (int i = 0; i < PANELS; i++) {
        struct settings k = settings_of(r, shown[i]);
        double low, high;
        span_of(&k, &low, &high);
        if (high > 0)
            most = fmax(most, high / low);
    }
    return 1.5 * most;
}

/* Two stand closer together than their share, which leaves room for their figures outside. */
static double column_of(const struct settings *k, size_t i, const struct fl_axis *x)
{
    double share = k->n_cpi == 2 ? (i ? 0.67 : 0.33) : ((double)i + 0.5) / (double)k->n_cpi;
    return x->p0 + share * (x->p1 - x->p0);
}

static double place_of(const struct settings *k, const struct fl_curve *c, const struct fl_axis *x)
{
    size_t i = 0, same = 0, before = 0;
    while (i + 1 < k->n_cpi && k->cpi[i] < c->counts_per_inch)
        i++;
    for (size_t j = 0; j < k->n;
         j++) { /* several sensitivities of one resolution stand side by side */
        before += k->v[j] == c ? same : 0;
        same += k->v[j]->counts_per_inch == c->counts_per_inch;
    }
    double shift = same > 1 ? 14 * ((double)before - (double)(same - 1) / 2) : 0;
    return column_of(k, i, x) + shift;
}

static void draw_setting(struct fl_surface *c, const struct fl_axis *y, double x,
                         const struct fl_curve *v, bool label, bool left)
{
    char text[FL_FIGURE_SIZE + 2], bound[FL_FIGURE_SIZE];
    struct fl_grouped_interval v50;
    bool above = v->bound == FL_BOUND_ABOVE, below = v->bound == FL_BOUND_BELOW;
    if (!fl_known(figure_of(v))) {
        fl_draw_text(c, x, (y->p0 + y->p1) / 2, FL_CENTRE, FL_SMALL, FL_MUTED, 0, "?");
        return;
    }
    double at = fl_clamp(fl_axis_at(y, figure_of(v)), y->p1, y->p0);
    fl_chart_upright(c, y, x,
                     above   ? v->bound_at
                     : below ? FL_UNKNOWN
                             : v->v50_low,
                     below   ? v->bound_at
                     : above ? FL_UNKNOWN
                             : v->v50_high,
                     5, FL_SERIES_1);
    if (!above && !below)
        fl_draw_mark(c, x, at, 2, 10, FL_SERIES_1, true);
    snprintf(text, sizeof text, "%s%s",
             above   ? ">"
             : below ? "<"
                     : "",
             above || below ? fl_grouped_figure(bound, figure_of(v))
                            : fl_grouped_interval(&v50, v->v50, v->v50_low, v->v50_high)->at);
    if (label)
        fl_draw_text(c, left ? x - 9 : x + 9, at + 4, left ? FL_RIGHT : FL_LEFT, FL_SMALL_BOLD,
                     FL_INK, 0, text);
}

static void draw_ratio(struct fl_surface *c, struct fl_box b, const struct fl_comparison *k)
{
    char text[96], low[FL_FIGURE_SIZE], high[FL_FIGURE_SIZE];
    struct fl_grouped_interval ratio;
    double x = b.x + b.w / 2;
    if (!k || (!fl_known(k->ratio) && !fl_known(k->low) && !fl_known(k->high))) {
        fl_draw_text(c, x, b.y + 16, FL_CENTRE, FL_BOLD, FL_MUTED, b.w, "cannot tell");
        return;
    }
    fl_grouped_ratio(&ratio, k->ratio, k->low, k->high);
    snprintf(text, sizeof text, "%s times", fl_known(k->ratio) ? ratio.at : ratio.range);
    fl_draw_text(c, x, b.y + 14, FL_CENTRE, FL_BOLD, FL_INK, b.w, text);
    bool whole = fl_known(k->low) || fl_known(k->high);
    if (fl_known(k->ratio))
        fl_draw_text(c, x, b.y + 29, FL_CENTRE, FL_SMALL, whole ? FL_INK : FL_MUTED, b.w,
                     whole ? ratio.range : "interval unknown");
    bool apart = (k->low > 1 || k->high < 1) && !(k->p_adjusted >= 0.05);
    const char *verdict = apart ? "differs" : "cannot tell";
    snprintf(text, sizeof text, "%s against %s: %s", fl_grouped_figure(low, k->a->counts_per_inch),
             fl_grouped_figure(high, k->b->counts_per_inch), verdict);
    fl_chart_text(c, x, b.y + 44, FL_CENTRE, FL_SMALL, FL_MUTED, b.w, text, verdict);
}

static void draw_panel(struct fl_surface *c, struct fl_box b, const struct fl_chart_of *r,
                       enum fl_quantity q, double ratio)
{
    const struct fl_quantity_info *info = fl_quantity_info(q);
    struct settings k = settings_of(r, q);
    struct fl_axis x = {0, 1, b.x + LEFT, b.x + b.w, false};
    double low, high, bottom = b.y + b.h - FOOT;
    char head[80], text[32];
    span_of(&k, &low, &high);
    snprintf(head, sizeof head, "%s, %s", info->label, info->unit_label);
    fl_draw_text(c, b.x + 6, b.y + 10, FL_LEFT, FL_SMALL_BOLD, FL_INK, b.w - 6, head);
    if (!k.n || !(high > 0)) {
        fl_draw_text(c, (x.p0 + x.p1) / 2, (b.y + bottom) / 2, FL_CENTRE, FL_SMALL, FL_MUTED,
                     b.w - LEFT, k.n ? "no V50" : "not measured");
        return;
    }
    double middle = sqrt(low * high);
    struct fl_axis y = {middle / sqrt(ratio), middle * sqrt(ratio), bottom, b.y + HEAD, true};
    fl_draw_y_axis(c, &y, x.p0, x.p1, 5);
    fl_draw_line(c, x.p0, bottom, x.p1, bottom, 1, FL_MUTED, 0);
    for (size_t i = 0; i < k.n_cpi; i++) {
        fl_tick_text(text, k.cpi[i]);
        fl_draw_text(c, column_of(&k, i, &x), bottom + 15, FL_CENTRE, FL_SMALL, FL_INK, 0, text);
    }
    fl_draw_text(c, (x.p0 + x.p1) / 2, bottom + 29, FL_CENTRE, FL_SMALL, FL_MUTED, 0,
                 "DPI (counts per inch)");
    for (size_t i = 0; i < k.n; i++)
        for (size_t j = i + 1; j < k.n && k.n == k.n_cpi;
             j++) /* level or not: what the eye should compare */
            if (fl_known(k.v[i]->v50) && fl_known(k.v[j]->v50) && k.n == 2)
                fl_draw_line(c, place_of(&k, k.v[i], &x), fl_axis_at(&y, k.v[i]->v50),
                             place_of(&k, k.v[j], &x), fl_axis_at(&y, k.v[j]->v50), 1.2,
                             FL_SERIES_1, 2);
    for (size_t i = 0; i < k.n; i++)
        draw_setting(c, &y, place_of(&k, k.v[i], &x), k.v[i], k.n <= 4,
                     k.n == 2 && k.v[i]->counts_per_inch == k.cpi[0]);
    draw_ratio(c, (struct fl_box){x.p0 - 12, bottom + 44, x.p1 - x.p0 + 24, 50},
               comparison_of(r, q));
}

/* Side by side, on a narrow surface two and two. */
static double height(const void *data, double width)
{
    (void)data;
    return width < FL_SURFACE_NARROW ? 2 * LEAST_H + GAP + 60 : 0.42 * width;
}

static void draw(struct fl_surface *c, struct fl_box b, const void *data)
{
    const struct fl_chart_of *r = data;
    const int across = c->narrow ? PANELS / 2 : PANELS;
    const double w = (b.w - GAP * (across - 1)) / across, h = c->narrow ? (b.h - GAP) / 2 : b.h,
                 ratio = common_ratio(r);
    for (int i = 0; i < PANELS; i++)
        draw_panel(
            c, (struct fl_box){b.x + i % across * (w + GAP), b.y + (i / across) * (h + GAP), w, h},
            r, shown[i], ratio);
}

static char *describe(const struct fl_chart_of *r)
{
    struct fl_text_stream stream;
    FILE *out = fl_text_begin(&stream);
    fputs("V50 against counts per inch.", out);
    for (int i = 0; i < PANELS; i++) {
        struct settings k = settings_of(r, shown[i]);
        const struct fl_comparison *c = comparison_of(r, shown[i]);
        for (size_t j = 0; j < k.n; j++) {
            char v50[FL_V50_SIZE], setting[FL_SETTING_SIZE];
            fprintf(out, " %s at %s: %s.", fl_quantity_info(shown[i])->label,
                    fl_setting_text(setting, k.v[j]), fl_v50_text(v50, k.v[j]));
        }
        if (c && c->verdict)
            fprintf(out, " %s.", c->verdict);
    }
    return fl_text_end(&stream);
}

/* What was found, in plain words: "Paper Orchard: trips at 3.7 times the hand speed at 400 as at
 * 1600 DPI". */
static char *title(const struct fl_comparison *c, const char *name)
{
    char a[FL_FIGURE_SIZE], b[FL_FIGURE_SIZE];
    struct fl_interval_text t;
    if (!c || !fl_known(c->low) || !fl_known(c->high))
        return fl_format("%s: whether mouse resolution matters is not known", name);
    fl_grouped_short(a, c->a->counts_per_inch);
    fl_grouped_short(b, c->b->counts_per_inch);
    fl_ratio_text(&t, c->ratio, c->low, c->high);
    if (c->p_adjusted < FL_CLAIM)
        return fl_format("%s: trips at %s times the %s at %s as at %s DPI", name, t.at,
                         fl_quantity_info(c->quantity)->label, a, b);
    return fl_format("%s: no difference found between %s and %s DPI; %s to %s times not excluded",
                     name, a, b, t.low, t.high);
}

struct fl_chart fl_resolution_chart(const struct fl_chart_of *r)
{
    struct fl_chart p = {.desc = describe(r),
                         .least_w = LEAST_W,
                         .least_h = LEAST_H,
                         .height = height,
                         .draw = draw,
                         .data = r};
    const struct fl_comparison *c = comparison_of(r, FL_HAND_SPEED);
    c = c ? c : comparison_of(r, FL_CAMERA_SPEED);
    char *name = fl_chart_name(r->g->game, r->g->condition),
         *source = fl_chart_source(r->g->takes, r->g->n_takes, r->s->name);
    struct settings k = settings_of(r, c ? c->quantity : FL_CAMERA_SPEED);
    int flicks = 0, takes = 0;
    for (size_t i = 0; i < k.n; i++) {
        flicks += k.v[i]->flicks;
        takes += k.v[i]->takes;
    }
    p.title = title(c, name);
    p.lead = fl_strdup(c && c->verdict ? c->verdict : "Trip speed V50 against counts per inch");
    p.note =
        fl_format("Bars: 95 %% intervals, arrow: open. Level: resolution does not matter to that "
                  "quantity. Differs: after "
                  "adjusting for all comparisons. %d flicks, %d takes. %s",
                  flicks, takes, source);
    if (p.lead[0] >= 'a' && p.lead[0] <= 'z')
        p.lead[0] = (char)(p.lead[0] - 32);
    free(name);
    free(source);
    return p;
}
