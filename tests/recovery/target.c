#include "target.h"

#include <gsl/gsl_cdf.h>

#define BY_CHANCE 0.001

bool too_few(int k, int n, double share)
{
    return n > 0 && gsl_cdf_binomial_P((unsigned)k, share, (unsigned)n) < BY_CHANCE;
}

bool too_many(int k, int n, double share)
{
    return too_few(n - k, n, 1 - share);
}
