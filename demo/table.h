/* The table of scenarios as it is written down, open fields at 0. See scenario.h for the use of it.
 */
#ifndef STAGE_TABLE_H
#define STAGE_TABLE_H

#include "scenario.h"

extern const struct st_scenario st_table[];
extern const size_t st_table_size;

#endif
