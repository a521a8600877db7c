/* A plan for the next session, on the terminal or as JSON (docs/plan.schema.json). */
#ifndef FL_SHOW_SCREEN_PLAN_SCREEN_H
#define FL_SHOW_SCREEN_PLAN_SCREEN_H

#include <jansson.h>
#include <stdio.h>

#include "show/store/fields.h"
#include "study/plan/recording_schedule.h"

/* name: of the session; NULL before a first one. */
void fl_print_plan(FILE *out, const char *name, const struct fl_plan *plan,
                   const struct fl_schedule *desk);

/* A peak speed v of the setting as a hand's speed, and as the time of a quarter turn; NaN unless it
 * is a camera speed. */
double fl_plan_hand_cm_s(const struct fl_plan_setting *t, double v);
double fl_plan_quarter_turn_s(const struct fl_plan_setting *t, double v);

/* plan_json.c */
extern const struct fl_document fl_plan_document;
json_t *fl_plan_json(const char *name, const struct fl_plan *plan, const struct fl_schedule *desk);
#endif
