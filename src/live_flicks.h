/* What a stream's flicks have to know of what lies further back than they are looked at: how long
 * synthesis takes to return, by all lapses so far. A few seconds hold too few of them to tell after
 * how much rest a flick is at risk. */
#ifndef FL_LIVE_FLICKS_H
#define FL_LIVE_FLICKS_H

#include "study/take/take.h"

enum { FL_LIVE_RETURNS = 256, FL_LIVE_WAITING = 64 };

/* A flick of known outcome that was not known to be at risk as it was told, and the rest before it.
 */
struct fl_live_waiting {
    struct fl_flick flick; /* in footage time */
    double rest_s;
};

/* Zero to begin with. */
struct fl_live_flicks {
    double low_s[FL_LIVE_RETURNS], high_s[FL_LIVE_RETURNS]; /* brackets of returns, the last ones */
    size_t n_returns;                                       /* all so far */
    double noted_s;      /* footage time: lapses that begin up to here are among them */
    double return_p95_s; /* NaN: not known yet */
    struct fl_live_waiting waiting[FL_LIVE_WAITING]; /* the last ones */
    size_t n_waiting;
};

/* Learns from the lapses of a stretch of the stream that begins at from_s; those that begin before
 * from_s + edge_s may have begun earlier. Then says of its flicks whether they were at risk, and
 * whether they tripped, by all that was learnt so far. */
void fl_live_flicks_judge(struct fl_live_flicks *f, struct fl_take *t, double from_s,
                          double edge_s);
/* The i-th flick of t is told; it may be known to have been at risk later. */
void fl_live_flicks_told(struct fl_live_flicks *f, const struct fl_take *t, size_t i,
                         double from_s);
/* The next flick that was told and is known now to have been at risk; false: none. */
bool fl_live_flicks_known(struct fl_live_flicks *f, struct fl_flick *out);

#endif
