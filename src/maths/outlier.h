/* Does one value stand out of its group? */
#ifndef FL_MATHS_OUTLIER_H
#define FL_MATHS_OUTLIER_H

#include <stdbool.h>
#include <stddef.h>

/* One value; all groups are taken to scatter alike. */
struct fl_member {
    size_t group;
    double value;
    double down, up; /* own standard error towards lower and higher values; 0: not known apart from
                        the scatter; NaN: nothing is known on that side */
    bool reference;  /* others may be compared with it, and it tells of the scatter */
};

struct fl_left_out {
    double difference; /* from the mean of the others of its group */
    double sd, df;     /* of that difference by the scatter, were it one of them */
    double error;      /* of that difference by the errors alone */
    double p;          /* two-sided */
};

/* Compares member k with the others of its group that are references. It must differ by more than
 * both the scatter and the errors explain: p is the larger of Student's t for the scatter of all
 * groups without k (an own error above the others' is added to it) and the normal p for the errors.
 * Externally studentised where all errors are 0 and there is one group: then the largest of n
 * values stands out at level a, two-sided, by Grubbs' test just when its p is below a/n (Grubbs
 * 1969, Technometrics 11:1-21). All NaN with fewer than two others of its group, or when nothing is
 * known on that side. */
struct fl_left_out fl_leave_out(const struct fl_member *m, size_t n, size_t k);
/* The difference that has this p. */
double fl_left_out_needs(const struct fl_left_out *o, double p);

/* Interval of a normal distribution's standard deviation by chi-square; NaN for df <= 0 or a level
 * outside (0, 1). */
void fl_sd_limits(double sd, double df, double level, double *low, double *high);

#endif
