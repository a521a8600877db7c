/* The scenarios of the recovery study. */
#ifndef FL_RECOVERY_SCENARIOS_H
#define FL_RECOVERY_SCENARIOS_H

#include <stddef.h>

#include "simulate.h"

extern const struct scenario scenarios[];
extern const size_t n_scenarios;

#endif
