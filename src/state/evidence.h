/* Signals → evidence along the scan: for each slot (a row band of a capture frame, or the blank
 * before it), how much more likely the rows are to have stood still since the frame before than to
 * have changed, given that the scene moves.
 *
 * A row stood still exactly when no flip fell between its last scan and this one. */
#ifndef FL_STATE_EVIDENCE_H
#define FL_STATE_EVIDENCE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "media/scan.h"
#include "signal/rows.h"
#include "signal/scene_speed.h"

struct fl_slot {
    double time_s; /* scan time of its middle */
    float still;   /* log likelihood ratio still : changed; 0 where nothing can be told */
    float flip;  /* log likelihood ratio of a flip just before this slot : none; 0 where nothing can
                    be told */
    int32_t lag; /* slots back to the same row of the frame before */
    int32_t frame; /* capture frame; of a slot that no frame filled: the one before */
};

/* Slots are equally long, slots_a_frame to a capture period; a frame that is missing leaves its
 * slots empty. The first slot of a frame is the blank before it, the others are its row bands. */
struct fl_evidence {
    struct fl_slot *slot; /* n, malloc'ed, in scan order */
    size_t n;
    int slots_a_frame;
    double slot_s;
    size_t frames;
    bool local;           /* every output frame was recorded with its own time */
    float *changed_share; /* a frame: share of telling bands that changed; NaN if fewer than a
                             quarter tell */
    double mixed; /* share of telling frames in which some bands changed and some did not; NaN */
};

/* What the rows did, weighed by how fast the scene moves. */
void fl_evidence_gather(struct fl_evidence *out, const struct fl_rows *r,
                        const struct fl_scene_speed *speed, const struct fl_scan *scan);
/* Flips by both ends of each step that the rows' shifts take, the rise at a tear and the fall a
 * frame later, however slow the motion: log likelihood ratios like `flip`, for slots [from, to).
 * For counting where the state is known: that slow rows show no flip says nothing of it. False
 * where no row tells. */
bool fl_evidence_steps(float *out, const struct fl_evidence *e, const struct fl_rows *r,
                       size_t from, size_t to);
/* For local recordings with true times: a frame that differs from the one before is a flip, and
 * there are no others; whether anything moves does not matter. Slots are half a millisecond. */
void fl_evidence_gather_local(struct fl_evidence *out, const struct fl_rows *r,
                              const struct fl_scene_speed *speed, const double *time_s);
/* The same evidence in slots that are `by` times longer: for quick searches. Only `slot`, `n`,
 * `slots_a_frame` and `slot_s` are filled. */
void fl_evidence_coarsen(struct fl_evidence *out, const struct fl_evidence *e, int by);
/* Of n slots, counted from 0: into unchanged[s] the first that a flip at slot s leaves unchanged if
 * none follows (n: none does), and into claims[t] how many of the first slots have one before t. */
void fl_evidence_reach(const struct fl_slot *slot, size_t n, size_t *unchanged, size_t *claims);
void fl_evidence_finish(struct fl_evidence *e);

#endif
