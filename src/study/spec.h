/* Session files: strict YAML → take specifications. */
#ifndef FL_STUDY_SPEC_H
#define FL_STUDY_SPEC_H

#include "base/error.h"
#include "base/mem.h"
#include "study/take.h"

struct fl_session_file {
    struct fl_arena *arena; /* owns all text */
    const char *name;
    struct fl_take_spec *takes; size_t n_takes;
};

/* Errors carry "FILE:LINE:COLUMN: ". Paths are joined with the folder of the session file. */
enum flinch_code fl_session_read(struct fl_session_file *out, const char *path, struct fl_error *err);
void fl_session_file_finish(struct fl_session_file *s);
/* Sets every field of spec to "not given" (NaN, NULL, false; condition "default"). */
void fl_take_spec_init(struct fl_take_spec *spec);

#endif
