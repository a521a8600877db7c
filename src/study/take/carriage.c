/* Parallax that lasts: one frame's parts may part by chance, those of a ride do so all along. */
#include "study/take/carriage.h"

#define WINDOW_S 0.3
#define BESIDE_S 0.15   /* as long after a flick its trip still comes: flick_outcome.c */
#define LEAST_PX_S 20.0 /* working px, as a mean over the picture's parts: slower is rest */

void fl_carriage_find(bool *carried, const struct fl_take *t)
{
    struct fl_view_sums s = {0};
    size_t n = (size_t)t->frames, from = 0, to = 0;
    for (size_t i = 0; i < n; i++) {
        carried[i] = false;
        if (!t->view)
            continue;
        for (; to < n && t->time_s[to] <= t->time_s[i] + WINDOW_S / 2; to++)
            fl_view_sums_add(&s, &t->view[to], 1);
        for (; t->time_s[from] < t->time_s[i] - WINDOW_S / 2; from++)
            fl_view_sums_add(&s, &t->view[from], -1);
        bool moves = s.frames > 0 && s.moved / s.frames * t->capture_rate_hz > LEAST_PX_S;
        carried[i] = moves && !fl_view_turns(&s);
    }
}

static double frame_end(const struct fl_take *t, size_t i)
{
    return i + 1 < (size_t)t->frames ? t->time_s[i + 1] : t->duration_s;
}

void fl_carriage_keep(struct fl_take *t, const bool *null_here)
{
    size_t n = (size_t)t->frames, at = 0;
    for (size_t i = 0; i < n; i++)
        at += null_here[i] && (i == 0 || !null_here[i - 1]);
    t->carried = FL_ARENA(t->arena, struct fl_span, at + 1);
    t->n_carried = 0;
    for (size_t i = 0; i < n; i++) {
        if (!null_here[i])
            continue;
        if (i == 0 || !null_here[i - 1])
            t->carried[t->n_carried++].start_s = t->time_s[i];
        t->carried[t->n_carried - 1].end_s = frame_end(t, i);
    }
}

bool fl_carriage_touches(const struct fl_take *t, double start_s, double end_s)
{
    for (size_t i = 0; i < t->n_carried; i++)
        if (start_s < t->carried[i].end_s + BESIDE_S && end_s + BESIDE_S > t->carried[i].start_s)
            return true;
    return false;
}
