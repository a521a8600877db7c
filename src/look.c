/* Signals → rows → evidence → rates → states and flips, once for each look.
 *
 * Rows that stand still say something only while the scene moves. The first look takes the scene's
 * speed from the rows around, the second from the trace where it speaks: that is all in which they
 * differ. Motion is a chance to see, never a reason to switch, or a curve of trips against motion
 * would find its own assumption. */
#include "look.h"

#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "base/units.h"
#include "signal/device.h"
#include "signal/kinds.h"
#include "state/count_on.h"
#include "state/evidence.h"
#include "state/label.h"
#include "state/motion_prior.h"
#include "state/witness.h"
#include "study/curve/without_trace.h"

/* Footage is torn if in this share of its telling frames some rows changed and some did not: far
 * above what coding fakes, far below what any output off the capture's rate makes. */
static const double torn_share = 0.1;

void fl_seen_find_rows(struct fl_seen *out, const struct fl_recording *rec)
{
    *out = (struct fl_seen){0};
    fl_rows_judge(&out->rows, &rec->signals, rec->scan.period_s);
    fl_scene_speed_find(&out->speed, &out->rows, &rec->signals, rec->scan.period_s);
}

void fl_seen_find(struct fl_seen *out, const struct fl_recording *rec)
{
    const struct fl_signals *s = &rec->signals;
    fl_seen_find_rows(out, rec);
    fl_covered_find(&out->covered, s, &out->rows);
    out->band_changes = fl_band_changes(s);
    out->columns = fl_signal_columns_find(s, &out->rows);
}

void fl_seen_finish(struct fl_seen *s)
{
    fl_rows_finish(&s->rows);
    fl_scene_speed_finish(&s->speed);
    fl_signal_columns_free(&s->columns);
    free(s->band_changes);
    *s = (struct fl_seen){0};
}

static void gather(struct fl_evidence *e, const struct fl_recording *rec,
                   const struct fl_rows *rows, const struct fl_scene_speed *speed)
{
    if (rec->at_flips)
        fl_evidence_gather_local(e, rows, speed, rec->timeline.time_s);
    else
        fl_evidence_gather(e, rows, speed, &rec->scan);
}

/* frames: N if an earlier look found it; else 0. */
static void find_rates(struct fl_rates_found *out, const struct fl_recording *rec,
                       const struct fl_evidence *e, const struct fl_rows *rows, int frames,
                       int threads)
{
    const struct fl_take_spec *spec = rec->spec;
    const struct fl_rates_given given = {
        rec->scan.period_s, spec->base_rate_hz, spec->synthesis_disabled, 0, threads, frames};
    fl_rates_find(out, e, &given);
    fl_witness_resolve(out, e, rows, &given);
    fl_count_on(out, e, rows, &given);
}

/* Less is known now: a state is no longer seen, or on and off cannot be told apart any more. */
static bool lost(const struct fl_rates_found *before, const struct fl_rates_found *now)
{
    return (before->saw_on && !now->saw_on) || (before->saw_off && !now->saw_off) ||
           (!before->ambiguous && now->ambiguous);
}

/* States and flips at the rates that the look has found. */
static void label(struct fl_look *out, const struct fl_recording *rec, const struct fl_evidence *e,
                  const struct fl_rows *rows, int threads)
{
    const struct fl_take_spec *spec = rec->spec;
    const struct fl_label_settings settings = {.duration_s = rec->duration_s,
                                               .native_height = rec->info.height,
                                               .use = spec->use,
                                               .n_use = spec->n_use,
                                               .threads = threads};
    fl_label(&out->states, &out->flips, e, rows, &out->found, &rec->scan, &settings);
}

/* One look, at a scene that moves at these speeds. before: what an earlier look found, which more
 * evidence may refine but not take away; NULL: none. */
static void look(struct fl_look *out, const struct fl_recording *rec, const struct fl_rows *rows,
                 const struct fl_scene_speed *speed, const struct fl_rates_found *before,
                 int threads)
{
    struct fl_evidence e;
    gather(&e, rec, rows, speed);
    out->torn = e.mixed >= torn_share;
    find_rates(&out->found, rec, &e, rows, before ? fl_rates_frames(before) : 0, threads);
    if (before && lost(before, &out->found))
        out->found = *before;
    label(out, rec, &e, rows, threads);
    fl_evidence_finish(&e);
}

void fl_look_first(struct fl_look *out, const struct fl_recording *rec, const struct fl_seen *seen,
                   int threads)
{
    look(out, rec, &seen->rows, &seen->speed, NULL, threads);
}

/* The scene's speed with the trace's help; false where it has none to give. Frames that stand at
 * their flips show them whether anything moves or not. */
static bool speed_by_trace(struct fl_scene_speed *out, const struct fl_rates_found *f,
                           const struct fl_clock *clock, const struct fl_recording *rec,
                           const struct fl_seen *seen)
{
    if (!rec->motion || rec->at_flips)
        return false;
    const double base_s = f->saw_off  ? f->rates.off_period_s
                          : f->saw_on ? f->rates.on_period_s
                                      : 1 / FL_BASE_LEAST_HZ;
    const struct fl_motion_prior_settings set = {rec->signals.grid.factor, rec->trace.start_s,
                                                 rec->trace.end_s, base_s};
    struct fl_motion_prior known;
    if (!fl_motion_prior_find(&known, &seen->rows, &rec->scan, clock, rec->motion, &set))
        return false;
    fl_motion_prior_bound(out, &known, &seen->speed);
    fl_motion_prior_finish(&known);
    return true;
}

void fl_look_at_rates(struct fl_look *out, const struct fl_recording *rec,
                      const struct fl_seen *seen, const struct fl_rates_found *rates,
                      const struct fl_clock *clock, int threads)
{
    struct fl_evidence e;
    struct fl_scene_speed by_trace;
    const bool helped = clock->known && speed_by_trace(&by_trace, rates, clock, rec, seen);
    gather(&e, rec, &seen->rows, helped ? &by_trace : &seen->speed);
    out->torn = e.mixed >= torn_share;
    out->found = *rates;
    label(out, rec, &e, &seen->rows, threads);
    fl_evidence_finish(&e);
    if (helped)
        fl_scene_speed_finish(&by_trace);
}

bool fl_look_again(struct fl_look *out, const struct fl_look *first, const struct fl_clock *clock,
                   const struct fl_recording *rec, const struct fl_seen *seen, int threads)
{
    struct fl_scene_speed speed;
    if (!speed_by_trace(&speed, &first->found, clock, rec, seen))
        return false;
    look(out, rec, &seen->rows, &speed, &first->found, threads);
    out->torn = first->torn;
    fl_without_trace_mark(&out->states, &first->states);
    fl_scene_speed_finish(&speed);
    return true;
}

void fl_look_finish(struct fl_look *l)
{
    fl_states_finish(&l->states);
    free(l->flips.v);
    *l = (struct fl_look){0};
}
