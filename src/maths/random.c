/* Seeded random numbers that are the same on every machine. */
#include "maths/random.h"

#include <math.h>

/* xoshiro256** (Blackman & Vigna 2021, ACM TOMS 47:36), its state filled by SplitMix64
 * (Steele, Lea & Flood 2014) as its authors advise. */

static uint64_t split_mix(uint64_t *state)
{
    uint64_t z = *state += 0x9e3779b97f4a7c15u;
    z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u;
    z = (z ^ z >> 27) * 0x94d049bb133111ebu;
    return z ^ z >> 31;
}

void fl_random_seed(struct fl_random *r, uint64_t seed)
{
    for (int i = 0; i < 4; i++)
        r->s[i] = split_mix(&seed);
}

static uint64_t rotate_left(uint64_t v, int by)
{
    return v << by | v >> (64 - by);
}

uint64_t fl_random_bits(struct fl_random *r)
{
    uint64_t *s = r->s, out = rotate_left(s[1] * 5, 7) * 9, shifted = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= shifted;
    s[3] = rotate_left(s[3], 45);
    return out;
}

double fl_random_uniform(struct fl_random *r)
{
    return (double)(fl_random_bits(r) >> 11) * 0x1p-53;
}

/* Natural logarithm of a normal number > 0 from exactly rounded operations only: C libraries
 * differ in the last bit. ln m = 2 artanh((m-1)/(m+1)), m in [√½, √2). */
static double portable_log(double x)
{
    int e;
    double m = frexp(x, &e);
    if (m < 0.70710678118654752) {
        m *= 2;
        e--;
    }
    double u = (m - 1) / (m + 1), u2 = u * u, sum = 0;
    for (int k = 21; k >= 1; k -= 2)
        sum = sum * u2 + 1.0 / k;
    return 2 * u * sum + e * 0.69314718055994531;
}

/* Marsaglia's polar method; the second number of the pair is dropped, to keep no state. */
double fl_random_normal(struct fl_random *r)
{
    double u, v, q;
    do {
        u = 2 * fl_random_uniform(r) - 1;
        v = 2 * fl_random_uniform(r) - 1;
        q = u * u + v * v;
    } while (q >= 1 || q < 0x1p-1000);
    return u * sqrt(-2 * portable_log(q) / q);
}

size_t fl_random_below(struct fl_random *r, size_t n)
{
    uint64_t v, reject = (0 - (uint64_t)n) % n; /* 2^64 mod n: the rest divides evenly */
    do
        v = fl_random_bits(r);
    while (v < reject);
    return (size_t)(v % n);
}
