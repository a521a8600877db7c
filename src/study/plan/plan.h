/* What to record next: how many more takes, at which speeds, bring each V50 interval to a wanted
 * width. */
#ifndef FL_STUDY_PLAN_PLAN_H
#define FL_STUDY_PLAN_PLAN_H

#include "study/curve/curve.h"
#include "study/plan/forecast.h"

enum {
    FL_PLAN_BANDS = 3,
    FL_PLAN_BLOCK = 4,  /* flicks: one slow, two in the middle, one fast */
    FL_PLAN_FLICKS = 40 /* of a take: 25 at least, 40 are better (docs/recording.md) */
};

/* Speeds to flick at, anywhere within. */
struct fl_plan_band {
    double low, high; /* in the quantity */
    int share;        /* of each FL_PLAN_BLOCK flicks */
};

/* One setting: game, condition, counts per inch and degrees per count. */
struct fl_plan_setting {
    const char *game, *condition;              /* from nothing: game NULL, condition "A", "B" … */
    double counts_per_inch, degrees_per_count; /* NaN: not known */
    bool degrees_found;                        /* by the picture: the session does not say */
    enum fl_quantity quantity;
    const struct fl_curve *curve; /* NULL: no flick of known speed yet */
    struct fl_takes_differ takes_differ;
    double width_now; /* octaves; INFINITY: open, NaN: none */
    bool enough;      /* it is narrow enough as it is */
    bool searching;   /* flicks so far give no V50: first look where it trips, then plan anew */
    bool reached; /* the forecast is as narrow as wanted; else FL_FORECAST_TAKES are not enough */
    int takes, flicks_a_take;                /* to record; 0 when enough */
    struct fl_forecast forecast;             /* after them */
    struct fl_plan_band band[FL_PLAN_BANDS]; /* slow, middle, fast; one begins where another ends */
};

struct fl_plan {
    double wanted; /* octaves */
    bool from_nothing;
    struct fl_plan_setting *setting;
    size_t n;
};

/* s: curves fitted (fl_plan_study); NULL: before a first session, then with n_settings settings
 * alike. wanted: half of the interval over V50, 0.1 for ±10 %. The plan is in the arena; n is 0
 * when no take of s has a flick of known speed. */
void fl_plan_make(struct fl_plan *plan, const struct fl_session *s, double wanted, int n_settings,
                  struct fl_arena *arena);
/* Its bands, by what is known of it and t->curve. */
void fl_plan_choose_bands(struct fl_plan_setting *t, const struct fl_outlook *o);
/* What the flicks of a take aim at, log2: evenly over each band, as often as it has a share.
 * flicks: a multiple of FL_PLAN_BLOCK. */
void fl_plan_aims(const struct fl_plan_setting *t, int flicks, double *speed);
/* Fits the curves of a session, anew, and nothing else. */
void fl_plan_study(struct fl_session *s);

#endif
