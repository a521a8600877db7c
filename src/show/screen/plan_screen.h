/* A plan for the next session, on the terminal or as JSON (docs/plan.schema.json). */
#ifndef FL_SHOW_SCREEN_PLAN_SCREEN_H
#define FL_SHOW_SCREEN_PLAN_SCREEN_H

#include <jansson.h>
#include <stdio.h>

#include "study/plan/recording_schedule.h"

/* name: of the session; NULL before a first one. */
void fl_print_plan(FILE *out, const char *name, const struct fl_plan *plan,
                   const struct fl_schedule *desk);
json_t *fl_plan_json(const char *name, const struct fl_plan *plan, const struct fl_schedule *desk);

#endif
