/* Delays: from crossing the fitted theta_off to the trip, from crossing theta_on to the return
 * (DESIGN: delays), and from the end of a flick to the return. */
#ifndef FL_STUDY_RULE_DELAY_H
#define FL_STUDY_RULE_DELAY_H

#include "maths/survival.h"
#include "study/rule/delay_cases.h"
#include "study/take/session.h"

struct fl_delay {
    const char *game, *condition;
    bool trip;                 /* else return */
    enum fl_quantity quantity; /* of the leading rule */
    double threshold;          /* theta_off or theta_on of that rule */
    int switched, left, censored,
        unmatched;      /* unmatched: lapse edges without one crossing to count from */
    const char *method; /* "kaplan_meier" where every bracket is under a base period, else
                           "turnbull"; NULL without a switch */
    double median_s, low_s, high_s; /* had the hand not crossed back; NaN: open */
    /* The same in rendered frames, the unit that a game judges in. Ends are whole frames, outward,
     * and never finer than the clock: its error lies in each. NaN: open, or no base rate. */
    double frame_s;                 /* a rendered frame, synthesis on */
    double clock_s;                 /* error of hand against picture, worst of the takes; NaN */
    double low_frames, high_frames; /* of median_s with its interval */
    double left_share; /* chance that the hand crosses back first, as it moved here; NaN */
    const char *interval_method; /* "log_log", "cases_bootstrap", "takes_bootstrap"; NULL */
    struct fl_delay_case *cases;
    size_t n_cases;
};

/* The same delay in two conditions of a game. */
struct fl_delay_comparison {
    const struct fl_delay *a, *b;
    const char *method;         /* "log_rank" where both are Kaplan–Meier, else "intervals" */
    double chi2, p, p_adjusted; /* Holm within the session; NaN without the log-rank test */
    const char *verdict;        /* one sentence */
};

/* Fills s->delays and s->delay_comparisons from s->rules. */
void fl_study_delays(struct fl_session *s);

/* "within one rendered frame", "2 to 4 rendered frames"; NULL where either end is open. */
const char *fl_delay_frames_text(const struct fl_delay *d, struct fl_arena *arena);

/* Compares a and b, both with a switch and of one quantity: method, chi2 and p; p_adjusted and
 * verdict stay unset. */
void fl_delay_compare(struct fl_delay_comparison *c, const struct fl_delay *a,
                      const struct fl_delay *b);
/* The intervals of the two medians do not meet; an open end meets everything. */
bool fl_delay_apart(const struct fl_delay *a, const struct fl_delay *b);

#endif
