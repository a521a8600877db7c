/* Names the quantity that a cut-off watches only if it beats every rival on takes left out and
 * agrees across settings. */
#include "study/curve/watched.h"

/* Ranking of quantities within a game, and the rule for naming one (DESIGN: which quantity
 * drives it). */
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "maths/interval.h"
#include "study/curve/predictor_fit.h"
#include "study/curve/quantity_rank.h"
#include "study/curve/to_record.h"
#include "study/curve/watch_setting.h"

#define MEASURED_SHARE 0.8 /* of the flicks; a quantity known on fewer is not ranked */
#define REJECT 0.05
#define FAR_BEHIND 0.01 /* p under which a quantity is unlikely */
#define EQUAL 0.15      /* octaves, 0.9 to 1.11 */
/* Were a rival watched that a pair of settings moves by so many octaves, the quantity's own trip
 * speeds would lie that far apart: equal is what is known to lie within NEAR of that way, and
 * never more than NEAR octaves (0.84 to 1.19). */
#define NEAR 0.25

/* The flicks of one game on which every ranked quantity is known. */
struct flicks {
    const struct fl_flick **flick;
    size_t *take;
    size_t n, takes;
    bool measured[FL_QUANTITIES];
};

static bool counts(const struct fl_take *t, const char *game)
{
    return !t->spec.synthesis_disabled && !strcmp(t->spec.game, game);
}

static bool decided(const struct fl_flick *f)
{
    return f->at_risk == FL_YES && f->tripped != FL_ANSWER_UNKNOWN;
}

static void find_measured(struct flicks *d)
{
    for (int q = 0; q < FL_QUANTITIES; q++) {
        size_t known = 0;
        for (size_t i = 0; i < d->n; i++)
            known += d->flick[i]->peak[q] > 0;
        d->measured[q] = d->n && (double)known >= MEASURED_SHARE * (double)d->n;
    }
}

static bool same_text(const char *a, const char *b)
{
    return a == b || (a && b && !strcmp(a, b));
}

/* Grey levels mean different light under different transfers. */
static void drop_change_across_transfers(struct flicks *d, const struct fl_session *s)
{
    const struct fl_take *first = d->n ? s->takes[d->take[0]] : NULL;
    for (size_t i = 0; i < d->n; i++)
        if (!same_text(first->transfer, s->takes[d->take[i]]->transfer))
            d->measured[FL_IMAGE_CHANGE] = false;
}

static bool complete(const struct flicks *d, const struct fl_flick *f)
{
    for (int q = 0; q < FL_QUANTITIES; q++)
        if (d->measured[q] && !(f->peak[q] > 0))
            return false;
    return true;
}

/* Drops incomplete flicks and numbers the takes that are left without gaps. */
static void close_ranks(struct flicks *d)
{
    size_t n = 0, last = (size_t)-1;
    d->takes = 0;
    for (size_t i = 0; i < d->n; i++) {
        if (!complete(d, d->flick[i]))
            continue;
        d->takes += d->take[i] != last;
        last = d->take[i];
        d->flick[n] = d->flick[i];
        d->take[n++] = d->takes - 1;
    }
    d->n = n;
}

static struct flicks gather(const struct fl_session *s, const char *game)
{
    struct flicks d = {0};
    size_t all = 0;
    for (size_t i = 0; i < s->n_takes; i++)
        all += s->takes[i]->n_flicks;
    d.flick = FL_NEW(const struct fl_flick *, all + 1);
    d.take = FL_NEW(size_t, all + 1);
    for (size_t i = 0; i < s->n_takes; i++)
        for (size_t k = 0; k < s->takes[i]->n_flicks && counts(s->takes[i], game); k++)
            if (decided(&s->takes[i]->flicks[k])) {
                d.take[d.n] = i;
                d.flick[d.n++] = &s->takes[i]->flicks[k];
            }
    find_measured(&d);
    drop_change_across_transfers(&d, s);
    close_ranks(&d);
    return d;
}

struct game_fit {
    struct fl_watch_settings settings;
    struct fl_predictor_fit fit[FL_QUANTITIES];
    double agreement[FL_QUANTITIES];
    double *left_out[FL_QUANTITIES]; /* takes long; NULL when not measured or not fitted */
};

static void fit_quantity(struct game_fit *g, const struct flicks *d, enum fl_quantity q, double *x,
                         bool *y)
{
    for (size_t i = 0; i < d->n; i++) {
        x[i] = log2(d->flick[i]->peak[q]);
        y[i] = d->flick[i]->tripped == FL_YES;
    }
    fl_predictor_fit(&g->fit[q], x, y, d->n);
    g->left_out[q] = FL_NEW(double, d->takes + 1);
    if (fl_predictor_cross_validate(g->left_out[q], x, y, d->take, d->n, d->takes))
        return;
    free(g->left_out[q]);
    g->left_out[q] = NULL;
}

static void fit_game(struct game_fit *g, const struct flicks *d, struct fl_session *s,
                     const char *game)
{
    double *x = FL_NEW(double, d->n + 1);
    bool *y = FL_NEW(bool, d->n + 1);
    g->settings = fl_watch_settings_of(s, game, d->measured);
    for (int q = 0; q < FL_QUANTITIES; q++) {
        g->left_out[q] = NULL;
        g->fit[q] = (struct fl_predictor_fit){FL_UNKNOWN, FL_UNKNOWN};
        g->agreement[q] = fl_watch_agreement(&g->settings, q);
        if (d->measured[q])
            fit_quantity(g, d, q, x, y);
    }
    free(x);
    free(y);
}

static double total(const double *x, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += x[i];
    return sum;
}

/* The best of the others on takes left out; FL_QUANTITIES when there is none. */
static enum fl_quantity best_other(const struct game_fit *g, const struct flicks *d,
                                   enum fl_quantity q)
{
    enum fl_quantity best = FL_QUANTITIES;
    for (int r = 0; r < FL_QUANTITIES; r++) {
        if (r == (int)q || !g->left_out[r])
            continue;
        if (best == FL_QUANTITIES ||
            total(g->left_out[r], d->takes) < total(g->left_out[best], d->takes))
            best = r;
    }
    return best;
}

static bool beats(const struct game_fit *g, const struct flicks *d, enum fl_quantity q,
                  enum fl_quantity r)
{
    return g->left_out[q] && g->left_out[r] &&
           fl_predictor_beats(g->left_out[q], g->left_out[r], d->takes);
}

/* Octaves by which the pair's trip speeds set q and the rival apart; 0 where one is unknown. */
static double moved(const struct fl_watch_pair *p, enum fl_quantity q, enum fl_quantity rival)
{
    const double octaves = fabs(log2(p->ratio[rival] / p->ratio[q]));
    return isfinite(octaves) ? octaves : 0;
}

static bool within(const struct fl_watch_pair *p, enum fl_quantity q, double octaves)
{
    return log2(p->low[q]) >= -octaves && log2(p->high[q]) <= octaves; /* false for NaN */
}

static double nearness(double apart)
{
    return NEAR * fmin(apart, 1);
}

/* Two settings that move the rival against q: there q's trip speeds agree and the rival's do not.
 */
static bool witnessed(const struct fl_watch_settings *s, enum fl_quantity q, enum fl_quantity rival)
{
    for (size_t i = 0; i < s->n_pairs; i++) {
        const struct fl_watch_pair *p = &s->pair[i];
        const double apart = moved(p, q, rival);
        if (apart >= FL_APART && within(p, q, nearness(apart)) &&
            p->p[rival] * fl_watch_tested(s, rival) < REJECT)
            return true;
    }
    return false;
}

static double most_moved(const struct fl_watch_pair *p, enum fl_quantity q)
{
    double most = 0;
    for (int r = 0; r < FL_QUANTITIES; r++)
        most = fmax(most, moved(p, q, r));
    return most;
}

/* No two settings at which q's own trip speeds differ, by more than counts as equal. */
static bool agrees(const struct fl_watch_settings *s, enum fl_quantity q)
{
    for (size_t i = 0; i < s->n_pairs; i++) {
        const struct fl_watch_pair *p = &s->pair[i];
        if (p->p[q] * fl_watch_tested(s, q) < REJECT &&
            !within(p, q, fmax(EQUAL, nearness(most_moved(p, q)))))
            return false;
    }
    return true;
}

/* Can nothing that is not measured be what is watched? */
static bool all_measured(const struct flicks *d)
{
    bool mouse = d->measured[FL_COUNT_RATE] && d->measured[FL_HAND_SPEED];
    bool stick = d->measured[FL_STICK_DEFLECTION] && d->measured[FL_STICK_RATE];
    return (mouse || stick) && d->measured[FL_CAMERA_SPEED] && d->measured[FL_IMAGE_STEP] &&
           d->measured[FL_IMAGE_CHANGE];
}

/* All conditions of the naming rule, against every rival. */
static bool named(const struct flicks *d, const struct game_fit *g, enum fl_quantity q)
{
    if (!all_measured(d) || !agrees(&g->settings, q))
        return false;
    for (int r = 0; r < FL_QUANTITIES; r++)
        if (r != (int)q && d->measured[r] && (!beats(g, d, q, r) || !witnessed(&g->settings, q, r)))
            return false;
    return true;
}

/* Its trip speeds differ between settings, and another, whose own do not, tells takes left out
 * better. */
static bool disagrees(const struct flicks *d, const struct game_fit *g, enum fl_quantity q)
{
    bool out = false;
    for (int r = 0; r < FL_QUANTITIES && !agrees(&g->settings, q); r++)
        out = out || (r != (int)q && agrees(&g->settings, r) && beats(g, d, r, q));
    return out;
}

/* Another tells takes left out better than chance among takes would have it (Student's t,
 * one-sided, Bonferroni over the rivals). */
static bool far_behind(const struct flicks *d, const struct game_fit *g, enum fl_quantity q)
{
    int rivals = 0;
    bool far = false;
    for (int r = 0; r < FL_QUANTITIES; r++)
        rivals += r != (int)q && g->left_out[r];
    for (int r = 0; r < FL_QUANTITIES && g->left_out[q]; r++) {
        struct fl_predictor_lead l;
        if (r == (int)q || !g->left_out[r])
            continue;
        fl_predictor_lead(&l, g->left_out[r], g->left_out[q], d->takes);
        far = far || (l.mean > 0 &&
                      fl_t_upper2(l.mean / l.se, (double)d->takes - 1) / 2 < FAR_BEHIND / rivals);
    }
    return far;
}

/* How far its trip speeds may differ between two settings at most. */
static void set_ratios(struct fl_quantity_rank *r, const struct fl_watch_settings *s)
{
    double low = 1, high = 1;
    for (size_t i = 0; i < s->n_pairs; i++) {
        const struct fl_watch_pair *p = &s->pair[i];
        if (!fl_known(p->p[r->quantity]))
            continue;
        r->ratios++;
        low = fmin(low, fl_known(p->low[r->quantity]) ? p->low[r->quantity] : 0);
        high = fmax(high, fl_known(p->high[r->quantity]) ? p->high[r->quantity] : INFINITY);
    }
    r->ratio_low = r->ratios && low > 0 ? low : FL_UNKNOWN;
    r->ratio_high = r->ratios && isfinite(high) ? high : FL_UNKNOWN;
}

static void set_lead(struct fl_quantity_rank *r, const struct game_fit *g, const struct flicks *d)
{
    struct fl_predictor_lead l;
    r->against = best_other(g, d, r->quantity);
    if (!g->left_out[r->quantity])
        return;
    r->left_out_deviance = total(g->left_out[r->quantity], d->takes) / (double)d->n;
    if (r->against == FL_QUANTITIES)
        return;
    fl_predictor_lead(&l, g->left_out[r->quantity], g->left_out[r->against], d->takes);
    r->lead = l.mean;
    r->lead_se = l.se;
}

static struct fl_quantity_rank rank(const char *game, enum fl_quantity q, const struct flicks *d,
                                    const struct game_fit *g)
{
    struct fl_quantity_rank r = {.game = game,
                                 .quantity = q,
                                 .deviance_explained = g->fit[q].deviance_explained,
                                 .auc = g->fit[q].auc,
                                 .agreement_p = g->agreement[q],
                                 .left_out_deviance = FL_UNKNOWN,
                                 .lead = FL_UNKNOWN,
                                 .lead_se = FL_UNKNOWN,
                                 .against = FL_QUANTITIES,
                                 .ratio_low = FL_UNKNOWN,
                                 .ratio_high = FL_UNKNOWN,
                                 .grade = FL_WATCH_NOT_MEASURED};
    if (!d->measured[q])
        return r;
    r.agrees = agrees(&g->settings, q);
    r.grade = named(d, g, q)                              ? FL_WATCH_NAMED
              : disagrees(d, g, q) || far_behind(d, g, q) ? FL_WATCH_UNLIKELY
                                                          : FL_WATCH_CANNOT_TELL;
    set_lead(&r, g, d);
    set_ratios(&r, &g->settings);
    return r;
}

/* Once one is named all others are unlikely; one that is left alone is said to be. */
static bool settle(struct fl_quantity_rank *r)
{
    int named = -1, left = 0;
    for (int q = 0; q < FL_QUANTITIES; q++) {
        named = r[q].grade == FL_WATCH_NAMED ? q : named;
        left += r[q].grade == FL_WATCH_CANNOT_TELL;
    }
    for (int q = 0; q < FL_QUANTITIES; q++) {
        if (named >= 0 && q != named && r[q].grade != FL_WATCH_NOT_MEASURED)
            r[q].grade = FL_WATCH_UNLIKELY;
        else if (r[q].grade == FL_WATCH_CANNOT_TELL && left == 1 && fl_known(r[q].lead))
            r[q].grade = FL_WATCH_ONLY;
        r[q].stands = r[q].grade > FL_WATCH_UNLIKELY || r[q].grade == FL_WATCH_CANNOT_TELL;
    }
    return named >= 0;
}

/* Some two settings move q against r. */
static bool moved_apart(const struct fl_watch_settings *s, enum fl_quantity q, enum fl_quantity r)
{
    for (size_t i = 0; i < s->n_pairs; i++)
        if (fl_watch_moves(&s->pair[i], q, r) >= FL_APART)
            return true;
    return false;
}

static bool parted(const struct fl_watch_settings *s, const struct fl_quantity_rank *r,
                   enum fl_quantity q)
{
    for (int k = 0; k < FL_QUANTITIES; k++)
        if (k != (int)q && r[k].stands && !moved_apart(s, q, k))
            return false;
    return true;
}

static const char *in_words(const struct fl_quantity_rank *r, struct fl_arena *arena)
{
    switch (r->grade) {
    case FL_WATCH_NOT_MEASURED: return "not measured";
    case FL_WATCH_NAMED: return "named";
    case FL_WATCH_ONLY: return "only one that still fits";
    case FL_WATCH_CANNOT_TELL: return "cannot tell";
    case FL_WATCH_UNLIKELY: break;
    }
    if (!fl_known(r->lead))
        return "unlikely";
    char lead[FL_FIGURE_SIZE], se[FL_FIGURE_SIZE];
    return fl_known(r->lead_se)
               ? fl_arena_printf(arena, "unlikely by %s ± %s",
                                 fl_error_text(lead, se, -r->lead, r->lead_se), se)
               : fl_arena_printf(arena, "unlikely by %s", fl_figure(lead, -r->lead));
}

static void conclude(struct fl_session *s, struct fl_quantity_rank *r, const struct game_fit *g)
{
    bool named = settle(r);
    for (int q = 0; q < FL_QUANTITIES; q++) {
        r[q].verdict = in_words(&r[q], s->arena);
        r[q].parted = parted(&g->settings, r, q);
    }
    const char *text = named ? NULL : fl_to_record(&g->settings, r, s->arena);
    for (int q = 0; q < FL_QUANTITIES; q++)
        r[q].to_record = text;
}

static void rank_game(struct fl_session *s, const char *game)
{
    struct flicks d = gather(s, game);
    struct game_fit g;
    struct fl_quantity_rank *r = s->quantities + s->n_quantities;
    fit_game(&g, &d, s, game);
    for (int q = 0; q < FL_QUANTITIES; q++)
        s->quantities[s->n_quantities++] = rank(game, q, &d, &g);
    conclude(s, r, &g);
    for (int q = 0; q < FL_QUANTITIES; q++)
        free(g.left_out[q]);
    free(d.flick);
    free(d.take);
}

static bool ranked(const struct fl_session *s, const char *game)
{
    for (size_t i = 0; i < s->n_quantities; i++)
        if (!strcmp(s->quantities[i].game, game))
            return true;
    return false;
}

void fl_study_quantities(struct fl_session *s)
{
    s->quantities = FL_NEW(struct fl_quantity_rank, s->n_takes * FL_QUANTITIES + 1);
    for (size_t i = 0; i < s->n_takes; i++)
        if (!s->takes[i]->spec.synthesis_disabled && !ranked(s, s->takes[i]->spec.game))
            rank_game(s, s->takes[i]->spec.game);
}
