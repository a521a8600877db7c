/* Columns of figures for the page's script: small integers in base64, in the decimal steps of the
 * CSV files, so that the script prints a cell just as the file does. columns.js is the reader.
 *
 * A column is an object; its integers are little-endian, one a value:
 *   {"bytes": 1|2|4, "decimals": d, "base64": …}   signed; value = integer / 10^d; the least
 * integer of the width stands for an unknown value
 *   {"bytes": 4, "packed": true, "base64": …}      unsigned, (mantissa + 2^24)·128 + exponent + 64;
 * value = mantissa·10^exponent; 0 stands for an unknown value
 *   {"bytes": 1|2|4, "first": i, "base64": …}      signed steps from value to value, the first of
 * them 0; integers are microseconds, from `first` on */
#ifndef FL_SHOW_PAGE_PAGE_COLUMNS_H
#define FL_SHOW_PAGE_PAGE_COLUMNS_H

#include <jansson.h>
#include <stddef.h>
#include <stdint.h>

/* Figures to seven significant digits; NaN and infinity are unknown. New reference, never NULL. */
json_t *fl_column_figures(const double *v, size_t n);
/* Times in seconds, all known, none decreasing by or increasing by 2147 s or more at once; else
 * json_null(). */
json_t *fl_column_times(const double *v, size_t n);

/* RFC 4648, malloc'ed. */
char *fl_base64(const void *data, size_t size);

#endif
