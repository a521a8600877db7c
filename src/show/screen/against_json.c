/* The figures that against_screen.c prints, and those that it leaves out. */
#include "show/screen/against_screen.h"
#include "show/store/fields.h"
#include "show/store/json_value.h"
#include "study/curve/curve.h"

static void set(json_t *object, const char *name, json_t *value)
{
    fl_json_set(object, name, value);
}

static json_t *change_json(const struct fl_change *c, bool ratio)
{
    json_t *o = json_object();
    set(o, "before", fl_json_figure(c->before));
    set(o, "now", fl_json_figure(c->now));
    set(o, ratio ? "ratio" : "difference", fl_json_figure(c->change));
    set(o, "low", fl_json_figure(c->low));
    set(o, "high", fl_json_figure(c->high));
    set(o, "p", fl_json_figure(c->p));
    set(o, "p_adjusted", fl_json_figure(c->p_adjusted));
    set(o, "finding", json_string(fl_found_name(c->finding)));
    set(o, "unsure", fl_json_text(c->unsure));
    set(o, "refused", fl_json_text(c->refused));
    return o;
}

static json_t *v50_side_json(const struct fl_curve *c)
{
    if (!c)
        return json_null();
    json_t *o = json_object();
    set(o, "v50", fl_json_figure(c->v50));
    set(o, "v50_low", fl_json_figure(c->v50_low));
    set(o, "v50_high", fl_json_figure(c->v50_high));
    set(o, "bound", json_string(fl_bound_name(c->bound)));
    set(o, "bound_at", fl_json_figure(c->bound_at));
    set(o, "kernel_ms", fl_json_figure(c->kernel_ms));
    set(o, "flicks", json_integer(c->flicks));
    set(o, "trips", json_integer(c->trips));
    set(o, "takes", json_integer(c->takes));
    return o;
}

static json_t *v50_json(const struct fl_against_setting *s, const struct fl_against_v50 *v)
{
    json_t *o = change_json(&v->change, true);
    const struct fl_against_v50 *twin = &s->v50[v->twin];
    set(o, "before", v50_side_json(v->before));
    set(o, "now", v50_side_json(v->now));
    set(o, "quantity", json_string(fl_quantity_info(v->quantity)->name));
    set(o, "unit", json_string(fl_quantity_info(v->quantity)->unit_label));
    set(o, "same_test_as",
        twin == v ? json_null() : json_string(fl_quantity_info(twin->quantity)->name));
    return o;
}

static void set_cell(json_t *o, const struct fl_setting *c)
{
    set(o, "game", fl_json_text(c->game));
    set(o, "condition", fl_json_text(c->condition));
    set(o, "counts_per_inch", fl_json_given(c->counts_per_inch));
    set(o, "degrees_per_count", fl_json_given(c->degrees_per_count));
    set(o, "synthesis_disabled", json_boolean(c->control));
}

static json_t *takes_json(const struct fl_setting *c)
{
    json_t *list = json_array();
    for (size_t i = 0; i < c->n; i++)
        fl_json_append(list, fl_json_text(c->takes[i]->spec.id));
    return list;
}

static json_t *setting_json(const struct fl_against_setting *s)
{
    json_t *o = json_object(), *list = json_array();
    for (size_t i = 0; i < s->n_v50; i++)
        fl_json_append(list, v50_json(s, &s->v50[i]));
    set_cell(o, &s->now);
    set(o, "takes_before", takes_json(&s->before));
    set(o, "takes_now", takes_json(&s->now));
    set(o, "refused", fl_json_text(s->refused));
    set(o, "sentence", fl_json_text(s->sentence));
    set(o, "lead", s->lead ? json_string(fl_quantity_info(s->lead->quantity)->name) : json_null());
    set(o, "v50", list);
    set(o, "off_share_standardised", change_json(&s->off_share, false));
    set(o, "off_share_by",
        s->lead ? json_string(fl_quantity_info(s->off_share_by)->name) : json_null());
    set(o, "base_rate_on_hz", change_json(&s->base_on, true));
    set(o, "base_rate_off_hz", change_json(&s->base_off, true));
    set(o, "lapses_per_min", change_json(&s->lapses, false));
    return o;
}

static json_t *delay_side_json(const struct fl_delay *d)
{
    if (!d)
        return json_null();
    json_t *o = json_object();
    set(o, "quantity", json_string(fl_quantity_info(d->quantity)->name));
    set(o, "threshold", fl_json_figure(d->threshold));
    set(o, "switched", json_integer(d->switched));
    set(o, "median_s", fl_json_time(d->median_s));
    set(o, "median_low_s", fl_json_time(d->low_s));
    set(o, "median_high_s", fl_json_time(d->high_s));
    return o;
}

static json_t *delay_json(const struct fl_against_delay *d)
{
    json_t *o = json_object();
    set(o, "game", fl_json_text(d->game));
    set(o, "condition", fl_json_text(d->condition));
    set(o, "edge", json_string(d->trip ? "trip" : "return"));
    set(o, "before", delay_side_json(d->before));
    set(o, "now", delay_side_json(d->now));
    set(o, "difference_s", fl_json_time(d->change.change));
    set(o, "method", fl_json_text(d->method));
    set(o, "p", fl_json_figure(d->change.p));
    set(o, "p_adjusted", fl_json_figure(d->change.p_adjusted));
    set(o, "finding", json_string(fl_found_name(d->change.finding)));
    set(o, "unsure", fl_json_text(d->change.unsure));
    set(o, "refused", fl_json_text(d->change.refused));
    return o;
}

static json_t *cells_json(const struct fl_setting *cells, size_t n)
{
    json_t *list = json_array();
    for (size_t i = 0; i < n; i++) {
        json_t *o = json_object();
        set_cell(o, &cells[i]);
        set(o, "takes", takes_json(&cells[i]));
        fl_json_append(list, o);
    }
    return list;
}

static json_t *side_json(const struct fl_session *s)
{
    json_t *o = json_object(), *failed = json_array();
    set(o, "session", fl_json_text(s ? s->name : NULL));
    set(o, "takes", json_integer(s ? (json_int_t)s->n_takes : 0));
    for (size_t i = 0; s && i < s->n_failed; i++)
        fl_json_append(failed, json_pack("{s: o, s: o}", "id", fl_json_text(s->failed[i].id),
                                         "text", fl_json_text(s->failed[i].text)));
    set(o, "failed", failed);
    return o;
}

json_t *fl_against_json(const struct fl_against_side *before, const struct fl_against_side *now,
                        const struct fl_against *a)
{
    json_t *o = json_pack("{s: s, s: i}", "format", "flinch-against", "version", 1);
    json_t *settings = json_array(), *delays = json_array();
    for (size_t i = 0; i < a->n; i++)
        fl_json_append(settings, setting_json(&a->setting[i]));
    for (size_t i = 0; i < a->n_delays; i++)
        fl_json_append(delays, delay_json(&a->delay[i]));
    set(o, "flinch_version", json_string(FLINCH_VERSION));
    set(o, "refused", fl_json_text(a->refused));
    set(o, "before", side_json(before->session));
    set(o, "now", side_json(now->session));
    set(o, "settings", settings);
    set(o, "delays", delays);
    set(o, "only_before", cells_json(a->only_before, a->n_only_before));
    set(o, "only_now", cells_json(a->only_now, a->n_only_now));
    set(o, "tests", json_integer(a->tests));
    return o;
}
