/* Brackets of returns from each stretch, once each; flicks that wait until there are enough. */
#include "live_flicks.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "study/take/carriage.h"
#include "study/take/flick.h"
#include "study/take/return_delay.h"

/* Of one time counted from the starts of two stretches. */
static const double rounding_s = 1e-6;

/* Over: something was seen after it. */
static bool over(const struct fl_take *t, const struct fl_lapse *v)
{
    return v->end_range_s[1] < t->duration_s;
}

static void note_returns(struct fl_live_flicks *f, const struct fl_take *t, double from_s,
                         double edge_s)
{
    for (size_t i = 0; i < t->states.n_lapses; i++) {
        const struct fl_lapse *v = &t->states.lapse[i];
        const size_t at = f->n_returns % FL_LIVE_RETURNS;
        if (!over(t, v))
            return; /* those after it are noted after it */
        if (from_s + v->start_s <= f->noted_s + rounding_s || (from_s > 0 && v->start_s < edge_s))
            continue;
        f->noted_s = from_s + v->start_s;
        f->n_returns += fl_return_bracket(t, v, &f->low_s[at], &f->high_s[at]);
    }
}

void fl_live_flicks_judge(struct fl_live_flicks *f, struct fl_take *t, double from_s, double edge_s)
{
    const size_t before = f->n_returns;
    note_returns(f, t, from_s, edge_s);
    if (f->n_returns > before || !before)
        f->return_p95_s = fl_return_delay_of(
            f->low_s, f->high_s, f->n_returns < FL_LIVE_RETURNS ? f->n_returns : FL_LIVE_RETURNS);
    t->return_delay_p95_s = f->return_p95_s;
    fl_flick_outcomes(t);
}

void fl_live_flicks_told(struct fl_live_flicks *f, const struct fl_take *t, size_t i, double from_s)
{
    struct fl_live_waiting w = {t->flicks[i],
                                t->flicks[i].start_s - (i ? t->flicks[i - 1].end_s : 0)};
    if (w.flick.at_risk != FL_ANSWER_UNKNOWN || w.flick.tripped == FL_ANSWER_UNKNOWN ||
        fl_carriage_touches(t, w.flick.start_s, w.flick.end_s))
        return;
    w.flick.start_s += from_s;
    w.flick.end_s += from_s;
    w.flick.peak_s += from_s;
    w.flick.at_risk = FL_YES;
    if (f->n_waiting == FL_LIVE_WAITING)
        memmove(f->waiting, f->waiting + 1, --f->n_waiting * sizeof *f->waiting);
    f->waiting[f->n_waiting++] = w;
}

bool fl_live_flicks_known(struct fl_live_flicks *f, struct fl_flick *out)
{
    for (size_t i = 0; i < f->n_waiting; i++)
        if (f->waiting[i].rest_s >= f->return_p95_s) {
            *out = f->waiting[i].flick;
            memmove(f->waiting + i, f->waiting + i + 1, (--f->n_waiting - i) * sizeof *f->waiting);
            return true;
        }
    return false;
}
