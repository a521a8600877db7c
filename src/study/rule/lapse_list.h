/* Lapses from what was seen and the returns of the setting's rule (DESIGN: lapse). */
#ifndef FL_STUDY_RULE_LAPSE_LIST_H
#define FL_STUDY_RULE_LAPSE_LIST_H

#include "study/rule/returns.h"

/* Replaces the lapses of s, whose spans v was made from. end_s: best time of each return. None
 * where on was never seen. */
void fl_lapse_list_make(struct fl_states *s, const struct fl_return_view *v,
                        const struct fl_returns *r, const double *end_s);

#endif
