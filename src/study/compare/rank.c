/* Games and conditions by V50; off shares are standardised where flicks are comparable. */
#include "study/compare/rank.h"

#include <stdlib.h>
#include <string.h>

#include "study/compare/standard_share.h"
#include "study/curve/setting.h"

/* Trip speed of a row, or where its bound stands; rows without either go last. */
static double key(const struct fl_rank *r)
{
    if (r->control || !r->curve)
        return INFINITY;
    if (fl_known(r->curve->v50))
        return r->curve->v50;
    return fl_known(r->curve->bound_at) ? r->curve->bound_at : 1e300;
}

static int hair_trigger_first(const void *a, const void *b)
{
    double x = key(a), y = key(b);
    return (x > y) - (x < y);
}

static const struct fl_curve *pooled_curve(const struct fl_session *s, const struct fl_setting *c)
{
    for (size_t i = 0; i < s->n_curves && !c->control; i++) {
        const struct fl_curve *k = &s->curves[i];
        if (k->pooled && k->quantity == FL_CAMERA_SPEED && !strcmp(k->game, c->game) &&
            !strcmp(k->condition, c->condition))
            return k;
    }
    return NULL;
}

static void share_as_measured(struct fl_rank *r, const struct fl_setting *c)
{
    double on = 0, off = 0, unseen = 0;
    for (size_t i = 0; i < c->n; i++) {
        on += c->takes[i]->exposure.on_s;
        off += c->takes[i]->exposure.off_s;
        unseen += c->takes[i]->exposure.unseen_s;
    }
    double all = on + off + unseen;
    bool seen = on + off > 0;
    r->off_share = seen ? off / (on + off) : FL_UNKNOWN;
    r->off_share_low = seen ? off / all : FL_UNKNOWN;
    r->off_share_high = seen ? (off + unseen) / all : FL_UNKNOWN;
}

/* All rows are standardised to the same flicks, or none: else they could not be compared. */
static void standardise(struct fl_session *s, const struct fl_setting *settings)
{
    struct fl_share_group *g = FL_ARENA(s->arena, struct fl_share_group, s->n_ranks + 1);
    size_t n = 0;
    for (size_t i = 0; i < s->n_ranks; i++)
        if (!settings[i].control)
            g[n++] = (struct fl_share_group){
                .name = settings[i].game, .takes = settings[i].takes, .n = settings[i].n};
    if (n < 2 || fl_standardise_shares(g, n, FL_CAMERA_SPEED, s->arena))
        return;
    for (size_t i = 0, k = 0; i < s->n_ranks; i++) {
        if (settings[i].control)
            continue;
        s->ranks[i].off_share = g[k].share;
        s->ranks[i].off_share_low = g[k].low;
        s->ranks[i].off_share_high = g[k++].high;
        s->ranks[i].standardised = true;
    }
}

void fl_study_ranks(struct fl_session *s)
{
    struct fl_setting *settings;
    s->n_ranks = fl_settings(s, true, &settings);
    s->ranks = FL_NEW(struct fl_rank, s->n_ranks + 1);
    for (size_t i = 0; i < s->n_ranks; i++) {
        s->ranks[i] = (struct fl_rank){.game = settings[i].game,
                                       .condition = settings[i].condition,
                                       .control = settings[i].control,
                                       .curve = pooled_curve(s, &settings[i])};
        share_as_measured(&s->ranks[i], &settings[i]);
    }
    standardise(s, settings);
    qsort(s->ranks, s->n_ranks, sizeof *s->ranks, hair_trigger_first);
}
