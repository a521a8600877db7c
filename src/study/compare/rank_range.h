/* Ranks of figures that are known within intervals. */
#ifndef FL_STUDY_COMPARE_RANK_RANGE_H
#define FL_STUDY_COMPARE_RANK_RANGE_H

#include <stddef.h>

struct fl_rank_range {
    size_t first, last; /* from 1; 0: not ranked */
};

/* Of n intervals [low, high], the places that each may have: first is 1 + how many lie wholly below
 * it, last the number of all less those wholly above. Intervals that overlap or touch share a
 * place; of two that share none, the one lies below the other. low 0 and high INFINITY: open. NaN
 * at either end: not ranked, and not counted. */
void fl_rank_ranges(struct fl_rank_range *rank, const double *low, const double *high, size_t n);

#endif
