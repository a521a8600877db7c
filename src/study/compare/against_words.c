/* What a change means, in a sentence. */
#include "base/figure.h"
#include "study/compare/against.h"
#include "study/compare/verdict.h"

static const char *limits(const struct fl_change *c, struct fl_arena *arena)
{
    return fl_verdict_limits(arena, c->change, c->low, c->high);
}

static const char *ratio(const struct fl_change *c, struct fl_arena *arena)
{
    return fl_verdict_ratio(arena, c->change, c->low, c->high);
}

/* What the two sides leave of the ratio where it could not be tested. */
static const char *rest(const struct fl_change *c, struct fl_arena *arena)
{
    if (fl_known(c->change))
        return fl_arena_printf(arena, "; the ratio is %s, no interval", ratio(c, arena));
    return fl_verdict_bound(arena, c->low, c->high);
}

static const char *doubt(const struct fl_change *c)
{
    return c->p < FL_CLAIM ? "that does not stand among all that was tested" : "the ratio may be 1";
}

static const char *tripping(const struct fl_against_v50 *v, struct fl_arena *arena)
{
    const struct fl_change *c = &v->change;
    const char *label = fl_quantity_info(v->quantity)->label;
    char bound[FL_FIGURE_SIZE];
    switch (c->finding) {
    case FL_FOUND_HIGHER:
    case FL_FOUND_LOWER:
        return fl_arena_printf(arena, "trips at %s times the %s of before (%s)", ratio(c, arena),
                               label, limits(c, arena));
    case FL_FOUND_SAME:
        return fl_arena_printf(arena, "trips at the %s of before within 11 %% (%s)", label,
                               limits(c, arena));
    case FL_FOUND_ONE_SIDED:
        return fl_arena_printf(arena,
                               "trips at %s times the %s of before or %s: %s (a bound, not a test)",
                               fl_figure(bound, fl_known(c->low) ? c->low : c->high), label,
                               fl_known(c->low) ? "more" : "less", c->unsure);
    default: break;
    }
    if (c->unsure)
        return fl_arena_printf(arena, "the takes cannot tell: %s%s", c->unsure, rest(c, arena));
    return fl_arena_printf(
        arena, "the takes cannot tell: it may trip at %s times the %s of before, but %s (%s)",
        ratio(c, arena), label, doubt(c), limits(c, arena));
}

/* Beside the trip speed, where like flicks were off for another share. */
static const char *off_share(const struct fl_change *c, struct fl_arena *arena)
{
    if (c->finding != FL_FOUND_HIGHER && c->finding != FL_FOUND_LOWER)
        return "";
    return fl_arena_printf(arena,
                           "; like flicks were off for %.1f %% of their time before and %.1f %% "
                           "now (95 %% interval of "
                           "the difference %+.1f to %+.1f)",
                           100 * c->before, 100 * c->now, 100 * c->low, 100 * c->high);
}

static const char *rate(const struct fl_change *c, const char *state, struct fl_arena *arena)
{
    if (c->finding != FL_FOUND_HIGHER && c->finding != FL_FOUND_LOWER)
        return "";
    return fl_arena_printf(arena,
                           "; with synthesis %s it renders at %s times the rate of before (%s)",
                           state, ratio(c, arena), limits(c, arena));
}

static const char *control(const struct fl_change *c, struct fl_arena *arena)
{
    if (c->refused)
        return fl_arena_printf(arena, "a control; its base rate is %s", c->refused);
    if (c->finding == FL_FOUND_HIGHER || c->finding == FL_FOUND_LOWER)
        return fl_arena_printf(arena, "a control; it renders at %s times the rate of before (%s)",
                               ratio(c, arena), limits(c, arena));
    if (c->finding == FL_FOUND_SAME)
        return fl_arena_printf(arena,
                               "a control; it renders at the rate of before within 11 %% (%s)",
                               limits(c, arena));
    if (c->unsure)
        return fl_arena_printf(
            arena, "a control; whether its rate changed the takes cannot tell: %s", c->unsure);
    return fl_arena_printf(
        arena, "a control; whether its rate changed the takes cannot tell (ratio %s, %s)",
        ratio(c, arena), limits(c, arena));
}

static const char *trip_speed(const struct fl_against_setting *s, struct fl_arena *arena)
{
    if (s->lead)
        return tripping(s->lead, arena);
    if (!s->n_v50)
        return "trip speeds are not compared: no flick of known speed on either side";
    return fl_arena_printf(arena, "trip speeds are not compared: %s: %s",
                           fl_quantity_info(s->v50[0].quantity)->label, s->v50[0].change.refused);
}

const char *fl_against_sentence(const struct fl_against_setting *s, struct fl_arena *arena)
{
    if (s->refused)
        return fl_arena_printf(arena, "not compared: %s", s->refused);
    if (s->before.control)
        return control(&s->base_off, arena);
    return fl_arena_printf(arena, "%s%s%s%s", trip_speed(s, arena), off_share(&s->off_share, arena),
                           rate(&s->base_on, "on", arena), rate(&s->base_off, "off", arena));
}
