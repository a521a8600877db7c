/* Names of the ways in which two sides of a comparison differ. */
#include "study/compare/comparison.h"

const char *fl_pair_name(enum fl_pair p)
{
    static const char *const names[] = {"none", "resolution", "sensitivity", "condition"};
    return names[p];
}
