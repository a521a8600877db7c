/* Numbers on charts, the same in every language (ISO 80000-1, 7.3): a point on the line as decimal
 * sign, digits in threes parted by a thin space that does not break (U+202F), a true minus sign. */
#ifndef FL_SHOW_TEXT_GROUPED_NUMBER_H
#define FL_SHOW_TEXT_GROUPED_NUMBER_H

#include <stddef.h>

#include "base/figure.h"

/* plain: as printf writes a number; four digits stay together. Returns buf, which holds at most
 * size bytes; where that is too little, plain unchanged and cut. */
const char *fl_group_digits(char *buf, size_t size, const char *plain);
/* fl_figure, grouped. */
const char *fl_grouped_figure(char buf[FL_FIGURE_SIZE], double x);
/* The same without decimals, and with no more of its three digits than say something: "76". */
const char *fl_grouped_whole(char buf[FL_FIGURE_SIZE], double x);
const char *fl_grouped_short(char buf[FL_FIGURE_SIZE], double x);
/* "110 to 150", "at least 110", "at most 150", "open at both ends"; NaN: that end is open. */
enum { FL_RANGE_SIZE = 80 };
const char *fl_grouped_range(char buf[FL_RANGE_SIZE], double low, double high);
/* A figure with its interval, in the digits that fl_interval_text gives both. */
struct fl_grouped_interval {
    char at[FL_FIGURE_SIZE], range[FL_RANGE_SIZE];
};
const struct fl_grouped_interval *fl_grouped_interval(struct fl_grouped_interval *g, double x,
                                                      double low, double high);
/* The same of a ratio, as fl_ratio_text gives it. */
const struct fl_grouped_interval *fl_grouped_ratio(struct fl_grouped_interval *g, double ratio,
                                                   double low, double high);

#endif
