/* The hierarchical model: each setting's evidence, tied by the session's mean slope. */
#include "study/curve/hierarchy.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "study/curve/hierarchy_setting.h"
#include "study/curve/stray_rate.h"

#define LEVEL 0.95
#define KEPT 1e-10 /* rows of a posterior that hold less, to either side, are left out */

struct setting {
    struct fl_trip_grid grid; /* with what other settings say of the spread; chance not owned */
    struct fl_trip_evidence evidence;
    double slope[FL_TRIP_SLOPES], mean[FL_TRIP_MEANS]; /* evidence given each */
    struct fl_hierarchy_take *take;                    /* own copies */
    fl_trip_grid_row **likelihood;                     /* of each take */
    double (*own)[FL_TRIP_SLOPES]; /* of each take with a theta of its own: evidence given slopes */
    size_t n;
};

struct fl_hierarchy {
    struct fl_trip_grid grid;
    struct setting *setting;
    size_t n;
    double spread_scale;
};

/* ---- settings ---- */

static struct fl_hierarchy_take copy_take(const struct fl_hierarchy_take *t)
{
    double *x = FL_NEW(double, t->n + 1);
    bool *tripped = FL_NEW(bool, t->n + 1);
    memcpy(x, t->x, t->n * sizeof *x);
    memcpy(tripped, t->tripped, t->n * sizeof *tripped);
    return (struct fl_hierarchy_take){x, tripped, t->n};
}

static struct fl_trip_grid_rows rows_for(const struct fl_hierarchy_take *take, size_t n)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t k = 0; k < n; k++)
        for (size_t i = 0; i < take[k].n; i++) {
            low = fmin(low, take[k].x[i]);
            high = fmax(high, take[k].x[i]);
        }
    return fl_trip_grid_rows_for(low, high);
}

static fl_trip_grid_row *likelihood_of(const struct fl_trip_grid *g,
                                       const struct fl_trip_grid_rows *r,
                                       const struct fl_hierarchy_take *t)
{
    fl_trip_grid_row *out = (fl_trip_grid_row *)fl_calloc(r->rows, sizeof(fl_trip_grid_row));
    fl_trip_grid_likelihood(g, r, t->x, t->tripped, t->n, out);
    return out;
}

static void weigh(struct setting *s, const struct fl_trip_grid *g)
{
    for (size_t k = 0; k < s->n; k++) {
        fl_trip_grid_row *l = likelihood_of(g, &s->evidence.rows, &s->take[k]);
        fl_trip_evidence_own(&s->evidence.rows, (const fl_trip_grid_row *)l, s->own[k]);
        fl_trip_evidence_add(&s->evidence, g, (const fl_trip_grid_row *)l);
        s->likelihood[k] = l;
    }
    fl_trip_evidence_integrate(&s->evidence, g, s->slope, s->mean);
}

static void setting_init(struct setting *s, const struct fl_hierarchy_take *take, size_t n)
{
    *s = (struct setting){.take = FL_NEW(struct fl_hierarchy_take, n + 1), .n = n};
    s->own = (double(*)[FL_TRIP_SLOPES])fl_calloc(n + 1, sizeof *s->own);
    s->likelihood = FL_NEW(fl_trip_grid_row *, n + 1);
    for (size_t k = 0; k < n; k++)
        s->take[k] = copy_take(&take[k]);
    s->evidence.rows = rows_for(take, n);
}

static void setting_finish(struct setting *s)
{
    for (size_t k = 0; k < s->n; k++) {
        free((void *)s->take[k].x);
        free((void *)s->take[k].tripped);
        free(s->likelihood[k]);
    }
    fl_trip_evidence_finish(&s->evidence);
    free(s->likelihood);
    free(s->take);
    free(s->own);
}

/* ---- the mean slope ---- */

static void normalise(double *v, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += v[i];
    for (size_t i = 0; i < n; i++)
        v[i] /= sum;
}

static void times(double *mean, const double *evidence)
{
    for (int m = 0; m < FL_TRIP_MEANS; m++)
        mean[m] *= evidence[m];
    normalise(mean, FL_TRIP_MEANS);
}

static bool among(const size_t *list, size_t n, size_t i)
{
    for (size_t k = 0; k < n; k++)
        if (list[k] == i)
            return true;
    return false;
}

/* Given all settings but those listed. */
static void mean_without(const struct fl_hierarchy *h, const size_t *left_out, size_t n,
                         double mean[FL_TRIP_MEANS])
{
    memcpy(mean, h->grid.mean, sizeof h->grid.mean);
    for (size_t i = 0; i < h->n; i++)
        if (!among(left_out, n, i))
            times(mean, h->setting[i].mean);
}

/* ---- one spread for all ---- */

/* What setting i says of each spread, slopes as the others leave them. */
static void say_of_spread(const struct fl_hierarchy *h, size_t i, double *evidence)
{
    double mean[FL_TRIP_MEANS], slope[FL_TRIP_SLOPES];
    mean_without(h, &i, 1, mean);
    fl_trip_grid_slopes(&h->grid, mean, slope);
    fl_trip_evidence_spreads(&h->setting[i].evidence, &h->grid, slope, evidence);
    for (int k = 0; k < FL_TRIP_SPREADS; k++)
        evidence[k] /= h->grid.spread_weight[k];
    normalise(evidence, FL_TRIP_SPREADS);
}

/* To each setting's prior goes what the others say. */
static void share_spread(struct fl_hierarchy *h)
{
    double(*said)[FL_TRIP_SPREADS] = fl_calloc(h->n + 1, sizeof *said);
    for (size_t i = 0; i < h->n; i++)
        say_of_spread(h, i, said[i]);
    for (size_t i = 0; i < h->n; i++) {
        struct fl_trip_grid *g = &h->setting[i].grid;
        for (size_t other = 0; other < h->n; other++)
            for (int k = 0; k < FL_TRIP_SPREADS && other != i; k++) {
                g->spread_weight[k] *= said[other][k];
                g->wary_weight[k] *= said[other][k];
            }
        normalise(g->spread_weight, FL_TRIP_SPREADS);
        normalise(g->wary_weight, FL_TRIP_SPREADS);
        fl_trip_evidence_integrate(&h->setting[i].evidence, g, h->setting[i].slope,
                                   h->setting[i].mean);
    }
    free(said);
}

/* ---- a session ---- */

struct fl_hierarchy *fl_hierarchy_new(const struct fl_hierarchy_prior *prior,
                                      const struct fl_hierarchy_setting *setting, size_t n)
{
    struct fl_hierarchy *h = FL_NEW(struct fl_hierarchy, 1);
    size_t most = 0;
    h->n = n;
    h->spread_scale = prior->spread_scale;
    h->setting = FL_NEW(struct setting, n + 1);
    for (size_t i = 0; i < n; i++) {
        setting_init(&h->setting[i], setting[i].take, setting[i].n);
        size_t rows = h->setting[i].evidence.rows.rows;
        most = rows > most ? rows : most;
    }
    fl_trip_grid_init(&h->grid, prior, most);
    for (size_t i = 0; i < n; i++) {
        h->setting[i].grid = h->grid;
        fl_trip_evidence_init(&h->setting[i].evidence, &h->grid, h->setting[i].evidence.rows);
        weigh(&h->setting[i], &h->grid);
    }
    if (prior->one_spread)
        share_spread(h);
    return h;
}

void fl_hierarchy_free(struct fl_hierarchy **h)
{
    if (!*h)
        return;
    for (size_t i = 0; i < (*h)->n; i++)
        setting_finish(&(*h)->setting[i]);
    fl_trip_grid_finish(&(*h)->grid);
    free((*h)->setting);
    free(*h);
    *h = NULL;
}

/* ---- figures ---- */

/* What a setting has to do with: its evidence and what others say of the mean slope. */
struct view {
    const struct fl_trip_grid *grid;
    const struct setting *s;
    double without[FL_TRIP_MEANS], mean[FL_TRIP_MEANS]; /* given all others; given all */
    double slope_weight[FL_TRIP_SLOPES];                /* prior of slopes as others leave it */
};

static struct view view_of(const struct fl_trip_grid *g, const struct setting *s,
                           const double without[FL_TRIP_MEANS])
{
    struct view v = {.grid = g, .s = s};
    memcpy(v.without, without, sizeof v.without);
    memcpy(v.mean, without, sizeof v.mean);
    times(v.mean, s->mean);
    fl_trip_grid_slopes(g, without, v.slope_weight);
    return v;
}

static void set_slopes(struct fl_hierarchy_figures *out, const struct view *v)
{
    double p[FL_TRIP_SLOPES];
    for (int b = 0; b < FL_TRIP_SLOPES; b++)
        p[b] = v->slope_weight[b] * v->s->slope[b];
    out->slope = fl_trip_grid_slope_at(v->grid, p, 0.5);
    out->slope_low = fl_trip_grid_slope_at(v->grid, p, (1 - LEVEL) / 2);
    out->slope_high = fl_trip_grid_slope_at(v->grid, p, (1 + LEVEL) / 2);
}

static void set_another(struct fl_hierarchy_figures *out, const struct view *v)
{
    const struct fl_trip_evidence *e = &v->s->evidence;
    double *line = FL_NEW(double, e->rows.rows), p[FL_TRIP_SPREADS];
    fl_trip_evidence_another(e, v->grid, v->slope_weight, line);
    out->another = fl_trip_interval_of(&(struct fl_trip_density){e->rows, line}, LEVEL);
    fl_trip_evidence_spreads(e, v->grid, v->slope_weight, p);
    out->spread = fl_trip_grid_spread_at(v->grid, p, 0.5);
    out->spread_low = fl_trip_grid_spread_at(v->grid, p, (1 - LEVEL) / 2);
    out->spread_high = fl_trip_grid_spread_at(v->grid, p, (1 + LEVEL) / 2);
    free(line);
}

/* Rows that hold anything. */
static void trim(struct fl_trip_posterior *p, const double *mass, size_t rows,
                 struct fl_arena *arena)
{
    double *column = FL_NEW(double, rows), below = 0, above = 0;
    for (size_t i = 0; i < rows; i++)
        for (int m = 0; m < FL_TRIP_MEANS; m++)
            column[i] += mass[(size_t)m * rows + i];
    size_t first = 0, last = rows - 1;
    while (first < last && (below += column[first]) < KEPT)
        first++;
    while (last > first && (above += column[last]) < KEPT)
        last--;
    free(column);
    size_t kept = last - first + 1;
    double *out = FL_ARENA(arena, double, FL_TRIP_MEANS *kept);
    for (size_t m = 0; m < FL_TRIP_MEANS; m++)
        memcpy(out + m * kept, mass + m * rows + first, kept * sizeof *out);
    p->rows = (struct fl_trip_grid_rows){p->rows.low + fl_trip_grid_step(0) * (double)first, kept};
    p->mass = out;
}

/* Each mean slope's line, so weighted that it sums to that mean's probability; all of them summed
 * into `all`. */
static void weighted_lines(const struct view *v, const double *spread_weight, double *lines,
                           double *all)
{
    size_t rows = v->s->evidence.rows.rows;
    fl_trip_evidence_lines(&v->s->evidence, v->grid, spread_weight, lines);
    memset(all, 0, rows * sizeof *all);
    for (size_t m = 0; m < FL_TRIP_MEANS; m++) {
        double *line = lines + m * rows;
        normalise(line, rows);
        for (size_t i = 0; i < rows; i++)
            all[i] += line[i] *= v->mean[m];
    }
}

static void set_v50(struct fl_hierarchy_figures *out, const struct view *v, struct fl_arena *arena)
{
    struct fl_trip_grid_rows rows = v->s->evidence.rows;
    double *lines = FL_NEW(double, FL_TRIP_MEANS *rows.rows), *all = FL_NEW(double, rows.rows);
    struct fl_trip_posterior *p = &out->posterior;
    weighted_lines(v, v->grid->spread_weight, lines, all);
    out->v50 = fl_trip_interval_of(&(struct fl_trip_density){rows, all}, LEVEL);
    *p = (struct fl_trip_posterior){
        .rows = rows, .open_low = isinf(out->v50.low), .open_high = isinf(out->v50.high)};
    memcpy(p->without, v->without, sizeof p->without);
    weighted_lines(v, v->grid->wary_weight, lines, all);
    trim(p, lines, rows.rows, arena);
    free(lines);
    free(all);
}

static void figures_of(const struct view *v, struct fl_hierarchy_figures *out,
                       struct fl_arena *arena)
{
    set_v50(out, v, arena);
    set_another(out, v);
    set_slopes(out, v);
}

void fl_hierarchy_figures(const struct fl_hierarchy *h, size_t i, struct fl_hierarchy_figures *out,
                          struct fl_arena *arena)
{
    double without[FL_TRIP_MEANS];
    mean_without(h, &i, 1, without);
    struct view v = view_of(&h->setting[i].grid, &h->setting[i], without);
    figures_of(&v, out, arena);
}

void fl_hierarchy_pooled(const struct fl_hierarchy *h, const size_t *members, size_t n,
                         struct fl_hierarchy_figures *out, struct fl_arena *arena)
{
    double without[FL_TRIP_MEANS];
    size_t takes = 0;
    for (size_t i = 0; i < n; i++)
        takes += h->setting[members[i]].n;
    struct fl_hierarchy_take *take = FL_NEW(struct fl_hierarchy_take, takes + 1);
    takes = 0;
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < h->setting[members[i]].n; k++)
            take[takes++] = h->setting[members[i]].take[k];
    struct fl_hierarchy_prior prior = {h->spread_scale, without, false};
    mean_without(h, members, n, without);
    struct fl_hierarchy *one =
        fl_hierarchy_new(&prior, &(struct fl_hierarchy_setting){take, takes}, 1);
    fl_hierarchy_figures(one, 0, out, arena);
    fl_hierarchy_free(&one);
    free(take);
}

/* ---- one take ---- */

/* Slopes as the other settings, and the other takes of its own, leave them. */
static void slopes_without(const struct fl_hierarchy *h, size_t i, size_t take,
                           double weight[FL_TRIP_SLOPES])
{
    const struct setting *s = &h->setting[i];
    double without[FL_TRIP_MEANS];
    mean_without(h, &i, 1, without);
    fl_trip_grid_slopes(&h->grid, without, weight);
    for (size_t k = 0; k < s->n; k++) {
        for (int b = 0; b < FL_TRIP_SLOPES && k != take; b++)
            weight[b] *= s->own[k][b];
        normalise(weight, FL_TRIP_SLOPES);
    }
}

struct fl_trip_interval fl_hierarchy_own(const struct fl_hierarchy *h, size_t i, size_t take)
{
    const struct setting *s = &h->setting[i];
    const fl_trip_grid_row *l = (const fl_trip_grid_row *)s->likelihood[take];
    struct fl_trip_grid_rows rows = s->evidence.rows;
    double weight[FL_TRIP_SLOPES], *line = FL_NEW(double, rows.rows);
    slopes_without(h, i, take, weight);
    for (size_t k = 0; k < rows.rows; k++)
        for (int b = 0; b < FL_TRIP_SLOPES; b++)
            line[k] += weight[b] * l[k][b];
    struct fl_trip_interval out = fl_trip_interval_of(&(struct fl_trip_density){rows, line}, LEVEL);
    free(line);
    return out;
}

double fl_hierarchy_stray(const struct fl_hierarchy *h, size_t i, size_t take, size_t flick)
{
    const struct setting *s = &h->setting[i];
    const fl_trip_grid_row *l = (const fl_trip_grid_row *)s->likelihood[take];
    const struct fl_hierarchy_take *t = &s->take[take];
    double weight[FL_TRIP_SLOPES], strayed = 0, all = 0;
    slopes_without(h, i, take, weight);
    for (size_t k = 0; k < s->evidence.rows.rows; k++)
        for (int b = 0; b < FL_TRIP_SLOPES; b++) {
            double theta = s->evidence.rows.low + fl_trip_grid_step(0) * (double)k;
            double w = weight[b] * l[k][b];
            if (!(w > 0))
                continue;
            all += w;
            strayed += w * fl_stray_chance(FL_STRAY, theta, h->grid.slope[b], t->x[flick],
                                           t->tripped[flick]);
        }
    return strayed / all;
}
