/* Seeded random numbers: the same seed gives the same numbers on every machine. */
#ifndef FL_MATHS_RANDOM_H
#define FL_MATHS_RANDOM_H

#include <stddef.h>
#include <stdint.h>

struct fl_random {
    uint64_t s[4];
}; /* one stream; not thread safe */
void fl_random_seed(struct fl_random *r, uint64_t seed);
uint64_t fl_random_bits(struct fl_random *r);
double fl_random_uniform(struct fl_random *r);         /* [0, 1) */
double fl_random_normal(struct fl_random *r);          /* mean 0, sd 1 */
size_t fl_random_below(struct fl_random *r, size_t n); /* 0..n-1, n > 0 */

#endif
