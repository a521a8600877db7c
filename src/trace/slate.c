/* A slate is looked for as a person would: a run of clicks, then strokes to and fro. A stroke is
 * told from a tremble by its length: the path turns round once it comes back by STROKE_COUNTS. */
#include "trace/slate.h"

#include <math.h>

static const double click_gap_s = 1.5, shake_within_s = 5, stroke_gap_s = 0.3;
enum {
    TURNS = 4,
    STROKE_COUNTS = 20
}; /* a stroke is no tremble: counts, or fiftieths of a stick */

static bool is_press(const struct fl_event *e)
{
    return (e->button == 1 || e->button == FL_PAD_BUTTON) && e->state == 1;
}

/* Strokes along one axis: where the path turns round after a stroke of some length. */
struct strokes {
    double place, far; /* of the hand; farthest in this stroke */
    int sign;          /* of this stroke; 0 before the first */
    double last_turn_s, first_turn_s;
    int turns;
};

static void move(struct strokes *s, double to, double time_s)
{
    const double back = s->sign ? s->sign * (s->far - to) : fabs(to - s->far);
    s->place = to;
    if (s->sign && s->sign * (to - s->far) > 0) {
        s->far = to;
        return;
    }
    if (back < STROKE_COUNTS)
        return;
    const bool turned = s->sign != 0;
    s->sign = to > s->far ? 1 : -1;
    s->far = to;
    if (!turned)
        return;
    if (s->turns > 0 && time_s - s->last_turn_s > stroke_gap_s)
        s->turns = 0;
    s->first_turn_s = s->turns == 0 ? time_s : s->first_turn_s;
    s->last_turn_s = time_s;
    s->turns++;
}

/* The shake after event k; false if none begins in time. */
static bool find_shake(const struct fl_trace *t, size_t k, struct fl_slate *out)
{
    struct strokes axis[2] = {0};
    const double from_s = t->events[k].time_s;
    for (; k < t->n; k++) {
        const struct fl_event *e = &t->events[k];
        for (int i = 0; i < 2; i++) {
            struct strokes *s = &axis[i];
            const double stick = (double)(i ? e->stick_y : e->stick_x);
            const double step = (double)(i ? e->dy : e->dx);
            move(s,
                 t->has_motion  ? s->place + step
                 : isnan(stick) ? s->place
                                : 50 * stick,
                 e->time_s);
            if (s->turns > out->turns && s->turns >= TURNS &&
                s->first_turn_s - from_s <= shake_within_s) {
                out->turns = s->turns;
                out->shake_start_s = s->first_turn_s;
                out->shake_end_s = s->last_turn_s;
            }
        }
        const double ended_s =
            out->turns ? out->shake_end_s + stroke_gap_s : from_s + 2 * shake_within_s;
        if (e->time_s > ended_s)
            break;
    }
    return out->turns > 0;
}

struct fl_slate fl_slate_find(const struct fl_trace *t, int clicks)
{
    const int wanted = clicks > 0 ? clicks : FL_SLATE_CLICKS;
    struct fl_slate s = {0};
    for (size_t k = 0; k < t->n; k++) {
        const struct fl_event *e = &t->events[k];
        if (!is_press(e))
            continue;
        if (s.clicks == 0 || e->time_s - s.last_click_s > click_gap_s) {
            s.clicks = 0;
            s.first_click_s = e->time_s;
        }
        s.last_click_s = e->time_s;
        s.clicks++;
        s.turns = 0;
        if (s.clicks >= wanted && find_shake(t, k, &s)) {
            s.found = true;
            return s;
        }
    }
    return (struct fl_slate){0};
}
