/* One take, from motion and states to figures: the order in which each builds on the one before. */
#include "study/take/measure.h"

#include <stdlib.h>

#include "study/take/exposure.h"
#include "study/take/flick.h"
#include "study/take/pacing_measure.h"
#include "study/take/quantity.h"
#include "study/take/recorder_rhythm.h"

static void warn_states(struct fl_take *t)
{
    if (!(t->exposure.on_s + t->exposure.off_s > 0))
        fl_take_warn(t, "nothing_seen", "neither on nor off was seen anywhere in this take");
    else if (!t->spec.synthesis_disabled && !(t->exposure.on_s > 0))
        fl_take_warn(t, "never_on", "synthesis is never seen on, so there is no lapse to speak of");
    if (t->spec.synthesis_disabled && t->exposure.on_s > 0)
        fl_take_warn(t, "control_on", "a control with synthesis disabled shows it on for %.1f s",
                     t->exposure.on_s);
}

static void warn_carried(struct fl_take *t)
{
    double s = 0;
    for (size_t i = 0; i < t->n_carried; i++)
        s += t->carried[i].end_s - t->carried[i].start_s;
    if (t->n_carried)
        fl_take_warn(
            t, "carried",
            "for %.1f s the camera is carried (lift, vehicle, side step: the picture moves, but "
            "not "
            "as a turn moves it) or its view zoomed in: its speed is unknown there, and %ld "
            "flicks that touch it are not fitted",
            s, t->carried_flicks);
}

static void warn_flicks(struct fl_take *t)
{
    int fitted = 0;
    for (size_t i = 0; i < t->n_flicks; i++)
        fitted += t->flicks[i].at_risk == FL_YES && t->flicks[i].tripped != FL_ANSWER_UNKNOWN;
    if (!t->n_flicks)
        fl_take_warn(t, "no_flicks", "no burst of fast motion was found");
    else if (!fitted && !t->spec.synthesis_disabled)
        fl_take_warn(t, "no_flick_fitted",
                     "of %zu flicks none was both known to be at risk and of known outcome",
                     t->n_flicks);
}

void fl_measure_take(struct fl_take *t, const struct fl_motion *motion, const float *image_change)
{
    struct fl_velocity v;
    struct fl_arena *scratch = fl_arena_new();
    fl_quantities(t, motion, image_change, &v, scratch);
    fl_find_flicks(t, &v);
    fl_arena_free(&scratch);
    fl_expose(t);
    fl_pacing_measure(t);
    fl_smooth(t);
    fl_judge_recorder(t);
    warn_states(t);
    warn_carried(t);
    warn_flicks(t);
}
