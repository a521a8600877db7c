/* What this flinch is built from, for a report of a fault. */
#ifndef FL_CLI_VERSIONS_H
#define FL_CLI_VERSIONS_H

#include <stdio.h>

/* "flinch 0.1.0", then a line a library that is in use now, indented: its name and version. */
void fl_versions_print(FILE *out);

#endif
