/* Which quantity drives the cut-off: fits of one quantity at a time to the same flicks. */
#ifndef FL_STUDY_CURVE_PREDICTOR_FIT_H
#define FL_STUDY_CURVE_PREDICTOR_FIT_H

#include <stdbool.h>
#include <stddef.h>

struct fl_predictor_fit {
    double deviance_explained; /* 1 - deviance / null deviance; NaN when one outcome only */
    double auc;
};

/* x: log2 of the quantity. Plain maximum likelihood, Firth's where that fails. */
void fl_predictor_fit(struct fl_predictor_fit *out, const double *x, const bool *y, size_t n);
/* Deviance of each take under the fit to all other takes (Firth), into deviance (takes long).
 * take: 0..takes-1 of each flick. False when some fit failed. */
bool fl_predictor_cross_validate(double *deviance, const double *x, const bool *y,
                                 const size_t *take, size_t n, size_t takes);
struct fl_predictor_lead {
    double mean, se; /* over takes, of the deviance of b less that of a; se NaN under three takes */
};
void fl_predictor_lead(struct fl_predictor_lead *out, const double *a, const double *b,
                       size_t takes);
/* a beats b: its lead is above the standard error. False under three takes. */
bool fl_predictor_beats(const double *a, const double *b, size_t takes);

#endif
