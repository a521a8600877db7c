/* Repeatability: takes of one game, condition, resolution and sensitivity beside each other, and
 * beside the controls of their game. */
#ifndef FL_STUDY_COMPARE_REPEAT_H
#define FL_STUDY_COMPARE_REPEAT_H

#include "study/take/session.h"

struct fl_repeat_take {
    const struct fl_take *take;
    int flicks, trips; /* those fitted, strays too */
    double v50, v50_low,
        v50_high; /* of this take by itself, as beside the curve (struct fl_take_v50): no v50 unless
                     some tripped and some held; 95 % limits from its flicks, NaN open */
    double v50_ratio, v50_p, v50_p_adjusted; /* against the other takes; NaN: not tested */
    double share, share_p,
        share_p_adjusted;   /* off share, standardised to the flicks of these takes; NaN */
    double share_of_others; /* mean; NaN */
    bool stands_out;
    const char *warning; /* one line; NULL unless it stands out */
};

/* Standard deviation between takes with its 95 % interval by chi-square; NaN under two takes. */
struct fl_scatter {
    int takes;
    double sd, low, high, df;
};

/* Rendered frames/s beside the controls' (takes with the feature disabled). */
struct fl_repeat_rate {
    size_t controls; /* those with a known rate */
    const struct fl_take **control;
    double control_hz, off_hz, on_hz; /* geometric means; NaN */
    double off_ratio, off_low,
        off_high; /* off_hz over control_hz; interval by Student's t on logarithms, NaN
                     when there are only one take and one control */
    double on_ratio, on_low, on_high;
    const char *text; /* plain words; NULL without controls */
};

struct fl_repeat {
    const char *game, *condition;
    double counts_per_inch, degrees_per_count; /* NaN: not given */
    enum fl_quantity quantity;                 /* of V50 */
    struct fl_repeat_take *takes;
    size_t n;
    struct fl_scatter v50; /* octaves, of takes with a v50 */
    /* octaves: scatter that the flicks alone would make, were takes alike; NaN */
    double flick_error;
    double told_ratio; /* a take must differ in V50 by this factor to stand out, in the median; NaN:
                          none can, or one does */
    struct fl_scatter share;   /* of shares, 0..1 */
    const char *share_refused; /* why there are no shares, or NULL */
    struct fl_repeat_rate rate;
    bool stands_out;     /* any of the takes */
    const char *verdict; /* one sentence in plain words */
};

/* Fills s->repeats, one a setting, controls apart, from s->curves. A take stands out when p of
 * either test, adjusted by Holm over all takes and tests of the session, is below FL_REPEAT_LEVEL;
 * it takes three takes. */
#define FL_REPEAT_LEVEL 0.05
void fl_study_repeats(struct fl_session *s);

/* Inside: repeat_rate.c and repeat_words.c. */
struct fl_setting;
void fl_repeat_rates(struct fl_repeat *r, const struct fl_setting *settings, size_t n,
                     const struct fl_setting *own, struct fl_arena *arena);
void fl_repeat_words(struct fl_repeat *r, struct fl_arena *arena);

#endif
