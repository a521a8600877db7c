#include "show/store/json.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/mem.h"
#include "show/store/fields.h"
#include "show/store/json_repeat.h"
#include "show/store/json_rule.h"
#include "show/store/json_value.h"
#include "show/store/take_fields.h"
#include "show/text/escape.h"
#include "study/compare/comparison.h"
#include "study/compare/rank.h"
#include "study/curve/curve.h"
#include "study/curve/quantity_rank.h"
#include "study/curve/watched.h"

static void set(json_t *object, const char *name, json_t *value)
{
    fl_json_set(object, name, value);
}

static json_t *fields_json(const void *base, const struct fl_field *table)
{
    json_t *object = json_object();
    fl_fields_write(object, base, table);
    return object;
}

/* A refused clock has no figures: whatever the fit left in them is not to be used. */
static void hide_refused(struct fl_clock *c)
{
    if (!c->known)
        c->offset_s = c->drift_ppm = c->residual_ms = c->error_ms = c->gain_x = c->gain_y =
            FL_UNKNOWN;
    if (!c->known || !fl_known(c->off_minus_on_ms))
        c->off_minus_on_ms = c->off_minus_on_low_ms = c->off_minus_on_high_ms = FL_UNKNOWN;
}

json_t *fl_take_json(const struct fl_take *t)
{
    struct fl_take shown = *t;
    hide_refused(&shown.clock);
    return fl_document_json(&fl_take_document, &shown);
}

static json_t *warnings_json(const struct fl_take *t)
{
    json_t *list = json_array();
    for (size_t i = 0; i < t->n_warnings; i++)
        fl_json_append(list, fields_json(&t->warnings[i], fl_warning_fields));
    return list;
}

static json_t *summary_json(const struct fl_take *t)
{
    json_t *take = json_object();
    fl_fields_write(take, &t->spec, fl_identity_fields);
    set(take, "file", json_sprintf("takes/%s.json", t->spec.id));
    set(take, "synthesis_disabled", json_boolean(t->spec.synthesis_disabled));
    set(take, "duration_s", fl_json_time(t->duration_s));
    set(take, "base_rate_on_hz", fl_json_figure(t->states.base_rate_on_hz));
    set(take, "base_rate_off_hz", fl_json_figure(t->states.base_rate_off_hz));
    set(take, "visible_floor_deg_s", fl_json_figure(t->visible_floor_deg_s));
    set(take, "clock_known", json_boolean(t->clock.known));
    set(take, "lapses", json_integer((json_int_t)t->states.n_lapses));
    set(take, "flicks", json_integer((json_int_t)t->n_flicks));
    set(take, "exposure", fields_json(&t->exposure, fl_exposure_fields));
    set(take, "smoothness", fields_json(&t->smoothness, fl_smoothness_fields));
    set(take, "pacing", fields_json(&t->pacing, fl_pacing_fields));
    set(take, "warnings", warnings_json(t));
    return take;
}

static void set_setting(json_t *object, const struct fl_curve *c)
{
    set(object, "condition", fl_json_text(c->condition));
    set(object, "counts_per_inch", fl_json_given(c->counts_per_inch));
    set(object, "degrees_per_count", fl_json_given(c->degrees_per_count));
}

static void set_v50(json_t *object, const struct fl_curve *c)
{
    set(object, "v50", fl_json_figure5(c->v50));
    set(object, "v50_low", fl_json_figure5(c->v50_low));
    set(object, "v50_high", fl_json_figure5(c->v50_high));
    set(object, "bound", json_string(fl_bound_name(c->bound)));
    set(object, "bound_at", fl_json_figure5(c->bound_at));
}

static json_t *stray_json(const struct fl_curve *c)
{
    json_t *o = json_object(), *list = json_array();
    set(o, "shown", json_boolean(c->stray_shown));
    set(o, "rate", fl_json_figure5(c->stray_rate));
    set(o, "gain", fl_json_figure5(c->stray_gain));
    set(o, "other_v50", fl_json_figure5(c->other_v50));
    set(o, "other_low", fl_json_figure5(c->other_low));
    set(o, "other_high", fl_json_figure5(c->other_high));
    for (int i = 0; i < c->flicks; i++)
        if (c->points[i].stray)
            fl_json_append(list, json_pack("{s: o, s: o, s: o, s: b}", "take",
                                           fl_json_text(c->points[i].take->spec.id), "start_s",
                                           fl_json_time(c->points[i].start_s), "peak",
                                           fl_json_figure5(c->points[i].v), "tripped",
                                           c->points[i].tripped));
    set(o, "flicks", list);
    set(o, "note", fl_json_text(c->stray_note));
    return o;
}

static json_t *curve_json(const struct fl_curve *c)
{
    json_t *curve = json_object();
    set(curve, "game", fl_json_text(c->game));
    set_setting(curve, c);
    set(curve, "pooled", json_boolean(c->pooled));
    set(curve, "quantity", json_string(fl_quantity_info(c->quantity)->name));
    set(curve, "unit", json_string(fl_quantity_info(c->quantity)->unit_label));
    set(curve, "kernel_ms", fl_json_figure(c->kernel_ms));
    set_v50(curve, c);
    set(curve, "v10", fl_json_figure5(c->v10));
    set(curve, "v90", fl_json_figure5(c->v90));
    set(curve, "slope", fl_json_figure5(c->slope));
    set(curve, "alpha", fl_json_figure5(c->alpha));
    set(curve, "beta", fl_json_figure5(c->beta));
    set(curve, "held_max", fl_json_figure5(c->held_max));
    set(curve, "tripped_min", fl_json_figure5(c->tripped_min));
    set(curve, "separated", json_boolean(c->separated));
    set(curve, "flicks", json_integer(c->flicks));
    set(curve, "trips", json_integer(c->trips));
    set(curve, "not_fitted", json_integer(c->not_fitted));
    set(curve, "not_fitted_unknown_risk", json_integer(c->not_fitted_unknown_risk));
    set(curve, "not_fitted_no_risk", json_integer(c->not_fitted_no_risk));
    set(curve, "not_fitted_no_outcome", json_integer(c->not_fitted_no_outcome));
    set(curve, "not_fitted_no_value", json_integer(c->not_fitted_no_value));
    set(curve, "takes", json_integer(c->takes));
    set(curve, "interval_method", fl_json_text(c->interval_method));
    set(curve, "stray", stray_json(c));
    set(curve, "evidence", fl_json_text(c->evidence));
    return curve;
}

static json_t *side_json(const struct fl_curve *c, double off_share)
{
    json_t *side = json_object();
    set_setting(side, c);
    set_v50(side, c);
    set(side, "off_share_standardised", fl_json_figure5(off_share));
    return side;
}

static json_t *comparison_json(const struct fl_comparison *c)
{
    json_t *o = json_object();
    set(o, "game", fl_json_text(c->game));
    set(o, "differ_in", json_string(fl_pair_name(c->pair)));
    set(o, "a", side_json(c->a, c->off_share_a));
    set(o, "b", side_json(c->b, c->off_share_b));
    set(o, "quantity", json_string(fl_quantity_info(c->quantity)->name));
    set(o, "unit", json_string(fl_quantity_info(c->quantity)->unit_label));
    set(o, "ratio", fl_json_figure5(c->ratio));
    set(o, "low", fl_json_figure5(c->low));
    set(o, "high", fl_json_figure5(c->high));
    set(o, "p", fl_json_figure5(c->p));
    set(o, "p_adjusted", fl_json_figure5(c->p_adjusted));
    set(o, "held", fl_json_text(c->held));
    set(o, "off_share_refused", fl_json_text(c->off_share_refused));
    set(o, "verdict", fl_json_text(c->verdict));
    return o;
}

static json_t *quantity_json(const struct fl_quantity_rank *q)
{
    json_t *o = json_object();
    set(o, "game", fl_json_text(q->game));
    set(o, "quantity", json_string(fl_quantity_info(q->quantity)->name));
    set(o, "deviance_explained", fl_json_figure5(q->deviance_explained));
    set(o, "auc", fl_json_figure5(q->auc));
    set(o, "left_out_deviance", fl_json_figure5(q->left_out_deviance));
    set(o, "against",
        q->against < FL_QUANTITIES ? json_string(fl_quantity_info(q->against)->name) : json_null());
    set(o, "lead", fl_json_figure5(q->lead));
    set(o, "lead_se", fl_json_figure5(q->lead_se));
    set(o, "agreement_p", fl_json_figure5(q->agreement_p));
    set(o, "ratios", json_integer(q->ratios));
    set(o, "ratio_low", fl_json_figure5(q->ratio_low));
    set(o, "ratio_high", fl_json_figure5(q->ratio_high));
    set(o, "stands", json_boolean(q->stands));
    set(o, "verdict", fl_json_text(q->verdict));
    set(o, "to_record", fl_json_text(q->to_record));
    return o;
}

static json_t *rank_json(const struct fl_rank *r)
{
    json_t *o = json_object();
    set(o, "game", fl_json_text(r->game));
    set(o, "condition", fl_json_text(r->condition));
    set(o, "control", json_boolean(r->control));
    set(o, "quantity",
        r->curve ? json_string(fl_quantity_info(r->curve->quantity)->name) : json_null());
    if (r->curve)
        set_v50(o, r->curve);
    set(o, "off_share", fl_json_figure5(r->off_share));
    set(o, "off_share_low", fl_json_figure5(r->off_share_low));
    set(o, "off_share_high", fl_json_figure5(r->off_share_high));
    set(o, "off_share_standardised", json_boolean(r->standardised));
    return o;
}

json_t *fl_session_json(const struct fl_session *s)
{
    json_t *session =
        json_pack("{s: s, s: i}", "format", FL_SESSION_FORMAT, "version", FL_SESSION_VERSION);
    json_t *takes = json_array(), *curves = json_array(), *comparisons = json_array();
    json_t *quantities = json_array(), *ranks = json_array(), *failed = json_array();
    for (size_t i = 0; i < s->n_takes; i++)
        fl_json_append(takes, summary_json(s->takes[i]));
    for (size_t i = 0; i < s->n_curves; i++)
        fl_json_append(curves, curve_json(&s->curves[i]));
    for (size_t i = 0; i < s->n_comparisons; i++)
        fl_json_append(comparisons, comparison_json(&s->comparisons[i]));
    for (size_t i = 0; i < s->n_quantities; i++)
        fl_json_append(quantities, quantity_json(&s->quantities[i]));
    for (size_t i = 0; i < s->n_ranks; i++)
        fl_json_append(ranks, rank_json(&s->ranks[i]));
    for (size_t i = 0; i < s->n_failed; i++)
        fl_json_append(failed, json_pack("{s: o, s: o}", "id", fl_json_text(s->failed[i].id),
                                         "text", fl_json_text(s->failed[i].text)));
    set(session, "flinch_version", json_string(FLINCH_VERSION));
    set(session, "session", fl_json_text(s->name));
    set(session, "takes", takes);
    set(session, "curves", curves);
    set(session, "comparisons", comparisons);
    set(session, "quantities", quantities);
    set(session, "ranking", ranks);
    set(session, "rules", fl_rules_json(s));
    set(session, "delays", fl_delays_json(s));
    set(session, "delay_comparisons", fl_delay_comparisons_json(s));
    set(session, "repeatability", fl_repeats_json(s));
    set(session, "failed", failed);
    return session;
}

/* Takes ownership of value. */
static enum flinch_code write_json(json_t *value, const char *path, struct fl_error *err)
{
    struct fl_file file;
    enum flinch_code code = fl_file_begin(&file, path, err);
    if (!code) {
        /* Figures are rounded before; 15 digits print them as they were meant. */
        fl_json_put(file.stream, value, JSON_INDENT(1) | JSON_REAL_PRECISION(15));
        code = fl_file_commit(&file, err);
    } else {
        json_decref(value);
    }
    return code;
}

static enum flinch_code write_take(const char *folder, const struct fl_take *t,
                                   const struct fl_show_settings *settings, struct fl_error *err)
{
    (void)settings;
    char *takes = fl_path_join(folder, "takes"), *name = fl_format("%s.json", t->spec.id);
    char *path = fl_path_join(takes, name);
    enum flinch_code code = fl_make_folder(takes, err);
    if (!code)
        code = write_json(fl_take_json(t), path, err);
    free(path);
    free(name);
    free(takes);
    return code;
}

static enum flinch_code write_session(const char *folder, const struct fl_session *s,
                                      const struct fl_show_settings *settings, struct fl_error *err)
{
    (void)settings;
    char *path = fl_path_join(folder, "session.json");
    enum flinch_code code = write_json(fl_session_json(s), path, err);
    free(path);
    return code;
}

const struct fl_writer fl_json_writer = {"json", write_take, write_session};
