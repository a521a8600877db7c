/* Grouping takes into cells: one game, condition, resolution and sensitivity. */
#ifndef FL_STUDY_CURVE_SETTING_H
#define FL_STUDY_CURVE_SETTING_H

#include "study/take/session.h"

struct fl_setting {
    const char *game, *condition;
    double counts_per_inch, degrees_per_count; /* NaN: not known, or pooled */
    bool degrees_found;                        /* by the picture (study/curve/setting_gain.h) */
    bool control;                              /* synthesis disabled */
    struct fl_take **takes;                    /* n, in the arena, session order */
    size_t n;
};

/* Cells in order of first appearance; pooled: game × condition × control only. In the
 * session's arena. Returns how many. */
size_t fl_settings(struct fl_session *s, bool pooled, struct fl_setting **out);
/* Any take of the cell has the quantity on any flick. */
bool fl_setting_measured(const struct fl_setting *c, enum fl_quantity q);

#endif
