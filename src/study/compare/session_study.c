/* The order in which a session is studied: each step rests on those before. */
#include "study/compare/session_study.h"

#include "study/compare/comparisons.h"
#include "study/compare/eye_check.h"
#include "study/compare/results.h"
#include "study/compare/repeat.h"
#include "study/curve/curve.h"
#include "study/curve/curves.h"
#include "study/curve/watched.h"
#include "study/rule/delay.h"
#include "study/rule/rule.h"
#include "study/rule/rules.h"
#include "study/rule/session_infer.h"

void fl_session_study(struct fl_session *s)
{
    fl_session_forget_study(s);
    fl_session_infer(s);
    fl_study_curves(s);
    fl_study_comparisons(s);
    fl_study_quantities(s);
    fl_study_results(s);
    fl_study_rules(s);
    fl_study_delays(s);
    fl_study_repeats(s);
    fl_study_eye_check(s);
}
