/* The first screen: a table with a row a setting, in the order of the ranking; drills in one of
 * their own, as their shares say nothing of play. Under it a sentence a game. */
#include <stdlib.h>
#include <string.h>

#include "show/page/page.h"
#include "base/figure.h"
#include "show/text/escape.h"
#include "show/text/result_words.h"
#include "study/compare/quotable.h"

/* No line breaks before a percent sign. */
static void put_words(FILE *out, const char *text)
{
    for (const char *p = strstr(text, " %"); p; p = strstr(text, " %")) {
        char *before = fl_format("%.*s\u00a0%%", (int)(p - text), text);
        fl_put_markup(out, before);
        free(before);
        text = p + 2;
    }
    fl_put_markup(out, text);
}

void fl_page_say(void *out, const char *text, bool strong)
{
    fputs(strong ? "<strong>" : "", out);
    put_words(out, text);
    fputs(strong ? "</strong>" : "", out);
}

/* ---- the table ---- */

/* A figure, and its interval under it; "" is none, nor is one that reads as the figure does. */
static void open_pair(FILE *out, const char *at, const char *low, const char *high)
{
    fprintf(out, "<td class=\"n\">%s", at);
    if ((*low || *high) && (strcmp(low, at) || strcmp(high, at)))
        fprintf(out, "%s<small>(%s–%s)</small>", *at ? "<br>" : "", low, high);
}

static void share_figure(char buf[FL_SHARE_SIZE], double share)
{
    *buf = 0;
    if (fl_known(share))
        fl_share_text(buf, share);
    buf[strcspn(buf, " ")] = 0;
}

static void put_share(FILE *out, double share, double low, double high)
{
    char at[FL_SHARE_SIZE], from[FL_SHARE_SIZE], to[FL_SHARE_SIZE];
    share_figure(at, share);
    share_figure(from, low);
    share_figure(to, high);
    open_pair(out, at, from, to);
    fputs("</td>", out);
}

static void open_figures(FILE *out, double x, double low, double high, const char *unit)
{
    char at[2 * FL_FIGURE_SIZE] = "";
    struct fl_interval_text t;
    fl_interval_text(&t, x, low, high);
    if (fl_known(x))
        snprintf(at, sizeof at, "%s%s%s", t.at, *unit ? " " : "", unit);
    open_pair(out, at, fl_known(low) ? t.low : "", fl_known(high) ? t.high : "");
}

static void put_figures(FILE *out, double x, double low, double high)
{
    open_figures(out, x, low, high, "");
    fputs("</td>", out);
}

static void put_rough(FILE *out, double x)
{
    char at[FL_FIGURE_SIZE];
    open_pair(out, fl_known(x) ? fl_rough_figure(at, x) : "", "", "");
    fputs("</td>", out);
}

/* What is refused leaves its range. */
static void put_shares(FILE *out, const struct fl_off_shares *o)
{
    bool taken = fl_known(o->take);
    put_share(out, o->turning, o->turning_low, o->turning_high);
    put_share(out, o->take, taken ? o->take_low : o->plain_low,
              taken ? o->take_high : o->plain_high);
}

static void put_lapses(FILE *out, const struct fl_lapse_figures *l)
{
    bool range = l->low < l->high;
    if (range)
        put_figures(out, l->per_min, l->per_min_low, l->per_min_high);
    else
        put_rough(out, l->per_min);
    put_rough(out, l->median_s);
}

/* Leaves its cell open. */
static void open_v50(FILE *out, const struct fl_curve *c, const char *unit)
{
    char at[FL_FIGURE_SIZE];
    if (c && (c->bound == FL_BOUND_ABOVE || c->bound == FL_BOUND_BELOW))
        fprintf(out, "<td class=\"n\">%s %s %s", c->bound == FL_BOUND_ABOVE ? "over" : "under",
                fl_figure(at, c->bound_at), unit);
    else if (c)
        open_figures(out, c->v50, c->v50_low, c->v50_high, unit);
    else
        fputs("<td>", out);
}

static void put_watched(FILE *out, const struct fl_watched_v50 *w)
{
    if (!w->curve) {
        fputs("<td></td>", out);
        return;
    }
    open_v50(out, w->curve, fl_quantity_info(w->curve->quantity)->unit_label);
    fputs("</td>", out);
}

static void put_name(FILE *out, const struct fl_result *r)
{
    char desk[FL_SETTING_SIZE];
    char *game = fl_group_name(r->game, r->condition);
    fputs("<td><strong><bdi>", out);
    fl_put_markup(out, game);
    fputs("</bdi></strong><br>", out);
    fl_put_markup(out, fl_desk_text(desk, r->counts_per_inch, r->degrees_per_count));
    fputs("</td>", out);
    free(game);
}

struct columns {
    bool drill, watched; /* drills: the trip speed first */
};

static void put_trip(FILE *out, const struct fl_result *r, struct columns c)
{
    open_v50(out, r->curve, "");
    fputs("</td>", out);
    if (c.watched)
        put_watched(out, &r->watched);
}

static void put_row(FILE *out, const struct fl_result *r, struct columns c)
{
    char rank[FL_RANK_SIZE];
    fprintf(out, "<tr><td class=\"n\">%s</td>", fl_rank_text(rank, r));
    put_name(out, r);
    if (c.drill)
        put_trip(out, r, c);
    put_shares(out, &r->shares);
    put_lapses(out, &r->lapses);
    if (!c.drill)
        put_trip(out, r, c);
    fputs("<td class=\"why\">", out);
    fputs(r->quotable ? "yes" : "no: ", out);
    fl_put_markup(out, r->why_short);
    fputs("</td></tr>\n", out);
}

static void put_head(FILE *out, const char *v50, struct columns c)
{
    const char *names[12] = {"", "setting"};
    size_t n = 2;
    const char *shares[] = {"#off while turning, %", "#off share of recording, %",
                            "#lapses a minute", "#median length, s"};
    const char *trip[] = {v50, c.watched ? "#V50, watched" : NULL};
    for (int i = 0; i < 2 && c.drill; i++)
        if (trip[i])
            names[n++] = trip[i];
    for (int i = 0; i < 4; i++)
        names[n++] = shares[i];
    for (int i = 0; i < 2 && !c.drill; i++)
        if (trip[i])
            names[n++] = trip[i];
    names[n] = "may be quoted";
    fl_page_table_begin(out, c.drill ? "Settings, drills" : "Settings", names);
}

static void put_table(FILE *out, const struct fl_session *s, bool drill)
{
    struct columns c = {drill, false};
    size_t n = 0;
    for (size_t i = 0; i < s->n_results; i++)
        if (!s->results[i].control && s->results[i].drill == drill) {
            c.watched |= s->results[i].watched.curve != NULL;
            n++;
        }
    if (!n)
        return;
    if (drill)
        fputs("<p>Drills; shares and lapses are of these deliberate flicks, and say nothing of "
              "play:</p>\n",
              out);
    char *v50 = fl_format("#V50, %s", fl_quantity_info(fl_results_quantity(s))->unit_label);
    put_head(out, v50, c);
    for (size_t i = 0; i < s->n_results; i++)
        if (!s->results[i].control && s->results[i].drill == drill)
            put_row(out, &s->results[i], c);
    fl_page_table_end(out);
    free(v50);
}

/* ---- sentences ---- */

/* "Mouse resolution matters in A and B; cannot be told in C." */
static bool put_games(FILE *out, const struct fl_session *s, const struct fl_groups *g,
                      enum fl_answer answer, const char *says, bool any)
{
    size_t said = 0;
    for (size_t i = 0; i < g->n; i++) {
        if (g->v[i].control || g->v[i].n_curves < 2 || fl_page_resolution(s, &g->v[i]) != answer)
            continue;
        char *name =
            fl_group_name(g->v[i].game ? g->v[i].game : "(no game named)", g->v[i].condition);
        fputs(said ? ", " : any ? "; it " : "Mouse resolution ", out);
        fputs(said ? "" : says, out);
        fputs(said ? "<bdi>" : " <bdi>", out);
        fl_put_markup(out, name);
        fputs("</bdi>", out);
        free(name);
        said++;
    }
    return any || said;
}

static void put_resolutions(FILE *out, const struct fl_session *s, const struct fl_groups *g)
{
    bool any = false;
    fputs("<p>", out);
    any = put_games(out, s, g, FL_YES, "<strong>matters</strong> in", any);
    any = put_games(out, s, g, FL_NO, "does not matter noticeably in", any);
    any = put_games(out, s, g, FL_ANSWER_UNKNOWN, "may or may not matter in", any);
    fputs(any ? ".</p>\n" : "</p>\n", out);
}

/* "Paper Orchard watches count rate: V50 4150 counts/s (95 % interval 3900 to 4380) at both
 * resolutions." One a game and condition. */
static void put_watched_games(FILE *out, const struct fl_session *s, const struct fl_groups *g)
{
    char v50[FL_V50_SIZE], over[FL_POOLED_SIZE];
    for (size_t i = 0; i < g->n; i++)
        for (size_t k = 0; k < s->n_results; k++) {
            const struct fl_watched_v50 *w = &s->results[k].watched;
            if (w->settings < 2 ||
                !fl_group_has(&g->v[i], s->results[k].game, s->results[k].condition))
                continue;
            char *name = fl_group_name(g->v[i].game, g->v[i].condition);
            fputs("<p><bdi>", out);
            fl_put_markup(out, name);
            fprintf(out, "</bdi> %s %s: ", w->named ? "watches" : "seems to watch",
                    fl_quantity_info(w->curve->quantity)->label);
            fl_page_say(out, fl_v50_text(v50, w->curve), false);
            fprintf(out, " %s.</p>\n", fl_watched_over(over, w));
            free(name);
            break;
        }
}

static bool mixed(const struct fl_session *s)
{
    for (size_t i = 0; i < s->n_results; i++)
        if (s->results[i].share_takes < s->results[i].takes)
            return true;
    return false;
}

void fl_page_brief(FILE *out, const struct fl_session *s, const struct fl_groups *g)
{
    fputs("<div class=\"brief\">\n", out);
    put_table(out, s, false);
    put_table(out, s, true);
    put_resolutions(out, s, g);
    put_watched_games(out, s, g);
    fprintf(
        out,
        "<p class=\"small\">In brackets 95 %% intervals; of turning, the range that unseen time "
        "leaves. %s%s In front the places that a row may have by V50. May be quoted: %d "
        "takes or more, at most %.0f %% of the time open, V50 known within a factor of "
        "%g. DPI are counts per inch of the mouse; a turn is 360° of the camera.</p>\n</div>\n",
        fl_share_assumption,
        mixed(s) ? " Where some takes are drills, shares and lapses are those of play." : "",
        FL_QUOTABLE_TAKES, 100 * FL_QUOTABLE_OPEN, FL_QUOTABLE_WIDTH);
}
