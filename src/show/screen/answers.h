/* The answer first: a sentence or two for each game and condition, before any table. */
#ifndef FL_SHOW_SCREEN_ANSWERS_H
#define FL_SHOW_SCREEN_ANSWERS_H

#include <stdio.h>

#include "study/take/session.h"

/* How often it was off, how easily it trips, and what the comparisons say, for a whole session. */
void fl_put_answers(FILE *out, const struct fl_session *s);
/* How often one take was off and for how long at most. */
void fl_put_take_answer(FILE *out, const struct fl_take *t);

#endif
