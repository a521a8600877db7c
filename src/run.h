/* footage → take; takes → session. The one place that wires the rooms. */
#ifndef FL_RUN_H
#define FL_RUN_H

#include "base/error.h"
#include "base/progress.h"
#include "look.h"
#include "recording.h"
#include "study/take/session.h"
#include "study/take/take.h"

/* Recorders write in bursts of up to a few seconds (common practice, no source). */
#define FL_RUN_PATIENCE_S 8.0

struct fl_run_settings {
    int threads;         /* decoder threads a take; 0 = as many as cores */
    double stop_after_s; /* measure only the first seconds; 0 = all */
    bool follow;         /* the footage still grows: wait for more until it has not grown for
                            FL_RUN_PATIENCE_S */
    const char *decoder; /* media/decoder_name.h; NULL: software. Figures do not depend on it */
};

/* Measures one take. On failure *out is NULL. */
enum flinch_code fl_run_take(struct fl_take **out, const struct fl_take_spec *spec,
                             const struct fl_run_settings *settings,
                             const struct fl_progress *progress, struct fl_error *err);

/* The take of a recording that is read. */
struct fl_take *fl_run_recording(struct fl_recording *rec, int threads,
                                 const struct fl_progress *progress);
/* The take by one look, measured. Its states and flips become the take's. */
struct fl_take *fl_run_look(const struct fl_recording *rec, const struct fl_seen *seen,
                            struct fl_look *look, const struct fl_clock *clock,
                            const struct fl_heard *heard);

#endif
