/* Session files: strict YAML → take specifications. */
#ifndef FL_STUDY_INPUT_SESSION_FILE_H
#define FL_STUDY_INPUT_SESSION_FILE_H

#include "base/error.h"
#include "base/mem.h"
#include "study/input/take_spec.h"

struct fl_session_file {
    struct fl_arena *arena; /* owns all text */
    const char *name;
    struct fl_take_spec *takes;
    size_t n_takes;
};

/* Errors carry "FILE:LINE:COLUMN: ". Paths are joined with the folder of the session file. */
enum flinch_code fl_session_read(struct fl_session_file *out, const char *path,
                                 struct fl_error *err);
void fl_session_file_finish(struct fl_session_file *s);

#endif
