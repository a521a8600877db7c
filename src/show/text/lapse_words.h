/* Why a stretch is called off, and on beside it: the evidence of both in sentences. */
#ifndef FL_SHOW_TEXT_LAPSE_WORDS_H
#define FL_SHOW_TEXT_LAPSE_WORDS_H

#include "base/figure.h"
#include "state/state.h"

/* "Off: 60.2 new pictures a second, where on shows 120 (rate); their sharpness and steps show none
 * between two rendered ones (sharpness); the input trace shows that the scene moved (trace). On
 * before it: 119 new pictures a second, confidence > 0.99; on after it: 120, confidence 0.97." What
 * is unknown is said or left out. malloc'ed. */
char *fl_lapse_why(const struct fl_states *s, const struct fl_lapse *l);

/* How sure something is, 0 to 1: "0.87", "> 0.99", as nothing here is certain; "" if unknown. */
const char *fl_sureness_text(char buf[FL_FIGURE_SIZE], double p);

#endif
