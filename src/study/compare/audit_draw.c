/* Strata take turns, so that none uses up the stretches of another. */
#include "study/compare/audit_draw.h"

#include <stdlib.h>

#include "maths/random.h"

struct draw {
    const struct fl_audit_ground *g;
    bool *used; /* g->n: the run's stretch has been asked about */
    struct fl_random random;
};

static void use_stretch(struct draw *d, const struct fl_audit_run *of)
{
    for (size_t i = 0; i < d->g->n; i++)
        if (d->g->run[i].take == of->take && d->g->run[i].stretch == of->stretch)
            d->used[i] = true;
}

/* False: the stratum has no stretch left. */
static bool draw_one(struct draw *d, struct fl_audit_moment *out, enum fl_stratum stratum)
{
    size_t all = 0;
    for (size_t i = 0; i < d->g->n; i++)
        if (!d->used[i] && d->g->run[i].stratum == stratum)
            all += (size_t)d->g->run[i].n;
    if (!all)
        return false;
    size_t left = fl_random_below(&d->random, all), i = 0;
    for (;; i++) {
        const struct fl_audit_run *r = &d->g->run[i];
        if (d->used[i] || r->stratum != stratum)
            continue;
        if (left < (size_t)r->n)
            break;
        left -= (size_t)r->n;
    }
    *out = (struct fl_audit_moment){d->g->run[i].take, d->g->run[i].first + (long)left, stratum};
    use_stretch(d, &d->g->run[i]);
    return true;
}

/* Fisher and Yates: every order has the same chance. */
static void shuffle(struct fl_audit_moment *v, size_t n, struct fl_random *random)
{
    for (size_t i = n; i > 1; i--) {
        const size_t k = fl_random_below(random, i);
        const struct fl_audit_moment swap = v[i - 1];
        v[i - 1] = v[k];
        v[k] = swap;
    }
}

size_t fl_audit_draw(struct fl_audit_moment *out, const struct fl_audit_ground *g, size_t n,
                     uint64_t seed)
{
    struct draw d = {.g = g, .used = FL_NEW(bool, g->n + 1)};
    size_t drawn = 0;
    fl_random_seed(&d.random, seed);
    for (size_t i = 0; i < n; i++)
        drawn += draw_one(&d, &out[drawn], (enum fl_stratum)(i % FL_STRATA));
    shuffle(out, drawn, &d.random);
    free(d.used);
    return drawn;
}
