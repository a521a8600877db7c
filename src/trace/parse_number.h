/* Decimal numbers as in traces, independent of the locale. */
#ifndef FL_TRACE_PARSE_NUMBER_H
#define FL_TRACE_PARSE_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

/* Reads all size characters as one decimal number (sign, point, exponent; no hexadecimal, no
 * inf or nan). Exact to the nearest double up to 15 significant digits. */
bool fl_parse_number(const char *text, size_t size, double *value);

#endif
