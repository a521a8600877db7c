/* A period from flips that lie a known count of periods apart, in stretches that follow no one
 * another.
 *
 * Over a stretch the times of its flips lie on a line over their count, whatever lies between them;
 * its slope is the period. Between stretches nothing is counted. */
#ifndef FL_STATE_RHYTHM_H
#define FL_STATE_RHYTHM_H

#include <stddef.h>

struct fl_rhythm {
    double period_s; /* mean of the stretches; NaN with none */
    double error;    /* standard error of it, relative, by how stretches differ; NaN under two */
    size_t flips;    /* of all stretches */
    double lasts_s;  /* from first to last flip, all stretches together */
};

/* Zero to begin with. */
struct fl_stretches {
    double *period_s, *weight; /* n, a stretch */
    size_t n, cap_period, cap_weight, flips;
    double lasts_s;
    /* Of the stretch at hand: sums over its flips, counted and timed from its first. */
    size_t here;
    double first_at, first_s, at, time_s, at_at, at_time, last_at;
};

/* The next flip of the stretch at hand: `at` periods from where one likes, rising. */
void fl_stretch_flip(struct fl_stretches *s, double at, double time_s);
/* What follows is another stretch. */
void fl_stretch_end(struct fl_stretches *s);
/* Ends the last stretch and frees what all hold. */
void fl_stretches_finish(struct fl_rhythm *out, struct fl_stretches *s);

#endif
