/* Sums and means over takes; a share of seen time is not among them, as rest is unseen and seen
 * time is mostly time off. */
#include "study/compare/off_shares.h"

#include "base/units.h"

/* A mean that one unknown value makes unknown. */
struct mean {
    double sum, weight;
};

static void add(struct mean *m, double value, double weight)
{
    if (!(weight > 0))
        return;
    m->sum += value * weight;
    m->weight += weight;
}

static double of(const struct mean *m)
{
    return m->weight > 0 ? m->sum / m->weight : FL_UNKNOWN;
}

static bool all_controls(const struct fl_take *const *takes, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (!takes[i]->spec.synthesis_disabled)
            return false;
    return true;
}

static double known(double seconds)
{
    return fl_known(seconds) ? seconds : 0;
}

struct fl_off_shares fl_off_shares_of(const struct fl_take *const *takes, size_t n)
{
    const bool controls = all_controls(takes, n);
    struct fl_off_shares s = {0};
    struct mean take = {0}, take_low = {0}, take_high = {0}, low = {0}, high = {0};
    double on_motion_s = 0, off_motion_s = 0, open_s = 0;
    for (size_t i = 0; i < n; i++) {
        if (takes[i]->spec.synthesis_disabled && !controls)
            continue;
        const struct fl_exposure *e = &takes[i]->exposure;
        double all = e->on_s + e->off_s + e->unseen_s;
        double motion_s = fl_known(e->motion_s) ? e->motion_s : 0;
        s.on_s += e->on_s;
        s.off_s += e->off_s;
        s.unseen_s += e->unseen_s;
        on_motion_s += known(e->on_motion_s) + known(e->inferred_on_motion_s);
        off_motion_s += known(e->off_motion_s) + known(e->inferred_off_motion_s);
        open_s += e->open_s;
        if (!s.take_refused)
            s.take_refused = e->off_share_of_take_refused;
        add(&low, e->off_share_in_motion_low, motion_s);
        add(&high, e->off_share_in_motion_high, motion_s);
        add(&take, e->off_share_of_take, all - (fl_known(e->open_s) ? e->open_s : 0));
        add(&take_low, e->off_share_of_take_low, all);
        add(&take_high, e->off_share_of_take_high, all);
    }
    double all = s.on_s + s.off_s + s.unseen_s, moved = on_motion_s + off_motion_s;
    s.turning = moved > 0 ? off_motion_s / moved : FL_UNKNOWN;
    s.turning_low = of(&low);
    s.turning_high = of(&high);
    s.take = of(&take);
    s.take_low = of(&take_low);
    s.take_high = of(&take_high);
    s.plain_low = all > 0 ? s.off_s / all : FL_UNKNOWN;
    s.plain_high = all > 0 ? (s.off_s + s.unseen_s) / all : FL_UNKNOWN;
    s.open = all > 0 ? open_s / all : FL_UNKNOWN;
    return s;
}
