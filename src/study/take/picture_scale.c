/* In a wide view the picture's edges move more than its middle, so its shift as a whole stands for
 * less of a turn than at the middle: by how much hangs on the field of view and on where there is
 * something to see. The take itself tells: its shift stands in for the counts of a mouse, whose
 * degrees the strips of the middle give. */
#include "study/take/picture_scale.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/units.h"
#include "study/take/turn_frames.h"

#define RADIANS (FL_PI / 180)
/* Choices. */
static const struct {
    double quality;  /* of a shift, 0..1, that counts */
    double doubt;    /* share of a frame's middle that may fit nowhere */
    double slow_px;  /* working px a frame, that may not show whole */
    double range[2]; /* what else could it be? */
} model = {.quality = 0.3, .doubt = 0.5, .slow_px = 1, .range = {0.6, 1.2}};

double fl_shift_degrees(double shift_px, int width, double fov_deg)
{
    return atan(shift_px / (width / 2.0 / tan(fov_deg / 2 * RADIANS))) / RADIANS;
}

double fl_degrees_shift(double degrees, int width, double fov_deg)
{
    return tan(degrees * RADIANS) * (width / 2.0 / tan(fov_deg / 2 * RADIANS));
}

/* Shifts so far in each frame, against the camera's turn; NaN where they are not known. */
static double *path_of(const struct fl_take *t, const float *shift, const float *quality)
{
    const size_t n = (size_t)t->frames;
    double *path = FL_NEW(double, n + 1), sum = 0;
    for (size_t i = 0; i < n; i++) {
        const bool known = isfinite(shift[i]) && (!quality || (double)quality[i] >= model.quality);
        sum -= known ? (double)shift[i] : 0;
        path[i] = known ? sum : FL_UNKNOWN;
    }
    return path;
}

void fl_picture_scale_measure(struct fl_take *t, const struct fl_signals *signals)
{
    const struct fl_take_shift shift = fl_take_shift(t);
    const double fov = t->spec.horizontal_fov_deg;
    t->picture_scale = FL_UNKNOWN;
    if (!fl_known(fov) || !shift.x_px || !shift.y_px || t->frames < 2)
        return;
    const double at_middle = fl_shift_degrees(1, t->width, fov),
                 focal = t->width / 2.0 / tan(fov / 2 * RADIANS);
    double *across = path_of(t, shift.x_px, shift.quality),
           *down = path_of(t, shift.y_px, shift.quality);
    struct fl_frame_turn *turn = fl_turn_frames(signals, focal);
    const size_t n = (size_t)t->frames;
    const struct fl_turning both = {n, t->time_s, across, down, turn};
    t->turn = FL_ARENA(t->arena, struct fl_frame_turn, n);
    memcpy(t->turn, turn, n * sizeof *turn);
    struct fl_sensitivity found;
    fl_sensitivity_find(&found, &both, model.slow_px * signals->grid.factor / focal);
    const double scale = found.right.degrees / at_middle;
    if (!found.refused[0] && scale >= model.range[0] && scale <= model.range[1])
        t->picture_scale = scale;
    free(turn);
    free(across);
    free(down);
}

bool fl_picture_turn(const struct fl_take *t, size_t frame, double *right_deg, double *down_deg)
{
    const struct fl_frame_turn *f = t->turn ? &t->turn[frame] : NULL;
    if (!f || !fl_known(f->right) || !fl_known(f->down) || f->doubt > model.doubt)
        return false;
    *right_deg = f->right / RADIANS;
    *down_deg = f->down / RADIANS;
    return true;
}

static double scale_of(const struct fl_take *t)
{
    return fl_known(t->picture_scale) ? t->picture_scale : 1;
}

double fl_picture_degrees(const struct fl_take *t, double shift_px)
{
    return scale_of(t) * fl_shift_degrees(shift_px, t->width, t->spec.horizontal_fov_deg);
}

double fl_picture_shift(const struct fl_take *t, double degrees)
{
    return fl_degrees_shift(degrees / scale_of(t), t->width, t->spec.horizontal_fov_deg);
}
