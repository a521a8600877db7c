/* Screen time and evenness of pictures, as figures. */
#ifndef FL_STUDY_TAKE_PACING_H
#define FL_STUDY_TAKE_PACING_H

/* How evenly one state's pictures come, and for how long each kind stays on screen. */
struct fl_pacing_state {
    double time_s;                           /* in this state */
    double kinds_known_s, kinds_known_share; /* of it: the kind of the picture on screen is known */
    double rendered_share, synthesised_share; /* of screen time of known kind; NaN with a reason */
    const char *kinds_reason; /* why they are unknown: "state_not_seen", "kinds_unknown", "too_few";
                                 NULL: known */
    long pairs;               /* rendered and synthesised pictures side by side */
    double rendered_of_pair_median, rendered_of_pair_p10,
        rendered_of_pair_p90; /* its part of the pair's time */
    long intervals;           /* from a flip to the next, nothing missed between */
    double interval_mean_ms;
    double interval_cv;           /* coefficient of variation: standard deviation / mean */
    double interval_ratio_median; /* the longer of two successive intervals over the shorter */
    /* On a display of a fixed refresh rate that was given; else NaN. */
    double whole_refreshes_share; /* of intervals: last a whole number of refreshes, within an
                                     eighth of one; a quarter do by chance */
    double odd_refreshes_share;   /* of those: last another number of them than most */
};
struct fl_pacing {
    struct fl_pacing_state on, off;
};

/* Nothing known, for this reason (static). */
void fl_pacing_state_init(struct fl_pacing_state *s, const char *reason);

#endif
