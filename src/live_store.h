/* What is kept of a stream: what was measured of its pictures, their times, and the hand's events;
 * and any stretch of it as a recording, for the same model that looks at whole ones. */
#ifndef FL_LIVE_STORE_H
#define FL_LIVE_STORE_H

#include <stdbool.h>
#include <stddef.h>

#include "align.h"
#include "look.h"
#include "recording.h"
#include "signal/stream.h"

struct fl_live_store {
    struct fl_footage_info info;
    struct fl_take_spec spec;
    struct fl_signal_stream *stream; /* NULL once a recording was made of it */
    double *pts_s;                   /* n, of the frames kept, on the stream's clock */
    size_t n, cap;
    size_t first;    /* of them, the first since times last jumped */
    double origin_s; /* footage time of stream time 0, since then */
    bool keep;       /* all of it */
    struct fl_event *trace;
    size_t n_trace, cap_trace;
    struct fl_clock clock; /* from footage time */
};

void fl_live_store_open(struct fl_live_store *s, const struct fl_footage_info *info,
                        const struct fl_take_spec *spec);
void fl_live_store_close(struct fl_live_store *s);
void fl_live_store_push(struct fl_live_store *s, const struct fl_frame *frame, double pts_s);
/* Events of the hand; those that do not rise in time are left out. Some minutes are kept. */
void fl_live_store_trace(struct fl_live_store *s, const struct fl_event *events, size_t n);
/* Drops what lies further back than history_s, now and then; unless all is kept. */
void fl_live_store_forget(struct fl_live_store *s, double history_s);
/* All of it as a recording, which takes it over; for fl_recording_finish in any case. spec is that
 * of the store, which has to outlive it. Errors: fl_recording_place. */
enum flinch_code fl_live_store_recording(struct fl_live_store *s, struct fl_recording *out,
                                         struct fl_error *err);

/* The last seconds of it, looked at. */
struct fl_live_stretch {
    struct fl_recording rec;     /* borrows the store's; no sound, no warnings */
    struct fl_signal_rows *rows; /* owned */
    struct fl_seen seen;
    double from_s;         /* footage time of its first frame */
    struct fl_clock clock; /* counted from there */
    struct fl_heard heard; /* nothing */
};

/* What a stretch is looked at for. */
enum fl_live_purpose {
    FL_LIVE_FOR_STATES, /* rows and speed of what is seen, and the trace once there is a clock */
    FL_LIVE_FOR_FLICKS, /* all that is seen, and the trace once there is a clock */
    FL_LIVE_FOR_RATES   /* with all of the trace while there is no clock, to find one */
};

/* Of settled frames, none of them before times last jumped; false, and nothing to close, where
 * there are too few. */
bool fl_live_stretch_open(struct fl_live_stretch *s, const struct fl_live_store *from,
                          double length_s, enum fl_live_purpose purpose);
void fl_live_stretch_close(struct fl_live_stretch *s);

#endif
