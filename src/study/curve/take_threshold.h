/* Trip speed of one take by itself, at a slope that it shares with others. All in octaves. */
#ifndef FL_STUDY_CURVE_TAKE_THRESHOLD_H
#define FL_STUDY_CURVE_TAKE_THRESHOLD_H

#include <stdbool.h>
#include <stddef.h>

#define FL_THRESHOLD_FLICKS 5 /* fewer say nothing of a take by itself */

struct fl_take_threshold {
    double theta; /* log2 V50; NaN under FL_THRESHOLD_FLICKS */
    double down,
        up;     /* standard error towards lower and higher speeds; NaN: nothing limits that side */
    bool mixed; /* some tripped and some held: theta is an estimate. Else it is where the limit on
                   its one known side would put it */
};

/* x: log2 peak; slope beta > 0. Plain likelihood, which is concave in log2 V50 at a given slope (a
 * penalty by the information would have two peaks in a wide gap between held and tripped flicks);
 * errors are its 95 % limits over 1.96, so that a wide gap makes them wide. Where all tripped, or
 * none, the one flick that says most is left out: it may be a stray. Then a normal curve is laid
 * through where the likelihood has fallen by one and by two standard errors. */
void fl_take_threshold_fit(struct fl_take_threshold *out, const double *x, const bool *y, size_t n,
                           double beta);

#endif
