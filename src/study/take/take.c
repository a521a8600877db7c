/* A take of which nothing is known yet, and its warnings. */
#include "study/take/take.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "media/scan.h"
#include "signal/kinds.h"
#include "signal/shift.h"

static const struct fl_quantity_info infos[FL_QUANTITIES] = {
    [FL_COUNT_RATE] = {"count_rate", "counts_s", "count rate", "counts/s",
                       "counts per second of mouse motion."},
    [FL_HAND_SPEED] = {"hand_speed", "cm_s", "hand speed", "cm/s",
                       "hand speed in cm/s (count rate × 2.54 / counts per inch)."},
    [FL_CAMERA_SPEED] = {"camera_speed", "deg_s", "camera speed", "deg/s",
                         "camera speed in degrees/s."},
    [FL_IMAGE_STEP] = {"image_step", "px", "image step", "px",
                       "scene shift in px at native width over one base period with synthesis on."},
    [FL_IMAGE_CHANGE] = {"image_change", "share", "image change", "of range",
                         "mean |change| of luma over that step, as a share (0..1) of nominal "
                         "range."},
    [FL_STICK_DEFLECTION] = {"stick_deflection", "share", "stick deflection", "of full",
                             "stick deflection, 0..1 of full."},
    [FL_STICK_RATE] = {"stick_rate", "per_s", "stick rate", "1/s",
                       "rate of change of stick deflection, 1/s."},
};

const struct fl_quantity_info *fl_quantity_info(enum fl_quantity q)
{
    return &infos[q];
}

static void forget_figures(struct fl_take *t)
{
    fl_pacing_state_init(&t->pacing.on, "state_not_seen");
    fl_pacing_state_init(&t->pacing.off, "state_not_seen");
    t->capture_rate_hz = t->noise = FL_UNKNOWN;
    t->blank = FL_USUAL_BLANK;
    t->states.base_rate_on_hz = t->states.base_rate_off_hz = FL_UNKNOWN;
    t->visible_floor_deg_s = t->return_delay_p95_s = FL_UNKNOWN;
    t->kernel_ms = t->camera_floor_deg_s = FL_UNKNOWN;
    t->clock.off_minus_on_ms = FL_UNKNOWN;
    fl_heard_none(&t->heard, "no sound");
    fl_sensitivity_none(&t->sensitivity, "no trace");
    t->picture_scale = FL_UNKNOWN;
    t->turn_curve.rest = t->turn_curve.dead_zone = FL_UNKNOWN;
    t->without_trace = (struct fl_without_trace){.on_s = FL_UNKNOWN,
                                                 .off_s = FL_UNKNOWN,
                                                 .unseen_s = FL_UNKNOWN,
                                                 .off_share = FL_UNKNOWN,
                                                 .off_share_low = FL_UNKNOWN,
                                                 .off_share_high = FL_UNKNOWN,
                                                 .v50_deg_s = FL_UNKNOWN,
                                                 .v50_low_deg_s = FL_UNKNOWN,
                                                 .v50_high_deg_s = FL_UNKNOWN};
    fl_recorder_init(&t->recorder);
}

struct fl_take *fl_take_new(void)
{
    struct fl_take *t = FL_NEW(struct fl_take, 1);
    t->arena = fl_arena_new();
    t->signal = FL_ARENA(t->arena, float *, fl_signal_column_count());
    fl_take_spec_init(&t->spec);
    forget_figures(t);
    return t;
}

struct fl_take_shift fl_take_shift(const struct fl_take *t)
{
    const struct fl_signal_kind *kind = &fl_shift_signal;
    return (struct fl_take_shift){fl_signal_values(t->signal, kind, FL_SHIFT_X_PX),
                                  fl_signal_values(t->signal, kind, FL_SHIFT_Y_PX),
                                  fl_signal_values(t->signal, kind, FL_SHIFT_QUALITY)};
}

void fl_take_free(struct fl_take **t)
{
    if (!t || !*t)
        return;
    free((*t)->flips.v);
    fl_states_finish(&(*t)->states);
    free((*t)->warnings);
    free((*t)->inferred);
    fl_arena_free(&(*t)->arena);
    free(*t);
    *t = NULL;
}

void fl_take_warn(struct fl_take *t, const char *code, const char *fmt, ...)
{
    char text[400];
    va_list ap;
    va_start(ap, fmt);
    vsnprintf(text, sizeof text, fmt, ap);
    va_end(ap);
    struct fl_warning w = {fl_arena_strdup(t->arena, code), fl_arena_strdup(t->arena, text)};
    FL_PUSH(t->warnings, t->n_warnings, t->cap_warnings, w);
}
