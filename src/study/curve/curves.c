/* All curves of a session, quantity by quantity. */
#include "study/curve/curves.h"

#include <string.h>

#include "study/curve/curve_fit.h"
#include "study/curve/curve_words.h"
#include "study/curve/setting.h"

/* The settings that have a quantity, controls aside. */
struct measured {
    const struct fl_setting **setting;
    struct fl_curve_takes *takes;
    size_t n;
};

static struct measured measured_in(struct fl_session *s, enum fl_quantity q,
                                   const struct fl_setting *settings, size_t n)
{
    struct measured m = {FL_ARENA(s->arena, const struct fl_setting *, n + 1),
                         FL_ARENA(s->arena, struct fl_curve_takes, n + 1), 0};
    for (size_t i = 0; i < n; i++) {
        if (settings[i].control || !fl_setting_measured(&settings[i], q))
            continue;
        m.setting[m.n] = &settings[i];
        m.takes[m.n++] = (struct fl_curve_takes){settings[i].takes, settings[i].n};
    }
    return m;
}

static void name(struct fl_curve *c, const struct fl_setting *of)
{
    c->game = of->game;
    c->condition = of->condition;
    c->counts_per_inch = of->counts_per_inch;
    c->degrees_per_count = of->degrees_per_count;
    c->degrees_found = of->degrees_found;
}

static bool one_group(const struct fl_setting *a, const struct fl_setting *b)
{
    return !strcmp(a->game, b->game) && !strcmp(a->condition, b->condition);
}

/* The first setting of its game and condition. */
static bool opens(const struct fl_setting *settings, size_t i)
{
    for (size_t k = 0; k < i; k++)
        if (!settings[k].control && one_group(&settings[k], &settings[i]))
            return false;
    return !settings[i].control;
}

static bool same_group(const struct fl_curve *c, const struct fl_setting *s)
{
    return !strcmp(c->game, s->game) && !strcmp(c->condition, s->condition);
}

/* A pooled curve keeps what all that it pools have in common. */
static void name_pooled(struct fl_curve *c, const struct measured *m, const size_t *members,
                        size_t n)
{
    name(c, m->setting[members[0]]);
    c->pooled = true;
    for (size_t i = 1; i < n; i++) {
        const struct fl_setting *other = m->setting[members[i]];
        if (!fl_same_number(other->counts_per_inch, c->counts_per_inch))
            c->counts_per_inch = FL_UNKNOWN;
        if (!fl_same_number(other->degrees_per_count, c->degrees_per_count))
            c->degrees_per_count = FL_UNKNOWN;
        c->degrees_found = c->degrees_found && other->degrees_found;
    }
}

/* One quantity: a curve a setting, and one a game and condition. */
struct of_quantity {
    struct measured m;
    struct fl_curve *curve, *pooled;
    size_t n_pooled;
};

/* Members of the group that setting i opens; 0 when it opens none. */
static size_t group_of(const struct measured *m, size_t i, size_t *members)
{
    size_t n = 0;
    for (size_t k = 0; k < m->n; k++) {
        if (!one_group(m->setting[i], m->setting[k]))
            continue;
        if (k < i)
            return 0;
        members[n++] = k;
    }
    return n;
}

static void fit(struct of_quantity *out, struct fl_session *s, enum fl_quantity q,
                const struct fl_hierarchy_prior *prior)
{
    const struct measured *m = &out->m;
    size_t *members = FL_ARENA(s->arena, size_t, m->n + 1);
    out->curve = FL_ARENA(s->arena, struct fl_curve, m->n + 1);
    out->pooled = FL_ARENA(s->arena, struct fl_curve, m->n + 1);
    struct fl_curve_fit *f = fl_curve_fit_new(out->curve, m->takes, m->n, q, prior, s->arena);
    for (size_t i = 0; i < m->n; i++) {
        size_t n = group_of(m, i, members);
        name(&out->curve[i], m->setting[i]);
        if (!n)
            continue;
        fl_curve_fit_pool(f, &out->pooled[out->n_pooled], members, n);
        name_pooled(&out->pooled[out->n_pooled++], m, members, n);
    }
    fl_curve_fit_free(&f);
}

static void list(struct fl_session *s, const struct fl_curve *c)
{
    struct fl_curve *out = &s->curves[s->n_curves++];
    *out = *c;
    out->evidence = fl_curve_evidence(out, s->arena);
    out->stray_note = fl_stray_note(out, s->arena);
}

/* Setting by setting, and within each in the order of the quantities. */
static void list_all(struct fl_session *s, const struct of_quantity *of,
                     const struct fl_setting *settings, size_t n)
{
    for (size_t i = 0; i < n; i++)
        for (int q = 0; q < FL_QUANTITIES; q++)
            for (size_t k = 0; k < of[q].m.n; k++)
                if (of[q].m.setting[k] == &settings[i])
                    list(s, &of[q].curve[k]);
    for (size_t i = 0; i < n; i++)
        for (int q = 0; q < FL_QUANTITIES; q++)
            for (size_t k = 0; k < of[q].n_pooled; k++)
                if (opens(settings, i) && same_group(&of[q].pooled[k], &settings[i]))
                    list(s, &of[q].pooled[k]);
}

void fl_study_curves_with(struct fl_session *s, const struct fl_hierarchy_prior *prior)
{
    struct fl_setting *settings;
    struct of_quantity of[FL_QUANTITIES] = {0};
    size_t n = fl_settings(s, false, &settings);
    s->curves = FL_NEW(struct fl_curve, 2 * s->n_takes * FL_QUANTITIES + 1);
    for (int q = 0; q < FL_QUANTITIES; q++) {
        of[q].m = measured_in(s, q, settings, n);
        fit(&of[q], s, q, prior);
    }
    list_all(s, of, settings, n);
}

void fl_study_curves(struct fl_session *s)
{
    fl_study_curves_with(s, &(struct fl_hierarchy_prior){FL_SPREAD_SCALE, NULL, false});
}
