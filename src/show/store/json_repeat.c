#include "show/store/json_repeat.h"

#include <math.h>

#include "show/store/fields.h"
#include "show/store/json_value.h"
#include "show/text/escape.h"
#include "study/compare/repeat.h"

static void set(json_t *object, const char *name, json_t *value)
{
    fl_json_set(object, name, value);
}

static json_t *take_json(const struct fl_repeat_take *t)
{
    json_t *o = json_object();
    set(o, "id", fl_json_text(t->take->spec.id));
    set(o, "flicks", json_integer(t->flicks));
    set(o, "trips", json_integer(t->trips));
    set(o, "v50", fl_json_figure5(t->v50));
    set(o, "v50_low", fl_json_figure5(t->v50_low));
    set(o, "v50_high", fl_json_figure5(t->v50_high));
    set(o, "v50_to_others", fl_json_figure5(t->v50_ratio));
    set(o, "v50_p", fl_json_figure5(t->v50_p));
    set(o, "v50_p_adjusted", fl_json_figure5(t->v50_p_adjusted));
    set(o, "off_share_standardised", fl_json_figure5(t->share));
    set(o, "off_share_of_others", fl_json_figure5(t->share_of_others));
    set(o, "off_share_p", fl_json_figure5(t->share_p));
    set(o, "off_share_p_adjusted", fl_json_figure5(t->share_p_adjusted));
    set(o, "stands_out", json_boolean(t->stands_out));
    set(o, "warning", fl_json_text(t->warning));
    return o;
}

static json_t *scatter_json(const struct fl_scatter *s)
{
    json_t *o = json_object();
    set(o, "takes", json_integer(s->takes));
    set(o, "sd", fl_json_figure5(s->sd));
    set(o, "low", fl_json_figure5(s->low));
    set(o, "high", fl_json_figure5(s->high));
    set(o, "df", fl_json_figure5(s->df));
    return o;
}

static double percent(double octaves)
{
    return 100 * (exp2(octaves) - 1);
}

static json_t *v50_json(const struct fl_repeat *r)
{
    json_t *o = scatter_json(&r->v50);
    set(o, "sd_percent", fl_json_figure5(percent(r->v50.sd)));
    set(o, "low_percent", fl_json_figure5(percent(r->v50.low)));
    set(o, "high_percent", fl_json_figure5(percent(r->v50.high)));
    set(o, "flicks_alone", fl_json_figure5(r->flick_error));
    set(o, "told_ratio", fl_json_figure5(r->told_ratio));
    return o;
}

static json_t *rate_json(const struct fl_repeat_rate *r)
{
    json_t *o = json_object(), *controls = json_array();
    for (size_t i = 0; i < r->controls; i++)
        fl_json_append(controls, fl_json_text(r->control[i]->spec.id));
    set(o, "controls", controls);
    set(o, "control_hz", fl_json_figure5(r->control_hz));
    set(o, "off_hz", fl_json_figure5(r->off_hz));
    set(o, "off_ratio", fl_json_figure5(r->off_ratio));
    set(o, "off_ratio_low", fl_json_figure5(r->off_low));
    set(o, "off_ratio_high", fl_json_figure5(r->off_high));
    set(o, "on_hz", fl_json_figure5(r->on_hz));
    set(o, "on_ratio", fl_json_figure5(r->on_ratio));
    set(o, "on_ratio_low", fl_json_figure5(r->on_low));
    set(o, "on_ratio_high", fl_json_figure5(r->on_high));
    set(o, "text", fl_json_text(r->text));
    return o;
}

static json_t *repeat_json(const struct fl_repeat *r)
{
    json_t *o = json_object(), *takes = json_array();
    for (size_t i = 0; i < r->n; i++)
        fl_json_append(takes, take_json(&r->takes[i]));
    set(o, "game", fl_json_text(r->game));
    set(o, "condition", fl_json_text(r->condition));
    set(o, "counts_per_inch", fl_json_given(r->counts_per_inch));
    set(o, "degrees_per_count", fl_json_given(r->degrees_per_count));
    set(o, "quantity", json_string(fl_quantity_info(r->quantity)->name));
    set(o, "unit", json_string(fl_quantity_info(r->quantity)->unit_label));
    set(o, "takes", takes);
    set(o, "v50_spread_octaves", v50_json(r));
    set(o, "off_share_spread", scatter_json(&r->share));
    set(o, "off_share_refused", fl_json_text(r->share_refused));
    set(o, "rates", rate_json(&r->rate));
    set(o, "stands_out", json_boolean(r->stands_out));
    set(o, "verdict", fl_json_text(r->verdict));
    return o;
}

json_t *fl_repeats_json(const struct fl_session *s)
{
    json_t *list = json_array();
    for (size_t i = 0; i < s->n_repeats; i++)
        fl_json_append(list, repeat_json(&s->repeats[i]));
    return list;
}
