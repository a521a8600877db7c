/* How fast the scene moves about each frame, from what the rows around it moved.
 *
 * A row that stands still hides the motion that it is judged by, so a frame's own rows cannot tell;
 * those before and after can, as a camera's speed changes little within a base period. */
#include "signal/scene_speed.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "signal/scene_shift.h"

/* Choices. */
static const struct {
    float one_frame; /* what one frame's move counts for beside a mean of the same size: with
                        synthesis off it may hold two frames' worth */
    float quality;   /* of a scene's shift, 0..1: chance peaks agree with their neighbours less */
    float share;     /* of the scene's shift: rows of a moving scene follow it at least so far */
} model = {.one_frame = 0.75f, .quality = 0.3f, .share = 0.35f};

/* Mean move over frame i and 1 .. reach frames on one side (step -1 or 1): the fastest of these
 * means. With synthesis off a flip may need the whole reach to show; where motion just ends, less.
 */
static float move_beside(const struct fl_rows *r, size_t i, int step, size_t reach, float *x,
                         float *y)
{
    float best = 0, sum_x = 0, sum_y = 0;
    int n = 0;
    *x = *y = 0;
    for (size_t k = 0; k <= reach; k++) {
        size_t at = step < 0 ? i - k : i + k;
        if (at >= r->frames)
            break;
        if (!isnan(r->move_x[at])) {
            sum_x += r->move_x[at];
            sum_y += r->move_y[at];
            n++;
        }
        float length = n ? hypotf(sum_x, sum_y) / (float)n : 0;
        /* Where motion sets in, frames before it dilute the mean. */
        float alone =
            isnan(r->move_x[at]) ? 0 : model.one_frame * hypotf(r->move_x[at], r->move_y[at]);
        if (k > 0 && fmaxf(length, alone) > best) {
            best = fmaxf(length, alone);
            *x = length > alone ? sum_x / (float)n : r->move_x[at];
            *y = length > alone ? sum_y / (float)n : r->move_y[at];
        }
    }
    return best;
}

/* Rows that stand still say something only while the scene moves: before and after, in one
 * direction. At a turning point, where motion ends, or where the scene's shift was a chance peak,
 * the rows' own shifts give the lie. */
static void settle(struct fl_scene_speed *out, const struct fl_rows *r, const struct fl_signals *s,
                   size_t reach)
{
    for (size_t i = 0; i < r->frames; i++) {
        const struct fl_scene_shift *shift = fl_scene_shifts(s, i);
        float bx, by, ax, ay, least = model.share * hypotf(shift->x, shift->y);
        if (shift->quality < model.quality)
            continue;
        float before = move_beside(r, i, -1, reach, &bx, &by),
              after = move_beside(r, i, 1, reach, &ax, &ay);
        if (fmaxf(before, after) > least)
            out->beside[i] = fmaxf(before, after);
        if (fminf(before, after) > least && ax * bx + ay * by > 0)
            out->across[i] = fminf(before, after);
    }
}

void fl_scene_speed_find(struct fl_scene_speed *out, const struct fl_rows *r,
                         const struct fl_signals *s, double frame_s)
{
    assert(r->frames == s->n);
    *out = (struct fl_scene_speed){r->frames, FL_NEW(float, r->frames), FL_NEW(float, r->frames)};
    settle(out, r, s, fl_rows_reach(frame_s));
}

void fl_scene_speed_finish(struct fl_scene_speed *s)
{
    free(s->across);
    free(s->beside);
    *s = (struct fl_scene_speed){0};
}
