/* Evidence and rates → states that tile the take, lapses, flips. */
#ifndef FL_STATE_LABEL_H
#define FL_STATE_LABEL_H

#include "base/units.h"
#include "state/evidence.h"
#include "state/flips.h"
#include "state/rates.h"
#include "state/state.h"

struct fl_label_settings {
    double duration_s;
    int native_height;
    const struct fl_span *use; /* n_use spans to measure, in order; none: all */
    size_t n_use;
    int threads; /* 0: one a core */
};

/* rows: those that the evidence was gathered from. */
void fl_label(struct fl_states *out, struct fl_flips *flips, const struct fl_evidence *e,
              const struct fl_rows *rows, const struct fl_rates_found *found,
              const struct fl_scan *scan, const struct fl_label_settings *settings);

#endif
