/* Pairs the settings of each game that differ in one thing, and tests their ratio of V50. */
#include "study/compare/comparisons.h"

#include <stdlib.h>
#include <string.h>

#include "maths/interval.h"
#include "study/compare/setting_curve.h"
#include "study/compare/standard_share.h"
#include "study/compare/verdict.h"
#include "study/curve/contrast.h"
#include "study/curve/curve.h"
#include "study/curve/setting_gain.h"

#define HELD_WITHIN 0.02

static enum fl_pair pair_of(const struct fl_curve *a, const struct fl_curve *b)
{
    if (a->pooled || b->pooled || a->quantity != b->quantity || strcmp(a->game, b->game))
        return FL_PAIR_NONE;
    bool one_condition = !strcmp(a->condition, b->condition);
    bool one_resolution = fl_same_number(a->counts_per_inch, b->counts_per_inch);
    bool one_sensitivity = fl_same_number(a->degrees_per_count, b->degrees_per_count);
    if (one_condition && !one_resolution && fl_known(a->counts_per_inch) &&
        fl_known(b->counts_per_inch))
        return FL_PAIR_RESOLUTION;
    if (one_condition && one_resolution && !one_sensitivity && fl_known(a->degrees_per_count) &&
        fl_known(b->degrees_per_count))
        return FL_PAIR_SENSITIVITY;
    if (!one_condition && one_resolution && one_sensitivity)
        return FL_PAIR_CONDITION;
    return FL_PAIR_NONE;
}

static bool within(double a, double b, double most)
{
    return fabs(a / b - 1) <= most; /* false for NaN */
}

static const char *held(const struct fl_curve *a, const struct fl_curve *b)
{
    const double most = a->degrees_found || b->degrees_found ? FL_GAIN_WITHIN : HELD_WITHIN;
    if (within(a->degrees_per_count, b->degrees_per_count, most))
        return "degrees_per_count";
    if (within(a->degrees_per_count * a->counts_per_inch, b->degrees_per_count * b->counts_per_inch,
               most))
        return "degrees_per_cm";
    return NULL;
}

static struct fl_share_group takes_of(struct fl_session *s, const struct fl_curve *c,
                                      const char *name)
{
    struct fl_setting *settings;
    size_t n = fl_settings(s, false, &settings);
    for (size_t i = 0; i < n; i++)
        if (!settings[i].control && fl_setting_of_curve(&settings[i], c))
            return (struct fl_share_group){
                .name = name, .takes = settings[i].takes, .n = settings[i].n};
    return (struct fl_share_group){.name = name};
}

static void share(struct fl_session *s, struct fl_comparison *c, enum fl_pair pair)
{
    struct fl_share_group g[2] = {takes_of(s, c->a, fl_verdict_at(s->arena, pair, c->a)),
                                  takes_of(s, c->b, fl_verdict_at(s->arena, pair, c->b))};
    enum fl_quantity by = pair == FL_PAIR_RESOLUTION ? FL_HAND_SPEED : FL_CAMERA_SPEED;
    c->off_share_refused = fl_standardise_shares(g, 2, by, s->arena);
    c->off_share_a = g[0].share;
    c->off_share_b = g[1].share;
}

static void compare(struct fl_session *s, struct fl_comparison *c, const struct fl_curve *a,
                    const struct fl_curve *b, enum fl_pair pair)
{
    struct fl_contrast contrast;
    fl_contrast_v50(&contrast, a, b);
    *c = (struct fl_comparison){.game = a->game,
                                .a = a,
                                .b = b,
                                .quantity = a->quantity,
                                .ratio = contrast.ratio,
                                .low = contrast.low,
                                .high = contrast.high,
                                .p = contrast.p,
                                .p_adjusted = contrast.p,
                                .pair = pair,
                                .held = held(a, b)};
    if (!fl_known(c->ratio))
        fl_contrast_bounds(&c->low, &c->high, a, b);
    share(s, c, pair);
}

static void adjust(struct fl_session *s)
{
    double *p = FL_NEW(double, s->n_comparisons + 1);
    for (size_t i = 0; i < s->n_comparisons; i++)
        p[i] = s->comparisons[i].p;
    fl_holm(p, s->n_comparisons);
    for (size_t i = 0; i < s->n_comparisons; i++)
        s->comparisons[i].p_adjusted = p[i];
    free(p);
}

void fl_study_comparisons(struct fl_session *s)
{
    size_t cap = 0;
    for (size_t i = 0; i < s->n_curves; i++)
        for (size_t j = i + 1; j < s->n_curves; j++) {
            enum fl_pair pair = pair_of(&s->curves[i], &s->curves[j]);
            if (!pair)
                continue;
            struct fl_comparison c;
            compare(s, &c, &s->curves[i], &s->curves[j], pair);
            FL_PUSH(s->comparisons, s->n_comparisons, cap, c);
        }
    adjust(s);
    for (size_t i = 0; i < s->n_comparisons; i++) {
        struct fl_comparison *c = &s->comparisons[i];
        c->verdict = fl_verdict(s->arena, c);
    }
}
