/* A player's own motion at a ladder of mouse settings, under one rule. */
#ifndef FL_STUDY_RULE_WHAT_IF_H
#define FL_STUDY_RULE_WHAT_IF_H

#include "study/rule/predict.h"

struct fl_what_if {
    struct fl_mouse_setting setting;
    const char *kept; /* "as_recorded", "hand_and_turns", "hand", "turns" */
    struct fl_prediction prediction;
};

/* As recorded; then the setting asked for, or, where both of its numbers are NaN: other resolutions
 * at the same turn per centimetre (400 to 3200 counts per inch and those of the game's takes), half
 * and double the sensitivity with the hand and with the turns kept. *out is malloc'ed; returns how
 * many. */
size_t fl_what_if(struct fl_what_if **out, const struct fl_session *s, const struct fl_rule *r,
                  const struct fl_hand *hand, const struct fl_mouse_setting *asked);

/* Rules to ask: of each game and condition the leading one and its rivals whose quantity a mouse
 * trace says, and the leading one in any case. NULL-terminated list in the session's arena. */
const struct fl_rule *const *fl_what_if_rules(const struct fl_session *s);

#endif
