/* Ranking of quantities within a game, and the rule for naming one (DESIGN: which quantity
 * drives it). */
#include <stdlib.h>
#include <string.h>

#include "study/driver.h"
#include "study/study.h"

#define MEASURED_SHARE 0.8 /* of the flicks; a quantity known on fewer is not ranked */
#define REJECT 0.05
#define EQUAL_LOW 0.9
#define EQUAL_HIGH 1.11

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
    close_ranks(&d);
    return d;
}

/* Bonferroni over the game's comparisons in q; NaN when none could be tested. */
static double agreement(const struct fl_session *s, const char *game, enum fl_quantity q)
{
    double least = FL_UNKNOWN;
    int tests = 0;
    for (size_t i = 0; i < s->n_comparisons; i++) {
        const struct fl_comparison *c = &s->comparisons[i];
        if (c->quantity != q || strcmp(c->game, game) || !fl_known(c->p))
            continue;
        least = fmin(least, c->p);
        tests++;
    }
    return tests ? fmin(1, least * tests) : FL_UNKNOWN;
}

/* Every comparison in q was tested and its interval lies within 0.9 to 1.11. */
static bool equal_everywhere(const struct fl_session *s, const char *game, enum fl_quantity q)
{
    int tested = 0;
    for (size_t i = 0; i < s->n_comparisons; i++) {
        const struct fl_comparison *c = &s->comparisons[i];
        if (c->quantity != q || strcmp(c->game, game))
            continue;
        if (!(c->low >= EQUAL_LOW && c->high <= EQUAL_HIGH))
            return false;
        tested++;
    }
    return tested > 0;
}

struct game_fit {
    struct fl_driver_fit fit[FL_QUANTITIES];
    double *left_out[FL_QUANTITIES]; /* takes long; NULL when not measured or not fitted */
};

static void fit_game(struct game_fit *g, const struct flicks *d)
{
    double *x = FL_NEW(double, d->n + 1);
    bool *y = FL_NEW(bool, d->n + 1);
    for (int q = 0; q < FL_QUANTITIES; q++) {
        g->left_out[q] = NULL;
        g->fit[q] = (struct fl_driver_fit){FL_UNKNOWN, FL_UNKNOWN};
        if (!d->measured[q])
            continue;
        for (size_t i = 0; i < d->n; i++) {
            x[i] = log2(d->flick[i]->peak[q]);
            y[i] = d->flick[i]->tripped == FL_YES;
        }
        fl_driver_fit(&g->fit[q], x, y, d->n);
        g->left_out[q] = FL_NEW(double, d->takes + 1);
        if (!fl_driver_cross_validate(g->left_out[q], x, y, d->take, d->n, d->takes)) {
            free(g->left_out[q]);
            g->left_out[q] = NULL;
        }
    }
    free(x);
    free(y);
}

/* All three conditions of the naming rule, against every measured rival. */
static bool named(const struct fl_session *s, const char *game, const struct flicks *d,
                  const struct game_fit *g, enum fl_quantity q)
{
    int rivals = 0;
    if (!g->left_out[q] || !equal_everywhere(s, game, q))
        return false;
    for (int r = 0; r < FL_QUANTITIES; r++) {
        if (r == (int)q || !d->measured[r])
            continue;
        rivals++;
        if (!g->left_out[r] || !fl_driver_beats(g->left_out[q], g->left_out[r], d->takes) ||
            !(agreement(s, game, r) < REJECT))
            return false;
    }
    return rivals > 0;
}

static void rank_game(struct fl_session *s, const char *game)
{
    struct flicks d = gather(s, game);
    struct game_fit g;
    fit_game(&g, &d);
    for (int q = 0; q < FL_QUANTITIES; q++)
        s->quantities[s->n_quantities++] = (struct fl_quantity_rank){
            game, q, g.fit[q].deviance_explained, g.fit[q].auc, agreement(s, game, q),
            !d.measured[q] ? "not measured" : named(s, game, &d, &g, q) ? "named" : "cannot tell"};
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
