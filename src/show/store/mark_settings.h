/* What a user may choose about marks for editing. All zero is the default. */
#ifndef FL_SHOW_STORE_MARK_SETTINGS_H
#define FL_SHOW_STORE_MARK_SETTINGS_H

#include "base/timecode.h"

/* Which flicks are marked beside the lapses; only those at risk can have tripped or held. */
enum fl_mark_flicks { FL_MARK_TRIPPED, FL_MARK_HELD, FL_MARK_ALL, FL_MARK_NONE };

struct fl_mark_settings {
    enum fl_mark_flicks flicks;
    struct fl_rate rate; /* of the edit; den 0: the footage's own */
    bool drop;           /* drop-frame timecode, where the rate has it */
    /* Timecode of the footage's first frame in the edit; NULL, or one that the counting does not
     * have: 00:00:00:00. */
    const char *start;
};

#endif
