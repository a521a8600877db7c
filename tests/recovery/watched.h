/* Recovery of the watched quantity: simulated sessions in which a known one is watched. */
#ifndef FL_RECOVERY_WATCHED_H
#define FL_RECOVERY_WATCHED_H

/* Runs all of these scenarios, or the one called `only`; prints a line each that begins with
 * "watched". Returns how many missed a target. jobs:
 * threads; 0: one a core. */
int watched(int sessions, const char *only, int jobs);

#endif
