/* Inverse by Cholesky's factors: a few unknowns, so plain loops. */
#include "clock/linear.h"

#include <assert.h>
#include <math.h>

/* Cholesky's lower factor; false where a pivot is not positive. */
static bool factor(const double *a, int n, double *lower)
{
    for (int i = 0; i < n; i++)
        for (int j = 0; j <= i; j++) {
            double sum = a[i * n + j];
            for (int k = 0; k < j; k++)
                sum -= lower[i * n + k] * lower[j * n + k];
            if (i == j && !(sum > 0))
                return false;
            lower[i * n + j] = i == j ? sqrt(sum) : sum / lower[j * n + j];
        }
    return true;
}

/* Column c of the inverse: L·y = e, then Lᵀ·x = y. */
static void column(const double *lower, int n, int c, double *inverse)
{
    double y[FL_LINEAR_MOST];
    for (int i = 0; i < n; i++) {
        y[i] = i == c;
        for (int k = 0; k < i; k++)
            y[i] -= lower[i * n + k] * y[k];
        y[i] /= lower[i * n + i];
    }
    for (int i = n; i-- > 0;) {
        double sum = y[i];
        for (int k = i + 1; k < n; k++)
            sum -= lower[k * n + i] * inverse[k * n + c];
        inverse[i * n + c] = sum / lower[i * n + i];
    }
}

bool fl_linear_invert(const double *a, int n, double *inverse, double *log_det)
{
    double lower[FL_LINEAR_MOST * FL_LINEAR_MOST];
    assert(n >= 1 && n <= FL_LINEAR_MOST);
    if (!factor(a, n, lower))
        return false;
    *log_det = 0;
    for (int i = 0; i < n; i++) {
        *log_det += 2 * log(lower[i * n + i]);
        column(lower, n, i, inverse);
    }
    return true;
}
