/* Overlapping is not passed on: a wide interval between two that are told apart must not join them,
 * so a place is a range. */
#include "study/compare/rank_range.h"

#include <math.h>
#include <stdbool.h>

static struct fl_rank_range range_of(const double *low, const double *high, size_t n, size_t i)
{
    size_t below = 0, above = 0, all = 0;
    for (size_t k = 0; k < n; k++) {
        if (isnan(low[k]) || isnan(high[k]))
            continue;
        all++;
        below += high[k] < low[i];
        above += low[k] > high[i];
    }
    return (struct fl_rank_range){1 + below, all - above};
}

void fl_rank_ranges(struct fl_rank_range *rank, const double *low, const double *high, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        bool known = !isnan(low[i]) && !isnan(high[i]);
        rank[i] = known ? range_of(low, high, n, i) : (struct fl_rank_range){0, 0};
    }
}
