/* What a curve rests on, in words. */
#include "study/curve/curve_words.h"

#include <string.h>

#include "study/curve/curve.h"

#define LISTED 4 /* stray flicks that are named one by one */

static const char *plural(int n)
{
    return n == 1 ? "" : "s";
}

static const char *known_within(const struct fl_curve *c, struct fl_arena *arena)
{
    const char *unit = fl_quantity_info(c->quantity)->unit_label;
    bool one = c->interval_method && !strcmp(c->interval_method, "one_take");
    const char *end = one ? "; how much takes differ is unknown" : "";
    bool low = fl_known(c->v50_low), high = fl_known(c->v50_high);
    if (low && high) {
        double away = 100 * fmax(c->v50_high / c->v50 - 1, 1 - c->v50_low / c->v50);
        return away < 100 ? fl_arena_printf(arena, "V50 known within ±%.*f %%%s", away < 1 ? 1 : 0,
                                            away, end)
                          : fl_arena_printf(arena, "V50 known from %.3g to %.3g %s only%s",
                                            c->v50_low, c->v50_high, unit, end);
    }
    if (low || high)
        return fl_arena_printf(arena, "V50 known to be %s %.3g %s, open at the other end%s",
                               low ? "above" : "below", low ? c->v50_low : c->v50_high, unit, end);
    return "the flicks and takes do not limit V50";
}

static const char *outcome(const struct fl_curve *c, struct fl_arena *arena)
{
    switch (c->bound) {
    case FL_BOUND_ABOVE:
        return c->trips ? "V50 known to be above a bound"
                        : "none tripped, V50 known to be above a bound";
    case FL_BOUND_BELOW:
        return c->trips == c->flicks ? "all tripped, V50 known to be below a bound"
                                     : "V50 known to be below what can be seen";
    case FL_BOUND_NO_RELATION: return "faster ones did not trip more often";
    case FL_BOUND_TOO_FEW: return "too few to say anything";
    case FL_BOUND_NONE: break;
    }
    return known_within(c, arena);
}

const char *fl_curve_evidence(const struct fl_curve *c, struct fl_arena *arena)
{
    return fl_arena_printf(arena, "%d flick%s in %d take%s; %s", c->flicks, plural(c->flicks),
                           c->takes, plural(c->takes), outcome(c, arena));
}

static const char *other_text(const struct fl_curve *c, struct fl_arena *arena)
{
    const char *low =
        fl_known(c->other_low) ? fl_arena_printf(arena, "%.3g", c->other_low) : "open";
    const char *high =
        fl_known(c->other_high) ? fl_arena_printf(arena, "%.3g", c->other_high) : "open";
    return fl_arena_printf(arena, "V50 would be %.3g (%s to %s from the flicks alone)",
                           c->other_v50, low, high);
}

static const char *strays_text(const struct fl_curve *c, struct fl_arena *arena)
{
    const char *unit = fl_quantity_info(c->quantity)->unit_label, *text = "";
    int listed = 0;
    for (int i = 0; i < c->flicks && listed < LISTED; i++) {
        const struct fl_point *p = &c->points[i];
        if (p->stray)
            text =
                fl_arena_printf(arena, "%s%sa flick of %.3g %s that %s (%s at %.1f s)", text,
                                listed++ ? ", " : ": ", p->v, unit, p->tripped ? "tripped" : "held",
                                p->take->spec.id ? p->take->spec.id : "?", p->start_s);
    }
    return c->strays > LISTED ? fl_arena_printf(arena, "%s, and %d more", text, c->strays - LISTED)
                              : text;
}

const char *fl_stray_note(const struct fl_curve *c, struct fl_arena *arena)
{
    if (!fl_known(c->other_v50))
        return NULL;
    if (!c->stray_shown)
        return fl_arena_printf(
            arena,
            "shown without a stray rate, as one gains only %.1f of the needed %.1f in twice the "
            "log-likelihood; with it %s",
            c->stray_gain, FL_STRAY_SHOWN, other_text(c, arena));
    return fl_arena_printf(arena,
                           "shown with a stray rate of %.1f %%, as it gains %.1f (%.1f needed) in "
                           "twice the log-likelihood"
                           "; %d flick%s strayed%s; without it %s",
                           100 * c->stray_rate, c->stray_gain, FL_STRAY_SHOWN, c->strays,
                           plural(c->strays), strays_text(c, arena), other_text(c, arena));
}
