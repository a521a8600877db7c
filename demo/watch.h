/* How much the game's own picture changes, for a cut-off that watches it. */
#ifndef STAGE_WATCH_H
#define STAGE_WATCH_H

#include "game.h"

struct st_watch;

/* NULL unless the scenario's cut-off watches the picture. Both must outlive it. */
struct st_watch *st_watch_new(const struct st_scenario *s, const struct st_hand *h);
void st_watch_free(struct st_watch **watch);
/* Mean |ΔY'| of the view against that of the call before, 0..1 of nominal range, at half the
 * rendered size; 0 at the first. Calls go from rendered frame to rendered frame. */
double st_watch_change(struct st_watch *watch, const struct st_rendered *r);

#endif
