/* Many takes → curves, ranking, comparisons. */
#ifndef FL_STUDY_SESSION_H
#define FL_STUDY_SESSION_H

#include "study/take.h"

enum fl_bound { FL_BOUND_NONE, FL_BOUND_ABOVE, FL_BOUND_BELOW, FL_BOUND_NO_RELATION,
                FL_BOUND_TOO_FEW }; /* too few flicks to say anything */
const char *fl_bound_name(enum fl_bound b); /* "none", "above", "below", "no_relation", "too_few" */

/* One flick as a point of a curve. */
struct fl_point {
    double v;      /* peak in the curve's quantity */
    bool tripped;
    const struct fl_take *take;
    double start_s;
    bool stray;    /* more likely against the curve than with it; only where the stray rate is shown */
};

struct fl_curve {
    const char *game, *condition;
    bool pooled;                       /* over all counts per inch and degrees per count */
    double counts_per_inch, degrees_per_count; /* NaN: pooled or not given */
    enum fl_quantity quantity;
    double kernel_ms;
    double alpha, beta;                /* logistic(α + β·log2 v); NaN when no fit */
    double v10, v50, v50_low, v50_high, v90, slope; /* slope: β per octave; NaN = null or open */
    double held_max, tripped_min;      /* strays aside */
    bool separated;                    /* strays aside */
    enum fl_bound bound;
    double bound_at;
    int flicks, trips, not_fitted, takes;
    int not_fitted_unknown_risk, not_fitted_no_risk, not_fitted_no_outcome, not_fitted_no_value;
    /* The fit with a stray rate (study/stray.h) beside the one without; see fl_curve_fit for which is shown. */
    bool stray_shown;                  /* the figures above are those with a stray rate */
    double stray_rate, stray_gain;     /* of the fit with one: share of flicks against the curve, twice the
                                          rise in log-likelihood; NaN when not fitted (separated flicks) */
    int strays;                        /* flicks marked stray */
    double other_v50, other_low, other_high; /* of the fit not shown, from flicks alone; NaN: none or open */
    const char *interval_method;       /* "takes_t", "takes_bootstrap", "one_take"; NULL without V50 */
    /* What the interval was made of, for comparisons. Octaves (log2 of the quantity). */
    double flick_low, flick_high;      /* profile limits from flicks alone; NaN = open */
    double take_variance;              /* between takes, of their own log2 V50; NaN under two */
    double take_df;                    /* degrees of freedom of take_variance; NaN under two */
    bool shared_variance;              /* pooled over the game's cells */
    double effective_takes;            /* takes that inform V50, by information; 0 when no fit */
    struct fl_point *points;           /* flicks long */
    const char *evidence;              /* grade.h: what it rests on, one line; NULL outside a session */
    const char *stray_note;            /* grade.h: NULL when both fits say the same */
};

/* In what the two sides of a comparison differ. */
enum fl_pair { FL_PAIR_NONE, FL_PAIR_RESOLUTION, FL_PAIR_SENSITIVITY /* at one resolution */, FL_PAIR_CONDITION };
const char *fl_pair_name(enum fl_pair p); /* "none", "resolution", "sensitivity", "condition" */

struct fl_comparison {
    const char *game;
    enum fl_pair pair;
    const struct fl_curve *a, *b;
    enum fl_quantity quantity;
    double ratio, low, high;           /* V50 of a over b; NaN = null or open */
    double p, p_adjusted;              /* Holm within the session */
    const char *held;                  /* "degrees_per_count", "degrees_per_cm", NULL neither or unknown */
    double off_share_a, off_share_b;   /* standardised; NaN when refused */
    const char *off_share_refused;     /* why, or NULL */
    const char *verdict;               /* one sentence in plain words */
};

struct fl_quantity_rank {
    const char *game;
    enum fl_quantity quantity;
    double deviance_explained, auc, agreement_p;
    double left_out_deviance;          /* a flick, on takes left out of the fit; NaN when not fitted */
    enum fl_quantity against;          /* the best of the other quantities there; FL_QUANTITIES: none */
    double lead, lead_se;              /* by how much its deviance a take is below that one's, and the standard error;
                                          below 0: it is behind; NaN: none, se also under three takes */
    int ratios;                        /* pairs of settings whose V50 could be compared, each with two takes or more */
    double ratio_low, ratio_high;      /* of those ratios' intervals the lowest and the highest end; NaN: open or none */
    bool stands;                       /* may still be what is watched */
    const char *verdict;               /* "named" or "cannot tell" or "not measured" */
    const char *to_record;             /* what would settle it; the same for all of a game; NULL when one is named */
};

/* One row of the ranking of all games and conditions by V50 (camera speed). */
struct fl_rank {
    const char *game, *condition;
    const struct fl_curve *curve;      /* pooled over resolution for that game and condition */
    double off_share, off_share_low, off_share_high; /* standardised to common flicks, else as measured */
    bool standardised;
    bool control;                      /* synthesis disabled in all its takes */
};

struct fl_rule;  /* study/rule.h */
struct fl_delay; /* study/delay.h */
struct fl_delay_comparison;
struct fl_repeat; /* study/repeat.h */

struct fl_session {
    const char *name;
    struct fl_arena *arena;
    struct fl_take **takes; size_t n_takes;      /* measured takes, session order; owned */
    struct fl_curve *curves; size_t n_curves;
    struct fl_comparison *comparisons; size_t n_comparisons;
    struct fl_quantity_rank *quantities; size_t n_quantities;
    struct fl_rank *ranks; size_t n_ranks;       /* hair trigger (lowest V50) first */
    struct fl_rule *rules; size_t n_rules;
    struct fl_delay *delays; size_t n_delays;
    struct fl_delay_comparison *delay_comparisons; size_t n_delay_comparisons;
    struct fl_repeat *repeats; size_t n_repeats;
    struct { const char *id, *text; } *failed; size_t n_failed; /* takes that could not be measured */
};

struct fl_session *fl_session_new(const char *name);
/* Takes ownership of t. */
void fl_session_add(struct fl_session *s, struct fl_take *t);
void fl_session_add_failed(struct fl_session *s, const char *id, const char *text);
/* Fits curves, comparisons, quantities, ranks, rules, delays and repeatability from the takes added so far. */
void fl_session_study(struct fl_session *s);
void fl_session_free(struct fl_session **s);

#endif
