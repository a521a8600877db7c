/* Which trip curve belongs to which setting of a session. */
#ifndef FL_STUDY_COMPARE_SETTING_CURVE_H
#define FL_STUDY_COMPARE_SETTING_CURVE_H

#include "study/curve/curve.h"
#include "study/curve/setting.h"

/* The setting is that of the curve's takes; a pooled curve has none. */
bool fl_setting_of_curve(const struct fl_setting *s, const struct fl_curve *c);
/* The setting's own curve in one quantity, among those of the session; NULL: none. */
const struct fl_curve *fl_setting_curve(const struct fl_session *s, const struct fl_setting *of,
                                        enum fl_quantity q);

#endif
