/* A stream of pictures → states as they come.
 *
 * Pictures are pushed in order; each is measured once (signal/stream.h). A few times a second the
 * last seconds of what was measured are looked at anew by the same model as a whole take
 * (look.h), at base rates that are carried along and refined now and then; what lies further back
 * than the lag is called, and never taken back. Memory does not grow with time.
 *
 * Times are footage time: seconds since the first picture. One thread. */
#ifndef FL_LIVE_H
#define FL_LIVE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "media/footage.h"
#include "state/state.h"
#include "study/input/take_spec.h"
#include "study/take/take.h"
#include "study/take/usable.h"
#include "trace/trace.h"

/* A moment is called once what follows it for so long has been seen: s. */
#define FL_LIVE_LAG_S 0.25
/* Looked at anew so often: s. Lag and this together are the longest that a call takes. */
#define FL_LIVE_EVERY_S 0.12

struct fl_live; /* opaque */

enum fl_live_kind {
    FL_LIVE_STATE,  /* the state from time_s on; unseen included */
    FL_LIVE_TRIP,   /* a lapse begins: the flip at which synthesis went off */
    FL_LIVE_RETURN, /* a lapse ends */
    FL_LIVE_FLIP,   /* a picture replaces the one before it; only after fl_live_keep */
    FL_LIVE_FLICK,  /* a flick is over, and whether it tripped is as known as it gets; or it is
                       known now to have been at risk */
    FL_LIVE_RATES,  /* base rates are known now, or known better */
    FL_LIVE_JUMP    /* the stream's times jump: what follows stands alone */
};
const char *fl_live_kind_name(enum fl_live_kind k); /* "state", "trip", … */

struct fl_live_event {
    enum fl_live_kind kind;
    double time_s, seen_at_s; /* of what happened; of the newest picture when it was called */
    enum fl_state state;      /* FL_LIVE_STATE */
    double on_hz, off_hz;     /* FL_LIVE_RATES: new pictures a second in each state; NaN */
    int frames_per_rendered;  /* FL_LIVE_RATES: with synthesis on; 0: not known */
    double jump_s;            /* FL_LIVE_JUMP: footage time that nothing is known of */
    struct fl_flick flick;    /* FL_LIVE_FLICK */
    bool again;               /* FL_LIVE_FLICK: it was told before, its risk unknown */
    float row;                /* FL_LIVE_FLIP: native rows from the top */
};

struct fl_live_now {
    double time_s;        /* of the newest picture */
    double called_s;      /* states are called up to here */
    enum fl_state state;  /* there */
    double on_hz, off_hz; /* new pictures a second in each state; NaN: not known yet */
    const char *why;      /* why on and off cannot be told apart so far: as in fl_state_span.reason;
                             NULL: they can */
    enum fl_state seen;   /* called last but for unseen; unseen: nothing was */
    double seen_s;        /* until then */
    long frames;          /* pushed so far */
    double on_s, off_s;   /* called so far */
    long trips;
    bool clock;           /* trace and picture are lined up */
    const char *no_clock; /* why they are not; until the next push */
};

/* info: of the pictures to come. spec: what is known of the take, borrowed; NULL: nothing. */
struct fl_live *fl_live_open(const struct fl_footage_info *info, const struct fl_take_spec *spec);
/* Before the first picture: keeps what was measured of every picture, so that fl_live_take can make
 * a take of it (memory then grows as that of a decoded recording), and tells flips. */
void fl_live_keep(struct fl_live *l);
/* The take of all that was pushed, measured as a recording is; the stream has ended then. Errors:
 * FLINCH_ERR_EMPTY, FLINCH_ERR_FORMAT as fl_recording_place; FLINCH_ERR_USAGE without
 * fl_live_keep, or a second time. */
enum flinch_code fl_live_take(struct fl_live *l, int threads, struct fl_take **out,
                              struct fl_error *err);
/* Pictures of the size opened with. pts_s: as the container says; NaN: one period after the last.
 */
void fl_live_push(struct fl_live *l, const struct fl_frame *frame);
/* Events of the hand, in order, on the trace's own clock; they are copied. The trace need not keep
 * step with the pictures, within some minutes. */
void fl_live_trace(struct fl_live *l, const struct fl_event *events, size_t n);
/* The stream has ended: all that is left is called. */
void fl_live_end(struct fl_live *l);
/* The next event, in order of when it was called; false: none waits. */
bool fl_live_poll(struct fl_live *l, struct fl_live_event *out);
/* What is wrong with the recording, as `flinch check` would say of its last half minute; NULL until
 * so much has been seen that it can be said. Until the next push. */
const struct fl_usable *fl_live_findings(const struct fl_live *l);
void fl_live_now(const struct fl_live *l, struct fl_live_now *out);
void fl_live_free(struct fl_live **l); /* NULL is fine; clears the pointer */

#endif
