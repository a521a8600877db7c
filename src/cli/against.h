/* `flinch show --against`. */
#ifndef FL_CLI_AGAINST_H
#define FL_CLI_AGAINST_H

#include <stdbool.h>

/* Loads, studies and compares the two folders; prints, and touches neither. Exit status. */
int fl_show_against(const char *now, const char *before, bool json, bool quiet);

#endif
