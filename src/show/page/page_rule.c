/* By what rule it switches, what the rule leaves unexplained, and how long it waits. */
#include <math.h>
#include <string.h>

#include "show/page/page.h"
#include "base/figure.h"
#include "show/text/escape.h"
#include "study/compare/comparison.h"
#include "study/rule/delay.h"
#include "study/rule/rule.h"

#define NAMED_MISSES 6 /* in a sentence; the table has them all */

static const struct fl_rule *lead_of(const struct fl_session *s, const struct fl_group *g)
{
    for (size_t i = 0; i < s->n_rules; i++)
        if (s->rules[i].lead && fl_group_has(g, s->rules[i].game, s->rules[i].condition))
            return &s->rules[i];
    return NULL;
}

/* ---- the answer ---- */

/* "150 deg/s (145 to 164)"; where an end is open the figure itself means little: "164 deg/s at
 * most". */
static void put_figure(FILE *out, double at, double low, double high, const char *unit)
{
    struct fl_interval_text t;
    fl_interval_text(&t, at, low, high);
    if (fl_known(low) && fl_known(high))
        fprintf(out, "<strong>%s %s</strong> (%s to %s)", t.at, unit, t.low, t.high);
    else if (fl_known(low) || fl_known(high))
        fprintf(out, "<strong>%s %s</strong> %s", fl_known(low) ? t.low : t.high, unit,
                fl_known(low) ? "at least" : "at most");
    else
        fputs("an unknown speed", out);
}

/* The same in whole milliseconds; a low end is never open. */
static void put_wait(FILE *out, double s, double low, double high)
{
    if (fl_known(high))
        fprintf(out, " for %.0f ms (%.0f to %.0f)", 1000 * s, 1000 * low, 1000 * high);
    else
        fprintf(out, " for at least %.0f ms", 1000 * low);
}

static void put_rule(FILE *out, const struct fl_rule *r)
{
    const struct fl_quantity_info *q = fl_quantity_info(r->quantity);
    fprintf(out, "It behaves as if it switched off once %s stayed above ", q->label);
    put_figure(out, r->fit.theta_off, r->low.theta_off, r->high.theta_off, q->unit_label);
    put_wait(out, r->fit.d_off_s, r->low.d_off_s, r->high.d_off_s);
    fputs(", and on again once it stayed below ", out);
    put_figure(out, r->fit.theta_on, r->low.theta_on, r->high.theta_on, q->unit_label);
    put_wait(out, r->fit.d_on_s, r->low.d_on_s, r->high.d_on_s);
    fputs("; in brackets 95&nbsp;% intervals. ", out);
}

static void put_agreement(FILE *out, const struct fl_rule *r)
{
    char right[FL_FIGURE_SIZE], always[FL_FIGURE_SIZE], explained[FL_FIGURE_SIZE];
    bool left_out = fl_known(r->agreement);
    fprintf(out,
            "On %s it is right for %s of the time, on and off weighed alike; “always on” would be "
            "for %s. It explains "
            "%s of the off time.",
            left_out ? "takes left out of the fit" : "the very take that it was fitted to",
            fl_percent(right, left_out ? r->agreement : r->agreement_fitted),
            fl_percent(always, r->agreement_always_on),
            fl_percent(explained, r->explained_off_share));
}

static void put_rivals(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    int n = 0;
    for (size_t i = 0; i < s->n_rules; i++) {
        const struct fl_rule *r = &s->rules[i];
        if (!r->rival || !fl_group_has(g, r->game, r->condition))
            continue;
        fprintf(out, "%s%s",
                n++ ? ", "
                    : "<br>These takes cannot tell whether it is this quantity that is watched: "
                      "rules do as well on ",
                fl_quantity_info(r->quantity)->label);
    }
    fputs(n ? "." : "", out);
}

/* "once", "twice", "5 times" */
static void put_times(FILE *out, size_t n)
{
    if (n > 2)
        fprintf(out, "%zu times", n);
    else
        fputs(n == 1 ? "once" : "twice", out);
}

static void put_count_of_misses(FILE *out, const struct fl_rule *r)
{
    size_t a = r->n_unexplained, b = r->n_held;
    if (a)
        fprintf(out, "<br>It does not explain %zu lapse%s", a, a == 1 ? "" : "s");
    if (b) {
        fputs(a ? ", and " : "<br>By this rule it should have tripped, and did not, ", out);
        put_times(out, b);
        fputs(a ? " it should have tripped and did not" : "", out);
    }
    fputs(a + b ? ": see <a href=\"#games\">Games</a>." : "", out);
}

void fl_page_rule_answer(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    const struct fl_rule *r = lead_of(s, g);
    if (!r)
        return;
    fputs("<dt>By what rule</dt><dd>", out);
    if (r->refused) {
        fputs("It is <strong>not known</strong>: ", out);
        fl_put_markup(out, r->refused);
        fputs(".</dd>\n", out);
        return;
    }
    double right = fl_known(r->agreement) ? r->agreement : r->agreement_fitted;
    if (right <= r->agreement_always_on) {
        fputs("No rule with two thresholds and two delays does better than “always on”, in any "
              "measured quantity: what switches "
              "it is not among them.</dd>\n",
              out);
        return;
    }
    put_rule(out, r);
    put_agreement(out, r);
    put_rivals(out, s, g);
    put_count_of_misses(out, r);
    fputs("</dd>\n", out);
}

/* ---- what stands beside the curves ---- */

static void put_misses(FILE *out, const struct fl_rule *r, const struct fl_rule_miss *m, size_t n,
                       const char *what)
{
    const char *unit = fl_quantity_info(r->quantity)->unit_label;
    if (!n)
        return;
    fprintf(out, "<p>%s: ", what);
    for (size_t i = 0; i < n && i < NAMED_MISSES; i++) {
        char peak[FL_FIGURE_SIZE];
        fputs(i ? "; " : "", out);
        fl_put_markup(out, m[i].take->spec.id);
        fprintf(out, " at %.2f s, up to %s %s", m[i].start_s, fl_figure(peak, m[i].peak), unit);
    }
    if (n > NAMED_MISSES)
        fprintf(out, "; and %zu more in the table", n - NAMED_MISSES);
    fputs(".</p>\n", out);
}

static void put_delay(FILE *out, const struct fl_delay *d)
{
    char at[FL_FIGURE_SIZE];
    if (!d->method)
        return;
    fprintf(out, "It %s ", d->trip ? "trips" : "returns");
    if (fl_known(d->median_s) && fl_known(d->low_s) && fl_known(d->high_s))
        fprintf(out, "%.0f ms (%.0f to %.0f; median of %d)", 1000 * d->median_s, 1000 * d->low_s,
                1000 * d->high_s, d->switched);
    else if (fl_known(d->low_s))
        fprintf(out, "at least %.0f ms (median of %d)", 1000 * d->low_s, d->switched);
    else
        fputs("some unknown time", out);
    fprintf(out, " after crossing %s %s", fl_figure(at, d->threshold),
            fl_quantity_info(d->quantity)->unit_label);
    if (d->left) {
        fputs("; ", out);
        put_times(out, (size_t)d->left);
        fprintf(out, " the hand %s first", d->trip ? "slowed" : "moved again");
    }
    fputs(".\n", out);
}

static void put_delays(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    fputs("<p>", out);
    for (size_t i = 0; i < s->n_delays; i++)
        if (fl_group_has(g, s->delays[i].game, s->delays[i].condition))
            put_delay(out, &s->delays[i]);
    fputs("</p>\n", out);
}

/* ---- the tables ---- */

/* Whole milliseconds, as text of three digits would show tenths. */
static void put_wait_cell(FILE *out, double at, double low, double high)
{
    fputs("<td class=\"n\">", out);
    if (fl_known(at))
        fprintf(out, "%.0f", 1000 * at);
    if (fl_known(at) && fl_known(low))
        fprintf(out, " (%.0f–", 1000 * low);
    if (fl_known(at) && fl_known(low) && fl_known(high))
        fprintf(out, "%.0f", 1000 * high);
    fputs(fl_known(at) && fl_known(low) ? ")</td>" : "</td>", out);
}

static void put_rule_row(FILE *out, const struct fl_rule *r)
{
    fputs("<tr>", out);
    fl_page_text_cell(out, fl_quantity_info(r->quantity)->label);
    fl_page_text_cell(out, fl_quantity_info(r->quantity)->unit_label);
    fl_page_text_cell(out, r->refused ? r->refused : r->lead ? "leads" : r->rival ? "as good" : "");
    fl_page_range_cell(out, r->fit.theta_off, r->low.theta_off, r->high.theta_off);
    put_wait_cell(out, r->fit.d_off_s, r->low.d_off_s, r->high.d_off_s);
    fl_page_range_cell(out, r->fit.theta_on, r->low.theta_on, r->high.theta_on);
    put_wait_cell(out, r->fit.d_on_s, r->low.d_on_s, r->high.d_on_s);
    fl_page_figure_cell(out, 100 * r->agreement);
    fl_page_figure_cell(out, 100 * r->agreement_fitted);
    fl_page_figure_cell(out, 100 * r->explained_off_share);
    fputs("</tr>\n", out);
}

static void put_rule_table(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    fl_page_table_begin(out, "Rules",
                        (const char *const[]){"quantity", "unit", "standing", "#off above",
                                              "#for, ms", "#on below", "#for, ms",
                                              "#right, left out, %", "#right, fitted, %",
                                              "#off explained, %", NULL});
    for (size_t i = 0; i < s->n_rules; i++)
        if (fl_group_has(g, s->rules[i].game, s->rules[i].condition))
            put_rule_row(out, &s->rules[i]);
    fl_page_table_end(out);
}

static void put_miss_rows(FILE *out, const struct fl_rule_miss *m, size_t n, const char *what)
{
    for (size_t i = 0; i < n; i++) {
        char at[FL_FIGURE_SIZE];
        fputs("<tr>", out);
        fl_page_text_cell(out, what);
        fl_page_text_cell(out, m[i].take->spec.id);
        const double time[] = {m[i].start_s, m[i].end_s, m[i].flick_start_s};
        for (int k = 0; k < 3; k++) {
            snprintf(at, sizeof at, "%.3f", time[k]);
            fprintf(out, "<td class=\"n\">%s</td>", fl_known(time[k]) ? at : "");
        }
        fl_page_figure_cell(out, m[i].peak);
        fputs("</tr>\n", out);
    }
}

static void put_miss_table(FILE *out, const struct fl_rule *r)
{
    if (!r || r->n_unexplained + r->n_held == 0)
        return;
    fl_page_table_begin(out, "Where rule and states disagree",
                        (const char *const[]){"what", "take", "#from, s", "#to, s",
                                              "#flick from, s", "#peak", NULL});
    put_miss_rows(out, r->unexplained, r->n_unexplained, "lapse not explained");
    put_miss_rows(out, r->held, r->n_held, "expected, did not trip");
    fl_page_table_end(out);
}

static const char *method_text(const struct fl_delay *d)
{
    return !d->method                           ? ""
           : !strcmp(d->method, "kaplan_meier") ? "Kaplan–Meier"
                                                : "Turnbull, from brackets";
}

static void put_delay_table(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    fl_page_table_begin(out, "Delays",
                        (const char *const[]){"delay", "#from crossing", "#median, ms", "#seen",
                                              "#crossed back first", "#its chance, %", "#not known",
                                              "estimate", NULL});
    for (size_t i = 0; i < s->n_delays; i++) {
        const struct fl_delay *d = &s->delays[i];
        if (!fl_group_has(g, d->game, d->condition))
            continue;
        fputs("<tr>", out);
        fl_page_text_cell(out, d->trip ? "to the trip" : "to the return");
        fl_page_figure_cell(out, d->threshold);
        put_wait_cell(out, d->median_s, d->low_s, d->high_s);
        fl_page_count_cell(out, d->switched);
        fl_page_count_cell(out, d->left);
        fl_page_figure_cell(out, 100 * d->left_share);
        fl_page_count_cell(out, d->censored + d->unmatched);
        fl_page_text_cell(out, method_text(d));
        fputs("</tr>\n", out);
    }
    fl_page_table_end(out);
}

static void put_delay_verdicts(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    for (size_t i = 0; i < s->n_delay_comparisons; i++) {
        const struct fl_delay_comparison *c = &s->delay_comparisons[i];
        if (!fl_group_has(g, c->a->game, c->a->condition))
            continue; /* said once, with its first condition */
        fputs("<p>Against ", out);
        fl_put_markup(out, c->b->condition);
        fputs(": ", out);
        fl_put_markup(out, c->verdict);
        if (fl_known(c->p_adjusted)) {
            char p[FL_FIGURE_SIZE];
            fprintf(out, " (log-rank test, p %s, adjusted)", fl_figure(p, c->p_adjusted));
        }
        fputs(".</p>\n", out);
    }
}

void fl_page_rules(FILE *out, const struct fl_session *s, const struct fl_group *g)
{
    const struct fl_rule *lead = lead_of(s, g);
    if (!lead)
        return;
    if (!lead->refused) {
        put_misses(out, lead, lead->unexplained, lead->n_unexplained,
                   "Lapses that the cut-off rule does not explain");
        put_misses(out, lead, lead->held, lead->n_held,
                   "By the cut-off rule it should have tripped, and did not");
        put_delays(out, s, g);
        put_delay_verdicts(out, s, g);
    }
    fputs("<details><summary>Cut-off rule and delays, in every quantity</summary>\n", out);
    put_rule_table(out, s, g);
    put_miss_table(out, lead);
    if (!lead->refused)
        put_delay_table(out, s, g);
    fputs("</details>\n", out);
}
