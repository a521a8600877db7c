/* All curves of a session: one a setting and quantity, then pooled over settings. */
#include "study/curve/curves.h"

#include "study/curve/curve.h"
#include "study/curve/curve_words.h"
#include "study/curve/pooled_variance.h"
#include "study/curve/setting.h"

static void add_curves(struct fl_session *s, bool pooled)
{
    struct fl_setting *cells;
    size_t n = fl_settings(s, pooled, &cells);
    for (size_t i = 0; i < n; i++) {
        for (int q = 0; q < FL_QUANTITIES && !cells[i].control; q++) {
            if (!fl_setting_measured(&cells[i], q))
                continue;
            struct fl_curve *c = &s->curves[s->n_curves++];
            fl_curve_fit(c, cells[i].takes, cells[i].n, q, s->arena);
            c->game = cells[i].game;
            c->condition = cells[i].condition;
            c->pooled = pooled;
            c->counts_per_inch = cells[i].counts_per_inch;
            c->degrees_per_count = cells[i].degrees_per_count;
        }
    }
}

void fl_study_curves(struct fl_session *s)
{
    s->curves = FL_NEW(struct fl_curve, 2 * s->n_takes * FL_QUANTITIES + 1);
    add_curves(s, false);
    fl_pool_variance(s->curves, s->n_curves);
    add_curves(s, true);
    for (size_t i = 0; i < s->n_curves; i++) {
        s->curves[i].evidence = fl_curve_evidence(&s->curves[i], s->arena);
        s->curves[i].stray_note = fl_stray_note(&s->curves[i], s->arena);
    }
}
