/* A row a mouse setting, under each rule that fits: predictions, so each with the range over the
 * refits of its rule. */
#include "show/screen/what_if_screen.h"

#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "show/screen/terminal_text.h"
#include "show/text/escape.h"

/* "12.3 (10.1-15.0)", open ends left blank. */
static void range_text(char *text, size_t size, double at, double low, double high)
{
    char a[16] = "", b[16] = "";
    if (fl_known(low))
        snprintf(a, sizeof a, "%.1f", low);
    if (fl_known(high))
        snprintf(b, sizeof b, "%.1f", high);
    snprintf(text, size, "%.1f (%s-%s)", at, a, b);
}

static const char *kept_text(const char *kept)
{
    return !strcmp(kept, "as_recorded")      ? "as recorded"
           : !strcmp(kept, "hand_and_turns") ? "hand, turns"
                                             : kept;
}

static void put_row(FILE *out, const struct fl_what_if *row)
{
    const struct fl_prediction *p = &row->prediction;
    char share[48], rate[48];
    fl_put_number(out, row->setting.counts_per_inch, 0, 6);
    fl_put_number(out, row->setting.degrees_per_count, 5, 11);
    fputs("  ", out);
    fl_put_cell(out, kept_text(row->kept), 12);
    if (p->refused) {
        fl_put_wrapped(out, p->refused, 32, 32);
        return;
    }
    range_text(share, sizeof share, 100 * p->off_share, 100 * p->off_share_low,
               100 * p->off_share_high);
    range_text(rate, sizeof rate, p->lapses_per_min, p->lapses_per_min_low, p->lapses_per_min_high);
    fprintf(out, "%18s%18s%10.2f\n", share, rate, p->longest_s);
}

static void put_title(FILE *out, const struct fl_rule *r)
{
    char text[512], off[FL_FIGURE_SIZE], on[FL_FIGURE_SIZE];
    const struct fl_quantity_info *q = fl_quantity_info(r->quantity);
    fputc('\n', out);
    if (r->refused)
        snprintf(text, sizeof text, "%.120s / %.120s: no rule to predict by: %s", r->game,
                 r->condition, r->refused);
    else
        snprintf(text, sizeof text, "%.120s / %.120s, %s%s: off above %s %s, on below %s %s",
                 r->game, r->condition, r->rival ? "or if it watches " : "by ", q->label,
                 fl_figure(off, r->fit.theta_off), q->unit_label, fl_figure(on, r->fit.theta_on),
                 q->unit_label);
    fl_put_wrapped(out, text, 0, 2);
}

static void put_rule(FILE *out, const struct fl_session *s, const struct fl_rule *r,
                     const struct fl_what_if_question *q)
{
    put_title(out, r);
    if (r->refused)
        return;
    struct fl_what_if *row;
    size_t n = fl_what_if(&row, s, r, &q->hand, &q->asked);
    fprintf(out, "%6s%11s  %-12s%18s%18s%10s\n", "DPI", "deg/count", "kept", "off share, %",
            "lapses/min", "longest s");
    for (size_t i = 0; i < n; i++)
        put_row(out, &row[i]);
    free(row);
}

void fl_print_what_if(FILE *out, const struct fl_session *s, const struct fl_what_if_question *q)
{
    char text[600];
    snprintf(text, sizeof text,
             "Prediction, not measurement: what the cut-off rules fitted to %.100s would do to the "
             "%.1f s of motion in %.200s. "
             "In brackets: 95 %% of resampled rules, and every rule that agrees with the takes as "
             "well. Kept: what stays as it "
             "was recorded when the setting changes, the hand's motion or the camera's turns.",
             s->name ? s->name : "the session", q->hand.end_s - q->hand.start_s,
             fl_own_name(q->trace));
    fl_put_wrapped(out, text, 0, 0);
    for (const struct fl_rule *const *r = fl_what_if_rules(s); *r; r++)
        put_rule(out, s, *r, q);
}
