/* Which clips a command asks for: spans, lapses, two takes lined up, and where their footage lies.
 */
#ifndef FL_SHOW_CLIP_CLIP_PLAN_H
#define FL_SHOW_CLIP_CLIP_PLAN_H

#include "show/clip/clip.h"

struct fl_clip_wish {
    const char *folder, *id, *beside;
    double from_s, to_s; /* to_s 0: to the end of the take */
    bool span;           /* from_s or to_s was given */
    const char *lapses;  /* "all", "2", "1,3-5"; NULL */
    double lead_s, tail_s;
    const char *align;    /* "start", "trip"; NULL */
    double from_beside_s; /* NaN: as from_s */
    int lapse_beside;     /* 0: as the other's */
    const char *footage, *footage_beside, *session;
    const char *out; /* NULL: named in the folder */
    int slow;
    struct fl_rate rate; /* den 0: not given */
};

struct fl_planned_clip {
    size_t lapse; /* 1 …; 0: a span */
    size_t lapse_beside;
    double from_s, length_s, from_beside_s;
    char *path; /* malloc'ed */
};

struct fl_clip_plan {
    struct fl_take *a, *b; /* b NULL: none */
    char *footage_a, *footage_b;
    struct fl_planned_clip *clip;
    size_t n, cap;
};

/* Loads the takes and works out the clips. Errors are FLINCH_ERR_USAGE where the wish is at fault.
 */
enum flinch_code fl_clip_plan(struct fl_clip_plan *out, const struct fl_clip_wish *w,
                              struct fl_error *err);
void fl_clip_plan_finish(struct fl_clip_plan *p);

#endif
