/* The rules of a session: one a game, condition and quantity. */
#ifndef FL_STUDY_RULE_RULES_H
#define FL_STUDY_RULE_RULES_H

#include "study/rule/rule.h"

/* Fills s->rules from takes and s->quantities; controls are left out. */
void fl_study_rules(struct fl_session *s);
/* The leading rule of a game and condition, NULL if there is none that was fitted. */
const struct fl_rule *fl_rule_of(const struct fl_session *s, const char *game,
                                 const char *condition);

#endif
