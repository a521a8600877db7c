/* At which speed the next flick says most of one setting's V50, flick after flick.
 *
 * For one take at the desk: what is known is the posterior that a plan goes by (posterior.h), on a
 * finer grid, with the model's own prior of slopes and strays, or with what earlier takes of its
 * setting leave to one more; how takes differ is left to the study of several. */
#ifndef FL_STUDY_PLAN_NEXT_SPEED_H
#define FL_STUDY_PLAN_NEXT_SPEED_H

#include "study/plan/posterior.h"

struct fl_next_speed {
    struct fl_posterior known;
    double *candidate; /* log2 speeds that may be asked for */
    double *chance;    /* candidates × grid, of a flick aimed there */
    size_t candidates;
    int flicks, trips;
};

struct fl_next_speed_answer {
    double v50, low, high; /* deg/s: posterior median and 95 %; NaN: nothing yet, or open */
    double next;           /* deg/s, two digits */
    bool enough;           /* the interval is as narrow as wanted */
};

/* Nothing is known but where V50s lie: FL_PLAN_LOWEST to FL_PLAN_HIGHEST (forecast.h). */
void fl_next_speed_init(struct fl_next_speed *n);
/* What earlier takes of the setting say of one more: fl_outlook_posterior (forecast.h). Before any
 * flick. */
void fl_next_speed_expect(struct fl_next_speed *n, const struct fl_posterior *earlier);
void fl_next_speed_finish(struct fl_next_speed *n);
/* A flick of known outcome; peak: deg/s. */
void fl_next_speed_add(struct fl_next_speed *n, double peak, bool tripped);
/* wanted: half of the interval over V50, 0.1 for ±10 %. */
void fl_next_speed_answer(const struct fl_next_speed *n, double wanted,
                          struct fl_next_speed_answer *out);

#endif
