/* A take's course in one row of text: on, off and unseen by the height of a block where the output
 * can show blocks, by a letter-sized sign where it cannot. Colour only repeats what the height
 * says. */
#ifndef FL_SHOW_SCREEN_BARS_H
#define FL_SHOW_SCREEN_BARS_H

#include <stdbool.h>
#include <stdio.h>

#include "study/take/take.h"

/* What an output can show. */
struct fl_paper {
    bool blocks; /* U+2581 to U+2588 and the middle dot: its character set is UTF-8 */
    /* a terminal that takes colours, and nobody asked for none (NO_COLOR, TERM=dumb) */
    bool colour;
};

/* Blocks need a UTF-8 locale set by main. */
struct fl_paper fl_paper_of(FILE *out);

/* One sign for each of `columns` equal parts of the take: off wherever the part holds any off,
 * however short, so that no lapse is lost; "both" where it holds on as well. Ends without a
 * newline. */
void fl_put_state_bar(FILE *out, const struct fl_paper *p, const struct fl_take *t, int columns);
/* The fastest motion in each part against the fastest of the take (fl_course_quantity). Returns
 * that most, NaN (and prints nothing) without any; *q says which quantity. */
double fl_put_speed_bar(FILE *out, const struct fl_paper *p, const struct fl_take *t, int columns,
                        enum fl_quantity *q);
/* What the signs of the state bar mean, one line without a newline. */
void fl_put_bar_legend(FILE *out, const struct fl_paper *p);
/* State, speed, time and legend, one above the other: labels from column `indent`, bars from
 * `column` on. */
void fl_put_take_bars(FILE *out, const struct fl_take *t, int indent, int column);

#endif
