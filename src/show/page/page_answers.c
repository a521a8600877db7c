/* The answers first, in plain sentences. */
#include <string.h>

#include "show/page/page.h"
#include "base/figure.h"
#include "show/text/escape.h"
#include "show/text/result_words.h"
#include "study/compare/comparison.h"
#include "study/curve/curve.h"

/* Rows of the group, in the order of the ranking. */
static const struct fl_result *next_result(const struct fl_session *s, const struct fl_group *g,
                                           size_t *i)
{
    while (*i < s->n_results && (s->results[*i].control != g->control ||
                                 !fl_group_has(g, s->results[*i].game, s->results[*i].condition)))
        ++*i;
    return *i < s->n_results ? &s->results[(*i)++] : NULL;
}

/* What the paragraph is about, where there is more than one. */
static void put_setting(FILE *out, const struct fl_group *g, const struct fl_result *r)
{
    const struct fl_curve of = {.counts_per_inch = r->counts_per_inch,
                                .degrees_per_count = r->degrees_per_count};
    char setting[FL_SETTING_SIZE];
    if (g->n_settings < 2)
        return;
    fputs("<strong>", out);
    fl_put_markup(out, fl_setting_text(setting, &of));
    fputs(":</strong> ", out);
}

static void put_how_often(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    size_t i = 0;
    char longest[FL_FIGURE_SIZE];
    fputs("<dt>How often off</dt><dd>", out);
    for (const struct fl_result *r = next_result(s, g, &i); r; r = next_result(s, g, &i)) {
        fputs("<p>", out);
        put_setting(out, g, r);
        fputs(r->drill ? "of these deliberate flicks: " : "", out);
        fl_say_shares(&r->shares, r->share_takes, fl_page_say, out);
        if (r->shares.on_s > 0)
            fl_say_lapses(&r->lapses, fl_page_say, out);
        if (r->lapses.n)
            fprintf(out, ", the longest %s s", fl_rough_figure(longest, r->lapses.longest_s));
        fputs(".</p>\n", out);
    }
    fputs("</dd>\n", out);
}

static void put_interval(FILE *out, const struct fl_curve *c)
{
    struct fl_interval_text t;
    fl_interval_text(&t, c->v50, c->v50_low, c->v50_high);
    const char *low = t.low, *high = t.high;
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

/* What a curve rests on, and where its flicks lie. */
static void put_evidence(FILE *out, const struct fl_curve *c)
{
    const struct fl_quantity_info *info = fl_quantity_info(c->quantity);
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
}

static void put_trip(FILE *out, const struct fl_curve *c)
{
    const struct fl_quantity_info *info = fl_quantity_info(c->quantity);
    struct fl_interval_text t;
    if (c->bound == FL_BOUND_NONE) {
        fprintf(
            out,
            "A flick has an even chance to trip it at a peak %s of <strong>%s %s</strong> (V50; ",
            info->label, fl_interval_text(&t, c->v50, c->v50_low, c->v50_high)->at,
            info->unit_label);
        put_interval(out, c);
        fputs(")", out);
    } else {
        put_bound(out, c, info->unit_label);
    }
    put_evidence(out, c);
}

static void put_watched(FILE *out, const struct fl_watched_v50 *w)
{
    char over[FL_POOLED_SIZE], v50[FL_V50_SIZE];
    if (!w->curve)
        return;
    fprintf(out, " In %s, which the cut-off %s: ", fl_quantity_info(w->curve->quantity)->label,
            w->named ? "watches" : "seems to watch");
    fl_page_say(out, fl_v50_text(v50, w->curve), false);
    fprintf(out, "%s%s.", w->settings > 1 ? " " : "", fl_watched_over(over, w));
}

static void put_how_easily(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    size_t i = 0;
    fputs("<dt>How easily it trips</dt><dd>", out);
    for (const struct fl_result *r = next_result(s, g, &i); r; r = next_result(s, g, &i)) {
        fputs("<p>", out);
        put_setting(out, g, r);
        if (r->curve)
            put_trip(out, r->curve);
        else
            fputs("No flick could be measured here.", out);
        put_watched(out, &r->watched);
        fputs("</p>\n", out);
    }
    fputs("</dd>\n", out);
}

static bool about_resolution(const struct fl_comparison *c, const struct fl_group *g)
{
    return c->quantity == g->quantity && fl_known(c->a->counts_per_inch) &&
           fl_known(c->b->counts_per_inch) && c->a->counts_per_inch != c->b->counts_per_inch &&
           fl_group_has(g, c->game, c->a->condition) && fl_group_has(g, c->game, c->b->condition);
}

/* Where the verdict does not say it. */
static const char *held_text(const struct fl_comparison *c)
{
    if (c->verdict && strstr(c->verdict, " held)"))
        return "";
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
    return claim == FL_ANSWER_UNKNOWN ? "It is <strong>not known</strong>"
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
        fputs(!g->n_curves ? "It is <strong>not known</strong>: no flick could be measured."
              : g->n_curves > 1
                  ? "It is <strong>not known</strong>: no two resolutions could be compared."
                  : "It is <strong>not known</strong>: all flicks were made at one setting.",
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
    put_how_often(out, s, g);
    put_how_easily(out, s, g);
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
