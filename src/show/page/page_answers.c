/* The answers first, in plain sentences. */
#include <math.h>
#include <string.h>

#include "show/page/page.h"
#include "show/text/off_shares.h"
#include "study/compare/comparison.h"
#include "study/curve/curve.h"

/* While turning, then of the recording, with what that assumes. */
static void put_shares(FILE *out, const struct fl_off_shares *o)
{
    char at[FL_FIGURE_SIZE], low[FL_FIGURE_SIZE], high[FL_FIGURE_SIZE];
    if (fl_known(o->turning))
        fprintf(out, "Off for <strong>%s</strong> of the time spent turning (%s to %s). ",
                fl_percent(at, o->turning), fl_percent(low, o->turning_low),
                fl_percent(high, o->turning_high));
    if (fl_known(o->take)) {
        fprintf(out, "Of this recording it was off for <strong>%s</strong> (%s to %s)",
                fl_percent(at, o->take), fl_percent(low, o->take_low),
                fl_percent(high, o->take_high));
        fprintf(out,
                ", counting rest as on unless a lapse goes on through it; without that assumption "
                "for %s to %s.",
                fl_percent(low, o->plain_low), fl_percent(high, o->plain_high));
    } else {
        fprintf(out,
                "Of this recording it was off for between %s and %s: what rest hides cannot be "
                "inferred here.",
                fl_percent(low, o->plain_low), fl_percent(high, o->plain_high));
    }
}

static void put_how_often(FILE *out, const struct fl_group *g)
{
    char longest[FL_FIGURE_SIZE], rate[FL_FIGURE_SIZE];
    const struct fl_off_shares o = fl_off_shares_of(g->takes, g->n_takes);
    double told = g->on_s + g->off_s;
    fputs("<dt>How often off</dt><dd>", out);
    if (!(told > 0))
        fputs("It could not be told: on and off were never distinguishable in this footage.", out);
    else if (g->on_s > 0)
        put_shares(out, &o);
    if (!(g->on_s > 0) && told > 0)
        fputs(" It was never seen on, so nothing here can be called a lapse.", out);
    else if (g->lapses)
        fprintf(out, " %zu lapse%s, %s a minute; the longest lasted %s s.", g->lapses,
                g->lapses == 1 ? "" : "s", fl_figure(rate, 60 * (double)g->lapses / g->duration_s),
                fl_figure(longest, g->longest_s));
    else if (told > 0)
        fputs(" No lapse was found.", out);
    fputs("</dd>\n", out);
}

static void put_interval(FILE *out, const struct fl_curve *c)
{
    char low[FL_FIGURE_SIZE], high[FL_FIGURE_SIZE];
    fl_figure(low, c->v50_low);
    fl_figure(high, c->v50_high);
    if (fl_curve_one_take(c)) /* what it rests on gives that take's interval and another's */
        fputs("in the one take recorded", out);
    else if (fl_known(c->v50_low) && fl_known(c->v50_high))
        fprintf(out, "95&nbsp;%% interval %s to %s", low, high);
    else if (fl_known(c->v50_low))
        fprintf(out, "95&nbsp;%% interval from %s, open above", low);
    else if (fl_known(c->v50_high))
        fprintf(out, "95&nbsp;%% interval up to %s, open below", high);
    else
        fputs("95&nbsp;% interval open at both ends", out);
}

static void put_bound(FILE *out, const struct fl_curve *c, const char *unit)
{
    char at[FL_FIGURE_SIZE];
    fl_figure(at, c->bound_at);
    switch (c->bound) {
    case FL_BOUND_NONE: break;
    case FL_BOUND_ABOVE:
        fprintf(out,
                "No flick tripped it. The speed of an even chance (V50) lies <strong>above %s "
                "%s</strong>",
                at, unit);
        break;
    case FL_BOUND_BELOW:
        fprintf(out,
                "It trips at the slowest speeds that could be judged. The speed of an even chance "
                "(V50) lies "
                "<strong>below %s %s</strong>",
                at, unit);
        break;
    case FL_BOUND_NO_RELATION:
        fputs("Faster flicks did <strong>not</strong> trip it more often, so no trip speed can be "
              "given",
              out);
        break;
    case FL_BOUND_TOO_FEW: fputs("Too few flicks could be used to give a trip speed", out); break;
    case FL_BOUND_NOT_POOLED:
        fputs("Each setting has a trip speed of its own; there is none for all of them", out);
        break;
    }
}

static void put_how_easily(FILE *out, const struct fl_group *g)
{
    const struct fl_curve *c = fl_group_curve(g);
    fputs("<dt>How easily it trips</dt><dd>", out);
    if (!c) {
        fputs("No flick could be measured here.</dd>\n", out);
        return;
    }
    const struct fl_quantity_info *info = fl_quantity_info(c->quantity);
    char v50[FL_FIGURE_SIZE];
    if (c->bound == FL_BOUND_NONE) {
        fprintf(
            out,
            "A flick has an even chance to trip it at a peak %s of <strong>%s %s</strong> (V50; ",
            info->label, fl_figure(v50, c->v50), info->unit_label);
        put_interval(out, c);
        fputs(")", out);
    } else {
        put_bound(out, c, info->unit_label);
    }
    fputs(". From ", out);
    fl_put_markup(out, c->evidence ? c->evidence : "");
    fprintf(out, " (%d tripped)", c->trips);
    if (c->not_fitted)
        fprintf(out, "; %d more could not be used", c->not_fitted);
    fputs(".", out);
    if (c->stray_note) {
        fputs(" Besides, ", out);
        fl_put_markup(out, c->stray_note);
        fputs(".", out);
    }
    if (c->separated && c->bound == FL_BOUND_NONE) {
        char held[FL_FIGURE_SIZE], tripped[FL_FIGURE_SIZE];
        fprintf(out,
                " The two are cleanly apart: every %sflick up to %s %s held, every one from %s on "
                "tripped.",
                c->strays ? "other " : "", fl_figure(held, c->held_max), info->unit_label,
                fl_figure(tripped, c->tripped_min));
    }
    fputs("</dd>\n", out);
}

static bool about_resolution(const struct fl_comparison *c, const struct fl_group *g)
{
    return c->quantity == g->quantity && fl_known(c->a->counts_per_inch) &&
           fl_known(c->b->counts_per_inch) && c->a->counts_per_inch != c->b->counts_per_inch &&
           fl_group_has(g, c->game, c->a->condition) && fl_group_has(g, c->game, c->b->condition);
}

static const char *held_text(const struct fl_comparison *c)
{
    if (c->held && !strcmp(c->held, "degrees_per_count"))
        return " (degrees per count held)";
    if (c->held && !strcmp(c->held, "degrees_per_cm"))
        return " (degrees per centimetre held)";
    return "";
}

/* Claimed when the Holm-adjusted p allows it; the study has put its reasons into the verdict. */
static enum fl_answer resolution_claim(const struct fl_comparison *c)
{
    bool cannot = c->verdict && !strncmp(c->verdict, "cannot tell", 11);
    return cannot                                            ? FL_ANSWER_UNKNOWN
           : fl_known(c->p_adjusted) && c->p_adjusted < 0.05 ? FL_YES
                                                             : FL_NO;
}

static const char *resolution_lead(const struct fl_comparison *c)
{
    enum fl_answer claim = resolution_claim(c);
    return claim == FL_ANSWER_UNKNOWN ? "It <strong>cannot be told</strong>"
           : claim == FL_YES          ? "<strong>Yes</strong>"
                                      : "<strong>No</strong>, not noticeably";
}

enum fl_answer fl_page_resolution(const struct fl_session *s, const struct fl_group *g)
{
    enum fl_answer best = FL_ANSWER_UNKNOWN;
    for (size_t i = 0; i < s->n_comparisons; i++) {
        if (!about_resolution(&s->comparisons[i], g))
            continue;
        enum fl_answer claim = resolution_claim(&s->comparisons[i]);
        if (claim == FL_YES)
            return FL_YES;
        best = claim == FL_NO ? FL_NO : best;
    }
    return best;
}

static void put_resolution(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    int shown = 0;
    fputs("<dt>Does mouse resolution matter?</dt><dd>", out);
    for (size_t i = 0; i < s->n_comparisons; i++) {
        const struct fl_comparison *c = &s->comparisons[i];
        if (!about_resolution(c, g))
            continue;
        fprintf(out, "%s%s between %g and %g counts per inch%s: ", shown ? "<br>" : "",
                resolution_lead(c), c->a->counts_per_inch, c->b->counts_per_inch, held_text(c));
        bool cannot = c->verdict && !strncmp(c->verdict, "cannot tell: ", 13);
        fl_put_markup(out, cannot ? c->verdict + 13 : c->verdict);
        fputs(".", out);
        shown++;
    }
    if (!shown)
        fputs(!g->n_curves ? "It <strong>cannot be told</strong>: no flick could be measured."
              : g->n_curves > 1
                  ? "It <strong>cannot be told</strong>: no two resolutions could be compared."
                  : "It <strong>cannot be told</strong>: all flicks were made at one setting.",
              out);
    fputs("</dd>\n", out);
}

static void put_group(FILE *out, const struct fl_session *s, const struct fl_group *g, bool titled)
{
    if (titled) {
        fputs("<h4>", out);
        fl_put_markup(out, g->condition);
        fputs("</h4>\n", out);
    }
    if (g->control) {
        double rate = FL_UNKNOWN;
        for (size_t i = 0; i < g->n_takes && !fl_known(rate); i++)
            rate = g->takes[i]->states.base_rate_off_hz;
        char figure[FL_FIGURE_SIZE];
        fputs("<p>A control: the feature was disabled.", out);
        if (fl_known(rate))
            fprintf(out, " The game rendered about %s frames per second.", fl_figure(figure, rate));
        fprintf(out, " %s</p>\n",
                g->lapses ? "Lapses were found in it all the same: distrust the others."
                          : "As it should be, no lapse was found.");
        return;
    }
    fputs("<dl>\n", out);
    put_how_often(out, g);
    put_how_easily(out, g);
    fl_page_rule_answer(out, s, g);
    put_resolution(out, s, g);
    fputs("</dl>\n", out);
}

static bool same_game(const struct fl_group *a, const struct fl_group *b)
{
    return a->game == b->game || (a->game && b->game && !strcmp(a->game, b->game));
}

void fl_page_answers(FILE *out, const struct fl_session *s, const struct fl_groups *g)
{
    for (size_t i = 0; i < g->n; i++) {
        bool first = true, several = false;
        for (size_t k = 0; k < g->n; k++) {
            first &= k >= i || !same_game(&g->v[i], &g->v[k]);
            several |= k != i && same_game(&g->v[i], &g->v[k]);
        }
        if (!first)
            continue;
        fputs("<div class=\"answer\"><h3>", out);
        fl_put_markup(out, g->v[i].game ? g->v[i].game : "(no game named)");
        fputs("</h3>\n", out);
        for (size_t k = i; k < g->n; k++)
            if (same_game(&g->v[i], &g->v[k]))
                put_group(out, s, &g->v[k],
                          several || (g->v[k].condition && strcmp(g->v[k].condition, "default")));
        fputs("</div>\n", out);
    }
}
