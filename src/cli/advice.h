/* Is a recording usable, and what to change: findings from a measured take. */
#ifndef FL_CLI_ADVICE_H
#define FL_CLI_ADVICE_H

#include <stdbool.h>

#include "study/take.h"

enum { FL_ADVICE_MAX = 16 };

enum fl_finding {
    FL_UNUSABLE, /* nothing can be measured from the recording */
    FL_ADVICE,   /* the next recording should be better */
    FL_NOTE      /* a warning of the measurement */
};
const char *fl_finding_name(enum fl_finding kind); /* "unusable", "advice", "note" */

struct fl_advice {
    int n; /* what makes it unusable stands first */
    struct {
        enum fl_finding kind;
        const char *code; /* fixed word */
        char text[200];   /* what was found; what to change */
    } item[FL_ADVICE_MAX];
};

void fl_advise(struct fl_advice *out, const struct fl_take *t);
bool fl_unusable(const struct fl_advice *a);
/* Seconds in which the scene moved by at least 1.5 pixels of 512 across per capture period, the
 * motion at which on and off can be told apart. */
double fl_moving_s(const struct fl_take *t);

#endif
