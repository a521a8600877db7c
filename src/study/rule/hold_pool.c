/* A hold is often the feature's, not the game's, and one game alone may leave it anywhere between a
 * rest and the next. So holds are drawn from one unknown law that all games of a session share: a
 * Dirichlet process about "any delay" (Ferguson 1973, Ann Stat 1:209-230), its mean found by
 * expectation and maximisation over octave-even classes (Dempster, Laird and Rubin 1977, JRSS B
 * 39:1-38). A game never hears itself. */
#include "study/rule/hold_pool.h"

#include <stdlib.h>
#include <string.h>

#include "maths/robust.h"
#include "study/rule/return_fit.h"

enum { CLASSES = 40, ROUNDS = 60 };
#define ANY 1.0         /* games that "any delay" is worth */
#define SHARED 0.5      /* of the prior: that a game's hold is of the session's law at all */
#define ALIKE 0.2       /* sd in the logarithm: a hold of 80 ms is seen to a rendered frame or so */
#define SHORTEST_S 0.01 /* below it a delay counts by itself, above by its logarithm */
#define LONGEST_S 4.0
#define LEAST 1e-300 /* of a chance, for its logarithm */

static size_t class_of(double delay_s)
{
    double at = log((delay_s + SHORTEST_S) / SHORTEST_S) / log(LONGEST_S / SHORTEST_S + 1);
    return (size_t)fl_clamp(floor(at * CLASSES), 0, CLASSES - 1);
}

/* How much of a hold in one class may be one in the other: normal in the logarithm. */
static double alike(size_t a, size_t b)
{
    double step = log(LONGEST_S / SHORTEST_S + 1) / CLASSES, z = ((double)a - (double)b) * step;
    return exp(-0.5 * z * z / (ALIKE * ALIKE));
}

static void spread(double *v)
{
    double out[CLASSES];
    for (size_t c = 0; c < CLASSES; c++) {
        double sum = 0, weight = 0;
        for (size_t k = 0; k < CLASSES; k++) {
            sum += alike(c, k) * v[k];
            weight += alike(c, k);
        }
        out[c] = sum / weight;
    }
    memcpy(v, out, sizeof out);
}

/* Of one game: of each class, how likely what was seen is. */
struct vote {
    double log_chance[CLASSES], chance[CLASSES];
    bool any;
};

static void prior_by_class(double *out, const struct fl_return_grid *g)
{
    for (size_t c = 0; c < CLASSES; c++)
        out[c] = 0;
    for (size_t d = 0; d < g->n_delays; d++)
        out[class_of(g->delay_s[d])] += g->prior[d];
}

/* The grids of a game have one hold: their chances multiply. A class without a delay of the grid is
 * as likely as the next one that has some, at the end as the last. */
static void hear(struct vote *v, const struct fl_return_grid *g)
{
    double own[CLASSES], sum[CLASSES] = {0}, *delay = FL_NEW(double, g->n_delays), last = 1;
    fl_return_by_delay(delay, g);
    prior_by_class(own, g);
    for (size_t d = 0; d < g->n_delays; d++)
        sum[class_of(g->delay_s[d])] += g->prior[d] * delay[d];
    for (size_t c = 0; c < CLASSES; c++) {
        size_t next = c;
        while (next < CLASSES && !(own[next] > 0))
            next++;
        last = next < CLASSES ? fmax(sum[next] / own[next], LEAST) : last;
        v->log_chance[c] += log(last);
    }
    v->any = true;
    free(delay);
}

static void settle(struct vote *v)
{
    double best = -INFINITY;
    for (size_t c = 0; c < CLASSES; c++)
        best = fmax(best, v->log_chance[c]);
    for (size_t c = 0; c < CLASSES; c++)
        v->chance[c] = exp(v->log_chance[c] - best);
    spread(v->chance);
}

/* One round: each other game votes for the classes by what it saw and what is thought so far. */
static void vote_once(double *law, const double *any, const struct vote *v, size_t n, size_t own)
{
    double next[CLASSES], votes = ANY;
    for (size_t c = 0; c < CLASSES; c++)
        next[c] = ANY * any[c];
    for (size_t k = 0; k < n; k++) {
        double all = 0;
        for (size_t c = 0; c < CLASSES && k != own && v[k].any; c++)
            all += law[c] * v[k].chance[c];
        if (!(all > 0))
            continue;
        votes++;
        for (size_t c = 0; c < CLASSES; c++)
            next[c] += law[c] * v[k].chance[c] / all;
    }
    for (size_t c = 0; c < CLASSES; c++)
        law[c] = next[c] / votes;
}

static void pool_one(struct fl_return_grid *g, const struct vote *v, size_t n, size_t own)
{
    double any[CLASSES], law[CLASSES], sum = 0;
    prior_by_class(any, g);
    for (size_t c = 0; c < CLASSES; c++)
        law[c] = any[c];
    for (int i = 0; i < ROUNDS; i++)
        vote_once(law, any, v, n, own);
    spread(law);
    spread(any);
    for (size_t d = 0; d < g->n_delays; d++) {
        size_t c = class_of(g->delay_s[d]);
        g->prior[d] *= 1 - SHARED + SHARED * law[c] / any[c];
        sum += g->prior[d];
    }
    for (size_t d = 0; d < g->n_delays; d++)
        g->prior[d] /= sum;
}

void fl_hold_pool(struct fl_return_grid *g, const size_t *game, size_t n)
{
    struct vote *v = FL_NEW(struct vote, n + 1);
    for (size_t k = 0; k < n; k++)
        if (g[k].n_thresholds)
            hear(&v[game[k]], &g[k]);
    for (size_t k = 0; k < n; k++)
        settle(&v[k]);
    for (size_t k = 0; k < n; k++)
        if (g[k].n_thresholds)
            pool_one(&g[k], v, n, game[k]);
    free(v);
}
