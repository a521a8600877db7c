/* Plain values that flinch gives and takes.
 *
 * Times named *_s are seconds of footage time: since the first video frame. A number that is not
 * known is NaN. Intervals are half-open. Strings are UTF-8, owned by the object that they were
 * read from, and live as long as it does. Structs have room for what may come: names in `reserved`
 * are left alone by readers, and zero where you fill one in.
 */
#ifndef FLINCH_TYPES_H
#define FLINCH_TYPES_H

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Whether synthesised frames are shown. */
enum flinch_state {
    FLINCH_UNSEEN, /* nothing moves enough to tell, or the footage cannot show the difference */
    FLINCH_ON,
    FLINCH_OFF
};

enum flinch_answer { FLINCH_NO, FLINCH_YES, FLINCH_UNKNOWN };

/* Measures of motion. */
enum flinch_quantity {
    FLINCH_COUNT_RATE,       /* mouse counts/s */
    FLINCH_HAND_SPEED,       /* cm/s */
    FLINCH_CAMERA_SPEED,     /* degrees/s */
    FLINCH_IMAGE_STEP,       /* pixels at native width per on-state base period */
    FLINCH_IMAGE_CHANGE,     /* 0..1 of the nominal luma range */
    FLINCH_STICK_DEFLECTION, /* 0..1 */
    FLINCH_STICK_RATE,       /* 1/s */
    FLINCH_QUANTITIES        /* how many there are */
};
/* Places in arrays by quantity: more than there are, so that more can come. */
#define FLINCH_QUANTITY_ROOM 16

/* A stretch of one state; the stretches of a take tile [0, duration) without gaps. */
struct flinch_stretch {
    double start_s, end_s;
    enum flinch_state state;
    double confidence;  /* 0..1 */
    const char *reason; /* why unseen: a fixed word; NULL when seen */
    double reserved[4]; /* 0 */
};

/* A maximal interval in state off with on before or after it. */
struct flinch_lapse {
    double start_s, end_s;
    double start_low_s, start_high_s; /* the start lies between these */
    double end_low_s, end_high_s;     /* the end lies between these */
    /* false: already off at the first frame, still off at the last, or the state was out of sight
     * between this lapse and one beside it */
    bool has_trip, has_return;
    double unique_rate_hz; /* NaN if unknown */
    double confidence;     /* 0..1 */
    double reserved[4];    /* 0 */
};

/* Time in each state. Shares are 0..1. */
struct flinch_exposure {
    double on_s, off_s, unseen_s;
    double off_share;                     /* off/(on+off); NaN when nothing was seen */
    double off_share_low, off_share_high; /* off/all, (off+unseen)/all */
    double motion_s, off_share_in_motion; /* camera speed over 25 degrees/s */
    double lapses_per_min, longest_s;
    double reserved[4]; /* 0 */
};

/* One burst of fast motion, from rest to rest. */
struct flinch_flick {
    double start_s, end_s;
    double peak[FLINCH_QUANTITY_ROOM]; /* by enum flinch_quantity; NaN where not measured */
    enum flinch_answer at_risk;        /* was synthesis on as it began? */
    enum flinch_answer tripped;        /* did it switch off? */
    double trip_delay_s;               /* from the flick's start; NaN if it did not trip */
    double reserved[4];                /* 0 */
};

/* Single figures of a take. */
struct flinch_take_figures {
    int width, height; /* pixels */
    long frames;
    double capture_rate_hz, duration_s;
    bool torn;
    double noise;                           /* mean change of still rows, 8-bit luma levels; NaN */
    bool clock_known;                       /* false: no trace, or refused */
    double clock_offset_s, clock_drift_ppm; /* trace time = offset + (1 + drift) footage time */
    double base_rate_on_hz, base_rate_off_hz; /* rendered frames per second; NaN if never seen */
    double visible_floor_deg_s;               /* below it neither on nor off was seen; NaN */
    double reserved[4];                       /* 0 */
};

/* A figure that each capture frame has: a column of the files' tables of frames. Texts are static.
 */
struct flinch_column {
    char name[80];       /* as in the file, with its unit: "camera_speed_deg_s" */
    const char *unit;    /* for people: "deg/s"; "" if it has none */
    const char *meaning; /* one sentence */
    void *reserved[4];   /* NULL */
};

/* Which side of a number the truth lies on, when the number itself cannot be given. */
enum flinch_bound {
    FLINCH_BOUND_NONE,        /* v50 is a number */
    FLINCH_BOUND_ABOVE,       /* V50 is above bound_at */
    FLINCH_BOUND_BELOW,       /* V50 is below bound_at */
    FLINCH_BOUND_NO_RELATION, /* trips do not become likelier with speed */
    FLINCH_BOUND_TOO_FEW,     /* too few flicks to say anything */
    FLINCH_BOUND_NOT_POOLED   /* over settings that contradict each other, or may */
};

/* The chance that a flick trips against its peak speed. NaN: null or an open end. */
struct flinch_curve {
    const char *game;
    const char *condition;                     /* NULL: pooled */
    double counts_per_inch, degrees_per_count; /* NaN: not given, or differs in what is pooled */
    enum flinch_quantity quantity;
    double v10, v50, v90;     /* in units of the quantity */
    double v50_low, v50_high; /* 95 % interval */
    enum flinch_bound bound;
    double bound_at;
    int flicks, trips, not_fitted, takes;
    double reserved[4]; /* 0 */
};

/* A number with its 95 % interval. NaN: not known, or an open end. */
struct flinch_estimate {
    double value, low, high;
};

/* The cut-off rule of a game and condition in one quantity: off once it has been above off_above
 * for off_after_s, on again once it has been below on_below for on_after_s. */
struct flinch_rule {
    const char *game, *condition;
    enum flinch_quantity quantity;
    const char
        *refused; /* why there is no rule, one line; NULL: there is, and what follows is set */
    struct flinch_estimate off_above, on_below; /* in units of the quantity */
    struct flinch_estimate off_after_s, on_after_s;
    /* With the states of takes left out, balanced over on and off, 0..1; 0.5 is what "always on"
     * reaches. NaN with one take. */
    double agreement;
    int takes, lapses;
    bool lead;          /* the quantity to go by */
    bool rival;         /* as good as the one to go by */
    double reserved[4]; /* 0 */
};

/* From crossing a rule's threshold to the trip, or to the return. */
struct flinch_delay {
    const char *game, *condition;
    bool trip; /* else return */
    enum flinch_quantity quantity;
    double threshold;                /* in units of the quantity */
    struct flinch_estimate median_s; /* had the hand not crossed back */
    int switched, censored;          /* cases that ended in a switch, and in crossing back */
    double reserved[4];              /* 0 */
};

/* Two settings of one game beside each other. */
struct flinch_comparison {
    const char *game;
    const char *differ_in; /* "resolution", "sensitivity", "condition" or "none" */
    enum flinch_quantity quantity;
    size_t a, b;                  /* numbers of their curves, for flinch_session_curve */
    struct flinch_estimate ratio; /* V50 of a over that of b */
    double p, p_adjusted;         /* of no difference; adjusted within the session. NaN: none */
    const char *verdict;          /* one sentence; NULL: none */
    double reserved[4];           /* 0 */
};

#ifdef __cplusplus
}
#endif
#endif
