/* Whether a stored take can be a measurement at all, asked before anything reckons with it.
 *
 * Files can be edited, cut or made up. Times and rates become places in tables and pictures later,
 * so each must be one that a recording can have: times from 0 to FL_FOOTAGE_MOST_S and in order,
 * rates above 0 and up to FL_STORED_RATE_MOST_HZ. Unknown figures are fine where a measurement may
 * leave them unknown. */
#ifndef FL_SHOW_STORE_STORED_CHECK_H
#define FL_SHOW_STORE_STORED_CHECK_H

#include "show/store/fields.h"

#define FL_STORED_RATE_MOST_HZ 1e6 /* a thousand times what any display or recorder does */

/* What the JSON says; the first fault goes to r. */
void fl_check_stored(struct fl_reader *r, const struct fl_take *t);
/* The rows of the tables: NULL, or what is wrong in row *row (counted from 0). */
const char *fl_check_frames(const struct fl_take *t, long *row);
const char *fl_check_flips(const struct fl_take *t, long *row);

#endif
