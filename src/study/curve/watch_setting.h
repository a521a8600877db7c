/* The settings under which a game was recorded, as far as they can part one motion quantity from
 * another: condition, counts per inch, degrees per count, field of view, frame cap, and the base
 * rate as measured. */
#ifndef FL_STUDY_CURVE_WATCH_SETTING_H
#define FL_STUDY_CURVE_WATCH_SETTING_H

#include "study/curve/curve.h"
#include "study/take/session.h"

#define FL_AGREEMENT_TAKES 2 /* a setting, at least, for a test of agreement */
/* octaves, a factor of 1.25: two settings move one quantity against another by at least so much */
#define FL_APART 0.32

struct fl_watch_setting {
    const char *condition;
    double counts_per_inch, degrees_per_count, horizontal_fov_deg, cap_hz,
        kernel_ms; /* NaN: not given */
    struct fl_take **takes;
    size_t n;                             /* in the session's arena */
    struct fl_curve curve[FL_QUANTITIES]; /* no flicks where not measured */
    double level[FL_QUANTITIES]; /* mean log2 peak of the flicks that are fitted; NaN when not
                                    measured */
};

/* One quantity's trip speeds at two settings. */
struct fl_watch_pair {
    const struct fl_watch_setting *a, *b;
    double ratio[FL_QUANTITIES], low[FL_QUANTITIES], high[FL_QUANTITIES],
        p[FL_QUANTITIES]; /* NaN: not known */
};

struct fl_watch_settings {
    const char *game;
    struct fl_watch_setting *v;
    size_t n;
    struct fl_watch_pair *pair;
    size_t n_pairs; /* all pairs of v */
};

/* Settings of the game's takes in order of first appearance, controls aside, with curves in the
 * quantities asked for. Pairs of which one has under FL_AGREEMENT_TAKES takes have no interval and
 * no p. Everything in the session's arena. */
struct fl_watch_settings fl_watch_settings_of(struct fl_session *s, const char *game,
                                              const bool *quantity);
/* Octaves by which two settings move quantity q against r, judged by the flicks; 0 where one is
 * unknown. */
double fl_watch_moves(const struct fl_watch_pair *p, enum fl_quantity q, enum fl_quantity r);
/* Pairs that could be tested in q. */
int fl_watch_tested(const struct fl_watch_settings *s, enum fl_quantity q);
/* p that q's trip speeds are the same at all settings: the least of the pairs',
 * Bonferroni-adjusted; NaN when none could be tested. */
double fl_watch_agreement(const struct fl_watch_settings *s, enum fl_quantity q);

#endif
