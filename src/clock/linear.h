/* Small symmetric positive definite systems. */
#ifndef FL_CLOCK_LINEAR_H
#define FL_CLOCK_LINEAR_H

#include <stdbool.h>

enum { FL_LINEAR_MOST = 8 };

/* n × n, row by row, n up to FL_LINEAR_MOST: inverse, and ln of the determinant. False if a is not
 * positive definite. */
bool fl_linear_invert(const double *a, int n, double *inverse, double *log_det);

#endif
