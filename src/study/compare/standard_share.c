/* Direct standardisation: shares in strata of flick speed, weighted alike for all groups. */
#include "study/compare/standard_share.h"

#include "maths/robust.h"

#define STRATA 4
#define LEAST_FLICKS 10 /* of each group, inside the common range */
#define LEAST_PER_STRATUM 2

struct entry {
    double v, on_s, off_s, all_s;
};
struct entries {
    struct entry *v;
    size_t n;
};

static double overlap(const struct fl_state_span *a, const struct fl_flick *f)
{
    double s = fmax(a->start_s, f->start_s), e = fmin(a->end_s, f->end_s);
    return e > s ? e - s : 0;
}

static struct entry entry_of(const struct fl_take *t, const struct fl_flick *f, enum fl_quantity q)
{
    struct entry e = {f->peak[q], 0, 0, f->end_s - f->start_s};
    for (size_t i = 0; i < t->states.n_spans; i++) {
        const struct fl_state_span *s = &t->states.span[i];
        if (s->state == FL_STATE_ON)
            e.on_s += overlap(s, f);
        else if (s->state == FL_STATE_OFF)
            e.off_s += overlap(s, f);
    }
    return e;
}

/* Flicks whose state was seen at all. */
static struct entries collect(const struct fl_share_group *g, enum fl_quantity q,
                              struct fl_arena *arena)
{
    size_t most = 0;
    for (size_t i = 0; i < g->n; i++)
        most += g->takes[i]->n_flicks;
    struct entries out = {FL_ARENA(arena, struct entry, most + 1), 0};
    for (size_t i = 0; i < g->n; i++)
        for (size_t k = 0; k < g->takes[i]->n_flicks; k++) {
            struct entry e = entry_of(g->takes[i], &g->takes[i]->flicks[k], q);
            if (e.v > 0 && e.on_s + e.off_s > 0)
                out.v[out.n++] = e;
        }
    return out;
}

static void narrow(const struct entries *e, double *low, double *high)
{
    double lo = INFINITY, hi = -INFINITY;
    for (size_t i = 0; i < e->n; i++) {
        lo = fmin(lo, e->v[i].v);
        hi = fmax(hi, e->v[i].v);
    }
    *low = fmax(*low, lo);
    *high = fmin(*high, hi);
}

static size_t inside(const struct entries *e, double low, double high, double *out)
{
    size_t n = 0;
    for (size_t i = 0; i < e->n; i++)
        if (e->v[i].v >= low && e->v[i].v <= high) {
            if (out)
                out[n] = e->v[i].v;
            n++;
        }
    return n;
}

static int stratum(const double *edge, double v)
{
    int k = 0;
    while (k < STRATA - 1 && v > edge[k + 1])
        k++;
    return k;
}

/* Sums one group by strata; false when a stratum is all but empty. */
static bool weigh(struct fl_share_group *g, const struct entries *e, const double *edge,
                  const double *weight)
{
    double on[STRATA] = {0}, off[STRATA] = {0}, all[STRATA] = {0};
    int count[STRATA] = {0};
    for (size_t i = 0; i < e->n; i++) {
        if (e->v[i].v < edge[0] || e->v[i].v > edge[STRATA])
            continue;
        int k = stratum(edge, e->v[i].v);
        on[k] += e->v[i].on_s;
        off[k] += e->v[i].off_s;
        all[k] += e->v[i].all_s;
        count[k]++;
    }
    g->share = g->low = g->high = g->error = 0;
    for (int k = 0; k < STRATA; k++) {
        if (count[k] < LEAST_PER_STRATUM)
            return false;
        g->share += weight[k] * off[k] / (on[k] + off[k]);
        g->low += weight[k] * off[k] / all[k];
        g->high += weight[k] * (all[k] - on[k]) / all[k];
    }
    return true;
}

static bool in_stratum(const struct entry *e, const double *edge, int k)
{
    return e->v >= edge[0] && e->v <= edge[STRATA] && stratum(edge, e->v) == k;
}

struct residuals {
    double n, seen, squares;
}; /* of off time about the ratio of the group's stratum */

static struct residuals residuals_of(const struct entries *e, const double *edge, int k)
{
    struct residuals r = {0, 0, 0};
    double off = 0;
    for (size_t i = 0; i < e->n; i++)
        if (in_stratum(&e->v[i], edge, k)) {
            off += e->v[i].off_s;
            r.seen += e->v[i].on_s + e->v[i].off_s;
            r.n++;
        }
    for (size_t i = 0; i < e->n; i++)
        if (in_stratum(&e->v[i], edge, k)) {
            double d = e->v[i].off_s - off / r.seen * (e->v[i].on_s + e->v[i].off_s);
            r.squares += d * d;
        }
    return r;
}

/* A stratum of a few flicks that all did the same looks better known than it is: never less than
 * what flicks of all groups vary by. */
static void add_errors(struct fl_share_group *groups, const struct entries *e, size_t n,
                       const double *edge, int k, double weight)
{
    double squares = 0, df = 0;
    for (size_t g = 0; g < n; g++) {
        struct residuals r = residuals_of(&e[g], edge, k);
        squares += r.squares;
        df += r.n - 1;
    }
    for (size_t g = 0; g < n; g++) {
        struct residuals r = residuals_of(&e[g], edge, k);
        double variance = r.n * fmax(r.squares / (r.n - 1), squares / df) / (r.seen * r.seen);
        groups[g].error = hypot(groups[g].error, weight * sqrt(variance));
    }
}

static const char *share_out(struct fl_share_group *groups, const struct entries *e, size_t n,
                             const double *pooled, size_t n_pooled, struct fl_arena *arena)
{
    double edge[STRATA + 1], weight[STRATA] = {0};
    for (int k = 0; k <= STRATA; k++)
        edge[k] = fl_quantile(pooled, n_pooled, (double)k / STRATA);
    for (size_t i = 0; i < n_pooled; i++)
        weight[stratum(edge, pooled[i])] += 1.0 / (double)n_pooled;
    for (size_t i = 0; i < n; i++)
        if (!weigh(&groups[i], &e[i], edge, weight))
            return fl_arena_printf(
                arena, "%s has too few flicks in a quarter of the common range of speeds",
                groups[i].name);
    for (int k = 0; k < STRATA; k++)
        add_errors(groups, e, n, edge, k, weight[k]);
    return NULL;
}

/* Flicks made to trip it are alike in speed at best: how long the hand went on, and how often it
 * came back, is the drill's choice. */
const char *fl_drill_beside_play(const struct fl_share_group *groups, size_t n,
                                 struct fl_arena *arena)
{
    static const char what[] = "shares of time in a drill say nothing of play";
    const char *play = NULL, *drill = NULL;
    for (size_t i = 0; i < n; i++) {
        size_t drills = 0;
        for (size_t k = 0; k < groups[i].n; k++)
            drills += groups[i].takes[k]->spec.play_drill;
        if (drills && drills < groups[i].n)
            return fl_arena_printf(arena, "a drill and play together (%s); %s", groups[i].name,
                                   what);
        *(drills ? &drill : &play) = groups[i].name;
    }
    return play && drill
               ? fl_arena_printf(arena, "a drill (%s) beside play (%s); %s", drill, play, what)
               : NULL;
}

static const char *standardise(struct fl_share_group *groups, size_t n, enum fl_quantity q,
                               struct fl_arena *arena)
{
    const char *why = fl_drill_beside_play(groups, n, arena);
    if (why)
        return why;
    struct entries *e = FL_ARENA(arena, struct entries, n);
    double low = -INFINITY, high = INFINITY;
    size_t most = 0, n_pooled = 0;
    for (size_t i = 0; i < n; i++) {
        e[i] = collect(&groups[i], q, arena);
        narrow(&e[i], &low, &high);
        most += e[i].n;
    }
    double *pooled = FL_ARENA(arena, double, most + 1);
    for (size_t i = 0; i < n; i++) {
        size_t got = inside(&e[i], low, high, pooled + n_pooled);
        if (got < LEAST_FLICKS)
            return fl_arena_printf(
                arena,
                "%s has %zu flicks of known %s and state inside the common range, %d are needed",
                groups[i].name, got, fl_quantity_info(q)->label, LEAST_FLICKS);
        n_pooled += got;
    }
    return share_out(groups, e, n, pooled, n_pooled, arena);
}

const char *fl_standardise_shares(struct fl_share_group *groups, size_t n, enum fl_quantity q,
                                  struct fl_arena *arena)
{
    const char *refused = standardise(groups, n, q, arena);
    for (size_t i = 0; refused && i < n; i++)
        groups[i].share = groups[i].low = groups[i].high = groups[i].error = FL_UNKNOWN;
    return refused;
}
