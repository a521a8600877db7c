/* Which quantity's rule speaks for a game and condition, and which others do as well. */
#include <stdlib.h>
#include <string.h>

#include "maths/robust.h"
#include "study/curve/quantity_rank.h"
#include "study/curve/watched.h"
#include "study/rule/rule_select.h"

static bool named(const struct fl_session *s, const struct fl_rule *r)
{
    for (size_t i = 0; i < s->n_quantities; i++)
        if (s->quantities[i].quantity == r->quantity && !strcmp(s->quantities[i].game, r->game) &&
            !strcmp(s->quantities[i].verdict, "named"))
            return true;
    return false;
}

static double merit(const struct fl_session *s, const struct fl_rule *r)
{
    if (r->refused)
        return -1;
    return named(s, r) ? 2 : fl_known(r->agreement) ? r->agreement : r->agreement_fitted;
}

/* The share of seen time that no rule can be blamed for: a game switches with its rendered frames,
 * on average a quarter of one from where a rule in continuous time does, twice a lapse. */
static double blameless(const struct fl_rule *r)
{
    double frame = fl_known(r->kernel_ms) ? r->kernel_ms / 1000 : 0;
    return r->lapses * frame / 2 / (r->seen_on_s + r->seen_off_s);
}

/* Whether a is worse than b by no more than that, or than the standard error of the difference over
 * takes. */
static bool as_good(const struct fl_rule *a, const struct fl_rule *b)
{
    size_t n = a->n_wrong_share;
    if (n < 2 || n != b->n_wrong_share)
        return true; /* nothing to tell them apart by */
    double *d = FL_NEW(double, n);
    for (size_t i = 0; i < n; i++)
        d[i] = a->wrong_share[i] - b->wrong_share[i];
    bool good = !(fl_mean(d, n) > fmax(blameless(b), fl_sd(d, n) / sqrt((double)n)));
    free(d);
    return good;
}

/* Camera speed where it is as good: it is what people compare. */
void fl_rules_select(const struct fl_session *s, struct fl_rule *r, size_t n)
{
    struct fl_rule *lead = NULL, *camera = NULL;
    for (size_t i = 0; i < n; i++) {
        if (r[i].quantity == FL_CAMERA_SPEED)
            camera = &r[i];
        if (!lead || merit(s, &r[i]) > merit(s, lead))
            lead = &r[i];
    }
    bool free_choice = lead && (lead->refused || !named(s, lead));
    if (camera && free_choice && !camera->refused == !lead->refused && as_good(camera, lead))
        lead = camera;
    if (lead)
        lead->lead = true;
    for (size_t i = 0; lead && !lead->refused && i < n; i++)
        r[i].rival = &r[i] != lead && !r[i].refused && !named(s, lead) && as_good(&r[i], lead);
}
