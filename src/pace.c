/* Counted anew from each picture that had to be waited for: there was nothing more to read then. */
#include "pace.h"

#include <math.h>

/* So far behind pictures are skipped, until so little is left: s. Choices: a call that is seconds
 * late is of no use at the desk, and a skip costs the lapses in it. */
static const double behind_s = 3, caught_up_s = 0.2;
static const double jump_s = 3600; /* so far behind, times have jumped */

static bool begin(struct fl_pace *p, double wall_s, double pts_s, int64_t waits)
{
    *p = (struct fl_pace){.wall_s = wall_s, .pts_s = pts_s, .waits = waits, .began = true};
    return false;
}

bool fl_pace_skips(struct fl_pace *p, double wall_s, double pts_s, int64_t waits)
{
    const double behind = (wall_s - p->wall_s) - (pts_s - p->pts_s);
    if (!p->began || waits != p->waits || fabs(behind) > jump_s)
        return begin(p, wall_s, pts_s, waits);
    p->least_s = fmin(p->least_s, behind);
    const double late = behind - p->least_s;
    p->skipping = p->skipping ? late >= caught_up_s : late > behind_s;
    return p->skipping;
}
