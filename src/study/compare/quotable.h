/* Whether a row's figures may be quoted without more. */
#ifndef FL_STUDY_COMPARE_QUOTABLE_H
#define FL_STUDY_COMPARE_QUOTABLE_H

#include "study/compare/result.h"

enum { FL_QUOTABLE_TAKES = 3 };
#define FL_QUOTABLE_OPEN 0.10 /* of the recording */
#define FL_QUOTABLE_WIDTH 2.0 /* high over low of V50's interval */

/* Fills why and why_short with what stands against it, each one line in the arena, reasons parted
 * by "; "; both NULL: nothing does. Reads shares, share_takes and curve. */
void fl_quotable_judge(struct fl_result *r, struct fl_arena *arena);

#endif
