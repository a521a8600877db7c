/* Where the view is zoomed in, as by aiming. */
#ifndef FL_STUDY_TAKE_AIMING_H
#define FL_STUDY_TAKE_AIMING_H

#include "study/take/take.h"

/* Sets aiming[i] from where the view zooms in quickly to the end of where it next zooms out, at
 * most 8 s later. All false without the take's view. How far it zooms is not known well enough to
 * say how fast the camera turns meanwhile: games slow turns by their own rules. */
void fl_aiming_find(bool *aiming, const struct fl_take *t);

#endif
