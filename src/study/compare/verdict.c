/* A comparison in a sentence that claims no more than its interval. */
#include "study/compare/verdict.h"

#include <string.h>

#include "base/figure.h"
#include "study/compare/comparison.h"
#include "study/curve/contrast.h"
#include "study/curve/curve.h"

const char *fl_verdict_at(struct fl_arena *arena, enum fl_pair pair, const struct fl_curve *c)
{
    if (pair == FL_PAIR_CONDITION)
        return fl_arena_printf(arena, "with '%s'", c->condition);
    if (pair == FL_PAIR_SENSITIVITY)
        return fl_arena_printf(arena, "at %.3g degrees per count", c->degrees_per_count);
    return fl_arena_printf(arena, "at %g counts per inch", c->counts_per_inch);
}

/* The second side, after the first has named the unit. */
static const char *of(struct fl_arena *arena, const struct fl_comparison *c)
{
    if (c->pair == FL_PAIR_CONDITION)
        return fl_arena_printf(arena, "'%s'", c->b->condition);
    return fl_arena_printf(arena, c->pair == FL_PAIR_SENSITIVITY ? "%.3g" : "%g",
                           c->pair == FL_PAIR_SENSITIVITY ? c->b->degrees_per_count
                                                          : c->b->counts_per_inch);
}

const char *fl_verdict_untested(struct fl_arena *arena, const struct fl_curve *c, const char *at)
{
    switch (c->bound) {
    case FL_BOUND_ABOVE: return fl_arena_printf(arena, "no flick tripped %s", at);
    case FL_BOUND_BELOW:
        return fl_arena_printf(arena, "%s flicks trip down to the slowest at which states are seen",
                               at);
    case FL_BOUND_NO_RELATION:
        return fl_arena_printf(arena, "%s faster flicks do not trip more often", at);
    case FL_BOUND_TOO_FEW: return fl_arena_printf(arena, "too few flicks %s", at);
    case FL_BOUND_NOT_POOLED:
        return fl_arena_printf(arena, "settings %s contradict each other", at);
    case FL_BOUND_NONE: break;
    }
    if (c->takes < FL_CONTRAST_TAKES)
        return fl_arena_printf(arena, "one take %s, so how much takes differ is unknown", at);
    return NULL;
}

const char *fl_verdict_bound(struct fl_arena *arena, double low, double high)
{
    if (fl_known(low) == fl_known(high))
        return "";
    char end[FL_FIGURE_SIZE];
    return fl_arena_printf(arena, "; the ratio is %s %s", fl_known(low) ? "at least" : "at most",
                           fl_figure(end, fl_known(low) ? low : high));
}

static const char *held_text(const struct fl_comparison *c)
{
    if (c->pair != FL_PAIR_RESOLUTION)
        return "";
    if (!fl_known(c->a->degrees_per_count) || !fl_known(c->b->degrees_per_count))
        return "; degrees per count not given";
    if (!c->held)
        return "; neither degrees per count nor per centimetre held";
    return strcmp(c->held, "degrees_per_cm") ? "; degrees per count held"
                                             : "; degrees per centimetre held";
}

const char *fl_verdict_ratio(struct fl_arena *arena, double ratio, double low, double high)
{
    struct fl_interval_text t;
    return fl_arena_strdup(arena, fl_ratio_text(&t, ratio, low, high)->at);
}

const char *fl_verdict_limits(struct fl_arena *arena, double ratio, double low, double high)
{
    struct fl_interval_text t;
    fl_ratio_text(&t, ratio, low, high);
    if (fl_known(low) && fl_known(high))
        return fl_arena_printf(arena, "95 %% interval %s to %s", t.low, t.high);
    if (fl_known(low) || fl_known(high))
        return fl_arena_printf(arena, "95 %% interval %s %s, open %s",
                               fl_known(low) ? "from" : "up to", fl_known(low) ? t.low : t.high,
                               fl_known(low) ? "above" : "below");
    return "its 95 % interval is open at both ends";
}

const char *fl_verdict(struct fl_arena *arena, const struct fl_comparison *c)
{
    const char *a = fl_verdict_at(arena, c->pair, c->a), *b = fl_verdict_at(arena, c->pair, c->b);
    const char *label = fl_quantity_info(c->quantity)->label,
               *why = fl_verdict_untested(arena, c->a, a);
    if (!why)
        why = fl_verdict_untested(arena, c->b, b);
    if (why)
        return fl_arena_printf(arena, "cannot tell: %s%s", why,
                               fl_known(c->ratio) ? "" : fl_verdict_bound(arena, c->low, c->high));
    const char *ratio = fl_verdict_ratio(arena, c->ratio, c->low, c->high);
    const char *limits = fl_arena_printf(
        arena, "%s%s", fl_verdict_limits(arena, c->ratio, c->low, c->high), held_text(c));
    if (c->p_adjusted < FL_CLAIM)
        return fl_arena_printf(arena, "%s it trips at %s times the %s of %s (%s)", a, ratio, label,
                               of(arena, c), limits);
    if (c->low >= FL_EQUAL_LOW && c->high <= FL_EQUAL_HIGH)
        return fl_arena_printf(arena, "%s it trips at the %s of %s within 11 %% (%s)", a, label,
                               of(arena, c), limits);
    const char *doubt =
        c->p < FL_CLAIM ? "does not stand among the session's comparisons" : "may be 1";
    return fl_arena_printf(
        arena, "cannot tell: %s it may trip at %s times the %s of %s, but the ratio %s (%s)", a,
        ratio, label, of(arena, c), doubt, limits);
}
