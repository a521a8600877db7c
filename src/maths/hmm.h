/* Hidden Markov model: scaled forward-backward and Viterbi on plain arrays. */
#ifndef FL_MATHS_HMM_H
#define FL_MATHS_HMM_H

#include <stddef.h>

/* start: s. trans: s×s row-major, rows sum to 1. emit: n×s likelihoods (any positive scale per
 * row). posterior: n×s or NULL. Returns log-likelihood (of emit as given); -INFINITY and NaN
 * posteriors when some row of emit is impossible. Cost n·s² or, where the entries of a row of
 * trans that are not 0 stand close together, less: order the states so. */
double fl_hmm_posterior(size_t n, size_t s, const double *start, const double *trans,
                        const double *emit, double *posterior);
/* path: n. Returns log probability of the best path; of equal ones the first state counts. */
double fl_hmm_viterbi(size_t n, size_t s, const double *start, const double *trans,
                      const double *emit, size_t *path);

#endif
