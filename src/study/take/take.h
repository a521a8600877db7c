/* One measured take: everything that the writers print and the curves are fitted to. */
#ifndef FL_STUDY_TAKE_TAKE_H
#define FL_STUDY_TAKE_TAKE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/mem.h"
#include "base/units.h"
#include "clock/clock.h"
#include "clock/clock_join.h"
#include "clock/stick_response.h"
#include "signal/view_motion.h"
#include "state/flips.h"
#include "state/state.h"
#include "study/input/take_spec.h"
#include "study/take/pacing.h"
#include "study/take/recorder.h"
#include "study/take/sensitivity.h"

/* Motion quantities (DESIGN: what each figure means). */
enum fl_quantity {
    FL_COUNT_RATE,       /* counts/s */
    FL_HAND_SPEED,       /* cm/s */
    FL_CAMERA_SPEED,     /* deg/s */
    FL_IMAGE_STEP,       /* px at native width per on-state base period */
    FL_IMAGE_CHANGE,     /* 0..1 of nominal range */
    FL_STICK_DEFLECTION, /* 0..1 */
    FL_STICK_RATE,       /* 1/s */
    FL_QUANTITIES
};

struct fl_quantity_info {
    const char *name;       /* as in files: "camera_speed" */
    const char *unit;       /* as in files' column suffix: "deg_s" */
    const char *label;      /* for people: "camera speed" */
    const char *unit_label; /* for people: "deg/s" */
    const char *meaning;    /* one sentence, for docs/ */
};
const struct fl_quantity_info *fl_quantity_info(enum fl_quantity q);

/* Flicks are described by box means over one frame of 60 Hz (16.7 ms) whatever a game renders at:
 * else the same turn would count for less where frames are longer, and games could not be compared.
 */
#define FL_FLICK_KERNEL_MS (1000.0 / 60)

struct fl_flick {
    double start_s, end_s;
    double peak_s;              /* time of the camera-speed (else count-rate) peak */
    double peak[FL_QUANTITIES]; /* over FL_FLICK_KERNEL_MS, as the next two; NaN if not measured */
    double mean[FL_QUANTITIES];
    double peak_to_trip[FL_QUANTITIES]; /* peak up to the trip; NaN if not tripped */
    double path_deg, direction_deg;     /* direction: 0 right, 90 down (of the camera) */
    double peak_acceleration_deg_s2;
    enum fl_answer { FL_NO, FL_YES, FL_ANSWER_UNKNOWN } at_risk;
    enum fl_answer tripped; /* unknown is written as null */
    double trip_delay_s;    /* from the flick's start; NaN */
};

/* Unseen time that what moved in it decides, for a cut-off that motion trips (DESIGN: shares). */
struct fl_inferred {
    double start_s, end_s;
    enum fl_state state; /* unseen: open */
    const char *why;     /* "rule" (off: the rule has not returned yet), "harmless" (on), "motion"
                            (open: faster than on was often seen at, or unknown), "start" (open:
                            nothing was seen yet), "refused" (open: nothing can be inferred) */
};

struct fl_exposure {
    double on_s, off_s, unseen_s;
    double off_share;                     /* of the seen time; NaN when nothing was seen */
    double off_share_low, off_share_high; /* of all, unseen time as on, as off: without inference */
    double inferred_on_s, inferred_off_s,
        open_s;               /* sum: unseen_s; NaN before the session's study */
    double off_share_of_take; /* (off + inferred off) / (all - open); NaN if refused */
    double off_share_of_take_low,
        off_share_of_take_high;            /* 95 %; if refused as without inference */
    const char *off_share_of_take_refused; /* one line; NULL: not refused */
    double motion_s;                       /* camera speed > 25 deg/s */
    double on_motion_s, off_motion_s;      /* seen */
    /* of unseen motion; what leads from on to the start of a lapse is on. 0 before the study */
    double inferred_on_motion_s, inferred_off_motion_s;
    double off_share_in_motion; /* off / (on + off) in motion, seen and inferred */
    double off_share_in_motion_low, off_share_in_motion_high; /* of all motion, unseen as on, off */
    size_t lapses_low, lapses_high; /* where the state between two was never seen */
    double lapses_per_min, longest_s;
};

/* Unique rate in 0.25 s windows of seen time. Each is NaN without such windows. */
struct fl_smoothness {
    double rest_mean_hz, rest_p1_hz, motion_mean_hz, motion_p1_hz, lapse_mean_hz, lapse_p1_hz;
    double swings_per_min; /* on→off→on */
};

/* Capture frames around an edge of a lapse, for a picture of it; not kept in files. */
struct fl_edge_frames {
    size_t lapse;
    long first, n; /* capture frames */
    /* n + 1, from the frame before the first: the container's own times, NaN if none */
    double *pts_s;
    long key_frame; /* a key frame from which all of them can be decoded; 0 if there is no other */
    double key_pts_s;   /* its time; NaN if times cannot be relied on: then frames are counted */
    signed char *bands; /* n × t->bands: what each row band did since the frame before; -1 changed,
                           0 cannot be told, 1 stood still */
};

/* What the picture alone says where the trace helped to see: figures of the states before the
 * second pass. */
struct fl_without_trace {
    bool known; /* false: there was no second pass */
    double on_s, off_s, unseen_s;
    double off_share, off_share_low, off_share_high; /* NaN when nothing was seen */
    long lapses;
    double v50_deg_s, v50_low_deg_s,
        v50_high_deg_s; /* this take's flicks alone; NaN: none, or open */
    bool differs;       /* off share or V50 have left these ranges with the trace's help */
};

struct fl_warning {
    const char *code; /* fixed word, e.g. "clock_refused" */
    const char *text; /* one line for people */
};

struct fl_take {
    struct fl_arena *arena; /* owns everything below that is not malloc'ed */
    struct fl_take_spec spec;
    const char *key; /* inputs and settings, for re-use; NULL if unknown */
    /* footage */
    int width, height;
    long frames;
    double capture_rate_hz, duration_s;
    bool constant_rate, torn;
    double blank; /* vertical blank's share of a capture period: media/scan.h */
    long missing_frames, repeated_frames;
    double noise; /* mean |ΔY'| of still rows, 8-bit levels; NaN */
    const char *codec, *pixel_format, *transfer;
    struct fl_recorder recorder;
    struct fl_clock clock;
    struct fl_heard heard; /* the trace's buttons in the sound */
    struct fl_sensitivity sensitivity;
    struct fl_turn_curve turn_curve; /* of a stick */
    double picture_scale; /* turn by the picture's middle over turn by its whole shift; NaN: not
                             measured, and 1 is meant */
    struct fl_flips flips;
    struct fl_states states;
    double visible_floor_deg_s; /* below it neither on nor off was seen; NaN if never */
    double return_delay_p95_s;  /* NaN */
    /* per capture frame, `frames` long, in the arena */
    double *time_s;
    float **signal; /* the columns of signal/kinds.h; NULL there when not measured */
    float *quantity[FL_QUANTITIES]; /* NULL when not measured */
    struct fl_frame_turn *turn;  /* by the picture's middle, a frame each; NULL without a field of
                                    view; not kept in files */
    struct fl_view_motion *view; /* NULL when not measured; not kept in files */
    double kernel_ms;            /* box mean used for the quantities: one on-state base period */
    double camera_floor_deg_s;   /* floor above which a flick begins, as printed */
    struct fl_exposure exposure;
    struct fl_inferred *inferred; /* n_inferred, malloc'ed, in time order: tile the unseen time;
                                     none before the session's study */
    size_t n_inferred;
    struct fl_without_trace without_trace;
    struct fl_smoothness smoothness;
    struct fl_pacing pacing;
    struct fl_span *carried; /* n_carried, in the arena, in time order: the camera was carried or
                                zoomed in, so that its speed is null */
    size_t n_carried;
    struct fl_flick *flicks;
    size_t n_flicks;     /* in the arena */
    long carried_flicks; /* of them, those not at known risk as they touch such a stretch */
    int bands;           /* row bands of a capture frame */
    struct fl_edge_frames *edge_frames;
    size_t n_edge_frames; /* up to four a lapse, lapse by lapse; in the arena; none when
the take was read back from its files */
    struct fl_warning *warnings;
    size_t n_warnings, cap_warnings; /* malloc'ed list, text in the arena */
};

struct fl_take *fl_take_new(void);
/* Its columns of signal/shift.h, `frames` values each; NULL when not measured. */
struct fl_take_shift {
    float *x_px, *y_px, *quality;
};
struct fl_take_shift fl_take_shift(const struct fl_take *t);
void fl_take_free(struct fl_take **t);
void fl_take_warn(struct fl_take *t, const char *code, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

#endif
