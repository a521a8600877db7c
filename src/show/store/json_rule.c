#include "show/store/json_rule.h"

#include "show/store/fields.h"
#include "show/store/json_value.h"
#include "study/compare/comparison.h"
#include "study/rule/delay.h"
#include "study/rule/rule.h"

static void set(json_t *object, const char *name, json_t *value)
{
    fl_json_set(object, name, value);
}

static json_t *misses_json(const struct fl_rule_miss *m, size_t n)
{
    json_t *list = json_array();
    for (size_t i = 0; i < n; i++) {
        json_t *o = json_object();
        set(o, "take", fl_json_text(m[i].take->spec.id));
        set(o, "start_s", fl_json_time(m[i].start_s));
        set(o, "end_s", fl_json_time(m[i].end_s));
        set(o, "flick_start_s", fl_json_time(m[i].flick_start_s));
        set(o, "peak", fl_json_figure(m[i].peak));
        fl_json_append(list, o);
    }
    return list;
}

static void set_parameters(json_t *o, const struct fl_rule *r)
{
    set(o, "theta_off", fl_json_figure(r->fit.theta_off));
    set(o, "theta_off_low", fl_json_figure(r->low.theta_off));
    set(o, "theta_off_high", fl_json_figure(r->high.theta_off));
    set(o, "theta_on", fl_json_figure(r->fit.theta_on));
    set(o, "theta_on_low", fl_json_figure(r->low.theta_on));
    set(o, "theta_on_high", fl_json_figure(r->high.theta_on));
    set(o, "d_off_s", fl_json_time(r->fit.d_off_s));
    set(o, "d_off_low_s", fl_json_time(r->low.d_off_s));
    set(o, "d_off_high_s", fl_json_time(r->high.d_off_s));
    set(o, "d_on_s", fl_json_time(r->fit.d_on_s));
    set(o, "d_on_low_s", fl_json_time(r->low.d_on_s));
    set(o, "d_on_high_s", fl_json_time(r->high.d_on_s));
    set(o, "interval_method", fl_json_text(r->interval_method));
}

static json_t *rule_json(const struct fl_rule *r)
{
    json_t *o = json_object();
    set(o, "game", fl_json_text(r->game));
    set(o, "condition", fl_json_text(r->condition));
    set(o, "quantity", json_string(fl_quantity_info(r->quantity)->name));
    set(o, "unit", json_string(fl_quantity_info(r->quantity)->unit_label));
    set(o, "kernel_ms", fl_json_figure(r->kernel_ms));
    set(o, "lead", json_boolean(r->lead));
    set(o, "rival", json_boolean(r->rival));
    set(o, "refused", fl_json_text(r->refused));
    set_parameters(o, r);
    set(o, "takes", json_integer(r->takes));
    set(o, "lapses", json_integer(r->lapses));
    set(o, "seen_on_s", fl_json_time(r->seen_on_s));
    set(o, "seen_off_s", fl_json_time(r->seen_off_s));
    set(o, "agreement", fl_json_figure(r->agreement));
    set(o, "agreement_fitted", fl_json_figure(r->agreement_fitted));
    set(o, "agreement_always_on", fl_json_figure(r->agreement_always_on));
    set(o, "explained_off_share", fl_json_figure(r->explained_off_share));
    set(o, "false_off_share", fl_json_figure(r->false_off_share));
    set(o, "unexplained", misses_json(r->unexplained, r->n_unexplained));
    set(o, "should_have_tripped", misses_json(r->held, r->n_held));
    return o;
}

json_t *fl_rules_json(const struct fl_session *s)
{
    json_t *list = json_array();
    for (size_t i = 0; i < s->n_rules; i++)
        fl_json_append(list, rule_json(&s->rules[i]));
    return list;
}

static const char *edge_name(const struct fl_delay *d)
{
    return d->trip ? "trip" : "return";
}

static json_t *delay_json(const struct fl_delay *d)
{
    json_t *o = json_object();
    set(o, "game", fl_json_text(d->game));
    set(o, "condition", fl_json_text(d->condition));
    set(o, "edge", json_string(edge_name(d)));
    set(o, "quantity", json_string(fl_quantity_info(d->quantity)->name));
    set(o, "unit", json_string(fl_quantity_info(d->quantity)->unit_label));
    set(o, "threshold", fl_json_figure(d->threshold));
    set(o, "switched", json_integer(d->switched));
    set(o, "crossed_back", json_integer(d->left));
    set(o, "censored", json_integer(d->censored));
    set(o, "unmatched", json_integer(d->unmatched));
    set(o, "method", fl_json_text(d->method));
    set(o, "median_s", fl_json_time(d->median_s));
    set(o, "median_low_s", fl_json_time(d->low_s));
    set(o, "median_high_s", fl_json_time(d->high_s));
    set(o, "interval_method", fl_json_text(d->interval_method));
    set(o, "crossed_back_share", fl_json_figure(d->left_share));
    return o;
}

json_t *fl_delays_json(const struct fl_session *s)
{
    json_t *list = json_array();
    for (size_t i = 0; i < s->n_delays; i++)
        fl_json_append(list, delay_json(&s->delays[i]));
    return list;
}

static json_t *comparison_json(const struct fl_delay_comparison *c)
{
    json_t *o = json_object();
    set(o, "game", fl_json_text(c->a->game));
    set(o, "edge", json_string(edge_name(c->a)));
    set(o, "a", fl_json_text(c->a->condition));
    set(o, "b", fl_json_text(c->b->condition));
    set(o, "method", fl_json_text(c->method));
    set(o, "chi2", fl_json_figure(c->chi2));
    set(o, "p", fl_json_figure(c->p));
    set(o, "p_adjusted", fl_json_figure(c->p_adjusted));
    set(o, "verdict", fl_json_text(c->verdict));
    return o;
}

json_t *fl_delay_comparisons_json(const struct fl_session *s)
{
    json_t *list = json_array();
    for (size_t i = 0; i < s->n_delay_comparisons; i++)
        fl_json_append(list, comparison_json(&s->delay_comparisons[i]));
    return list;
}
