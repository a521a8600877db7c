/* A ladder of mouse settings, each put through a rule. */
#include "study/rule/what_if.h"

#include <stdlib.h>
#include <string.h>

#include "study/curve/setting.h"

enum { MOST_RESOLUTIONS = 32 };

static bool of_rule(const struct fl_take *t, const struct fl_rule *r)
{
    return !strcmp(t->spec.game, r->game) && !strcmp(t->spec.condition, r->condition);
}

/* A take that says how the game shows a turn. */
static const struct fl_take *view(const struct fl_session *s, const struct fl_rule *r)
{
    for (size_t i = 0; i < s->n_takes; i++) {
        const struct fl_take *t = s->takes[i];
        if (of_rule(t, r) && t->width > 0 && t->spec.horizontal_fov_deg > 0 &&
            t->states.base_rate_on_hz > 0)
            return t;
    }
    return NULL;
}

/* ---- resolutions ---- */

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Without the recorded one, ascending, each once. */
static size_t resolutions(double *cpi, const struct fl_session *s, const struct fl_rule *r,
                          double recorded)
{
    static const double usual[] = {400, 800, 1600, 3200};
    size_t n = 0, kept = 0;
    for (size_t i = 0; i < sizeof usual / sizeof *usual; i++)
        cpi[n++] = usual[i];
    for (size_t i = 0; i < s->n_takes && n < MOST_RESOLUTIONS; i++)
        if (of_rule(s->takes[i], r) && s->takes[i]->spec.counts_per_inch > 0)
            cpi[n++] = s->takes[i]->spec.counts_per_inch;
    qsort(cpi, n, sizeof *cpi, ascending);
    for (size_t i = 0; i < n; i++)
        if (!fl_same_number(cpi[i], recorded) && !(kept && fl_same_number(cpi[i], cpi[kept - 1])))
            cpi[kept++] = cpi[i];
    return kept;
}

/* ---- rows ---- */

struct table {
    struct fl_what_if *v;
    size_t n, cap;
    const struct fl_rule *rule;
    const struct fl_take *view;
    const struct fl_hand *hand;
};

static void add(struct table *t, double cpi, double degrees, enum fl_kept kept, const char *name)
{
    struct fl_what_if row = {{cpi, degrees}, name, {0}};
    fl_predict(&row.prediction, t->rule, t->view, t->hand, &row.setting, kept);
    FL_PUSH(t->v, t->n, t->cap, row);
}

static void add_ladder(struct table *t, const struct fl_session *s)
{
    const struct fl_mouse_setting *own = &t->hand->recorded;
    double cpi[MOST_RESOLUTIONS];
    size_t n = own->counts_per_inch > 0 ? resolutions(cpi, s, t->rule, own->counts_per_inch) : 0;
    for (size_t i = 0; i < n; i++)
        add(t, cpi[i], own->degrees_per_count * own->counts_per_inch / cpi[i], FL_KEPT_HAND,
            "hand_and_turns");
    for (int k = 0; k < 4 && own->degrees_per_count > 0; k++)
        add(t, own->counts_per_inch, own->degrees_per_count * (k % 2 ? 2 : 0.5),
            k < 2 ? FL_KEPT_HAND : FL_KEPT_TURNS, k < 2 ? "hand" : "turns");
}

static void add_asked(struct table *t, const struct fl_mouse_setting *asked)
{
    const struct fl_mouse_setting *own = &t->hand->recorded;
    double cpi = asked->counts_per_inch > 0 ? asked->counts_per_inch : own->counts_per_inch;
    double degrees =
        asked->degrees_per_count > 0 ? asked->degrees_per_count : own->degrees_per_count;
    if (fl_known(cpi * degrees) &&
        fl_same_number(cpi * degrees, own->counts_per_inch * own->degrees_per_count)) {
        add(t, cpi, degrees, FL_KEPT_HAND, "hand_and_turns");
        return;
    }
    add(t, cpi, degrees, FL_KEPT_HAND, "hand");
    add(t, cpi, degrees, FL_KEPT_TURNS, "turns");
}

size_t fl_what_if(struct fl_what_if **out, const struct fl_session *s, const struct fl_rule *r,
                  const struct fl_hand *hand, const struct fl_mouse_setting *asked)
{
    struct table t = {.rule = r, .view = view(s, r), .hand = hand};
    add(&t, hand->recorded.counts_per_inch, hand->recorded.degrees_per_count, FL_KEPT_HAND,
        "as_recorded");
    if (asked->counts_per_inch > 0 || asked->degrees_per_count > 0)
        add_asked(&t, asked);
    else
        add_ladder(&t, s);
    *out = t.v;
    return t.n;
}

const struct fl_rule *const *fl_what_if_rules(const struct fl_session *s)
{
    const struct fl_rule **list = FL_ARENA(s->arena, const struct fl_rule *, s->n_rules + 1);
    size_t n = 0;
    for (size_t i = 0; i < s->n_rules; i++) {
        const struct fl_rule *r = &s->rules[i];
        bool traced = r->quantity <= FL_IMAGE_STEP;
        if (r->lead || (r->rival && traced))
            list[n++] = r;
    }
    return list;
}
