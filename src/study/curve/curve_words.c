/* What a curve rests on, in words. */
#include "study/curve/curve_words.h"

#include <string.h>

#include "base/figure.h"
#include "study/curve/curve.h"

#define LISTED 4 /* stray flicks that are named one by one */

static const char *plural(int n)
{
    return n == 1 ? "" : "s";
}

static const char *figure(double v, double low, double high, struct fl_arena *arena)
{
    struct fl_interval_text t;
    return fl_arena_printf(arena, "%s", fl_interval_text(&t, v, low, high)->at);
}

/* Of a figure v, or of none (NaN). */
static const char *range(double v, double low, double high, const char *unit,
                         struct fl_arena *arena)
{
    struct fl_interval_text t;
    fl_interval_text(&t, v, low, high);
    if (fl_known(low) && fl_known(high))
        return fl_arena_printf(arena, "%s to %s %s", t.low, t.high, unit);
    if (fl_known(low) || fl_known(high))
        return fl_arena_printf(arena, "%s %s %s", fl_known(low) ? "above" : "below",
                               fl_known(low) ? t.low : t.high, unit);
    return "anywhere";
}

/* One take knows its own threshold, not how far another would lie from it. */
static const char *of_one_take(const struct fl_curve *c, struct fl_arena *arena)
{
    const char *unit = fl_quantity_info(c->quantity)->unit_label;
    const struct fl_take_v50 *own = &c->by_take[0];
    return fl_arena_printf(arena,
                           "in the one take recorded V50 is %s %s (%s); another take may "
                           "differ: %s",
                           figure(own->v50, own->low, own->high, arena), unit,
                           range(own->v50, own->low, own->high, unit, arena),
                           range(FL_UNKNOWN, c->another_low, c->another_high, unit, arena));
}

static const char *known_within(const struct fl_curve *c, struct fl_arena *arena)
{
    const char *unit = fl_quantity_info(c->quantity)->unit_label;
    bool low = fl_known(c->v50_low), high = fl_known(c->v50_high);
    if (c->takes == 1)
        return of_one_take(c, arena);
    if (low && high) {
        double away = 100 * fmax(c->v50_high / c->v50 - 1, 1 - c->v50_low / c->v50);
        return away < 100
                   ? fl_arena_printf(arena, "V50 known within ±%.*f %%", away < 1 ? 1 : 0, away)
                   : fl_arena_printf(arena, "V50 known from %s only",
                                     range(c->v50, c->v50_low, c->v50_high, unit, arena));
    }
    if (low || high)
        return fl_arena_printf(arena, "V50 known to be %s, open at the other end",
                               range(c->v50, c->v50_low, c->v50_high, unit, arena));
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
    case FL_BOUND_NOT_POOLED: return fl_arena_printf(arena, "not pooled: %s", c->not_pooled);
    case FL_BOUND_NONE: break;
    }
    return known_within(c, arena);
}

const char *fl_curve_evidence(const struct fl_curve *c, struct fl_arena *arena)
{
    return fl_arena_printf(arena, "%d flick%s in %d take%s; %s%s", c->flicks, plural(c->flicks),
                           c->takes, plural(c->takes), outcome(c, arena),
                           c->degrees_found ? "; degrees per count by the picture, not given" : "");
}

static const char *strays_text(const struct fl_curve *c, struct fl_arena *arena)
{
    const char *unit = fl_quantity_info(c->quantity)->unit_label, *text = "";
    char v[FL_FIGURE_SIZE];
    int listed = 0;
    for (int i = 0; i < c->flicks && listed < LISTED; i++) {
        const struct fl_point *p = &c->points[i];
        if (p->stray)
            text = fl_arena_printf(arena, "%s%sa flick of %s %s that %s (%s at %.1f s)", text,
                                   listed++ ? ", " : ": ", fl_figure(v, p->v), unit,
                                   p->tripped ? "tripped" : "held",
                                   p->take->spec.id ? p->take->spec.id : "?", p->start_s);
    }
    text = c->strays > LISTED ? fl_arena_printf(arena, "%s, and %d more", text, c->strays - LISTED)
                              : text;
    return fl_arena_printf(arena, "%d flick%s went against the curve%s", c->strays,
                           plural(c->strays), text);
}

static const char *other_text(const struct fl_curve *c, struct fl_arena *arena)
{
    const char *unit = fl_quantity_info(c->quantity)->unit_label;
    return fl_arena_printf(arena,
                           "a second opinion, Firth's fit of all flicks alike, differs: V50 would "
                           "be %s %s (%s)",
                           figure(c->other_v50, c->other_low, c->other_high, arena), unit,
                           range(c->other_v50, c->other_low, c->other_high, unit, arena));
}

const char *fl_stray_note(const struct fl_curve *c, struct fl_arena *arena)
{
    const char *strays = c->strays ? strays_text(c, arena) : NULL;
    const char *other = fl_known(c->other_v50) ? other_text(c, arena) : NULL;
    if (strays && other)
        return fl_arena_printf(arena, "%s; %s", strays, other);
    return strays ? strays : other;
}
