/* Seeded random numbers of the stage: small, fast, the same on every machine.
 *
 * Each part of a take draws from a stream of its own, so a change in one (say, the click times)
 * leaves the others as they were. */
#ifndef STAGE_RNG_H
#define STAGE_RNG_H

#include <math.h>
#include <stdint.h>

struct st_rng {
    uint64_t state;
};

static inline uint64_t st_mix(uint64_t z)
{
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

static inline struct st_rng st_rng(uint64_t seed, uint64_t stream)
{
    return (struct st_rng){st_mix(seed + 0x9e3779b97f4a7c15u * (stream + 1))};
}

static inline uint64_t st_next(struct st_rng *r)
{
    return st_mix(r->state += 0x9e3779b97f4a7c15u);
}

/* Uniform in [lo, hi). */
static inline double st_uniform(struct st_rng *r, double lo, double hi)
{
    return lo + (hi - lo) * (double)(st_next(r) >> 11) * 0x1p-53;
}

static inline double st_log_uniform(struct st_rng *r, double lo, double hi)
{
    return lo * exp(st_uniform(r, 0, log(hi / lo)));
}

/* Standard normal, cut at three standard deviations so that no single draw breaks a schedule. */
static inline double st_normal(struct st_rng *r)
{
    for (;;) {
        double u = st_uniform(r, 1e-12, 1), v = st_uniform(r, 0, 1);
        double z = sqrt(-2 * log(u)) * cos(6.283185307179586 * v);
        if (fabs(z) < 3)
            return z;
    }
}

#endif
