/* Two sessions beside each other: an earlier one ("before") and a later one ("now"). What changed,
 * by how much, and what cannot be compared. */
#ifndef FL_STUDY_COMPARE_AGAINST_H
#define FL_STUDY_COMPARE_AGAINST_H

#include "study/curve/curve.h"
#include "study/curve/setting.h"
#include "study/rule/delay.h"
#include "study/take/session.h"

enum fl_found {
    FL_FOUND_NONE, /* no claim is made of this figure, or there is nothing to compare */
    FL_FOUND_CANNOT_TELL,
    FL_FOUND_HIGHER, /* now; adjusted p below FL_CLAIM */
    FL_FOUND_LOWER,
    FL_FOUND_SAME,      /* the interval of a ratio lies within FL_EQUAL_LOW to FL_EQUAL_HIGH */
    FL_FOUND_ONE_SIDED, /* a bound on one side: untested, but the ratio cannot be 1 */
};
const char *
fl_found_name(enum fl_found f); /* "none", "cannot_tell", "higher", "lower", "same", "one_sided" */

/* One figure of both sides. NaN: unknown, open or not tested. */
struct fl_change {
    double before, now;
    double change, low, high; /* now over before, or now minus before; 95 % interval */
    double p, p_adjusted;     /* of no change; Holm over all changes of the two sessions */
    const char *refused;      /* why the two cannot be compared, one line; NULL: they can */
    const char *unsure;       /* why there is no interval, or no test; NULL */
    enum fl_found finding;
};

struct fl_against_v50 {
    enum fl_quantity quantity;
    const struct fl_curve *before, *now; /* NULL: not measured there */
    struct fl_change change;             /* ratio */
    size_t twin; /* index of an earlier quantity of the setting that orders the flicks of both sides
                    as this one does: the two are one test and count once; else its own index */
};

/* One game × condition × counts per inch × degrees per count that both have, controls apart. */
struct fl_against_setting {
    struct fl_setting before, now;
    const char *refused; /* nothing of it can be compared: one line; NULL */
    struct fl_against_v50 *v50;
    size_t n_v50; /* quantities that either side has; none for a control */
    /* the one that the sentence is about; NULL: none can be compared */
    const struct fl_against_v50 *lead;
    /* difference, standardised to the common flicks of the two (standard_share.h); interval:
     * every take left out in turn (jackknife) */
    struct fl_change off_share;
    enum fl_quantity off_share_by;
    struct fl_change base_on,
        base_off;            /* ratios of rendered frames/s, from takes' logarithms (Welch) */
    struct fl_change lapses; /* difference in lapses a minute (Welch); depends on how the hand
                                moved, so no test and no finding */
    const char *sentence;    /* what changed, in plain words, without the setting's name */
};

/* Trip or return delay of one game × condition. */
struct fl_against_delay {
    const char *game, *condition;
    bool trip;
    const struct fl_delay *before, *now; /* NULL: none there */
    const char *method;                  /* as in struct fl_delay_comparison; NULL when refused */
    struct fl_change change; /* medians, s; change: their difference, without an interval of its
                                own. A finding takes thresholds alike (FL_EQUAL_LOW to
                                FL_EQUAL_HIGH: a fit trades threshold against delay), intervals of
                                the two medians apart and, where there is a test, its adjusted p */
};

struct fl_against {
    const char *refused; /* why nothing can be compared, one line; NULL */
    struct fl_against_setting *setting;
    size_t n;
    struct fl_against_delay *delay;
    size_t n_delays;
    struct fl_setting *only_before;
    size_t n_only_before;
    struct fl_setting *only_now;
    size_t n_only_now;
    int tests; /* that p_adjusted is adjusted for */
};

/* Both studied (fl_session_study), and outliving what comes out. All in the arena. */
void fl_against_make(struct fl_against *out, struct fl_session *before, struct fl_session *now,
                     struct fl_arena *arena);

/* Inside: against_change.c, against_refuse.c, against_words.c. The changes leave p_adjusted and
 * finding unset. */
/* Every figure unknown; refused: why, or NULL. */
struct fl_change fl_change_unknown(const char *refused);
void fl_change_v50(struct fl_change *c, const struct fl_curve *before, const struct fl_curve *now,
                   struct fl_arena *arena);
void fl_change_off_share(struct fl_change *c, const struct fl_setting *before,
                         const struct fl_setting *now, enum fl_quantity by, struct fl_arena *arena);
/* figure: of one take, NaN when it has none. */
void fl_change_ratio(struct fl_change *c, const struct fl_setting *before,
                     const struct fl_setting *now, double (*figure)(const struct fl_take *),
                     struct fl_arena *arena);
void fl_change_difference(struct fl_change *c, const struct fl_setting *before,
                          const struct fl_setting *now, double (*figure)(const struct fl_take *),
                          struct fl_arena *arena);
void fl_change_delay(struct fl_against_delay *d);
/* Why nothing of the takes can be compared; why the quantity cannot; why delays from a crossing in
 * it cannot, which are found in means over one base period. NULL when they can. */
const char *fl_against_refuse(const struct fl_setting *before, const struct fl_setting *now,
                              struct fl_arena *arena);
const char *fl_against_refuse_quantity(const struct fl_setting *before,
                                       const struct fl_setting *now, enum fl_quantity q,
                                       struct fl_arena *arena);
const char *fl_against_refuse_delay(const struct fl_setting *before, const struct fl_setting *now,
                                    enum fl_quantity q, struct fl_arena *arena);
const char *fl_against_sentence(const struct fl_against_setting *s, struct fl_arena *arena);

#endif
