/* Tables of the study: curves, comparisons, quantities. */
#include <string.h>

#include "show/page/page.h"
#include "base/figure.h"
#include "show/text/escape.h"
#include "study/compare/comparison.h"
#include "study/curve/curve.h"
#include "study/curve/quantity_rank.h"
#include "study/curve/watched.h"

static const char *method_text(const char *method)
{
    return !method ? "" : !strcmp(method, FL_INTERVAL_METHOD) ? "one model of the session" : method;
}

static void put_curve(FILE *out, const struct fl_curve *c)
{
    char setting[FL_SETTING_SIZE];
    fputs("<tr>", out);
    fl_page_text_cell(out, c->pooled ? "all settings" : fl_setting_text(setting, c));
    fl_page_text_cell(out, fl_quantity_info(c->quantity)->label);
    fl_page_text_cell(out, fl_quantity_info(c->quantity)->unit_label);
    fl_page_interval_cells(out, c->v50, c->v50_low, c->v50_high);
    fl_page_text_cell(out, c->bound == FL_BOUND_NONE          ? ""
                           : c->bound == FL_BOUND_NO_RELATION ? "no relation"
                           : c->bound == FL_BOUND_TOO_FEW     ? "too few"
                           : c->bound == FL_BOUND_NOT_POOLED  ? "not pooled"
                                                              : fl_bound_name(c->bound));
    fl_page_figure_cell(out, c->bound_at);
    fl_page_figure_cell(out, c->v10);
    fl_page_figure_cell(out, c->v90);
    fl_page_figure_cell(out, c->held_max);
    fl_page_figure_cell(out, c->tripped_min);
    fl_page_count_cell(out, c->flicks);
    fl_page_count_cell(out, c->trips);
    fl_page_count_cell(out, c->takes);
    fl_page_text_cell(out, method_text(c->interval_method));
    fputs("</tr>\n", out);
}

static void put_left_out(FILE *out, const struct fl_curve *c)
{
    if (!c || !c->not_fitted)
        return;
    fprintf(out,
            "<p>Not used: %d flick%s (%d already off as they began, %d whose state before was "
            "unknown, %d whose "
            "outcome could not be seen, %d without a speed).</p>\n",
            c->not_fitted, c->not_fitted == 1 ? "" : "s", c->not_fitted_no_risk,
            c->not_fitted_unknown_risk, c->not_fitted_no_outcome, c->not_fitted_no_value);
}

void fl_page_curves(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    put_left_out(out, g->pooled ? g->pooled : g->n_curves ? g->curve[0] : NULL);
    if (g->left_out)
        fprintf(out, "<p>%zu further settings are in the table only.</p>\n", g->left_out);
    fputs("<details><summary>Figures of these curves, in every quantity</summary>\n", out);
    fl_page_table_begin(out, "Trip curves",
                        (const char *const[]){"setting", "quantity", "unit", "#V50", "#low",
                                              "#high", "bound", "#at", "#V10", "#V90",
                                              "#fastest held", "#slowest tripped", "#flicks",
                                              "#trips", "#takes", "interval from", NULL});
    for (size_t i = 0; i < s->n_curves; i++) {
        const struct fl_curve *c = &s->curves[i];
        if (fl_group_has(g, c->game, c->condition))
            put_curve(out, c);
    }
    fl_page_table_end(out);
    fputs("</details>\n", out);
}

static void put_side(FILE *out, const struct fl_curve *c)
{
    char setting[FL_SETTING_SIZE];
    fputs("<td>", out);
    if (c->condition && strcmp(c->condition, "default")) {
        fl_put_markup(out, c->condition);
        fputs("<br>", out);
    }
    fl_put_markup(out, fl_setting_text(setting, c));
    fputs("</td>", out);
}

static void put_comparison(FILE *out, const struct fl_comparison *c)
{
    fputs("<tr>", out);
    fl_page_text_cell(out, c->game);
    put_side(out, c->a);
    put_side(out, c->b);
    fl_page_text_cell(out, fl_quantity_info(c->quantity)->label);
    fl_page_ratio_cells(out, c->ratio, c->low, c->high);
    fl_page_figure_cell(out, c->p_adjusted);
    fl_page_figure_cell(out, 100 * c->off_share_a);
    fl_page_figure_cell(out, 100 * c->off_share_b);
    fputs("<td class=\"wide\">", out);
    fl_put_markup(out, c->verdict);
    if (c->off_share_refused) {
        fputs(". Off shares not compared: ", out);
        fl_put_markup(out, c->off_share_refused);
    }
    fputs(".</td></tr>\n", out);
}

void fl_page_comparisons(FILE *out, const struct fl_session *s)
{
    if (!s->n_comparisons)
        return;
    fputs("<details><summary>All comparisons</summary>\n", out);
    fl_page_table_begin(out, "Comparisons",
                        (const char *const[]){"game", "A", "B", "quantity", "#V50 of A / B", "#low",
                                              "#high", "#p, adjusted", "#A off, %", "#B off, %",
                                              "verdict", NULL});
    for (size_t i = 0; i < s->n_comparisons; i++)
        put_comparison(out, &s->comparisons[i]);
    fl_page_table_end(out);
    fputs("</details>\n", out);
}

/* "+3.2 ± 0.8" */
static void put_lead_cell(FILE *out, const struct fl_quantity_rank *q)
{
    char lead[FL_FIGURE_SIZE], se[FL_FIGURE_SIZE];
    if (!fl_known(q->lead))
        fputs("<td class=\"n\"></td>", out);
    else
        fprintf(out, "<td class=\"n\">%s%s ± %s</td>", q->lead > 0 ? "+" : "",
                fl_error_text(lead, se, q->lead, q->lead_se), se);
}

/* "0.97 to 1.08" */
static void put_ratios_cell(FILE *out, const struct fl_quantity_rank *q)
{
    char low[FL_FIGURE_SIZE], high[FL_FIGURE_SIZE];
    fputs("<td class=\"n\">", out);
    if (q->ratios)
        fprintf(out, "%s to %s", fl_known(q->ratio_low) ? fl_figure(low, q->ratio_low) : "open",
                fl_known(q->ratio_high) ? fl_figure(high, q->ratio_high) : "open");
    fputs("</td>", out);
}

static void put_to_record(FILE *out, const struct fl_session *s)
{
    for (size_t i = 0; i < s->n_quantities; i++) {
        const struct fl_quantity_rank *q = &s->quantities[i];
        if (!q->to_record || (i && !strcmp(q->game, q[-1].game)))
            continue;
        fputs("<p><strong>", out);
        fl_put_markup(out, q->game);
        fputs("</strong>: which quantity is watched is not known yet. ", out);
        fl_put_markup(out, q->to_record);
        fputs("</p>\n", out);
    }
}

void fl_page_quantities(FILE *out, const struct fl_session *s)
{
    if (!s->n_quantities)
        return;
    fputs("<details><summary>Which quantity drives it</summary>\n", out);
    fl_page_table_begin(out, "Quantities",
                        (const char *const[]){"game", "quantity", "#deviance explained, %",
                                              "#area under ROC curve", "#lead on takes left out",
                                              "#trip speeds between settings", "#agreement, p",
                                              "verdict", NULL});
    for (size_t i = 0; i < s->n_quantities; i++) {
        const struct fl_quantity_rank *q = &s->quantities[i];
        fputs("<tr>", out);
        fl_page_text_cell(out, q->game);
        fl_page_text_cell(out, fl_quantity_info(q->quantity)->label);
        fl_page_figure_cell(out, 100 * q->deviance_explained);
        fl_page_figure_cell(out, q->auc);
        put_lead_cell(out, q);
        put_ratios_cell(out, q);
        fl_page_figure_cell(out, q->agreement_p);
        fl_page_text_cell(out, q->verdict);
        fputs("</tr>\n", out);
    }
    fl_page_table_end(out);
    fputs("<p>Lead: by how much the deviance a take, on takes left out of the fit, is below that "
          "of the best other quantity, with its "
          "standard error; below 0 it is behind. Trip speeds between settings: how far they may "
          "differ; of the quantity that is "
          "watched they agree within a quarter of what sets it apart from a rival there.</p>\n",
          out);
    put_to_record(out, s);
    fputs("</details>\n", out);
}
