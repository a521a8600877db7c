/* How long a work takes yet, as far as its course until now tells. */
#ifndef FL_CLI_TIME_LEFT_H
#define FL_CLI_TIME_LEFT_H

enum { FL_LEFT_SIZE = 24 };

/* "35 s left", "4 min left", "2.5 h left", of elapsed_s spent on the share done, 0..1, at an even
 * pace; "" before two seconds or a fiftieth, of which nothing follows, and at the end. */
const char *fl_time_left(char buf[FL_LEFT_SIZE], double elapsed_s, double done);

#endif
