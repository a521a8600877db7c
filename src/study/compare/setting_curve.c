/* Curves and settings are made by different steps of the study; they meet in game, condition,
 * counts per inch and degrees per count. */
#include "study/compare/setting_curve.h"

#include <string.h>

bool fl_setting_of_curve(const struct fl_setting *s, const struct fl_curve *c)
{
    return !c->pooled && !strcmp(s->game, c->game) && !strcmp(s->condition, c->condition) &&
           fl_same_number(s->counts_per_inch, c->counts_per_inch) &&
           fl_same_number(s->degrees_per_count, c->degrees_per_count);
}

const struct fl_curve *fl_setting_curve(const struct fl_session *s, const struct fl_setting *of,
                                        enum fl_quantity q)
{
    for (size_t i = 0; i < s->n_curves; i++)
        if (s->curves[i].quantity == q && fl_setting_of_curve(of, &s->curves[i]))
            return &s->curves[i];
    return NULL;
}
