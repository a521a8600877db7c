/* The time that passes, whatever the clock on the wall is set to. */
#ifndef FL_BASE_MONOTONIC_H
#define FL_BASE_MONOTONIC_H

/* Seconds since some moment, never falling: POSIX's CLOCK_MONOTONIC. */
double fl_now_s(void);

#endif
