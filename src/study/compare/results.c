/* A row a setting: its takes' shares and lapses, its own trip curve, never one pooled over
 * settings, and its place among the others. */
#include "study/compare/results.h"

#include <stdlib.h>
#include <string.h>

#include "study/compare/quotable.h"
#include "study/compare/setting_curve.h"
#include "study/curve/quantity_rank.h"
#include "study/curve/setting.h"

/* ---- shares and lapses ---- */

static void add_exposure(struct fl_result *r, const struct fl_setting *of, struct fl_arena *arena)
{
    const struct fl_take **takes = FL_ARENA(arena, const struct fl_take *, of->n + 1);
    size_t drills = 0;
    for (size_t i = 0; i < of->n; i++)
        drills += of->takes[i]->spec.play_drill;
    r->drill = drills == of->n;
    for (size_t i = 0; i < of->n; i++)
        if (of->takes[i]->spec.play_drill == r->drill)
            takes[r->share_takes++] = of->takes[i];
    r->shares = fl_off_shares_of(takes, r->share_takes);
    r->lapses = fl_lapse_figures_of(takes, r->share_takes);
}

/* ---- trip speeds ---- */

/* Camera speed where it was measured: it is what people compare. */
static const struct fl_curve *own_curve(const struct fl_session *s, const struct fl_setting *of)
{
    static const enum fl_quantity order[] = {FL_CAMERA_SPEED, FL_HAND_SPEED,       FL_COUNT_RATE,
                                             FL_IMAGE_STEP,   FL_STICK_DEFLECTION, FL_STICK_RATE,
                                             FL_IMAGE_CHANGE};
    const struct fl_curve *c = NULL;
    for (size_t k = 0; k < sizeof order / sizeof *order && !c; k++)
        c = fl_setting_curve(s, of, order[k]);
    return c;
}

/* What the game watches: named, or ahead of the others by more than its error where the settings
 * could part them. */
static const struct fl_quantity_rank *watched_quantity(const struct fl_session *s, const char *game)
{
    const struct fl_quantity_rank *leads = NULL;
    for (size_t i = 0; i < s->n_quantities; i++) {
        const struct fl_quantity_rank *q = &s->quantities[i];
        if (strcmp(q->game, game))
            continue;
        if (q->grade == FL_WATCH_NAMED)
            return q;
        if (q->grade == FL_WATCH_ONLY || (q->stands && q->parted && q->lead > q->lead_se))
            leads = q;
    }
    return leads;
}

static bool of_game(const struct fl_curve *c, const struct fl_result *r, enum fl_quantity q)
{
    return c->quantity == q && !strcmp(c->game, r->game) && !strcmp(c->condition, r->condition);
}

/* How many settings a pooled curve is over, and whether no two are of one resolution. */
static void count_settings(struct fl_watched_v50 *w, const struct fl_session *s,
                           const struct fl_result *r, enum fl_quantity q)
{
    w->settings = 0;
    w->resolutions = true;
    for (size_t i = 0; i < s->n_curves; i++) {
        if (!of_game(&s->curves[i], r, q) || s->curves[i].pooled)
            continue;
        w->settings++;
        for (size_t k = 0; k < i; k++)
            if (of_game(&s->curves[k], r, q) && !s->curves[k].pooled &&
                fl_same_number(s->curves[k].counts_per_inch, s->curves[i].counts_per_inch))
                w->resolutions = false;
    }
}

/* Of all settings of the mouse where they are pooled, else of this one. */
static void add_watched(struct fl_result *r, const struct fl_session *s,
                        const struct fl_setting *of)
{
    const struct fl_quantity_rank *q = watched_quantity(s, r->game);
    if (!q || !r->curve || q->quantity == r->curve->quantity)
        return;
    struct fl_watched_v50 *w = &r->watched;
    *w = (struct fl_watched_v50){.curve = fl_setting_curve(s, of, q->quantity),
                                 .named = q->grade == FL_WATCH_NAMED,
                                 .settings = 1};
    for (size_t i = 0; i < s->n_curves; i++) {
        const struct fl_curve *c = &s->curves[i];
        if (!c->pooled || !of_game(c, r, q->quantity) || !fl_known(c->v50))
            continue;
        w->curve = c;
        count_settings(w, s, r, q->quantity);
    }
}

/* ---- order and rank ---- */

/* Trip speed of a row, or where its bound stands; rows without either go last. */
static double key(const struct fl_result *r, enum fl_quantity q)
{
    const struct fl_curve *c = fl_result_curve(r, q);
    if (r->control)
        return INFINITY;
    if (!c)
        return 1e301;
    return fl_known(c->v50) ? c->v50 : fl_known(c->bound_at) ? c->bound_at : 1e300;
}

static int hair_trigger_first(const struct fl_result *a, const struct fl_result *b,
                              enum fl_quantity q)
{
    double x = key(a, q), y = key(b, q);
    return x > y ? 1 : x < y ? -1 : (a->order > b->order) - (a->order < b->order);
}

/* By insertion: a session has few settings. */
static void sort(struct fl_result *v, size_t n, enum fl_quantity q)
{
    for (size_t i = 1; i < n; i++) {
        struct fl_result r = v[i];
        size_t k = i;
        for (; k > 0 && hair_trigger_first(&v[k - 1], &r, q) > 0; k--)
            v[k] = v[k - 1];
        v[k] = r;
    }
}

static void interval_of(const struct fl_curve *c, double *low, double *high)
{
    *low = *high = FL_UNKNOWN;
    if (c && c->bound == FL_BOUND_NONE && fl_known(c->v50)) {
        *low = fl_known(c->v50_low) ? c->v50_low : 0;
        *high = fl_known(c->v50_high) ? c->v50_high : INFINITY;
    } else if (c && (c->bound == FL_BOUND_ABOVE || c->bound == FL_BOUND_BELOW)) {
        *low = c->bound == FL_BOUND_ABOVE ? c->bound_at : 0;
        *high = c->bound == FL_BOUND_ABOVE ? INFINITY : c->bound_at;
    }
}

static void rank(struct fl_session *s, enum fl_quantity q)
{
    size_t n = s->n_results;
    double *low = FL_NEW(double, n + 1), *high = FL_NEW(double, n + 1);
    struct fl_rank_range *ranks = FL_NEW(struct fl_rank_range, n + 1);
    for (size_t i = 0; i < n; i++)
        interval_of(fl_result_curve(&s->results[i], q), &low[i], &high[i]);
    fl_rank_ranges(ranks, low, high, n);
    for (size_t i = 0; i < n; i++)
        s->results[i].rank = ranks[i];
    free(ranks);
    free(low);
    free(high);
}

/* ---- all rows ---- */

void fl_study_results(struct fl_session *s)
{
    struct fl_setting *settings;
    s->n_results = fl_settings(s, false, &settings);
    s->results = FL_NEW(struct fl_result, s->n_results + 1);
    for (size_t i = 0; i < s->n_results; i++) {
        const struct fl_setting *of = &settings[i];
        struct fl_result *r = &s->results[i];
        *r = (struct fl_result){.game = of->game,
                                .condition = of->condition,
                                .counts_per_inch = of->counts_per_inch,
                                .degrees_per_count = of->degrees_per_count,
                                .degrees_found = of->degrees_found,
                                .control = of->control,
                                .takes = of->n,
                                .curve = of->control ? NULL : own_curve(s, of),
                                .order = i};
        add_exposure(r, of, s->arena);
        add_watched(r, s, of);
        if (of->control)
            r->why = r->why_short = "a control";
        else
            fl_quotable_judge(r, s->arena);
        r->quotable = !r->why;
    }
    enum fl_quantity q = fl_results_quantity(s);
    sort(s->results, s->n_results, q);
    rank(s, q);
}
