/* Invented takes with lapses and flicks at known capture frames, for tests of marks. */
#ifndef FL_MARKED_TAKE_H
#define FL_MARKED_TAKE_H

#include "show/store/output_rounding.h"
#include "show/store/writer.h"

#include <math.h>

/* Frames in half-open spans: [first, after). */
struct marked_span {
    long first, after;
    enum fl_answer tripped; /* of a flick */
};

/* Constant rate; frame n begins at n/hz. Each span begins 0.37 of a frame into `first` and ends
 * 0.61 of a frame into `after`, as tears do; whole: exactly where these begin. */
static inline struct fl_take *marked_take(double hz, long frames, bool whole,
                                          const struct marked_span *lapses, size_t n_lapses,
                                          const struct marked_span *flicks, size_t n_flicks)
{
    struct fl_take *t = fl_take_new();
    t->spec.id = "take-1";
    t->spec.game = "Glass Canyon";
    t->spec.condition = "default";
    t->spec.footage = "/somewhere/glass canyon.mkv";
    t->frames = frames;
    t->constant_rate = true;
    t->capture_rate_hz = hz;
    t->duration_s = (double)frames / hz;
    t->time_s = FL_ARENA(t->arena, double, (size_t)frames + 1);
    for (long i = 0; i < frames; i++)
        t->time_s[i] = (double)i / hz;
    double in = whole ? 0 : 0.37, out = whole ? 0 : 0.61;
    t->states.lapse = FL_NEW(struct fl_lapse, n_lapses + 1);
    t->states.n_lapses = n_lapses;
    for (size_t i = 0; i < n_lapses; i++) {
        bool last = lapses[i].after >= frames;
        t->states.lapse[i] =
            (struct fl_lapse){.start_s = ((double)lapses[i].first + in) / hz,
                              .end_s = last ? t->duration_s : ((double)lapses[i].after + out) / hz,
                              .has_trip = lapses[i].first > 0,
                              .has_return = !last,
                              .unique_rate_hz = FL_UNKNOWN,
                              .confidence = 1};
    }
    t->n_flicks = n_flicks;
    t->flicks = FL_ARENA(t->arena, struct fl_flick, n_flicks + 1);
    for (size_t i = 0; i < n_flicks; i++) {
        struct fl_flick *f = &t->flicks[i];
        *f = (struct fl_flick){.start_s = ((double)flicks[i].first + in) / hz,
                               .end_s = ((double)flicks[i].after + out) / hz,
                               .at_risk = FL_YES,
                               .tripped = flicks[i].tripped};
        for (int q = 0; q < FL_QUANTITIES; q++)
            f->peak[q] = q == FL_CAMERA_SPEED ? 412.4 : FL_UNKNOWN;
    }
    fl_take_round(t);
    return t;
}

#endif
