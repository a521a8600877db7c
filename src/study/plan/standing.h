/* How the settings of a session stand while one more take of one of them is recorded: each V50 with
 * its interval as the study gives it, and how much more of it another minute would tell.
 *
 * By the model and the grids of the plan (forecast.h); the flicks seen now are one take more. */
#ifndef FL_STUDY_PLAN_STANDING_H
#define FL_STUDY_PLAN_STANDING_H

#include "study/plan/next_speed.h"
#include "study/plan/plan.h"

/* Of a minute, a multiple of FL_PLAN_BLOCK: a flick and its rest take some 4.5 s
 * (recording_schedule.c). */
enum { FL_STANDING_FLICKS = 12 };

struct fl_standing_setting {
    const char *id; /* of the take that it is called by: its first, or the one given */
    const char *game, *condition;
    double counts_per_inch, degrees_per_count; /* NaN: not known */
    int takes, flicks, trips;                  /* that count, with those seen now */
    double v50, low, high;                     /* deg/s: posterior median and 95 %; NaN: open */
    double width;                              /* half of the interval, octaves; INFINITY: open */
    double bits; /* of log2 V50 to be expected from a take of FL_STANDING_FLICKS more */
    bool enough; /* the interval is as narrow as wanted */
};

struct fl_standing {
    double wanted; /* octaves */
    struct fl_standing_setting *setting;
    size_t n, now; /* all of them, controls aside; the one recorded now */
    int finished;  /* of them */
    size_t next; /* of those not finished, the one to go on with: that of which a minute tells most,
                    or nearly most if it is recorded now; n: none */
    struct fl_outlook before; /* of the one recorded now, without this take */
    const struct fl_curve *curve;
    double *x; /* of this take: log2 peaks */
    bool *tripped;
    size_t n_flicks, cap_x, cap_tripped;
};

/* s: studied by fl_plan_study, outlives it. id: a take of the setting that is recorded now. wanted:
 * half of the interval over V50. Errors: FLINCH_ERR_USAGE: there is no such take, or it is a
 * control. Some 50 ms a setting. */
enum flinch_code fl_standing_init(struct fl_standing *st, struct fl_session *s, const char *id,
                                  double wanted, struct fl_error *err);
void fl_standing_finish(struct fl_standing *st);
/* A flick of this take; peak: deg/s. */
void fl_standing_add(struct fl_standing *st, double peak, bool tripped);
/* Begins a take of the setting with what is known from those before. */
void fl_standing_expect(const struct fl_standing *st, struct fl_next_speed *n);

#endif
