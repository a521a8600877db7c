/* What is said of the clips that were written. */
#ifndef FL_SHOW_SCREEN_CLIP_SCREEN_H
#define FL_SHOW_SCREEN_CLIP_SCREEN_H

#include <jansson.h>
#include <stdio.h>

#include "show/clip/clip_plan.h"
#include "show/store/fields.h"

/* reports: the first n of the plan's clips. */
void fl_print_clips(FILE *out, const struct fl_clip_plan *p, const struct fl_clip_report *reports,
                    size_t n);
extern const struct fl_document fl_clip_document;
/* Takes over settings, the options of the command with their values. */
json_t *fl_clips_json(const struct fl_clip_plan *p, const struct fl_clip_report *reports, size_t n,
                      json_t *settings);

#endif
