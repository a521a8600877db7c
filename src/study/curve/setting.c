/* Takes by game, condition, resolution and sensitivity, in order of first appearance. */
#include "study/curve/setting.h"

#include <string.h>

#include "base/units.h"
#include "study/curve/setting_gain.h"

static bool belongs(const struct fl_setting *c, const struct fl_take_spec *t, double degrees,
                    bool pooled)
{
    if (strcmp(c->game, t->game) || strcmp(c->condition, t->condition) ||
        c->control != t->synthesis_disabled)
        return false;
    return pooled || (fl_same_number(c->counts_per_inch, t->counts_per_inch) &&
                      fl_same_number(c->degrees_per_count, degrees));
}

static struct fl_setting *find(struct fl_setting *cells, size_t n, const struct fl_take_spec *t,
                               double degrees, bool pooled)
{
    for (size_t i = 0; i < n; i++)
        if (belongs(&cells[i], t, degrees, pooled))
            return &cells[i];
    return NULL;
}

size_t fl_settings(struct fl_session *s, bool pooled, struct fl_setting **out)
{
    struct fl_setting *cells = FL_ARENA(s->arena, struct fl_setting, s->n_takes + 1);
    size_t n = 0;
    for (size_t i = 0; i < s->n_takes; i++) {
        const struct fl_take_spec *t = &s->takes[i]->spec;
        const struct fl_setting_gain gain = fl_setting_gain(s, s->takes[i]);
        struct fl_setting *c = find(cells, n, t, gain.degrees, pooled);
        if (!c) {
            c = &cells[n++];
            *c = (struct fl_setting){t->game,
                                     t->condition,
                                     pooled ? FL_UNKNOWN : t->counts_per_inch,
                                     pooled ? FL_UNKNOWN : gain.degrees,
                                     !pooled && gain.found,
                                     t->synthesis_disabled,
                                     FL_ARENA(s->arena, struct fl_take *, s->n_takes),
                                     0};
        }
        c->degrees_found = c->degrees_found && gain.found;
        c->takes[c->n++] = s->takes[i];
    }
    *out = cells;
    return n;
}

bool fl_setting_measured(const struct fl_setting *c, enum fl_quantity q)
{
    for (size_t i = 0; i < c->n; i++)
        for (size_t k = 0; k < c->takes[i]->n_flicks; k++)
            if (fl_known(c->takes[i]->flicks[k].peak[q]))
                return true;
    return false;
}
