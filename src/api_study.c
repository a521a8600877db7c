/* What a study found beside the curves, for users of the public library. */
#include "api.h"
#include "study/compare/comparison.h"
#include "study/rule/delay.h"
#include "study/rule/rule.h"

size_t flinch_session_rule_count(const flinch_session *session)
{
    return session ? session->session->n_rules : 0;
}

bool flinch_session_rule(const flinch_session *session, size_t index, struct flinch_rule *out)
{
    static const struct flinch_estimate none = {NAN, NAN, NAN};
    if (!out || index >= flinch_session_rule_count(session))
        return false;
    const struct fl_rule *r = &session->session->rules[index];
    *out = (struct flinch_rule){.game = r->game,
                                .condition = r->condition,
                                .quantity = (enum flinch_quantity)r->quantity,
                                .refused = r->refused,
                                .off_above = none,
                                .on_below = none,
                                .off_after_s = none,
                                .on_after_s = none,
                                .agreement = NAN};
    if (r->refused)
        return true;
    const struct fl_cutoff *fit = &r->fit, *low = &r->low, *high = &r->high;
    out->off_above = (struct flinch_estimate){fit->theta_off, low->theta_off, high->theta_off};
    out->on_below = (struct flinch_estimate){fit->theta_on, low->theta_on, high->theta_on};
    out->off_after_s = (struct flinch_estimate){fit->d_off_s, low->d_off_s, high->d_off_s};
    out->on_after_s = (struct flinch_estimate){fit->d_on_s, low->d_on_s, high->d_on_s};
    out->agreement = r->agreement;
    out->takes = r->takes;
    out->lapses = r->lapses;
    out->lead = r->lead;
    out->rival = r->rival;
    return true;
}

size_t flinch_session_delay_count(const flinch_session *session)
{
    return session ? session->session->n_delays : 0;
}

bool flinch_session_delay(const flinch_session *session, size_t index, struct flinch_delay *out)
{
    if (!out || index >= flinch_session_delay_count(session))
        return false;
    const struct fl_delay *d = &session->session->delays[index];
    *out = (struct flinch_delay){.game = d->game,
                                 .condition = d->condition,
                                 .trip = d->trip,
                                 .quantity = (enum flinch_quantity)d->quantity,
                                 .threshold = d->threshold,
                                 .median_s = {d->median_s, d->low_s, d->high_s},
                                 .switched = d->switched,
                                 .censored = d->censored};
    return true;
}

size_t flinch_session_comparison_count(const flinch_session *session)
{
    return session ? session->session->n_comparisons : 0;
}

bool flinch_session_comparison(const flinch_session *session, size_t index,
                               struct flinch_comparison *out)
{
    if (!out || index >= flinch_session_comparison_count(session))
        return false;
    const struct fl_session *s = session->session;
    const struct fl_comparison *c = &s->comparisons[index];
    *out = (struct flinch_comparison){.game = c->game,
                                      .differ_in = fl_pair_name(c->pair),
                                      .quantity = (enum flinch_quantity)c->quantity,
                                      .a = (size_t)(c->a - s->curves),
                                      .b = (size_t)(c->b - s->curves),
                                      .ratio = {c->ratio, c->low, c->high},
                                      .p = c->p,
                                      .p_adjusted = c->p_adjusted,
                                      .verdict = c->verdict};
    return true;
}
