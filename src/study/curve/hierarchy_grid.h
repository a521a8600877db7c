/* The grids on which a session's trip curves are integrated: log2 V50, slope, spread between takes
 * and the session's mean slope. All speeds in octaves (log2 of the quantity).
 *
 * P(trip | x) = stray + (1 - 2·stray)·logistic(2^b·(x - theta)), b the log2 of the slope in logits
 * an octave. Tables have a row a theta and a column a slope. */
#ifndef FL_STUDY_CURVE_HIERARCHY_GRID_H
#define FL_STUDY_CURVE_HIERARCHY_GRID_H

#include <stdbool.h>
#include <stddef.h>

enum {
    FL_TRIP_SLOPES = 16,  /* log2 slope from -1 to 6.5 in halves */
    FL_TRIP_MEANS = 13,   /* of the session's mean log2 slope: 0 to 6 in halves */
    FL_TRIP_SPREADS = 11, /* 0, and 0.032 octaves times powers of 1.6 up to 2.2 */
    FL_TRIP_LEVELS = 5,   /* of coarseness: each has every second row of the one before */
    FL_TRIP_STEPS = 48,   /* rows an octave: 1.5 % of a speed */
    FL_TRIP_PARTS = 8     /* speeds of flicks are rounded to so small a part of a step: 0.2 % */
};
/* Rows reach so far beyond the slowest and the fastest flick, octaves: a factor of 8. */
#define FL_TRIP_REACH 3.0
/* Share of flicks that go by chance at either end, kept small and not at 0 (Wichmann & Hill 2001,
 * Percept Psychophys 63:1293-1313). */
#define FL_STRAY 0.01

/* What is believed before a flick is seen. */
struct fl_hierarchy_prior {
    /* of a setting's spread between takes, octaves: the scale of a half-t distribution of 3 degrees
     * of freedom (Gelman 2006, Bayesian Analysis 1:515-534) */
    double spread_scale;
    /* of the session's mean log2 slope, sums to 1; NULL: even from 1 to 64 logits an octave */
    const double *means;
    /* settings have one spread between takes in common: only where they are of one game, and the
     * question is whether they are one and the same (study/curve/watched.h) */
    bool one_spread;
};
/* Half of all settings' takes then scatter by less than 0.19 octaves, 14 %; one in twenty by more
 * than 0.8. No source for the scale: takes of staged sessions lie well inside. */
#define FL_SPREAD_SCALE 0.25

/* A claim that two settings differ has to hold against a prior so many times as wide. Of simulated
 * pairs at 0.35 octaves between takes, the widest spread that is reckoned with, 5 to 6 % would be
 * claimed without cause, and 3 to 5 % are (docs/recovery.md). */
#define FL_SPREAD_WARY 1.2

/* The axes, their prior weights, and the chance to trip at each distance from theta. */
struct fl_trip_grid {
    double slope[FL_TRIP_SLOPES];                     /* logits an octave */
    double given_mean[FL_TRIP_MEANS][FL_TRIP_SLOPES]; /* P(slope | mean), rows sum to 1 */
    double mean[FL_TRIP_MEANS];                       /* P(mean), sums to 1 */
    double spread[FL_TRIP_SPREADS], spread_weight[FL_TRIP_SPREADS]; /* octaves; sums to 1 */
    double wary_weight[FL_TRIP_SPREADS]; /* the same where spreads are believed to be wider */
    int spread_level[FL_TRIP_SPREADS];   /* whose rows are fine enough for it: a third of it */
    size_t reach;                        /* rows on either side of 0 that chance has */
    double (*chance)[FL_TRIP_SLOPES];    /* FL_TRIP_PARTS × (2·reach + 1) */
};

/* rows: the most that a table will have. */
void fl_trip_grid_init(struct fl_trip_grid *g, const struct fl_hierarchy_prior *prior, size_t rows);
void fl_trip_grid_finish(struct fl_trip_grid *g);

/* Spread, or slope, below which a share lies of such probabilities (up to a factor). */
double fl_trip_grid_spread_at(const struct fl_trip_grid *g, const double *p, double share);
double fl_trip_grid_slope_at(const struct fl_trip_grid *g, const double *p, double share);

/* P(slope) where the mean slope has these probabilities. */
void fl_trip_grid_slopes(const struct fl_trip_grid *g, const double mean[FL_TRIP_MEANS],
                         double slope[FL_TRIP_SLOPES]);

/* Rows of one setting: theta of row i is low + i/FL_TRIP_STEPS; rows - 1 can be halved at each
 * level. */
struct fl_trip_grid_rows {
    double low;
    size_t rows;
};
/* Around flicks between x_low and x_high; those over 64 octaves below count as the lowest row. */
struct fl_trip_grid_rows fl_trip_grid_rows_for(double x_low, double x_high);
static inline size_t fl_trip_grid_rows_at(size_t rows, int level)
{
    return ((rows - 1) >> level) + 1;
}
/* Octaves from row to row. */
static inline double fl_trip_grid_step(int level)
{
    return (double)(1 << level) / FL_TRIP_STEPS;
}

typedef double fl_trip_grid_row[FL_TRIP_SLOPES];

/* Likelihood of one take's n flicks, up to a factor: the greatest is 1. x: log2 peaks within the
 * rows' range. */
void fl_trip_grid_likelihood(const struct fl_trip_grid *g, const struct fl_trip_grid_rows *r,
                             const double *x, const bool *tripped, size_t n, fl_trip_grid_row *out);
/* Mean of the table about each row with the weights of a normal law of sd rows; beyond its ends the
 * table goes on as it ends. out and in differ. */
void fl_trip_grid_blur(fl_trip_grid_row *restrict out, const fl_trip_grid_row *restrict in,
                       size_t rows, double sd);
void fl_trip_grid_blur_line(double *out, const double *in, size_t rows, double sd);
/* Every second row, in place; returns how many are left. */
size_t fl_trip_grid_halve(fl_trip_grid_row *table, size_t rows);
/* Adds a line of one level to that of the next finer one, in between by cubic interpolation of the
 * logarithm (exact for a normal law). fine: fl_trip_grid_rows_at(rows, level - 1) long. */
void fl_trip_grid_refine(double *fine, const double *coarse, size_t coarse_rows);

#endif
