/* How long a take was off if one rule held: what was seen, what it infers, what stays open
 * (DESIGN: shares). */
#ifndef FL_STUDY_RULE_OFF_TIME_H
#define FL_STUDY_RULE_OFF_TIME_H

#include "study/rule/return_fit.h"

struct fl_off_time {
    double off_s, on_s;    /* seen */
    double inferred_off_s; /* unseen, from a lapse's last sure moment to its return */
    double inferred_on_s;  /* unseen and harmless */
    double open_s;         /* unseen, neither */
    double hidden_s; /* of inferred_on_s: had a lapse begun in the open time before it, the rule
                        would not have returned yet */
    struct fl_inferred *part; /* n_parts, malloc'ed, in time order; NULL unless asked for */
    size_t n_parts, cap_parts;
};

/* end_s: of each return, as taken. rule NULL and r empty: off was never seen. list: parts too. */
void fl_off_time_find(struct fl_off_time *out, const struct fl_return_view *v,
                      const struct fl_returns *r, const double *end_s, const struct fl_quiet *quiet,
                      const struct fl_return_rule *rule, bool list);
/* off/(all − open), of what was measured. */
double fl_off_time_share(const struct fl_off_time *o);
/* The least and the most: open time as on; open time, and what it may hide, as off. */
double fl_off_time_low(const struct fl_off_time *o);
double fl_off_time_high(const struct fl_off_time *o);

#endif
