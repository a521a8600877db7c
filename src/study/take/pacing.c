/* Pacing figures of which nothing is known. */
#include "study/take/pacing.h"

#include "base/units.h"

void fl_pacing_state_init(struct fl_pacing_state *s, const char *reason)
{
    *s = (struct fl_pacing_state){.kinds_known_share = FL_UNKNOWN,
                                  .rendered_share = FL_UNKNOWN,
                                  .synthesised_share = FL_UNKNOWN,
                                  .kinds_reason = reason,
                                  .rendered_of_pair_median = FL_UNKNOWN,
                                  .rendered_of_pair_p10 = FL_UNKNOWN,
                                  .rendered_of_pair_p90 = FL_UNKNOWN,
                                  .interval_mean_ms = FL_UNKNOWN,
                                  .interval_cv = FL_UNKNOWN,
                                  .interval_ratio_median = FL_UNKNOWN,
                                  .whole_refreshes_share = FL_UNKNOWN,
                                  .odd_refreshes_share = FL_UNKNOWN};
}
