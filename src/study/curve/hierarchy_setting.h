/* What the takes of one setting say, as tables on the grid: given each slope and each spread
 * between takes, how likely their flicks are with the setting's log2 V50 at each row. */
#ifndef FL_STUDY_CURVE_HIERARCHY_SETTING_H
#define FL_STUDY_CURVE_HIERARCHY_SETTING_H

#include "maths/random.h"
#include "study/curve/hierarchy_grid.h"

struct fl_trip_evidence {
    struct fl_trip_grid_rows rows;
    fl_trip_grid_row *product[FL_TRIP_SPREADS]; /* of the takes; at the spread's level */
    size_t takes;
};

void fl_trip_evidence_init(struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                           struct fl_trip_grid_rows rows);
void fl_trip_evidence_finish(struct fl_trip_evidence *e);
/* Empties it; nothing is known again. */
void fl_trip_evidence_reset(struct fl_trip_evidence *e, const struct fl_trip_grid *g);
/* likelihood: fl_trip_grid_likelihood of one take, in the same rows. */
void fl_trip_evidence_add(struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                          const fl_trip_grid_row *likelihood);
/* Integrals over theta and spread. slope: given each slope; mean: given each mean slope. Both up to
 * one factor. */
void fl_trip_evidence_integrate(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                                double slope[FL_TRIP_SLOPES], double mean[FL_TRIP_MEANS]);
/* Over theta alone, of one take's likelihood: given each slope. */
void fl_trip_evidence_own(const struct fl_trip_grid_rows *r, const fl_trip_grid_row *likelihood,
                          double slope[FL_TRIP_SLOPES]);
/* Density of theta on all rows (rows.rows long, up to a factor), slopes weighted as told. */
void fl_trip_evidence_line(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                           const double slope_weight[FL_TRIP_SLOPES], double *line);
/* Lines for each mean slope, FL_TRIP_MEANS × rows.rows, spreads weighted as told. */
void fl_trip_evidence_lines(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                            const double spread_weight[FL_TRIP_SPREADS], double *line);
/* Density of theta of a take that is still to come, on all rows, up to a factor. */
void fl_trip_evidence_another(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                              const double slope_weight[FL_TRIP_SLOPES], double *line);
/* The same given each slope, on the rows of one level. */
void fl_trip_evidence_another_take(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                                   int level, fl_trip_grid_row *table);
/* Probability of each spread, up to a factor. */
void fl_trip_evidence_spreads(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                              const double slope_weight[FL_TRIP_SLOPES],
                              double spread[FL_TRIP_SPREADS]);

/* ---- for simulations ---- */

/* Leaves nothing outside of low to high. */
void fl_trip_evidence_within(struct fl_trip_evidence *e, const struct fl_trip_grid *g, double low,
                             double high);
void fl_trip_evidence_copy(struct fl_trip_evidence *out, const struct fl_trip_evidence *e,
                           const struct fl_trip_grid *g);
/* One possible setting. */
struct fl_trip_draw {
    double theta, slope, spread;
};
void fl_trip_evidence_draw(const struct fl_trip_evidence *e, const struct fl_trip_grid *g,
                           const double slope_weight[FL_TRIP_SLOPES], struct fl_random *rng,
                           struct fl_trip_draw *out);

#endif
