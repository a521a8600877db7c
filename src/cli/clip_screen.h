/* What is said of the clips that were written. */
#ifndef FL_CLI_CLIP_SCREEN_H
#define FL_CLI_CLIP_SCREEN_H

#include <jansson.h>
#include <stdio.h>

#include "cli/clip_plan.h"

/* reports: the first n of the plan's clips. */
void fl_print_clips(FILE *out, const struct fl_clip_plan *p, const struct fl_clip_report *reports, size_t n);
json_t *fl_clips_json(const struct fl_clip_plan *p, const struct fl_clip_report *reports, size_t n); /* docs/clip.schema.json */
/* One line on stderr where the clip exceeds the rule for flashes; nothing else. */
void fl_complain_of_flashes(const char *path, const struct fl_clip_report *r);

#endif
