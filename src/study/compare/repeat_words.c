/* What stands out among takes of one setting, in a sentence. */
#include "study/compare/repeat.h"

#include <math.h>

#define TOLD_MOST 50 /* a factor beyond this says that nothing plausible would stand out */

static const char *plural(int n)
{
    return n == 1 ? "" : "s";
}

static double percent(double octaves)
{
    return 100 * (exp2(octaves) - 1);
}

/* Two digits, and never as a power of ten: "0.66", "7.4", "42", "890". */
static const char *two(double x, struct fl_arena *arena)
{
    double unit = x >= 100 ? pow(10, floor(log10(x)) - 1) : 1;
    return x < 10 ? fl_arena_printf(arena, "%.2g", x)
                  : fl_arena_printf(arena, "%.0f", round(x / unit) * unit);
}

static const char *warn_v50(const struct fl_repeat_take *t, struct fl_arena *arena)
{
    return fl_arena_printf(arena, "its V50 is %.2f times that of the other takes (adjusted p %.1g)",
                           t->v50_ratio, t->v50_p_adjusted);
}

/* V50 of a take in which all tripped, or none, is no figure of its own. */
static const char *warn_one_sided(const struct fl_repeat_take *t, struct fl_arena *arena)
{
    return fl_arena_printf(arena,
                           "%s of its %d flicks tripped, at speeds at which the other takes did "
                           "otherwise (adjusted p %.1g)",
                           t->trips ? "all" : "none", t->flicks, t->v50_p_adjusted);
}

static const char *warn_share(const struct fl_repeat_take *t, struct fl_arena *arena)
{
    return fl_arena_printf(
        arena, "it is off for %.0f %% of flicks alike, the others for %.0f %% (adjusted p %.1g)",
        100 * t->share, 100 * t->share_of_others, t->share_p_adjusted);
}

static const char *warning_of(const struct fl_repeat_take *t, struct fl_arena *arena)
{
    bool v = t->v50_p_adjusted < FL_REPEAT_LEVEL, s = t->share_p_adjusted < FL_REPEAT_LEVEL;
    const char *first = v ? fl_known(t->v50) ? warn_v50(t, arena) : warn_one_sided(t, arena) : "";
    return fl_arena_printf(
        arena,
        "stands out of the takes of its setting: %s%s%s; look for what was different as it was "
        "recorded",
        first, v && s ? "; " : "", s ? warn_share(t, arena) : "");
}

/* How far the takes' V50 lie apart. */
static const char *spread_text(const struct fl_repeat *r, struct fl_arena *arena)
{
    const struct fl_scatter *v = &r->v50;
    if (v->takes < 2)
        return v->takes ? "one take has a V50 of its own, so how well it repeats is not known"
                        : "no take has a V50 of its own, so there is none to repeat";
    const char *limits =
        percent(v->high) < 1000
            ? fl_arena_printf(arena, "%s to %s %%", two(percent(v->low), arena),
                              two(percent(v->high), arena))
            : fl_arena_printf(arena, "from %s %%, open above", two(percent(v->low), arena));
    return fl_arena_printf(
        arena,
        "V50 of %d takes scatters by %s %% (standard deviation; 95 %% interval %s; flicks alone "
        "would make %s %%)",
        v->takes, two(percent(v->sd), arena), limits, two(percent(r->flick_error), arena));
}

static const char *share_text(const struct fl_repeat *r, struct fl_arena *arena)
{
    if (r->share.takes < 2)
        return "";
    return fl_arena_printf(arena, "; their off share for like flicks by %s points (%s to %s)",
                           two(100 * r->share.sd, arena), two(100 * r->share.low, arena),
                           two(fmin(100, 100 * r->share.high), arena));
}

static int tested(const struct fl_repeat *r)
{
    int n = 0;
    for (size_t i = 0; i < r->n; i++)
        n += fl_known(r->takes[i].v50_p) || fl_known(r->takes[i].share_p);
    return n;
}

static int standing_out(const struct fl_repeat *r)
{
    int n = 0;
    for (size_t i = 0; i < r->n; i++)
        n += r->takes[i].stands_out;
    return n;
}

static const char *outcome(const struct fl_repeat *r, struct fl_arena *arena)
{
    int out = standing_out(r);
    if (out)
        return fl_arena_printf(arena, "%d take%s stand%s out", out, plural(out),
                               out == 1 ? "s" : "");
    if (!tested(r))
        return "too few takes to tell whether one stands out";
    if (!fl_known(r->told_ratio))
        return "no take stands out";
    return r->told_ratio > TOLD_MOST ? "no take stands out, but with so few hardly any could"
                                     : fl_arena_printf(arena,
                                                       "no take stands out; to do so its V50 would "
                                                       "have to differ by a factor of %.2g",
                                                       r->told_ratio);
}

void fl_repeat_words(struct fl_repeat *r, struct fl_arena *arena)
{
    for (size_t i = 0; i < r->n; i++)
        r->takes[i].warning = r->takes[i].stands_out ? warning_of(&r->takes[i], arena) : NULL;
    r->verdict = r->n < 2 ? "one take: how well it repeats is not known"
                          : fl_arena_printf(arena, "%s%s; %s", spread_text(r, arena),
                                            share_text(r, arena), outcome(r, arena));
}
