/* Which quantity's rule speaks for a game and condition. */
#ifndef FL_STUDY_RULE_RULE_SELECT_H
#define FL_STUDY_RULE_RULE_SELECT_H

#include "study/rule/rule.h"

/* Sets lead and rival of the n rules of one game and condition, from their agreement on takes left
 * out and s->quantities. */
void fl_rules_select(const struct fl_session *s, struct fl_rule *r, size_t n);

#endif
