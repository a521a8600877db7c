/* A row a mouse setting, under each rule that fits: predictions, so each with the range over the
 * refits of its rule. */
#include "show/screen/what_if_screen.h"

#include <stdlib.h>
#include <string.h>

#include "show/screen/terminal_text.h"
#include "show/store/fields.h"
#include "show/store/json_value.h"
#include "show/text/escape.h"

/* ---- on the terminal ---- */

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
    fprintf(out, "%6s%11s  %-12s%18s%18s%10s\n", "cpi", "deg/count", "kept", "off share, %",
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

/* ---- as JSON ---- */

static void set(json_t *object, const char *name, json_t *value)
{
    fl_json_set(object, name, value);
}

static json_t *row_json(const struct fl_what_if *row)
{
    const struct fl_prediction *p = &row->prediction;
    json_t *o = json_object();
    set(o, "counts_per_inch", fl_json_given(row->setting.counts_per_inch));
    set(o, "degrees_per_count", fl_json_given(row->setting.degrees_per_count));
    set(o, "kept", json_string(row->kept));
    set(o, "refused", fl_json_text(p->refused));
    set(o, "off_s", fl_json_time(p->off_s));
    set(o, "off_share", fl_json_figure(p->off_share));
    set(o, "off_share_low", fl_json_figure(p->off_share_low));
    set(o, "off_share_high", fl_json_figure(p->off_share_high));
    set(o, "lapses", p->refused ? json_null() : json_integer((json_int_t)p->lapses));
    set(o, "lapses_per_min", fl_json_figure(p->lapses_per_min));
    set(o, "lapses_per_min_low", fl_json_figure(p->lapses_per_min_low));
    set(o, "lapses_per_min_high", fl_json_figure(p->lapses_per_min_high));
    set(o, "longest_s", fl_json_time(p->longest_s));
    return o;
}

static json_t *rule_json(const struct fl_session *s, const struct fl_rule *r,
                         const struct fl_what_if_question *q)
{
    struct fl_what_if *row = NULL;
    size_t n = r->refused ? 0 : fl_what_if(&row, s, r, &q->hand, &q->asked);
    json_t *o = json_object(), *list = json_array();
    for (size_t i = 0; i < n; i++)
        fl_json_append(list, row_json(&row[i]));
    free(row);
    set(o, "game", fl_json_text(r->game));
    set(o, "condition", fl_json_text(r->condition));
    set(o, "quantity", json_string(fl_quantity_info(r->quantity)->name));
    set(o, "unit", json_string(fl_quantity_info(r->quantity)->unit_label));
    set(o, "lead", json_boolean(r->lead));
    set(o, "refused", fl_json_text(r->refused));
    set(o, "theta_off", fl_json_figure(r->fit.theta_off));
    set(o, "theta_on", fl_json_figure(r->fit.theta_on));
    set(o, "d_off_s", fl_json_time(r->fit.d_off_s));
    set(o, "d_on_s", fl_json_time(r->fit.d_on_s));
    set(o, "settings", list);
    return o;
}

json_t *fl_what_if_json(const struct fl_session *s, const struct fl_what_if_question *q)
{
    json_t *o = json_pack("{s: s, s: i}", "format", "flinch-what-if", "version", 1),
           *rules = json_array();
    for (const struct fl_rule *const *r = fl_what_if_rules(s); *r; r++)
        fl_json_append(rules, rule_json(s, *r, q));
    set(o, "flinch_version", json_string(FLINCH_VERSION));
    set(o, "prediction", json_true());
    set(o, "session", fl_json_text(s->name));
    set(o, "trace", fl_json_text(fl_own_name(q->trace)));
    set(o, "trace_s", fl_json_time(q->hand.end_s - q->hand.start_s));
    set(o, "counts_per_inch", fl_json_given(q->hand.recorded.counts_per_inch));
    set(o, "degrees_per_count", fl_json_given(q->hand.recorded.degrees_per_count));
    set(o, "rules", rules);
    return o;
}
