/* The stage: films an invented take with its trace, sound and truth. See main.c for the command;
 * tests call this directly. */
#ifndef STAGE_STAGE_H
#define STAGE_STAGE_H

#include "base/error.h"
#include "base/progress.h"
#include "scenario.h"

/* Writes folder/NAME/{capture.mkv|mp4, trace.csv, clicks.csv, sound.flac, truth.json, truth-*.csv}.
 * The same scenario and seed give the same bytes. An older truth.json goes first, so a folder
 * without one is unfinished. */
enum flinch_code st_stage(const struct st_scenario *scenario, const char *folder,
                          const struct fl_progress *progress, struct fl_error *err);

#endif
