/* The trace that a tester would have, and beside it the truth that no tester has.
 *
 * Files of a take: trace.csv and clicks.csv on the trace clock; truth.json, truth-outputs.csv,
 * truth-rendered.csv and truth-tears.csv in footage time. */
#ifndef STAGE_TRUTH_H
#define STAGE_TRUTH_H

#include "base/error.h"
#include "capture.h"
#include "game.h"
#include "hand.h"

struct st_take {
    struct st_scenario scenario;
    struct st_hand hand;
    struct st_game game;
    struct st_capture capture;
};

/* Each file appears whole or not at all; truth.json comes last. */
enum flinch_code st_truth_write(const char *folder, const struct st_take *take,
                                struct fl_error *err);

#endif
