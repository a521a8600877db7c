/* Is a target missed by more than chance? */
#ifndef FL_RECOVERY_TARGET_H
#define FL_RECOVERY_TARGET_H

#include <stdbool.h>

/* k of n is too few for a true share of at least `share`, or too many for one of at most that: so
 * few, or so many, come by chance once in 1,000 times at the most (exact binomial tail). */
bool too_few(int k, int n, double share);
bool too_many(int k, int n, double share);

#endif
